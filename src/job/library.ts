/**
 * The jobs of a library: listed, opened, changed; runs filed into them.
 * Everything is plain folders, so that copying the library is a backup and a file manager can repair it.
 */

import { lstat, mkdir, readdir, rmdir } from 'node:fs/promises';
import { basename, dirname, join, resolve } from 'node:path';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { exists } from '../run/document.ts';
import { checkRunsIndex, FOLDERS_AT_A_TIME, leaveRuns, listRuns, type RunEntry } from '../run/library.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { isLocked } from '../run/lock.ts';
import { type RunMeta, syncFolder, writeMeta } from '../run/meta.ts';
import { type CheckedCache, ReadDocuments } from '../run/read-documents.ts';
import type { Purpose } from '../run/types.ts';
import { JOB_FILE, readJob, writeJob } from './files.ts';
import { folderOf, isName, jobId, moveFolder } from './folders.ts';
import { type Job, type JobFields, newJob } from './job.ts';
import { mergeFields } from './merge.ts';

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
      if (!isName(name))
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
  for (let i = 0; i < names.length; i += FOLDERS_AT_A_TIME)
    for (const found of await Promise.all(names.slice(i, i + FOLDERS_AT_A_TIME).map(look))) {
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
  try {
    await writeJob(folder, job);
  } catch (e) {
    await rmdir(folder).catch(() => undefined); // nothing stands in it
    throw e;
  }
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

/** When something last happened to a job. */
export function touchedAt({ job, runs }: JobEntry): string {
  return [job.changedAt, ...runs.map((r) => r.meta.startedAt)].sort().at(-1)!;
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
