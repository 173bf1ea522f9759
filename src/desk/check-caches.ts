/** Do the caches of a library or a run agree with what they were made from? Nothing is changed. */
import { lstat } from 'node:fs/promises';
import { join } from 'node:path';
import { checkIndex } from '../job/library.ts';
import type { CheckReport } from '../run/check.ts';
import { LIBRARY_FILE } from '../run/library-format.ts';
import { readMeta } from '../run/meta.ts';
import type { CheckedCache } from '../run/read-documents.ts';
import { type During, partOf } from '../run/types.ts';
import { KeptJudgements } from './kept-judgement.ts';
import { OpenedRuns } from './opened-runs.ts';

/**
 * @param checked what `check` said of the captures: of one that is not as it was nothing is believed anyway
 * @param again judges each run by itself once more
 * @param settings folder of the user's secret; absent: the user's own
 * @throws the signal's reason
 */
export async function checkCaches(
  checked: CheckReport,
  again: boolean,
  during: During,
  settings?: string,
): Promise<CheckedCache[]> {
  const isLibrary = await lstat(join(checked.path, LIBRARY_FILE)).then(
    () => true,
    () => false,
  );
  const found = isLibrary ? await checkIndex(checked.path) : [];
  const opened = new OpenedRuns(new KeptJudgements(settings));
  const runs = checked.items.filter((i) => i.kind === 'run' && i.hash === 'matches' && i.seal !== 'differs');
  for (const [i, { path: folder }] of runs.entries()) {
    const meta = await readMeta(folder);
    const entry = { folder, meta, leftOpen: false };
    found.push(...(await opened.checkKept(entry, again, partOf(during, i, runs.length))));
    during.progress((i + 1) / runs.length);
  }
  return found;
}
