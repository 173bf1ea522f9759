/** A capture of 100 MB opened, charted and judged; a library of 2,000 runs listed: how long, and in how much memory. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ManualClock } from '../../src/core/clock.ts';
import { createRun } from '../../src/run/library.ts';
import { bringUpToDate } from '../../src/run/library-format.ts';
import { makeFolder } from '../../src/run/meta.ts';
import { READING_FLAGS } from './build.ts';

export interface SizeResult {
  readonly captureMb: number;
  readonly samples: number;
  readonly openS: number;
  readonly seriesS: number;
  readonly partS: number;
  readonly points: number;
  readonly beforeMb: number;
  readonly highestMb: number;
  readonly runs: number;
  /** By a program that finds no index of the library, by the next one, and by that one again: seconds, and CPU seconds. */
  readonly noIndexS: number;
  readonly noIndexCpuS: number;
  readonly firstS: number;
  readonly firstCpuS: number;
  readonly againS: number;
  readonly listMb: number;
}

/** @param built the compiled size-child.js */
export async function size(built: string, captureMb = 100, runs = 2000): Promise<SizeResult> {
  const home = mkdtempSync(join(tmpdir(), 'handback-size-'));
  try {
    const large = await longRun(join(home, 'large'), captureMb * 1e6);
    const opened = child(built, ['open', join(home, 'large'), large.id]);
    const listed = await listing(built, join(home, 'many'), runs);
    return {
      ...(opened as unknown as SizeResult),
      captureMb: large.bytes / 1e6,
      samples: large.samples,
      ...listed,
    };
  } finally {
    rmSync(home, { recursive: true, force: true });
  }
}

type Listing = Pick<
  SizeResult,
  'runs' | 'noIndexS' | 'noIndexCpuS' | 'firstS' | 'firstCpuS' | 'againS' | 'listMb'
>;

/** @param built the compiled size-child.js */
export async function listing(built: string, library: string, runs: number): Promise<Listing> {
  await makeFolder(library);
  await bringUpToDate(library);
  for (let i = 0; i < runs; i++) await shortRun(library, i);
  // an index holds files whose times are old enough to be told apart
  await new Promise((done) => setTimeout(done, 2500));
  const before = child(built, ['list', library]);
  child(built, ['index', library]);
  const listed = child(built, ['list', library]);
  return {
    runs: listed.runs!,
    noIndexS: before.firstS!,
    noIndexCpuS: before.firstCpuS!,
    firstS: listed.firstS!,
    firstCpuS: listed.firstCpuS!,
    againS: listed.againS!,
    listMb: listed.highestMb!,
  };
}

function child(built: string, args: readonly string[]): Record<string, number> {
  const out = execFileSync(process.execPath, [...READING_FLAGS, built, ...args], { encoding: 'utf8' });
  return JSON.parse(out) as Record<string, number>;
}

/** PID, width in bytes and a wave for it: engine speed, pressure, coolant, speed, throttle, load. */
const ASKED = [
  ['0C', 2, (s: number) => 6000 + 4000 * Math.sin(s / 3)],
  ['0B', 1, (s: number) => 110 + 70 * Math.sin(s / 3)],
  ['05', 1, (s: number) => 130 + 2 * Math.sin(s / 40)],
  ['0D', 1, (s: number) => 50 + 40 * Math.sin(s / 17)],
  ['11', 1, (s: number) => 100 + 90 * Math.sin(s / 3)],
  ['04', 1, (s: number) => 120 + 100 * Math.sin(s / 3)],
] as const;

/** 50 exchanges a second until the capture is so long. */
async function longRun(
  library: string,
  bytes: number,
): Promise<{ id: string; bytes: number; samples: number }> {
  const clock = new ManualClock();
  const run = await createRun({ where: { library }, purpose: 'other', tool: 'size', clock });
  const { capture } = run;
  const path = join(run.folder, 'capture.txt');
  const dialect = { family: 'at', bus: 'can11', headers: true } as const;
  capture.wire({ kind: 'dialect', tUs: clock.nowUs(), dialect });
  let samples = 0;
  while (statSync(path).size < bytes) {
    for (let i = 0; i < 50; i++, samples++) {
      const [pid, width, wave] = ASKED[samples % ASKED.length]!;
      const tUs = clock.nowUs() - 1_000_000 + 20_000 * i;
      const value = Math.round(wave(tUs / 1e6))
        .toString(16)
        .toUpperCase()
        .padStart(2 * width, '0');
      const answer = `7E8${(2 + width).toString().padStart(2, '0')}41${pid}${value}\r\r>`;
      capture.wire({ kind: 'request', tUs, payload: Buffer.from(`01${pid}`, 'hex'), ecu: '7E8' });
      capture.wire({ kind: 'tx', tUs, bytes: Buffer.from(`01${pid}1\r`) });
      capture.wire({ kind: 'rx', tUs: tUs + 15_000, bytes: Buffer.from(answer) });
      capture.wire({ kind: 'done', tUs: tUs + 15_100, outcome: 'answered' });
    }
    await clock.advance(1000);
  }
  await run.close();
  return { id: run.id, bytes: statSync(path).size, samples };
}

async function shortRun(library: string, i: number): Promise<void> {
  const clock = new ManualClock(0, Date.UTC(2024, 0, 1) + i * 3.6e6);
  const where = { folder: join(library, `job-${Math.floor(i / 4)}`, `run-${i}`) };
  const run = await createRun({ where, purpose: 'other', tool: 'size', clock, vehicle: 'Invented Estate' });
  run.capture.sample({ signal: 'rpm', tUs: 1000, sentUs: 0, value: 800 });
  await run.close();
}
