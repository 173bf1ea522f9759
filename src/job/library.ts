/**
 * The jobs of a library: opened, found again, changed, put into the bin and brought back; runs filed into them.
 * Everything is plain folders, so that copying the library is a backup and a file manager can repair it.
 */

import { randomBytes } from 'node:crypto';
import { lstat, mkdir, readdir, rename, stat } from 'node:fs/promises';
import { basename, dirname, join, resolve } from 'node:path';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import { checkRunsIndex, leaveRuns, listRuns, type RunEntry } from '../run/library.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { isLocked } from '../run/lock.ts';
import { type RunMeta, syncFolder, writeMeta } from '../run/meta.ts';
import { type CheckedCache, ReadDocuments } from '../run/read-documents.ts';
import type { Purpose } from '../run/types.ts';
import { JOB_FILE, readJob, writeJob } from './files.ts';
import { type BinEntry, type Job, type JobFields, newJob } from './job.ts';
import { mergeFields } from './merge.ts';

export const BIN_FOLDER = '.bin';

export interface JobEntry {
  readonly folder: string;
  readonly job: Job;
  /** In order of time. */
  readonly runs: readonly RunEntry[];
}

export interface JobList {
  /** Last touched first. */
  readonly jobs: readonly JobEntry[];
  /** Runs that belong to no job that can be read, newest first. */
  readonly loose: readonly RunEntry[];
  /** One sentence for each file that cannot be read. */
  readonly troubles: readonly Says[];
}

const known = new ReadDocuments(readJob, 'jobs.index');
/** Folders looked into at a time. */
const AT_A_TIME = 32;

/** A missing library is empty. */
export async function listJobs(library: string): Promise<JobList> {
  const root = resolve(library);
  const { runs, troubles } = await listRuns(root);
  const said = [...troubles];
  const byFolder = new Map<string, RunEntry[]>();
  for (const run of runs) {
    const parent = dirname(run.folder);
    byFolder.set(parent, [...(byFolder.get(parent) ?? []), run]);
  }
  const look = async (name: string): Promise<JobEntry | Says | null> => {
    const folder = join(root, name);
    try {
      if (!NAME.test(name))
        return (await exists(join(folder, JOB_FILE))) ? saying('remark.job-folder', { name }) : null;
      const job = await known.in(folder, JOB_FILE);
      // The folder's name is the address; a copied folder is another job.
      return job && { folder, job: { ...job, id: name }, runs: inOrder(byFolder.get(folder) ?? []) };
    } catch (e) {
      return toldOf(e);
    }
  };
  await known.open(root);
  const entries = await readdir(root, { withFileTypes: true }).catch(() => []);
  const names = entries.filter((e) => e.isDirectory() && !e.name.startsWith('.')).map((e) => e.name);
  const touched: { readonly at: string; readonly entry: JobEntry }[] = [];
  for (let i = 0; i < names.length; i += AT_A_TIME)
    for (const found of await Promise.all(names.slice(i, i + AT_A_TIME).map(look))) {
      if (found === null) continue;
      if ('folder' in found) {
        touched.push({ at: touchedAt(found), entry: found });
        byFolder.delete(found.folder);
      } else said.push(found);
    }
  const jobs = touched.sort((a, b) => (a.at === b.at ? 0 : a.at < b.at ? 1 : -1)).map((t) => t.entry);
  const loose = runs.filter((r) => byFolder.has(dirname(r.folder)));
  return { jobs, loose, troubles: said };
}

/** Leaves what was listed to later programs, so that they need not read every file again (`read-documents.ts`). */
export async function leaveIndex(library: string, { jobs, loose }: JobList): Promise<void> {
  await leaveRuns(library, [...jobs.flatMap((j) => j.runs), ...loose]);
  await known.leave(
    library,
    jobs.map((j) => j.folder),
  );
}

/** Whether what an earlier program left agrees with every run.json and job.json. */
export async function checkIndex(library: string): Promise<CheckedCache[]> {
  const { jobs, loose } = await listJobs(library);
  return [
    await checkRunsIndex(library, [...jobs.flatMap((j) => j.runs), ...loose]),
    await known.check(
      library,
      jobs.map((j) => j.folder),
      JOB_FILE,
    ),
  ];
}

