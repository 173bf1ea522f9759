/** Reads a job or a single run from disk and makes of it what a sheet is rendered from. */
import { stat } from 'node:fs/promises';
import { basename, join, resolve } from 'node:path';
import { outcomeOf } from '../analysis/boost/witness.ts';
import { codesFinding } from '../analysis/codes.ts';
import { coolantCodes } from '../analysis/coolant/codes.ts';
import { type Baseline, Judge, withFinding } from '../analysis/judge.ts';
import { type ComparedRun, compareRuns } from '../compare/compare.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { listed, type Says } from '../core/says.ts';
import { signalDef } from '../core/signals.ts';
import type { Snapshot } from '../j1979/snapshot.ts';
import { JOB_FILE, readJob, readPhoto, readSnapshot } from '../job/files.ts';
import type { Job } from '../job/job.ts';
import { readMarkEdits, withEdits } from '../job/marks.ts';
import { Places } from '../nmea/places.ts';
import { type CheckedItem, check } from '../run/check.ts';
import { sha256OfFile } from '../run/hash.ts';
import type { ImportOptions } from '../run/import/builder.ts';
import { listRuns, type RunEntry } from '../run/library.ts';
import { type RunMeta, readMeta } from '../run/meta.ts';
import { openRecording, type Recording } from '../run/recording.ts';
import { type During, partOf } from '../run/types.ts';
import type {
  Conditions,
  DatedSnapshot,
  SheetCheck,
  SheetCodes,
  SheetInput,
  SheetPhoto,
  SheetRun,
} from '../sheet/types.ts';
import { partsOf } from '../signal/parts.ts';
import type { SampleTable } from '../signal/table.ts';
import { type Points, thinned } from '../signal/thin.ts';
import { spelled } from '../words/spelled.ts';
import type { RunTrail } from './api.ts';
import { type OpenedRun, OpenedRuns, type Taught } from './opened-runs.ts';
import { Trail } from './trail.ts';

export interface GatherOptions {
  /** "handback 0.1.0" */
  readonly tool: string;
  readonly nowMs: number;
  /** IANA name. */
  readonly timeZone: string;
  /** What earlier runs of the job teach the judging of this one, so that the sheet says what the page says. */
  readonly taught?: (run: RunEntry) => Promise<Taught | null>;
  readonly during?: During;
  /** What is known of runs from before; absent: they are read. */
  readonly opened?: OpenedRuns;
  /** How a table is to be read. */
  readonly table?: ImportOptions;
  /** Which drive in a table or capture whose time jumps, from 1; absent: it holds one. */
  readonly part?: number;
}

const IN_FULL: During = { signal: new AbortController().signal, progress: () => undefined };
/** Enough that one engagement of a two-hour run keeps its samples. */
const POINTS = 20_000;
const DRAWN = ['rpm', 'speed_kmh', 'ect_c', 'voltage_v'] as const;
const VIEW_EVERY_US = 5e6;
/** Speed is not integrated across holes longer than this. */
const DISTANCE_HOLE_S = 5;
/** A sheet stays a file that can be sent: more photos, or larger ones, are in the job folder. */
const MOST_PHOTOS = 8;
const MOST_PHOTO_BYTES = 20 * 2 ** 20;

/**
 * @param path a job folder, or a run folder, capture or table
 * @throws HandbackError input.*, when there is nothing to make a sheet of, or several drives of which none is chosen
 */
