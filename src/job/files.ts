/** The files of a job besides its runs: job.json, code snapshots and photos. */
import { randomBytes } from 'node:crypto';
import { lstat, mkdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Snapshot } from '../core/snapshot.ts';
import { unfit } from '../core/unfit.ts';
import { parseDocument, readDocument } from '../run/document.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { replaceFile } from '../run/meta.ts';
import { JOB_FORMAT, type Job, jobSchema, type NewPhoto, type PhotoRef, type SnapshotRef } from './job.ts';
import { cleanPhoto, PHOTO_TYPES, photoKind } from './photo/clean.ts';

export const JOB_FILE = 'job.json';
export const SNAPSHOT_FOLDER = 'snapshots';
export const PHOTO_FOLDER = 'photos';
/** Photos as they came, under the same names; no archive and no sheet takes them along. */
const ORIGINAL_FOLDER = 'originals';

/** @throws HandbackError input.file, input.format, input.version */
export function readJob(folder: string): Promise<Job> {
  const absent = saying('error.no-job-folder', { path: folder, file: JOB_FILE });
  return readDocument(join(folder, JOB_FILE), JOB_FORMAT, jobSchema, absent);
}

/**
 * Only what can be read again: one value that does not fit would take the whole job out of the list.
 * @throws HandbackError input.usage, library.read-only, run.write
 */
export async function writeJob(folder: string, job: Job): Promise<void> {
  const fits = jobSchema.safeParse(job);
  if (!fits.success) throw new HandbackError('input.usage', unfit('job', fits.error));
  await refuseReadOnly(folder);
  await replaceFile(join(folder, JOB_FILE), `${JSON.stringify(job, null, 2)}\n`);
}

// ---- snapshots ----------------------------------------------------------------------------------------------

const text = z.string().max(2000);
const code = z.object({ code: text, text, source: text.nullable() });
const value = z.object({
  pid: text,
  signal: text.nullable(),
  value: z.union([z.number(), text]).nullable(),
  unit: text.nullable(),
  raw: text,
  absent: text.optional(),
});
const codes = z.array(code).max(500);
const values = z.array(value).max(2000);
const snapshotSchema = z.object({
  schema: z.literal('handback.codes/1'),
  vin: text.nullable(),
  units: z
    .array(
      z.object({
        ecu: text,
        stored: codes,
        pending: codes,
        permanent: codes,
        mil: z.boolean().nullable(),
        readiness: z
          .object({
            mil: z.boolean(),
            codes: z.number(),
            ignition: z.enum(['spark', 'compression']),
            monitors: z
              .array(
                z.object({
                  name: text,
                  continuous: z.boolean(),
                  supported: z.boolean(),
                  complete: z.boolean(),
                }),
              )
              .max(64),
          })
          .nullable(),
        sinceCleared: values.default([]),
        freezeFrame: values,
        information: values,
        monitorResults: values,
      }),
    )
    .max(64),
  unanswered: z.array(text).max(64),
  frameNotRead: z
    .object({
      reason: z.enum(['unasked', 'refused', 'no answer']),
      code: z.int().min(0).max(255).nullable(),
    })
    .optional(),
}) as unknown as z.ZodType<Snapshot>;

/** @returns the entry for job.json; the file is written. @throws HandbackError run.write */
export async function saveSnapshot(
  jobFolder: string,
  snapshot: Snapshot,
  when: SnapshotRef['when'],
  atIso: string,
): Promise<SnapshotRef> {
  const file = `${stamp(atIso)}-${when}-${randomBytes(2).toString('hex')}.json`;
  await made(jobFolder, SNAPSHOT_FOLDER);
  await replaceFile(join(jobFolder, SNAPSHOT_FOLDER, file), `${JSON.stringify(snapshot, null, 2)}\n`);
  return { file, when, at: atIso };
}