/** @throws HandbackError library.path when there is none, input.format, input.version when it cannot be read */
export async function findJob(library: string, id: string): Promise<JobEntry> {
  const folder = folderOf(library, id);
  // A link that stands in for a job folder could lead anywhere.
  const own = await lstat(folder).then(
    (info) => info.isDirectory(),
    () => false,
  );
  if (!own || !(await exists(join(folder, JOB_FILE))))
    throw new HandbackError('library.path', saying('error.no-job', { id: id.slice(0, 80) }), {
      hint: saying('error.no-job-hint'),
    });
  const job = await readJob(folder);
  const { runs } = await listRuns(folder);
  return { folder, job: { ...job, id }, runs: inOrder(runs) };
}

/** @throws HandbackError library.path, library.read-only, run.write */
export async function createJob(library: string, fields: JobFields, clock: Clock): Promise<JobEntry> {
  const nowIso = new Date(clock.wallMs()).toISOString();
  const id = jobId(nowIso, fields);
  const folder = folderOf(library, id);
  await refuseReadOnly(dirname(folder));
  try {
    await mkdir(folder, { recursive: true });
  } catch (e) {
    throw new HandbackError(
      'library.path',
      saying('error.folder-not-made', { path: folder, why: toldOf(e) }),
      {
        cause: e,
      },
    );
  }
  const job: Job = { ...newJob(id, nowIso), ...defined(fields) };
  await writeJob(folder, job);
  await syncFolder(dirname(folder));
  return { folder, job, runs: [] };
}

/** Writes to one job follow one another: the second sees what the first wrote. */
const pending = new Map<string, Promise<unknown>>();

/**
 * Reads, changes and writes a job; `change` must not keep what it is given.
 * @throws HandbackError as findJob, run.write, and whatever `change` throws
 */
export async function updateJob(
  library: string,
  id: string,
  clock: Clock,
  change: (job: Job) => Job | Promise<Job>,
): Promise<Job> {
  const folder = folderOf(library, id);
  const before = pending.get(folder) ?? Promise.resolve();
  const mine = before
    .catch(() => undefined)
    .then(async () => {
      const { job } = await findJob(library, id);
      const changed = { ...(await change(job)), id, changedAt: new Date(clock.wallMs()).toISOString() };
      await writeJob(folder, changed);
      return changed;
    });
  pending.set(folder, mine);
  try {
    return await mine;
  } finally {
    if (pending.get(folder) === mine) pending.delete(folder);
  }
}

/**
 * Sets the fields that are given, of those in `was` what still is as it was seen.
 * @returns what was left alone because somebody else had changed it, see `Merged`
 */
export async function updateFields(
  library: string,
  id: string,
  fields: JobFields,
  clock: Clock,
  was: JobFields = {},
): Promise<readonly string[]> {
  let conflicts: readonly string[] = [];
  await updateJob(library, id, clock, (job) => {
    const merged = mergeFields(job, fields, was);
    conflicts = merged.conflicts;
    return merged.job;
  });
  return conflicts;
}

// ---- bin ----------------------------------------------------------------------------------------------------

/**
 * Puts a job, or a run outside jobs, into the library's bin; nothing is ever removed from there by this program.
 * @throws HandbackError library.path, run.busy while something in it is being recorded
 */
export async function putIntoBin(library: string, id: string, clock: Clock): Promise<BinEntry> {
  const folder = folderOf(library, id);
  if (!(await exists(folder)))
    throw new HandbackError('library.path', saying('error.no-such', { id: id.slice(0, 80) }));
  const { runs } = await listRuns(folder);
  for (const run of runs) await refuseWhileRecording(run);
  const stamp = new Date(clock.wallMs()).toISOString().slice(0, 19).replaceAll(':', '').replace('T', '-');
  const bin = join(resolve(library), BIN_FOLDER);
  const binned = `${stamp}-${id}`;
  await moveFolder(folder, join(bin, binned));
  return binEntry(bin, binned);
}

/** @returns the id under which it is in the library again. @throws HandbackError library.path */
export async function restore(library: string, binId: string): Promise<string> {
  const from = join(resolve(library), BIN_FOLDER, safeName(binId));
  const id = withoutStamp(binId);
  if (!(await exists(from)))
    throw new HandbackError('library.path', saying('error.not-in-bin', { id: binId.slice(0, 100) }));
  const to = folderOf(library, id);
  if (await exists(to))
    throw new HandbackError('library.path', saying('error.in-library', { id }), {
      hint: saying('error.in-library-hint'),
    });
  await moveFolder(from, to);
  return id;
}

