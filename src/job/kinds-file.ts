/** `kinds.json` of a library: which kinds were merged and split. */
import { join } from 'node:path';
import { saying } from '../core/error-says.ts';
import { isPlainFile, readDocument } from '../run/document.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { replaceFile } from '../run/meta.ts';
import { KINDS_FORMAT, type Kinds, kindsSchema } from './kinds.ts';

const KINDS_FILE = 'kinds.json';

/** Of a library; nothing merged or split where there is no file. @throws HandbackError input.file, input.format, input.version */
export async function readKinds(library: string): Promise<Kinds> {
  const path = join(library, KINDS_FILE);
  if (!(await isPlainFile(path))) return { edits: [], undone: [] };
  return readDocument(path, KINDS_FORMAT, kindsSchema, saying('error.no-file', { path }));
}

/** @throws HandbackError library.read-only, run.write */
export async function writeKinds(library: string, { edits, undone }: Kinds): Promise<void> {
  await refuseReadOnly(library);
  const text = JSON.stringify({ format: KINDS_FORMAT, edits, undone }, null, 2);
  await replaceFile(join(library, KINDS_FILE), `${text}\n`);
}
