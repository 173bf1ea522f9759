/** `kinds.json` of a library: which kinds were merged and split. */
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { isPlainFile, readDocument } from '../run/document.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { lockKinds } from '../run/lock.ts';
import { replaceFile } from '../run/meta.ts';
import { KINDS_FORMAT, type Kinds, kindsSchema } from './kinds.ts';

const KINDS_FILE = 'kinds.json';

/** Of a library; nothing merged or split where there is no file. @throws HandbackError input.file, input.format, input.version */
export async function readKinds(library: string): Promise<Kinds> {
  const path = join(library, KINDS_FILE);
  if (!(await isPlainFile(path))) return { edits: [], undone: [] };
  return readDocument(path, KINDS_FORMAT, kindsSchema, saying('error.no-file', { path }));
}

/** A change takes milliseconds: whoever waits longer than this waits for something that hangs. Chosen by hand. */
const CHANGE_WITHIN_MS = 5000;
const TRY_EVERY_MS = 20;

/**
 * One change at a time, whoever makes it: read, changed and written under a lock, so that none is lost.
 * @param change null where there is nothing to change
 * @returns what it gave
 * @throws HandbackError library.read-only, run.write, run.busy; whatever `change` throws
 */
export async function changeKinds(
  library: string,
  change: (kinds: Kinds) => Promise<Kinds | null> | Kinds | null,
): Promise<Kinds | null> {
  await refuseReadOnly(library);
  const release = await lockedSoon(library);
  try {
    const now = await change(await readKinds(library));
    if (now) {
      const text = JSON.stringify({ format: KINDS_FORMAT, edits: now.edits, undone: now.undone }, null, 2);
      await replaceFile(join(library, KINDS_FILE), `${text}\n`);
    }
    return now;
  } finally {
    await release();
  }
}

async function lockedSoon(library: string): Promise<() => Promise<void>> {
  for (let waitedMs = 0; ; waitedMs += TRY_EVERY_MS) {
    try {
      return await lockKinds(library);
    } catch (thrown) {
      const busy = thrown instanceof HandbackError && thrown.code === 'run.busy';
      if (!busy || waitedMs >= CHANGE_WITHIN_MS) throw thrown;
      await sleep(TRY_EVERY_MS);
    }
  }
}
