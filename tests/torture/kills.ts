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
  const { kept, unanswered } = await answersIn(folder);
  // the first answers may have come, or belong to an exchange that had begun, before the run
  const fits = truth
    .flatMap((t, from) => (t.hex === kept[0] ? [followed(truth, from, kept)] : []))
    .filter((fit) => fit !== null)
    .sort((a, b) => a.left - b.left)[0];
  const {
    from: skipped,
    to,
    left,
  } = kept.length === 0 ? { from: before, to: before, left: 0 } : (fits ?? { from: -1, to: -1, left: 0 });
  if (skipped < 0)
    return truth.some((t) => t.hex === kept[0])
      ? 'an answer between is not what the car sent'
      : 'its beginning is not what the car sent';
  // An answer that came when a starved machine no longer waited for it: the exchange says that it had none.
  if (left > unanswered) return 'an answer between is missing';
  if (skipped > before + 3) return 'its beginning is missing';
  const lost = truth.slice(to);
  total.answers += truth.length;
  total.lostAnswers += lost.length;
  const lostS = lost.length === 0 ? 0 : (diedUs - lost[0]!.tUs!) / 1e6;
  total.worstS = Math.max(total.worstS, lostS);
  return lostS > withinS ? `${lostS.toFixed(2)} s lost` : null;
}

/** Where what was kept ends in what was sent from here on, and how many between were left out; null where it is not in it. */
function followed(truth: readonly Told[], from: number, kept: readonly string[]) {
  let to = from;
  for (const hex of kept) {
    while (to < truth.length && truth[to]!.hex !== hex) to++;
    if (to++ === truth.length) return null;
  }
  return { from, to, left: to - from - kept.length };
}

async function answersIn(folder: string): Promise<{ kept: string[]; unanswered: number }> {
  const reader = new WireReader();
  const kept: string[] = [];
  let unanswered = 0;
  for await (const items of readCapture(join(folder, 'capture.txt')))
    for (const item of items) {
      if (item.is !== 'record') continue;
      const { record } = item;
      if (['anchor', 'mark', 'note', 'sample', 'digest'].includes(record.kind)) continue;
      const { messages } = reader.read(record as Parameters<WireReader['read']>[0]);
      if (record.kind !== 'done' || record.tUs <= 0) continue;
      kept.push(...messages.map((m) => Buffer.from(m.payload).toString('hex')));
      if (messages.length === 0) unanswered++;
    }
  return { kept, unanswered };
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
