/** Marks worded or taken out after they were made. The capture is never touched: edits lie beside it, in `marks.json`. */

import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { readDocument } from '../run/document.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { replaceFile } from '../run/meta.ts';

export const MARKS_FILE = 'marks.json';
const FORMAT = 'handback.marks/1';
const MAX_EDITS = 2000;

const editSchema = z.object({
  /** Run time of the mark, s, and its key: together they name it. */
  tS: z.number().min(0),
  key: z.string().regex(/^[A-Z]$/),
  text: z.string().max(500),
  removed: z.boolean(),
});
const schema = z.object({ format: z.literal(FORMAT), edits: z.array(editSchema).max(MAX_EDITS) });

export type MarkEdits = readonly z.output<typeof editSchema>[];

interface Marked {
  readonly tS: number;
  readonly key: string;
  readonly text: string;
}

/** None where nothing was edited. @throws HandbackError input.file, input.format, input.version */
export async function readMarkEdits(folder: string): Promise<MarkEdits> {
  const path = join(folder, MARKS_FILE);
  if (!existsSync(path)) return [];
  return (await readDocument(path, FORMAT, schema, saying('error.no-file', { path }))).edits;
}

/** Edits follow one another: the second sees what the first wrote. */
let last: Promise<void> = Promise.resolve();

/** Adds one edit, in place of an earlier one of the same mark. @throws HandbackError run.write, input.* */
export function editMarkIn(folder: string, edit: MarkEdits[number]): Promise<void> {
  const mine = last.then(() => addEdit(folder, edit));
  last = mine.catch(() => undefined);
  return mine;
}

async function addEdit(folder: string, edit: MarkEdits[number]): Promise<void> {
  await refuseReadOnly(folder);
  const others = (await readMarkEdits(folder)).filter((e) => !same(e, edit));
  if (others.length >= MAX_EDITS) throw new HandbackError('input.usage', saying('error.edits-full'));
  await replaceFile(
    join(folder, MARKS_FILE),
    `${JSON.stringify({ format: FORMAT, edits: [...others, edit] }, null, 2)}\n`,
  );
}

/** The marks as people now want to read them. */
export function withEdits<M extends Marked>(marks: readonly M[], edits: MarkEdits): M[] {
  return marks.flatMap((m) => {
    const edit = edits.find((e) => same(e, m));
    if (!edit) return [m];
    return edit.removed ? [] : [{ ...m, text: edit.text }];
  });
}

/** Times travel as decimal seconds: half a millisecond apart is the same mark. */
const same = (a: { tS: number; key: string }, b: { tS: number; key: string }): boolean =>
  a.key === b.key && Math.abs(a.tS - b.tS) < 5e-4;
