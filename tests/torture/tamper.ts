/** Every single byte changed, removed or inserted and every line removed, doubled or swapped in a closed run. */

import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ManualClock } from '../../src/core/clock.ts';
import { check } from '../../src/run/check.ts';
import { createRun } from '../../src/run/library.ts';
import { english } from '../../src/words/spelled.ts';
import type { Row } from './row.ts';

/** A closed run of two and a half minutes that holds every kind of record. */
async function closedRun(folder: string): Promise<void> {
  const clock = new ManualClock();
  const run = await createRun({
    where: { folder },
    purpose: 'verification',
    tool: 'torture',
    clock,
    vehicle: 'Invented Estate, "blue"',
    complaint: 'no boost at 1500 rpm; ärgerlich',
    profile: { induction: 'turbocharger' },
  });
  const { capture } = run;
  capture.wire({
    kind: 'dialect',
    tUs: clock.nowUs(),
    dialect: { family: 'at', bus: 'can11', headers: true },
  });
  for (let i = 0; i < 10; i++) {
    await clock.advance(15_000);
    const tUs = clock.nowUs();
    capture.wire({ kind: 'request', tUs, payload: Uint8Array.of(1, 0x0c), ecu: '7E8' });
    capture.wire({ kind: 'tx', tUs, bytes: Buffer.from('010C\r') });
    capture.wire({ kind: 'rx', tUs, bytes: Buffer.from(`7E804410C1A${i}8\r>`) });
    capture.wire({ kind: 'done', tUs, outcome: 'answered' });
  }
  capture.mark('N', 'noise gone');
  capture.wire({ kind: 'link', tUs: clock.nowUs(), state: 'lost', text: 'cable' });
  await run.close();
}

interface Change {
  readonly bytes: Buffer;
  /** Line in which it was made, from 1. */
  readonly line: number;
}

function* changes(whole: Buffer, stride: number): Generator<Change> {
  let line = 1;
  for (let i = 0; i < whole.length; i++) {
    const b = whole[i]!;
    // every byte of the name of run.json's seal: without it there would be nothing to compare
    const ofSeal = whole[0] === 0x7b && i > whole.length - 80 && i < whole.length - 66;
    if (i % stride === 0 || ofSeal) {
      for (const to of [b ^ 1, b ^ 0x20, b ^ 0x80, 0x0a, 0x0d, 0x30])
        if (to !== b) yield { bytes: Buffer.from(whole).fill(to, i, i + 1), line };
      yield { bytes: Buffer.concat([whole.subarray(0, i), whole.subarray(i + 1)]), line };
      for (const extra of [0x0a, 0x0d, 0x20, 0x30, 0x41, 0])
        yield { bytes: Buffer.concat([whole.subarray(0, i), Buffer.of(extra), whole.subarray(i)]), line };
    }
    if (b === 0x0a) line++;
  }
  const lines = whole.toString('latin1').split('\n').slice(0, -1);
  const joined = (some: readonly string[]): Buffer => Buffer.from(`${some.join('\n')}\n`, 'latin1');
  for (let i = 0; i < lines.length; i++) {
    if (i % Math.ceil(stride / 10) !== 0) continue;
    yield { bytes: joined(lines.toSpliced(i, 1)), line: i + 1 };
    yield { bytes: joined(lines.toSpliced(i, 0, lines[i]!)), line: i + 1 };
    yield { bytes: joined(lines.slice(0, i)), line: i + 1 };
    for (let k = i + 1; k < lines.length; k += Math.ceil(stride / 10))
      yield { bytes: joined(lines.with(i, lines[k]!).with(k, lines[i]!)), line: i + 1 };
  }
}

export interface TamperResult {
  readonly tried: number;
  /** Changes that `check` did not see. */
  readonly missed: readonly string[];
  /** Of those in the capture: how many lie within the lines that `check` named. */
  readonly placed: number;
  readonly inCapture: number;
}

/** @param stride 1 takes every byte and line. */
export async function tamper(stride: number): Promise<TamperResult> {
  const folder = mkdtempSync(join(tmpdir(), 'handback-tamper-'));
  const missed: string[] = [];
  let tried = 0;
  let placed = 0;
  let inCapture = 0;
  try {
    await closedRun(join(folder, 'run'));
    if (!(await check(join(folder, 'run'))).ok) throw new Error('the untouched run is not in order');
    for (const name of ['capture.txt', 'run.json']) {
      const path = join(folder, 'run', name);
      const whole = readFileSync(path);
      for (const { bytes, line } of changes(whole, stride)) {
        if (bytes.equals(whole)) continue;
        writeFileSync(path, bytes);
        tried++;
        const report = await check(join(folder, 'run'));
        if (report.ok) missed.push(`${name} line ${line}`);
        const item = report.items[0]!;
        if (name !== 'capture.txt') continue;
        inCapture++;
        const end = `its end behind line ${item.lines} is missing`;
        if (
          item.changed.some((c) => c.fromLine <= line && line <= c.toLine + 1) ||
          item.damaged.some((d) => Math.abs(d.line - line) <= 1) ||
          (item.tornTail && line >= item.lines) ||
          item.remarks.some((r) => english.say(r).includes(end) && line > item.lines - 1)
        )
          placed++;
      }
      writeFileSync(path, whole);
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  return { tried, missed, placed, inCapture };
}

export async function tamperRows(stride = 1): Promise<Row[]> {
  const r = await tamper(stride);
  return [
    {
      fault:
        'A byte changed, removed or inserted, a line removed, doubled or swapped, the end cut off, in a closed run',
      how: stride === 1 ? 'every byte and line, exhaustively, capture and run.json; `check`' : 'a sample',
      times: r.tried,
      lost: `${r.missed.length} not seen; ${((100 * r.placed) / r.inCapture).toFixed(1)} % of those in the capture placed within the lines named`,
      kept: r.missed.length === 0,
    },
  ];
}
