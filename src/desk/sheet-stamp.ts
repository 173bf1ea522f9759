/** What a sheet is made from, as a stamp: with another one it would say something else, or leave something else out. */
import { createHash } from 'node:crypto';
import type { Stats } from 'node:fs';
import { lstat, readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { kindIn } from '../job/kinds.ts';
import { readKinds } from '../job/kinds-file.ts';
import { findJob, listJobs } from '../job/library.ts';
import { sha256OfFile } from '../run/hash.ts';
import { findRun } from '../run/library.ts';
import { COMPARED_FILE, JUDGEMENT_FILE, SAMPLES_FILE } from '../run/meta.ts';
import type { SheetRequest } from './stored-runs.ts';

/** Made from the others, also by making a sheet. */
const CACHES: ReadonlySet<string> = new Set([JUDGEMENT_FILE, SAMPLES_FILE, COMPARED_FILE]);

/** Of the files of the job or run, and of the jobs that teach it. @throws HandbackError library.path, input.* */
export async function sheetStamp(library: string, of: SheetRequest['of']): Promise<string> {
  if ('run' in of) return stampOf(await filesIn((await findRun(library, of.run)).folder));
  const { folder, job } = await findJob(library, of.job);
  const kinds = await readKinds(library);
  const kind = kindIn(kinds, job);
  const others =
    kind === '' ? [] : (await listJobs(library)).jobs.filter((e) => kindIn(kinds, e.job) === kind);
  const teach = others.map((e) => [e.job, e.runs.map((r) => r.meta)]);
  return stampOf([await filesIn(folder), kind, teach]);
}

/** Documents by what they hold, the larger others by size, times and place on the disk. */
async function filesIn(folder: string): Promise<string[]> {
  const stamps: string[] = [];
  for (const entry of await readdir(folder, { withFileTypes: true, recursive: true })) {
    if (!entry.isFile() || CACHES.has(entry.name)) continue;
    const path = join(entry.parentPath, entry.name);
    // one that is gone meanwhile is another state as well
    const { ino, size, mtimeMs, ctimeMs } = await lstat(path).catch(() => ({}) as Partial<Stats>);
    const content = entry.name.endsWith('.json') ? await sha256OfFile(path).catch(() => '') : '';
    stamps.push(`${path} ${ino} ${size} ${mtimeMs} ${ctimeMs} ${content}`);
  }
  return stamps.sort();
}

const stampOf = (what: unknown): string => createHash('sha256').update(JSON.stringify(what)).digest('hex');