/** @throws HandbackError input.file, input.format */
export async function readSnapshot(jobFolder: string, ref: SnapshotRef): Promise<Snapshot> {
  const path = join(jobFolder, SNAPSHOT_FOLDER, ref.file);
  let json: unknown;
  try {
    json = JSON.parse(await readFile(path, 'utf8'));
  } catch (e) {
    throw new HandbackError('input.file', saying('error.snapshot-not-read', { path, why: toldOf(e) }), {
      cause: e,
    });
  }
  return parseDocument(json, path, 'handback.codes/1', snapshotSchema);
}

// ---- photos -------------------------------------------------------------------------------------------------

export const MAX_PHOTO_BYTES = 15 * 2 ** 20;
const MAX_PHOTOS = 100;

/**
 * Writes the picture without what its camera wrote about it.
 * @returns the entry for job.json. @throws HandbackError input.format, run.write
 */
export async function savePhoto(
  jobFolder: string,
  job: Job,
  { bytes, caption, original }: NewPhoto,
  atIso: string,
): Promise<PhotoRef> {
  const kind = photoKind(bytes);
  if (!kind)
    throw new HandbackError('input.format', saying('error.no-photo-kind'), {
      hint: saying('error.no-photo-kind-hint'),
    });
  if (bytes.length > MAX_PHOTO_BYTES)
    throw new HandbackError(
      'input.format',
      saying('error.photo-large', { mb: Math.ceil(bytes.length / 2 ** 20) }),
      {
        hint: saying('error.photo-large-hint', { most: MAX_PHOTO_BYTES / 2 ** 20 }),
      },
    );
  if (job.photos.length >= MAX_PHOTOS)
    throw new HandbackError('input.usage', saying('error.photos-full', { most: MAX_PHOTOS }));
  const clean = cleanPhoto(bytes, kind);
  if (!clean)
    throw new HandbackError('input.format', saying('error.photo-damaged'), {
      hint: saying('error.photo-damaged-hint'),
    });
  const file = `${stamp(atIso)}-${randomBytes(3).toString('hex')}.${kind}`;
  if (original) {
    await made(jobFolder, ORIGINAL_FOLDER);
    await replaceFile(join(jobFolder, ORIGINAL_FOLDER, file), bytes);
  }
  await made(jobFolder, PHOTO_FOLDER);
  await replaceFile(join(jobFolder, PHOTO_FOLDER, file), clean);
  return { file, caption: caption.slice(0, 500), at: atIso };
}

/**
 * A photo that job.json names, with its type by its bytes.
 * @throws HandbackError library.path when there is none, input.format when the file is something else
 */
export async function readPhoto(
  jobFolder: string,
  job: Job,
  file: string,
): Promise<{ readonly bytes: Buffer; readonly type: string }> {
  if (!job.photos.some((p) => p.file === file))
    throw new HandbackError('library.path', saying('error.no-photo'));
  const path = join(jobFolder, PHOTO_FOLDER, file);
  const info = await lstat(path).catch(() => null);
  if (!info?.isFile()) throw new HandbackError('library.path', saying('error.photo-missing', { file }));
  if (info.size > MAX_PHOTO_BYTES)
    throw new HandbackError('input.format', saying('error.photo-too-large', { file }));
  const bytes = await readFile(path);
  const kind = photoKind(bytes);
  // Anew: earlier versions kept photos as they came.
  const clean = kind && cleanPhoto(bytes, kind);
  if (!clean) throw new HandbackError('input.format', saying('error.no-photo-file', { file }));
  return { bytes: clean, type: PHOTO_TYPES[kind] };
}

const stamp = (iso: string): string => iso.slice(0, 19).replaceAll(':', '').replace('T', '-');

async function made(jobFolder: string, name: string): Promise<void> {
  await refuseReadOnly(jobFolder);
  const folder = join(jobFolder, name);
  try {
    await mkdir(folder, { recursive: true });
  } catch (e) {
    throw new HandbackError('run.write', saying('error.folder-not-made', { path: folder, why: toldOf(e) }), {
      cause: e,
    });
  }
}
