/** `run.json`: what is known about a run besides its capture. Written whole or not at all. */
import { randomBytes } from 'node:crypto';
import { open, rename, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { z } from 'zod';
import { HandbackError, reasonOf } from '../core/errors.ts';
import { readDocument } from './document.ts';
import { profileSchema } from './profile.ts';
import { PURPOSES } from './types.ts';

export const META_FILE = 'run.json';
export const CAPTURE_FILE = 'capture.txt';

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

/** @throws HandbackError input.file, input.format, input.version */
export function readMeta(folder: string): Promise<RunMeta> {
  const absent = `${folder} is no run: it has no ${META_FILE}.`;
  return readDocument(join(folder, META_FILE), 'handback.run/1', metaSchema, absent);
}

export function writeMeta(folder: string, meta: RunMeta): Promise<void> {
  return replaceFile(join(folder, META_FILE), `${JSON.stringify(meta, null, 2)}\n`);
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
    throw new HandbackError('run.write', `${path} cannot be written: ${reasonOf(e)}.`, { cause: e });
  }
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