const MAX_BIN_LISTED = 200;

/** Newest first. */
export async function listBin(library: string): Promise<BinEntry[]> {
  const bin = join(resolve(library), BIN_FOLDER);
  const entries = await readdir(bin, { withFileTypes: true }).catch(() => []);
  const names = entries.filter((e) => e.isDirectory() && STAMPED.test(e.name)).map((e) => e.name);
  return Promise.all(
    names
      .sort()
      .reverse()
      .slice(0, MAX_BIN_LISTED)
      .map((name) => binEntry(bin, name)),
  );
}

const STAMPED = /^(\d{4}-\d{2}-\d{2})-(\d{2})(\d{2})(\d{2})-/;
const withoutStamp = (binId: string): string => binId.replace(STAMPED, '');

async function binEntry(bin: string, name: string): Promise<BinEntry> {
  const [, day, h, m, s] = STAMPED.exec(name) ?? [];
  const job = await readJob(join(bin, name)).catch(() => null);
  return {
    id: name,
    deletedAt: `${day}T${h}:${m}:${s}.000Z`,
    title: job ? titleOfJob(job) : withoutStamp(name),
  };
}

// ---- runs ---------------------------------------------------------------------------------------------------

/**
 * Moves a run into a job, or with null out of its job, and says what it was for.
 * @throws HandbackError library.path, run.busy while it is recorded, run.write
 */
export async function fileRun(
  library: string,
  run: RunEntry,
  into: string | null,
  purpose: Purpose,
): Promise<RunMeta> {
  await refuseWhileRecording(run);
  const parent = into === null ? resolve(library) : (await findJob(library, into)).folder;
  const folder = join(parent, basename(run.folder));
  if (folder !== run.folder) await moveFolder(run.folder, folder);
  const meta = { ...run.meta, purpose };
  if (purpose === run.meta.purpose) return meta;
  await refuseReadOnly(folder);
  await writeMeta(folder, meta);
  return meta;
}

/** The job that a run lies in, by where its folder is; null outside jobs. */
export async function jobOfRun(library: string, runFolder: string): Promise<string | null> {
  const parent = dirname(runFolder);
  if (dirname(parent) !== resolve(library) || !(await exists(join(parent, JOB_FILE)))) return null;
  return basename(parent);
}

/** @throws HandbackError run.busy */
export async function refuseWhileRecording(run: RunEntry): Promise<void> {
  if (await isLocked(run.folder))
    throw new HandbackError('run.busy', saying('error.this-recording'), {
      hint: saying('error.stop-first'),
    });
}

// ---- finding again ------------------------------------------------------------------------------------------

/**
 * Jobs in which every word of the query occurs: vehicle, plate, VIN, own reference, complaint, suspicion, parts,
 * dates (2026-03-05 or 05.03.2026). Case, accents and the gaps in plates do not matter.
 */
export function searchJobs(jobs: readonly JobEntry[], query: string): JobEntry[] {
  const words = fold(query).split(/\s+/).filter(Boolean);
  if (words.length === 0) return [...jobs];
  const whole = compact(query);
  return jobs.filter((entry) => {
    const { job } = entry;
    const dates = [job.openedAt, ...entry.runs.map((r) => r.meta.startedAt)].flatMap(datesOf);
    const hay = fold(
      [
        ...dates,
        job.vehicle,
        job.plate,
        job.vin,
        job.reference,
        job.complaint,
        job.suspected,
        ...job.replaced,
        job.technician,
      ].join(' \n '),
    );
    const names = [job.plate, job.vin, job.reference].map(compact);
    const named = (word: string): boolean => word.length > 2 && names.some((n) => n.includes(word));
    return words.every((w) => hay.includes(w) || named(compact(w))) || named(whole);
  });
}

/**
 * The job that a person means: by id, else by own reference, plate or VIN as they stand, gaps and case apart.
 * @throws HandbackError library.path when there is none, or more than one
 */
export async function jobCalled(library: string, name: string): Promise<JobEntry> {
  if (NAME.test(withoutStamp(name)) && (await exists(join(folderOf(library, name), JOB_FILE))))
    return findJob(library, name);
  const whole = compact(name);
  const { jobs } = await listJobs(library);
  const meant = jobs.filter(({ job }) =>
    [job.reference, job.plate, job.vin].some((n) => n !== null && whole !== '' && compact(n) === whole),
  );
  const [only, ...others] = meant;
  if (only && others.length === 0) return only;
  throw new HandbackError(
    'library.path',
    only
      ? saying('error.many-jobs', {
          name: name.slice(0, 80),
          n: meant.length,
          ids: meant.map(({ job }) => job.id).join(', '),
        })
      : saying('error.no-job', { id: name.slice(0, 80) }),
    { hint: saying(only ? 'error.many-jobs-hint' : 'error.jobs-hint') },
  );
}

