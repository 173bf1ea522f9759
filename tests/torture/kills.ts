/** Real processes killed at random moments; what they left is compared with what the simulated car truly sent. */

import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { type Random, seededRandom } from '../../src/core/random.ts';
import { WireReader } from '../../src/j1979/reader.ts';
import { readCapture } from '../../src/run/capture/read.ts';
import { check } from '../../src/run/check.ts';
import { listRuns, recoverRun } from '../../src/run/library.ts';
import { english } from '../../src/words/spelled.ts';
import type { Row } from './row.ts';

interface Told {
  readonly i?: number;
  readonly tUs?: number;
  readonly hex?: string;
  readonly run?: string;
  readonly ready?: boolean;
}

interface Sent {
  readonly truth: readonly Told[];
  /** Of these, sent before the run was known to be open. */
  readonly before: number;
  readonly diedUs: number;
  readonly withinS: number;
}

export interface KillResult {
  readonly kills: number;
  readonly answers: number;
  readonly lostAnswers: number;
  /** The longest time, s, before a kill of which answers were lost. */
  readonly worstS: number;
  readonly broken: readonly string[];
}

/**
 * @param command what starts the child, before its own arguments
 * @param withinS what may be lost at the end: one second is promised, a starved machine gets to its work later
 */
export async function kills(
  command: readonly string[],
  processes: number,
  runsEach: number,
  withinS = 1,
): Promise<KillResult> {
  const random = seededRandom('kills');
  const total = { kills: 0, answers: 0, lostAnswers: 0, worstS: 0, broken: [] as string[] };
  const next = async (): Promise<void> => {
    while (processes-- > 0) await killOne(command, runsEach, withinS, random, total);
  };
  await Promise.all([next(), next(), next()]);
  return total;
}

async function killOne(
  command: readonly string[],
  runsEach: number,
  withinS: number,
  random: Random,
  total: { kills: number; answers: number; lostAnswers: number; worstS: number; broken: string[] },
): Promise<void> {
  const root = mkdtempSync(join(tmpdir(), 'handback-kills-'));
  try {
    const [program = '', ...args] = command;
    const child = spawn(program, [...args, root, String(runsEach)], { stdio: ['ignore', 'pipe', 'inherit'] });
    const ended = new Promise((resolve) => child.once('close', resolve));
    const told: Told[] = [];
    for await (const line of createInterface({ input: child.stdout })) {
      try {
        told.push(JSON.parse(line) as Told);
      } catch {
        continue; // the very last line may be torn by the kill
      }
      if (told.at(-1)?.ready) setTimeout(() => child.kill('SIGKILL'), 300 + 4000 * random.next());
    }
    await ended;
    if (child.signalCode !== 'SIGKILL') throw new Error('the child ended by itself');
    const diedUs = Math.max(...told.map((t) => t.tUs ?? 0));
    for (let i = 0; i < runsEach; i++) {
      total.kills++;
      const truth = told.filter((t) => t.i === i && t.hex !== undefined);
      const begun = told.findIndex((t) => t.i === i && t.run);
      const before = told.slice(0, begun).filter((t) => t.i === i && t.hex !== undefined).length;
      const folder = told[begun]?.run ?? '';
      const wrong = await compare(
        join(root, `library-${i}`),
        folder,
        { truth, before, diedUs, withinS },
        total,
      );
      if (wrong) total.broken.push(wrong);
    }
  } finally {
    rmSync(root, { recursive: true, force: true });
  }
}

async function compare(
  library: string,
  folder: string,
  { truth, before, diedUs, withinS }: Sent,
  total: { answers: number; lostAnswers: number; worstS: number },
): Promise<string | null> {
  const { runs } = await listRuns(library);
  if (runs.length !== 1 || !runs[0]!.leftOpen) return 'the run is not listed as left open';
  const meta = await recoverRun(folder);
  const checked = await check(folder);
  if (!meta.recovered || !checked.ok)
    return `not in order: ${checked.items[0]?.remarks.map((r) => english.say(r)).join(' ')}`;
  const kept = await answersIn(folder);
  // the first answers may have come, or belong to an exchange that had begun, before the run
  const skipped =
    kept.length === 0 ? before : truth.findIndex((_, k) => kept.every((hex, n) => truth[k + n]?.hex === hex));
  if (skipped < 0)
    return truth.some((t) => t.hex === kept[0])
      ? 'an answer between is missing or is not what the car sent'
      : 'its beginning is not what the car sent';
  if (skipped > before + 3) return 'its beginning is missing';
  const lost = truth.slice(skipped + kept.length);
  total.answers += truth.length;
  total.lostAnswers += lost.length;
  const lostS = lost.length === 0 ? 0 : (diedUs - lost[0]!.tUs!) / 1e6;
  total.worstS = Math.max(total.worstS, lostS);
  return lostS > withinS ? `${lostS.toFixed(2)} s lost` : null;
}

async function answersIn(folder: string): Promise<string[]> {
  const reader = new WireReader();
  const out: string[] = [];
  for await (const items of readCapture(join(folder, 'capture.txt')))
    for (const item of items) {
      if (item.is !== 'record') continue;
      const { record } = item;
      if (['anchor', 'mark', 'note', 'sample', 'digest'].includes(record.kind)) continue;
      const { messages } = reader.read(record as Parameters<WireReader['read']>[0]);
      if (record.kind === 'done' && record.tUs > 0)
        out.push(...messages.map((m) => Buffer.from(m.payload).toString('hex')));
    }
  return out;
}

export function killRows(r: KillResult): Row[] {
  return [
    {
      fault: 'Recorder killed (SIGKILL) at a random moment',
      how: 'real processes in real time; the file compared, answer by answer, with what the simulated car sent',
      times: r.kills,
      lost: `${r.lostAnswers} of ${r.answers} answers, at most the last ${r.worstS.toFixed(2)} s; ${r.broken.length} runs with anything else wrong${r.broken.length > 0 ? ` (${[...new Set(r.broken)].slice(0, 3).join('; ')})` : ''}`,
      kept: r.broken.length === 0,
    },
  ];
}
