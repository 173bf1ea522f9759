/** `run.json`: what is known about a run besides its capture. Written whole or not at all. */

import { createHash, randomBytes } from 'node:crypto';
import { mkdir, open, readFile, rename, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { z } from 'zod';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { profileSchema } from '../core/profile.ts';
import { isPlainFile, readDocument } from './document.ts';
import { PURPOSES } from './types.ts';

export const META_FILE = 'run.json';
/** Of a run that is being recorded, and of one that was not compressed afterwards. */
export const CAPTURE_FILE = 'capture.txt';
/** The same bytes as gzip (`members.ts`), of a run that has ended. */
export const COMPRESSED_FILE = `${CAPTURE_FILE}.gz`;
/** What was found out about an ended run, to be had again from the capture at any time. */
export const JUDGEMENT_FILE = 'judgement.json';
export const SAMPLES_FILE = 'samples.parquet';
/** What comparing takes from a run: a cache as well, in a file of its own, of a name that no archive holds. */
export const COMPARED_FILE = 'compared.sealed';

const text = z.string().max(2000).nullable();

/** Keys that a later version adds are let through unread; a later format is refused. */
const metaSchema = z.object({
  format: z.literal('handback.run/1'),
  id: z.string().regex(/^[a-z0-9][a-z0-9-]{0,79}$/),
  purpose: z.enum(PURPOSES),
  vehicle: text,
  vin: text,
  complaint: text,
  /** The profile as it was when the run began. */
  profile: profileSchema.nullable(),
  /** Version of the tool that recorded. */
  tool: z.string().max(100),
  adapter: z
    .object({
      identity: z.string().max(500),
      bus: z.string().max(200),
      baud: z.number().nullable(),
    })
    .nullable(),
  /** Port or "sim…"; null for a table that was kept as a run. */
  link: text,
  startedAt: z.iso.datetime(),
  /** Run time; null while recording and after an interruption. */
  seconds: z.number().min(0).nullable(),
  /** Of the whole capture file; null while recording and after an interruption. */
  sha256: z
    .string()
    .regex(/^[0-9a-f]{64}$/)
    .nullable(),
  /** Link counters and the like at the end of the run. */
  counters: z.record(z.string(), z.number().nullable()).nullable(),
  /** The run was left open (power, crash) and closed afterwards. */
  recovered: z.boolean(),
});

export type RunMeta = z.output<typeof metaSchema>;
/** What decides which earlier runs may teach it. */
export type RunToJudge = Pick<RunMeta, 'id' | 'startedAt' | 'profile' | 'link'>;

/** Recorded of the simulated vehicle. */
export const isSimulated = (run: Pick<RunMeta, 'link'>): boolean => run.link?.startsWith('sim') ?? false;

/** @throws HandbackError input.file, input.format, input.version */
export function readMeta(folder: string): Promise<RunMeta> {
  const absent = saying('error.no-run-folder', { path: folder, file: META_FILE });
  return readDocument(join(folder, META_FILE), 'handback.run/1', metaSchema, absent);
}

/**
 * The file that holds the capture of a run: the plain one while it is there. Null where there is neither.
 * @throws HandbackError input.file when something else than a plain file stands in its place
 */
export async function captureOf(folder: string): Promise<string | null> {
  for (const name of [CAPTURE_FILE, COMPRESSED_FILE])
    if (await isPlainFile(join(folder, name))) return join(folder, name);
  return null;
}

export function writeMeta(folder: string, meta: RunMeta): Promise<void> {
  return replaceFile(join(folder, META_FILE), sealedMeta(meta));
}

/** run.json as text with its seal. */
export function sealedMeta(meta: object): string {
  const open = `${JSON.stringify({ ...meta, seal: NO_SEAL }, null, 2)}\n`;
  return putSeal(open, sha256(open));
}

/** The last key holds the SHA-256 of the file as it is with 64 zeros in this place. */
const NO_SEAL = '0'.repeat(64);
const SEAL = /("seal": ")([0-9a-f]{64})("\s*\}\s*)$/;
const putSeal = (text: string, seal: string): string => text.replace(SEAL, `$1${seal}$3`);
const sha256 = (text: string | Uint8Array): string => createHash('sha256').update(text).digest('hex');

/** Whether run.json is, byte for byte, as it was written; null when an older version wrote it, without a seal. */
export async function sealOfMeta(folder: string): Promise<'matches' | 'differs' | null> {
  // one character a byte, so that bytes which are no UTF-8 are seen as they are
  const raw = await readFile(join(folder, META_FILE), 'latin1');
  const seal = SEAL.exec(raw)?.[2];
  // Its key or its value alone still tells that there was one.
  if (seal === undefined) return /"seal"|"[0-9a-f]{64}"\s*\}\s*$/.test(raw) ? 'differs' : null;
  return sha256(Buffer.from(putSeal(raw, NO_SEAL), 'latin1')) === seal ? 'matches' : 'differs';
}

/** Temporary file, synced, renamed: a reader sees the old content or the new, never a part. @throws HandbackError run.write */
export async function replaceFile(path: string, content: string | Uint8Array): Promise<void> {
  const temporary = `${path}.${randomBytes(4).toString('hex')}.tmp`;
  try {
    const handle = await open(temporary, 'wx');
    try {
      await handle.writeFile(content);
      await handle.sync();
    } finally {
      await handle.close();
    }
    await rename(temporary, path);
    await syncFolder(dirname(path));
  } catch (e) {
    await rm(temporary, { force: true });
    throw new HandbackError('run.write', saying('error.not-written', { path, why: toldOf(e) }), { cause: e });
  }
}

/** Makes a folder and those above it, so that they survive a power cut. @throws Error from the file system */
export async function makeFolder(folder: string): Promise<void> {
  const first = await mkdir(folder, { recursive: true });
  if (first === undefined) return;
  for (let made = folder; made.length >= first.length; made = dirname(made)) await syncFolder(dirname(made));
}

/** Makes new names in a folder survive a power cut, where the system lets a folder be synced at all. */
export async function syncFolder(folder: string): Promise<void> {
  try {
    const handle = await open(folder, 'r');
    try {
      await handle.sync();
    } finally {
      await handle.close();
    }
  } catch {
    // not possible on this system; the file itself is synced
  }
}
