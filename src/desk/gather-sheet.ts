/** Reads a job, or a drive by itself, from disk and makes of it what a sheet is rendered from. */

import { join, resolve, sep } from 'node:path';
import { codesFinding } from '../analysis/codes.ts';
import { coolantCodes } from '../analysis/coolant/codes.ts';
import { withFinding } from '../analysis/judge.ts';
import { compareRuns } from '../compare/compare.ts';
import type { ComparedRun } from '../compare/runs.ts';
import { toldOf } from '../core/errors.ts';
import { retold, type Says } from '../core/says.ts';
import type { Snapshot } from '../core/snapshot.ts';
import { codeChanges } from '../j1979/code-changes.ts';
import { JOB_FILE, readJob, readPhoto, readSnapshot } from '../job/files.ts';
import type { Job } from '../job/job.ts';
import { Places } from '../nmea/places.ts';
import { exists } from '../run/document.ts';
import { listRuns, type RunEntry } from '../run/library.ts';
import { type RunMeta, readMeta } from '../run/meta.ts';
import type { Recording } from '../run/recording.ts';
import { partOf } from '../run/types.ts';
import type { DatedSnapshot, SheetCodes, SheetInput, SheetPhoto, SheetRun } from '../sheet/types.ts';
import { provingRun } from '../sheet/whole.ts';
import { OpenedRuns, type Taught } from './opened-runs.ts';
import { type FileOptions, noPart, sheetOfFile, sheetOfRun } from './sheet-run.ts';

export interface GatherOptions extends FileOptions {
  /** "handback 0.1.0" */
  readonly tool: string;
  readonly nowMs: number;
  /** IANA name. */
  readonly timeZone: string;
  /** What earlier runs of the job teach the judging of this one, so that the sheet says what the page says. */
  readonly taught?: (run: RunEntry) => Promise<Taught | null>;
  /** What is known of runs from before; absent: they are read. */
  readonly opened?: OpenedRuns;
}

/** A sheet stays a file that can be sent: more photos, or larger ones, are in the job folder. */
const MOST_PHOTOS = 8;
const MOST_PHOTO_BYTES = 20 * 2 ** 20;

/**
 * @param path a job folder, or a run folder, capture or table
 * @throws HandbackError input.*, when there is nothing to make a sheet of, or several drives of which none is chosen
 */
export async function gatherSheet(path: string, options: GatherOptions): Promise<SheetInput> {
  const base = {
    tool: options.tool,
    madeAt: new Date(options.nowMs).toISOString(),
    timeZone: options.timeZone,
  };
  const opened = options.opened ?? new OpenedRuns();
  const isJob = await exists(join(path, JOB_FILE));
  const meta = isJob ? null : await readMeta(path).catch(() => null);
  if ((isJob || meta) && (options.part ?? 1) > 1) throw noPart(path, options.part!, 1);
  if (isJob) return { ...base, ...(await ofJob(path, opened, options)) };
  const run = meta
    ? (await sheetOfRun({ folder: path, meta, leftOpen: false }, opened, null, [], options.during)).run
    : await sheetOfFile(path, options);
  const codes = { read: [], before: null, after: null, finding: codesFinding(null) };
  return {
    ...base,
    ...{ job: null, runs: [run], codes, comparison: null, photos: { shown: [], more: 0 }, troubles: [] },
  };
}

/** Runs in order of time; one that cannot be read is told, and the others are shown. */
async function ofJob(
  path: string,
  opened: OpenedRuns,
  options: GatherOptions,
): Promise<Omit<SheetInput, 'tool' | 'madeAt' | 'timeZone'>> {
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
  const proving = provingRun(runs, (r) => r.meta?.purpose ?? 'other');
  const { codes, snapshots } = await codesOf(path, job, said, proving?.meta ?? null);
  const cooling = coolantCodes(codes.before?.snapshot ?? null, codes.after?.snapshot ?? null);
  if (cooling && proving)
    runs[runs.indexOf(proving)] = { ...proving, judgement: withFinding(proving.judgement, cooling) };
  const comparison = comparedWhole(compared, snapshots);
  const photos = await photosOf(path, job, said);
  // A sheet goes home with the customer: where the folder stands on this computer is no part of it.
  const root = resolve(path) + sep;
  const told = said.map((says) => retold(says, (text) => text.replaceAll(root, '')));
  return { job, runs, codes, comparison, photos, troubles: told };
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

/** Null where there is nothing to hold against each other. */
function comparedWhole(runs: readonly ReadForComparing[], snapshots: readonly Snapshot[]) {
  const roles = new Set(runs.map((r) => r.role));
  if (!roles.has('after') || !(roles.has('before') || roles.has('come-back'))) return null;
  return compareRuns(runs, { codes: snapshots.length > 1 ? codeChanges(snapshots) : null });
}

/**
 * Snapshots that cannot be read are told, not passed over.
 * @param drive whose findings the sheet is about; null when nothing was driven after the work
 */
export async function codesOf(
  folder: string,
  job: Job,
  troubles: Says[],
  drive: Pick<RunMeta, 'startedAt' | 'seconds'> | null,
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
    codes: { read, before, after, finding: codesFinding(after?.snapshot ?? null, endedLater(drive, after)) },
    snapshots: read.map((s) => s.snapshot),
  };
}

function endedLater(
  drive: Pick<RunMeta, 'startedAt' | 'seconds'> | null,
  read: DatedSnapshot | null,
): boolean {
  if (drive === null || !read?.at) return false;
  return Date.parse(drive.startedAt) + (drive.seconds ?? 0) * 1000 > Date.parse(read.at);
}

/** Answers noted in the job for this run, worded as the run's marks are. */
const answersOf = (job: Job, runId: string): string[] =>
  job.observations
    .filter((o) => o.runId === runId && o.answer !== 'not checked')
    .map((o) => `${o.kind}: ${o.answer}`);

const byTime = (a: RunEntry, b: RunEntry): number =>
  a.meta.startedAt.localeCompare(b.meta.startedAt) || a.meta.id.localeCompare(b.meta.id);