export async function gatherSheet(path: string, options: GatherOptions): Promise<SheetInput> {
  const base = {
    comparison: null,
    photos: { shown: [], more: 0 },
    tool: options.tool,
    madeAt: new Date(options.nowMs).toISOString(),
    timeZone: options.timeZone,
  };
  const none = { read: [], before: null, after: null, finding: codesFinding(null) };
  const opened = options.opened ?? new OpenedRuns();
  const isJob = await exists(join(path, JOB_FILE));
  const meta = isJob ? null : await readMeta(path).catch(() => null);
  if ((isJob || meta) && (options.part ?? 1) > 1) throw noPart(path, options.part!, 1);
  if (!isJob) {
    const run = meta
      ? (await sheetOfRun({ folder: path, meta, leftOpen: false }, opened, null, [], options.during)).run
      : await sheetOfFile(path, options);
    return { ...base, job: null, runs: [run], codes: none, troubles: [] };
  }
  const job = await readJob(path);
  const { runs: entries, troubles } = await listRuns(path);
  const runs: SheetRun[] = [];
  const compared: ReadForComparing[] = [];
  const said: Says[] = [...troubles];
  for (const [i, entry] of entries.toSorted(byTime).entries())
    try {
      const part = options.during && partOf(options.during, i, entries.length);
      const places = new Places();
      const taught = (await options.taught?.(entry)) ?? null;
      const answers = answersOf(job, entry.meta.id);
      const { run, recording } = await sheetOfRun(entry, opened, taught, answers, part, places);
      runs.push(run);
      compared.push(...comparable(entry.meta, recording, places));
    } catch (e) {
      options.during?.signal.throwIfAborted();
      said.push(toldOf(e));
    }
  const { codes, snapshots } = await codesOf(path, job, said);
  const cooling = coolantCodes(codes.before?.snapshot ?? null, codes.after?.snapshot ?? null);
  const last = runs.at(-1);
  if (cooling && last) runs[runs.length - 1] = { ...last, judgement: withFinding(last.judgement, cooling) };
  const roles = new Set(compared.map((r) => r.role));
  const comparison =
    roles.has('after') && (roles.has('before') || roles.has('come-back'))
      ? compareRuns(compared, { snapshots })
      : null;
  const photos = await photosOf(path, job, said);
  return { ...base, job, runs, codes, comparison, photos, troubles: said };
}

/** In the order in which they were taken. */
async function photosOf(folder: string, job: Job, troubles: Says[]): Promise<SheetInput['photos']> {
  const shown: SheetPhoto[] = [];
  let bytes = 0;
  let more = 0;
  for (const { file, caption, at } of job.photos)
    try {
      const photo = await readPhoto(folder, job, file);
      if (shown.length >= MOST_PHOTOS || bytes + photo.bytes.length > MOST_PHOTO_BYTES) more++;
      else {
        bytes += photo.bytes.length;
        shown.push({ caption, at, type: photo.type, base64: photo.bytes.toString('base64') });
      }
    } catch (e) {
      troubles.push(toldOf(e));
    }
  return { shown, more };
}

const ROLES: Partial<Record<RunMeta['purpose'], ComparedRun['role']>> = {
  baseline: 'before',
  verification: 'after',
  'come-back': 'come-back',
};

type ReadForComparing = Parameters<typeof compareRuns>[0][number];

function comparable(meta: RunMeta, recording: Recording, places: Places): ReadForComparing[] {
  const role = ROLES[meta.purpose];
  if (!role) return [];
  const { id, startedAt, vin, profile } = meta;
  const label = `${meta.purpose} of ${startedAt.slice(0, 16).replace('T', ' ')}`;
  return [{ id, label, role, startedAt, vin, profile, samples: recording.table, places }];
}

/** Snapshots that cannot be read are told, not passed over. */
export async function codesOf(
  folder: string,
  job: Job,
  troubles: Says[],
): Promise<{ codes: SheetCodes; snapshots: Snapshot[] }> {
  const read: DatedSnapshot[] = [];
  for (const ref of job.snapshots.toSorted((a, b) => (a.at < b.at ? -1 : 1)))
    try {
      read.push({ at: ref.at, when: ref.when, snapshot: await readSnapshot(folder, ref) });
    } catch (e) {
      troubles.push(toldOf(e));
    }
  const before = read.find((s) => s.when === 'before') ?? null;
  // What was read at a come-back is what holds now.
  const after = read.findLast((s) => s.when === 'after' || s.when === 'come-back') ?? null;
  return {
    codes: { read, before, after, finding: codesFinding(after?.snapshot ?? null) },
    snapshots: read.map((s) => s.snapshot),
  };
}

/** Answers noted in the job for this run, worded as the run's marks are. */
const answersOf = (job: Job, runId: string): string[] =>
  job.observations
    .filter((o) => o.runId === runId && o.answer !== 'not checked')
    .map((o) => `${o.kind}: ${o.answer}`);

