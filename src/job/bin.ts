/** The bin of a library: jobs and runs put into it and brought back. Nothing is ever removed from it by this program. */

import { readdir } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { exists } from '../run/document.ts';
import { listRuns } from '../run/library.ts';
import { readJob } from './files.ts';
import { folderOf, moveFolder, STAMPED, safeName, withoutStamp } from './folders.ts';
import type { BinEntry, Job } from './job.ts';
import { refuseWhileRecording } from './library.ts';

const BIN_FOLDER = '.bin';

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

async function binEntry(bin: string, name: string): Promise<BinEntry> {
  const [, day, h, m, s] = STAMPED.exec(name) ?? [];
  const job = await readJob(join(bin, name)).catch(() => null);
  return {
    id: name,
    deletedAt: `${day}T${h}:${m}:${s}.000Z`,
    title: job ? titleOfJob(job) : withoutStamp(name),
  };
}

function titleOfJob(job: Job): string {
  return [job.vehicle, job.plate, job.reference].filter(Boolean).join(', ') || 'Vehicle not named';
}