/** Both ways of writing the day, in this computer's time zone: that is the day the workshop knows. */
function datesOf(iso: string): string[] {
  const date = new Date(iso);
  const two = (n: number): string => String(n).padStart(2, '0');
  const [y, m, d] = [String(date.getFullYear()), two(date.getMonth() + 1), two(date.getDate())];
  return [`${y}-${m}-${d}`, `${d}.${m}.${y}`];
}

function fold(text: string): string {
  return text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase().replaceAll('ß', 'ss');
}

const compact = (text: string): string => fold(text).replace(/[^\p{L}\p{N}]/gu, '');

/** What the last other job of the same vehicle (by VIN, else by plate) knew of it; null when there is none. */
export function profileOfSameVehicle(
  jobs: readonly JobEntry[],
  job: Pick<Job, 'id' | 'vin' | 'plate'>,
): { readonly jobId: string; readonly openedAt: string; readonly profile: Profile } | null {
  const [vin, plate] = [compact(job.vin), compact(job.plate)];
  const same = jobs
    .filter(({ job: other }) => {
      if (other.id === job.id || Object.keys(other.profile).length === 0) return false;
      const theirs = compact(other.vin);
      if (vin !== '' && theirs !== '') return vin === theirs;
      return plate !== '' && compact(other.plate) === plate;
    })
    .sort((a, b) => b.job.openedAt.localeCompare(a.job.openedAt))[0];
  return same ? { jobId: same.job.id, openedAt: same.job.openedAt, profile: same.job.profile } : null;
}

/** When something last happened to a job. */
export function touchedAt({ job, runs }: JobEntry): string {
  return [job.changedAt, ...runs.map((r) => r.meta.startedAt)].sort().at(-1)!;
}

function titleOfJob(job: Job): string {
  return [job.vehicle, job.plate, job.reference].filter(Boolean).join(', ') || 'Vehicle not named';
}

// ---- folders ------------------------------------------------------------------------------------------------

const NAME = /^[a-z0-9][a-z0-9-]{0,79}$/;

function safeName(id: string): string {
  if (!NAME.test(withoutStamp(id)))
    throw new HandbackError('library.path', saying('error.no-job-name'), {
      hint: saying('error.no-job-name-hint'),
    });
  return id;
}

/** @throws HandbackError library.path for a name that could lead out of the library */
export function folderOf(library: string, id: string): string {
  return join(resolve(library), safeName(id));
}

async function moveFolder(from: string, to: string): Promise<void> {
  await refuseReadOnly(dirname(from));
  try {
    await mkdir(dirname(to), { recursive: true });
    if (await exists(to)) throw new Error('there is something of that name already');
    await rename(from, to);
    await syncFolder(dirname(from));
    await syncFolder(dirname(to));
  } catch (e) {
    throw new HandbackError(
      'library.path',
      saying('error.not-moved', { name: basename(from), why: toldOf(e) }),
      {
        cause: e,
      },
    );
  }
}

/** Day, what it is called and four random characters: safe as a folder name on every system. */
function jobId(nowIso: string, fields: JobFields): string {
  const name = fold(fields.vehicle || fields.reference || 'job')
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 40);
  return `${nowIso.slice(0, 10)}-${name || 'job'}-${randomBytes(2).toString('hex')}`;
}

/** Keys that were not given leave the old value. */
function defined<T extends object>(fields: T): { [K in keyof T]-?: Exclude<T[K], undefined> } {
  return Object.fromEntries(Object.entries(fields).filter(([, v]) => v !== undefined)) as {
    [K in keyof T]-?: Exclude<T[K], undefined>;
  };
}

function inOrder(runs: readonly RunEntry[]): RunEntry[] {
  const at = (r: RunEntry): string => r.meta.startedAt;
  return runs.toSorted((a, b) => (at(a) < at(b) ? -1 : at(a) > at(b) ? 1 : 0));
}

const exists = (path: string): Promise<boolean> =>
  stat(path).then(
    () => true,
    () => false,
  );
