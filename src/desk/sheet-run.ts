/** One drive as a sheet takes it: a run of a library, or a capture or table by itself. */
import { basename, resolve } from 'node:path';
import { outcomeOf } from '../analysis/boost/witness.ts';
import { type Baseline, Judge } from '../analysis/judge.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { listed } from '../core/says.ts';
import { readMarkEdits, withEdits } from '../job/marks.ts';
import type { Places } from '../nmea/places.ts';
import { type CheckedItem, check } from '../run/check.ts';
import { sha256OfFile } from '../run/hash.ts';
import type { ImportOptions } from '../run/import/builder.ts';
import type { RunEntry } from '../run/library.ts';
import { openRecording, type Recording } from '../run/recording.ts';
import type { During } from '../run/types.ts';
import type { SheetCheck, SheetRun } from '../sheet/types.ts';
import { partsOf } from '../signal/parts.ts';
import { spelled } from '../words/spelled.ts';
import type { OpenedRun, OpenedRuns, Taught } from './opened-runs.ts';
import { conditionsOf, seriesOf } from './sheet-figures.ts';
import { Levels } from './trail.ts';

const IN_FULL: During = { signal: new AbortController().signal, progress: () => undefined };
const VIEW_EVERY_US = 5e6;

export interface FileOptions {
  readonly during?: During;
  /** How a table is to be read. */
  readonly table?: ImportOptions;
  /** Which drive in a table or capture whose time jumps, from 1; absent: it holds one. */
  readonly part?: number;
}

/**
 * @param answers noted beside the recording, worded as its marks
 * @param places takes where it was driven
 */
export async function sheetOfRun(
  entry: RunEntry,
  opened: OpenedRuns,
  taught: Taught | null,
  answers: readonly string[],
  during: During = IN_FULL,
  places?: Places,
): Promise<{ run: SheetRun; recording: Recording }> {
  const { folder } = entry;
  // first, for what it decodes need not be decoded again
  const kept = (await opened.recorded.isWhole(entry))
    ? await opened.open(entry, taught, during, answers)
    : null;
  const recording = await opened.recorded.recording(entry, during, places);
  const judged =
    kept ?? (await judgedHere(folder, recording, (await taught?.value(during)) ?? null, answers));
  return { run: await sheetRun(folder, recording, judged, await opened.checked(entry)), recording };
}

/** @throws HandbackError input.* */
export async function sheetOfFile(path: string, { during, table, part }: FileOptions): Promise<SheetRun> {
  const whole = await openRecording(path, table, during);
  const { recording, which } = partIn(whole, part);
  const checked = (await check(path, undefined, table)).items[0]!;
  const run = await sheetRun(path, recording, await judgedHere(path, recording, null, []), checked);
  return { ...run, name: `${run.name}${which}` };
}

/** One drive of a file, with its own times, as `judge` parts it; a sheet is of one. @throws HandbackError input.usage */
function partIn(whole: Recording, part: number | undefined): { recording: Recording; which: string } {
  const parts = partsOf(whole.table);
  if (part !== undefined && part > parts.length) throw noPart(whole.path, part, parts.length);
  if (parts.length === 1) return { recording: whole, which: '' };
  if (part === undefined)
    throw new HandbackError(
      'input.usage',
      saying('error.sheet-parts', { path: whole.path, n: parts.length }),
      {
        hint: saying('error.sheet-parts-hint', {
          parts: listed(parts.map((p, k) => saying('error.sheet-part', { number: k + 1, at: p.startsAtS }))),
        }),
      },
    );
  const { table, startsAtS } = parts[part - 1]!;
  const by = startsAtS * 1e6;
  const endUs = table.tUs(table.length - 1) + by;
  const marks = whole.marks.filter((m) => m.tUs >= by && m.tUs <= endUs);
  const gaps = whole.gaps.filter((g) => g.fromUs >= by && g.toUs <= endUs);
  return {
    recording: {
      ...whole,
      table,
      marks: marks.map((m) => ({ ...m, tUs: m.tUs - by })),
      gaps: gaps.map((g) => ({ ...g, fromUs: g.fromUs - by, toUs: g.toUs - by })),
    },
    which: ` (${part}/${parts.length})`,
  };
}

export const noPart = (path: string, part: number, n: number): HandbackError =>
  new HandbackError('input.usage', saying('error.no-part', { path, part, n }));

type JudgedForSheet = Pick<
  OpenedRun,
  'judgement' | 'legs' | 'expected' | 'baroKpa' | 'corridor' | 'baro' | 'demand'
>;

async function judgedHere(
  path: string,
  recording: Recording,
  baseline: Baseline | null,
  answers: readonly string[],
): Promise<JudgedForSheet> {
  const judge = new Judge(recording.profile ?? {}, baseline);
  const levels = new Levels();
  let nextUs = 0;
  for (const sample of recording.table) {
    judge.push(sample);
    if (sample.tUs < nextUs) continue;
    nextUs = sample.tUs + VIEW_EVERY_US;
    levels.add(spelled(judge.view()));
  }
  levels.add(spelled(judge.view()));
  judge.marked([...(await marksOf(path, recording)).map((m) => m.text), ...answers]);
  const judgement = judge.finish(recording.meta?.id ?? nameOf(path));
  const { boost, legs } = judge.view();
  const { corridor, baro, demand } = levels;
  const expected = judge.expectedBands();
  return { judgement, legs, expected, baroKpa: boost.baroKpa, corridor, baro, demand };
}

const nameOf = (path: string): string => basename(resolve(path));

async function marksOf(path: string, recording: Recording): Promise<SheetRun['marks']> {
  const recorded = recording.marks.map((m) => ({ tS: m.tUs / 1e6, key: m.key, text: m.text }));
  return recording.kind === 'run' ? withEdits(recorded, await readMarkEdits(path)) : recorded;
}

async function sheetRun(
  path: string,
  recording: Recording,
  { judgement, legs, expected, baroKpa, corridor, baro, demand }: JudgedForSheet,
  checked: CheckedItem,
): Promise<SheetRun> {
  const { table } = recording;
  return {
    meta: recording.meta,
    name: nameOf(path),
    judgement,
    pullsCame: judgement.pulls.map(outcomeOf),
    legs,
    series: seriesOf(table, { baro, demand }),
    expected: expected.map((b) => ({ t: b.t, low: b.lowKpa, high: b.highKpa })),
    corridor,
    marks: await marksOf(path, recording),
    gaps: recording.gaps.map((g) => ({ fromS: g.fromUs / 1e6, toS: g.toUs / 1e6, why: g.why })),
    conditions: conditionsOf(table, baroKpa),
    check: await checkOf(path, recording, checked),
  };
}

async function checkOf(
  path: string,
  recording: Recording,
  { ok, sha256, remarks }: CheckedItem,
): Promise<SheetCheck> {
  // Of a table there is nothing but the file itself; what was odd in reading it is no change.
  const table = recording.kind === 'table';
  const own = table ? await sha256OfFile(path).catch(() => null) : null;
  return { ok: ok || table, table, sha256: sha256 ?? own, recorded: recording.meta?.sha256 ?? null, remarks };
}
