/** Small JSON files of the library: read with a sentence for whatever is wrong with them. */

import type { Stats } from 'node:fs';
import { lstat, readFile, stat } from 'node:fs/promises';
import type { z } from 'zod';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { unfit } from '../core/unfit.ts';

/** "handback.run/1": what kind of file, and which version of it this program writes. */
export type DocumentFormat = `handback.${string}/${number}`;

/** Larger ones, pipes and devices are nothing that was written here. */
const MAX_DOCUMENT_BYTES = 4 << 20;

/** Whether anything is there, behind a link too. */
export const exists = (path: string): Promise<boolean> =>
  stat(path).then(
    () => true,
    () => false,
  );

/**
 * Whether there is such a file. A symbolic link may lead out of the library, a pipe holds up its reader for ever:
 * inside a run or a job neither is ever opened, for reading or for writing.
 * @throws HandbackError input.file when something else than a plain file stands there
 */
export const isPlainFile = async (path: string): Promise<boolean> => (await plainFile(path)) !== null;

async function plainFile(path: string): Promise<Stats | null> {
  const info = await lstat(path).catch((e: NodeJS.ErrnoException) => {
    if (e.code === 'ENOENT' || e.code === 'ENOTDIR') return null;
    throw e;
  });
  if (info === null || info.isFile()) return info;
  throw new HandbackError('input.file', saying('error.no-plain-file', { path }), {
    hint: saying('error.no-plain-file-hint'),
  });
}

/**
 * @param absent the sentence when there is no such file
 * @throws HandbackError input.file, input.format, input.version
 */
export async function readDocument<T>(
  path: string,
  format: DocumentFormat,
  schema: z.ZodType<T>,
  absent: Says,
): Promise<T> {
  let raw: string;
  try {
    const info = await plainFile(path);
    if (info === null) throw Object.assign(new Error('it is not there'), { code: 'ENOENT' });
    if (info.size > MAX_DOCUMENT_BYTES) throw new Error('it is not a file of this program');
    raw = await readFile(path, 'utf8');
  } catch (e) {
    if (e instanceof HandbackError) throw e;
    const missing = (e as NodeJS.ErrnoException).code === 'ENOENT';
    throw new HandbackError(
      'input.file',
      missing ? absent : saying('error.not-read', { path, why: toldOf(e) }),
      {
        cause: e,
      },
    );
  }
  let json: unknown;
  try {
    json = JSON.parse(raw);
  } catch (e) {
    throw new HandbackError('input.format', saying('error.damaged', { path, why: toldOf(e) }), { cause: e });
  }
  return parseDocument(json, path, format, schema);
}

/** @throws HandbackError input.format, input.version */
export function parseDocument<T>(
  json: unknown,
  path: string,
  format: DocumentFormat,
  schema: z.ZodType<T>,
): T {
  const head = json as { format?: unknown; schema?: unknown } | null;
  const said = head?.format ?? head?.schema;
  const kind = format.slice(0, format.indexOf('/') + 1);
  if (
    typeof said === 'string' &&
    said !== format &&
    said.startsWith(kind) &&
    /^\d+$/.test(said.slice(kind.length))
  )
    throw new HandbackError('input.version', saying('error.later', { path, version: said }), {
      hint: saying('error.update-hint'),
    });
  const parsed = schema.safeParse(json);
  if (parsed.success) return parsed.data;
  throw new HandbackError('input.format', unfit(path, parsed.error));
}