async function sheetOfFile(path: string, { during, table, part }: GatherOptions): Promise<SheetRun> {
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

const noPart = (path: string, part: number, n: number): HandbackError =>
  new HandbackError('input.usage', saying('error.no-part', { path, part, n }));

/**
 * @param answers noted beside the recording, worded as its marks
 * @param places takes where it was driven
 */
async function sheetOfRun(
  entry: RunEntry,
  opened: OpenedRuns,
  taught: Taught | null,
  answers: readonly string[],
  during: During = IN_FULL,
  places?: Places,
): Promise<{ run: SheetRun; recording: Recording }> {
  const { folder } = entry;
  // first, for what it decodes need not be decoded again
  const kept = (await opened.isWhole(entry)) ? await opened.open(entry, taught, during, answers) : null;
  const recording = await opened.recording(entry, during, places);
  const judged =
    kept ?? (await judgedHere(folder, recording, (await taught?.value(during)) ?? null, answers));
  return { run: await sheetRun(folder, recording, judged, await opened.checked(entry)), recording };
}

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
  const trail = new Trail();
  let nextUs = 0;
  for (const sample of recording.table) {
    judge.push(sample);
    if (sample.tUs < nextUs) continue;
    nextUs = sample.tUs + VIEW_EVERY_US;
    trail.add(spelled(judge.view()));
  }
  trail.add(spelled(judge.view()));
  judge.marked([...(await marksOf(path, recording)).map((m) => m.text), ...answers]);
  const judgement = judge.finish(recording.meta?.id ?? nameOf(path));
  const { boost, legs } = judge.view();
  const { corridor, baro, demand } = trail.whole();
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

/** Boost over the barometric pressure, and the demand, that the judge knew. */
function seriesOf(
  table: SampleTable,
  { baro, demand }: Pick<RunTrail, 'baro' | 'demand'>,
): Record<string, Points> {
  const out: Record<string, Points> = {};
  for (const name of DRAWN) {
    const series = plausible(table, name);
    if (series.t.length > 1) out[name] = thinned(series, POINTS);
  }
  const asked = demand === null ? null : plausible(table, demand);
  if (asked && asked.t.length > 1) out.demand_pct = thinned(asked, POINTS);
  const map = plausible(table, 'map_kpa');
  if (map.t.length < 2 || baro.length === 0) return out;
  let k = 0;
  const boost = map.v.map((v, i) => {
    while (k + 1 < baro.length && baro[k + 1]!.fromS <= map.t[i]!) k++;
    return v - baro[k]!.kpa;
  });
  out.boost_kpa = thinned({ t: map.t, v: boost }, POINTS);
  return out;
}

/** Without what no engine gives: a torn byte must not stretch a chart. */
function plausible(table: SampleTable, name: string): Points {
  const { tS, value } = table.series(name);
  const def = signalDef(name);
  const [low, high] = def.plausible;
  const t: number[] = [];
  const v: number[] = [];
  for (const [i, x] of value.entries())
    if (x >= low && x <= high && !def.endStops?.includes(x)) {
      t.push(tS[i]!);
      v.push(x);
    }
  return { t, v };
}

function conditionsOf(table: SampleTable, baroKpa: number | null): Conditions {
  const speed = plausible(table, 'speed_kmh');
  const ect = plausible(table, 'ect_c');
  let km = 0;
  for (let i = 1; i < speed.t.length; i++) {
    const dtS = speed.t[i]! - speed.t[i - 1]!;
    if (dtS <= DISTANCE_HOLE_S) km += (((speed.v[i]! + speed.v[i - 1]!) / 2) * dtS) / 3600;
  }
  return {
    distanceKm: speed.t.length > 1 ? km : null,
    topSpeedKmh: speed.t.length > 0 ? speed.v.reduce((a, b) => Math.max(a, b)) : null,
    coolantC: ect.t.length > 0 ? { start: ect.v[0]!, highest: ect.v.reduce((a, b) => Math.max(a, b)) } : null,
    ambientC: rangeOf(plausible(table, 'ambient_c')),
    intakeC: rangeOf(plausible(table, 'iat_c')),
    baroKpa,
    samples: table.length,
  };
}

function rangeOf({ v }: Points): [number, number] | null {
  return v.length === 0 ? null : [v.reduce((a, b) => Math.min(a, b)), v.reduce((a, b) => Math.max(a, b))];
}

async function checkOf(
  path: string,
  recording: Recording,
  { ok, sha256, remarks }: CheckedItem,
): Promise<SheetCheck> {
  // of a table there is nothing but the file itself
  const own = recording.kind === 'table' ? await sha256OfFile(path).catch(() => null) : null;
  return { ok, sha256: sha256 ?? own, recorded: recording.meta?.sha256 ?? null, remarks };
}

const byTime = (a: RunEntry, b: RunEntry): number =>
  a.meta.startedAt.localeCompare(b.meta.startedAt) || a.meta.id.localeCompare(b.meta.id);

const exists = (path: string): Promise<boolean> =>
  stat(path).then(
    () => true,
    () => false,
  );
