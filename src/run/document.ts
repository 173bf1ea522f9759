/** Small JSON files of the library: read with a sentence for whatever is wrong with them. */
import { lstat, readFile } from 'node:fs/promises';
import type { z } from 'zod';
import { HandbackError, reasonOf } from '../core/errors.ts';

/** "handback.run/1": what kind of file, and which version of it this program writes. */
export type DocumentFormat = `handback.${string}/${number}`;

/** Larger ones, pipes and devices are nothing that was written here. */
const MAX_BYTES = 4 << 20;

/**
 * Whether there is such a file. A symbolic link may lead out of the library, a pipe holds up its reader for ever:
 * inside a run or a job neither is ever opened, for reading or for writing.
 * @throws HandbackError input.file when something else than a plain file stands there
 */
export async function isPlainFile(path: string): Promise<boolean> {
  const info = await lstat(path).catch((e: NodeJS.ErrnoException) => {
    if (e.code === 'ENOENT' || e.code === 'ENOTDIR') return null;
    throw e;
  });
  if (info === null || info.isFile()) return info !== null;
  throw new HandbackError('input.file', `${path} is not a plain file; it is not opened.`, {
    hint: 'A link or a pipe stands in its place: put the file itself there.',
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
  absent: string,
): Promise<T> {
  let raw: string;
  try {
    if (!(await isPlainFile(path))) throw Object.assign(new Error('it is not there'), { code: 'ENOENT' });
    if ((await lstat(path)).size > MAX_BYTES) throw new Error('it is not a file of this program');
    raw = await readFile(path, 'utf8');
  } catch (e) {
    if (e instanceof HandbackError) throw e;
    const missing = (e as NodeJS.ErrnoException).code === 'ENOENT';
    throw new HandbackError('input.file', missing ? absent : `${path} cannot be read: ${reasonOf(e)}.`, {
      cause: e,
    });
  }
  let json: unknown;
  try {
    json = JSON.parse(raw);
  } catch (e) {
    throw new HandbackError('input.format', `${path} is damaged: ${reasonOf(e)}.`, { cause: e });
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
    throw new HandbackError('input.version', `${path} was written by a later version (${said}).`, {
      hint: 'Update this program to open it.',
    });
  const parsed = schema.safeParse(json);
  if (parsed.success) return parsed.data;
  const issue = parsed.error.issues[0];
  throw new HandbackError(
    'input.format',
    `${path}: ${issue?.path.join('.') || 'the file'}: ${issue?.message ?? 'unreadable'}.`,
  );
}
