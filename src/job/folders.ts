/** The folders of jobs: which names are safe, how one is named and moved. */

import { randomBytes } from 'node:crypto';
import { mkdir, rename } from 'node:fs/promises';
import { basename, dirname, join, resolve } from 'node:path';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { exists } from '../run/document.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { syncFolder } from '../run/meta.ts';
import type { JobFields } from './job.ts';

const NAME = /^[a-z0-9][a-z0-9-]{0,79}$/;
export const isName = (id: string): boolean => NAME.test(id);

/** Of what lies in the bin: when it was put there, then its name. */
export const STAMPED = /^(\d{4}-\d{2}-\d{2})-(\d{2})(\d{2})(\d{2})-/;
export const withoutStamp = (binId: string): string => binId.replace(STAMPED, '');

/** @throws HandbackError library.path */
export function safeName(id: string): string {
  if (!isName(withoutStamp(id)))
    throw new HandbackError('library.path', saying('error.no-job-name'), {
      hint: saying('error.no-job-name-hint'),
    });
  return id;
}

/** @throws HandbackError library.path for a name that could lead out of the library */
export function folderOf(library: string, id: string): string {
  return join(resolve(library), safeName(id));
}

/** @throws HandbackError library.path, library.read-only */
export async function moveFolder(from: string, to: string): Promise<void> {
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
export function jobId(nowIso: string, fields: JobFields): string {
  const name = fold(fields.vehicle || fields.reference || 'job')
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 40);
  return `${nowIso.slice(0, 10)}-${name || 'job'}-${randomBytes(2).toString('hex')}`;
}

/** Without case and accents. */
export function fold(text: string): string {
  return text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase().replaceAll('ß', 'ss');
}

/** Letters and digits alone, likewise. */
export const compact = (text: string): string => fold(text).replace(/[^\p{L}\p{N}]/gu, '');
