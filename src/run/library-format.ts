/**
 * `library.json`: the format of a library as a whole, one number. A library without it is from before there was one,
 * and counts as format 0. An older library is brought up to date before the first write into it, step by step, never
 * back; into one of a later format nothing is written at all.
 */
import { lstat, readFile } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import { z } from 'zod';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { VERSION } from '../core/version.ts';
import { isPlainFile } from './document.ts';
import { isLocked, lockLibrary } from './lock.ts';
import { makeFolder, replaceFile } from './meta.ts';

export const LIBRARY_FILE = 'library.json';
const MAX_FORMAT_BYTES = 65_536;

/**
 * What makes a library of format n one of format n + 1, at index n. A step may be cut off anywhere and is then begun
 * anew: it writes whole files beside or in place of old ones, removes nothing, leaves captures and closed runs as they
 * are, and finds its own work done where it is.
 */
export type Step = (library: string) => Promise<void>;
const STEPS: readonly Step[] = [
  // Up to here every file says its own format and all of them are still read: the number alone is missing.
  async () => undefined,
  // From here on captures of ended runs may be compressed, which earlier programs do not find.
  async () => undefined,
];
/** The format that this program writes. */
export const LIBRARY_FORMAT = STEPS.length;

const schema = z.looseObject({
  format: z.string().regex(/^handback\.library\/[1-9]\d{0,5}$/),
  /** Version of the program that made it this format. */
  by: z.string().max(100),
});

export interface LibraryStamp {
  readonly format: number;
  /** Null for format 0. */
  readonly by: string | null;
}

/** @throws HandbackError library.read-only when there is a library.json that tells no format */
export async function libraryStamp(library: string): Promise<LibraryStamp> {
  const path = join(library, LIBRARY_FILE);
  try {
    if (!(await isPlainFile(path))) return { format: 0, by: null };
    if ((await lstat(path)).size > MAX_FORMAT_BYTES) throw new Error('it is too large');
    const { format, by } = schema.parse(JSON.parse(await readFile(path, 'utf8')));
    return { format: Number(format.slice(format.indexOf('/') + 1)), by };
  } catch (e) {
    throw new HandbackError('library.read-only', saying('error.library-stamp', { path }), {
      hint: saying('error.library-stamp-hint', { path, why: reason(e) }),
      cause: e,
    });
  }
}

const reason = (e: unknown) => toldOf(e instanceof z.ZodError ? new Error(e.issues[0]?.message) : e);

/** @throws HandbackError library.read-only when nothing may be written into this library */
async function stampToWrite(library: string, latest = LIBRARY_FORMAT): Promise<LibraryStamp> {
  const stamp = await libraryStamp(library);
  if (stamp.format <= latest) return stamp;
  throw new HandbackError(
    'library.read-only',
    saying('error.library-later', { by: stamp.by ?? String(stamp.format), own: VERSION }),
    { hint: saying('error.library-later-hint') },
  );
}

/**
 * For whatever writes below a library: into a run, a job or the library itself.
 * @param folder of the file or folder to be written
 * @throws HandbackError library.read-only
 */
export async function refuseReadOnly(folder: string): Promise<void> {
  const library = await libraryOf(folder);
  if (library !== null) await stampToWrite(library);
}

/** The library in which a folder lies, or that it is; null where it lies in none. */
export async function libraryOf(folder: string): Promise<string | null> {
  let above = resolve(folder);
  // photos and snapshots of a job, its runs, and the bin lie three below at most
  for (let depth = 0; depth < 4; depth++) {
    if (await lstat(join(above, LIBRARY_FILE)).catch(() => null)) return above;
    above = dirname(above);
  }
  return null;
}

/** Whether a program that does not hold the library may leave a cache in it: nobody holds it, and it is up to date. */
export async function isFreeToKeep(folder: string): Promise<boolean> {
  const library = await libraryOf(folder);
  if (library === null || (await isLocked(library))) return false;
  const stamp = await libraryStamp(library).catch(() => null);
  return stamp?.format === LIBRARY_FORMAT;
}

/**
 * Brings a library up to date, or makes it; whoever calls holds it.
 * @param steps for tests
 * @throws HandbackError library.read-only, run.write
 */
export async function bringUpToDate(library: string, steps: readonly Step[] = STEPS): Promise<void> {
  let { format } = await stampToWrite(library, steps.length);
  for (const step of steps.slice(format)) {
    await step(library);
    format++;
    const text = JSON.stringify({ format: `handback.library/${format}`, by: VERSION }, null, 2);
    await replaceFile(join(library, LIBRARY_FILE), `${text}\n`);
  }
}

/**
 * The same for a command that does not hold the library: up to date already where somebody else holds it.
 * @throws HandbackError library.read-only, run.busy, run.write
 */
export async function readyToWrite(library: string): Promise<void> {
  if ((await stampToWrite(library)).format === LIBRARY_FORMAT) return;
  await makeFolder(library);
  const release = await lockLibrary(library);
  try {
    await bringUpToDate(library);
  } finally {
    await release();
  }
}
