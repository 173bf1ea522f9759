/** The library, held for one daemon alone from its first write on: two never write into one. */

import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { listRuns, recoverRun } from '../run/library.ts';
import { bringUpToDate, refuseReadOnly } from '../run/library-format.ts';
import { lockLibrary } from '../run/lock.ts';
import { makeFolder } from '../run/meta.ts';

export class LibraryHold {
  readonly #library: string;
  #unlock: Promise<() => Promise<void>> | null = null;
  #readOnly: Says | null = null;

  constructor(library: string) {
    this.#library = library;
  }

  /** Why the library is only read; null while nothing is known against writing. */
  get readOnly(): Says | null {
    return this.#readOnly;
  }

  /** A disk that refused may be written again by now; a library of a later format stays as it is. */
  async tryAgain(): Promise<void> {
    if (this.#readOnly?.id === 'remark.read-only') await this.take().catch(() => undefined);
  }

  /** @throws HandbackError library.read-only for a later format, run.busy when another daemon holds it, run.write */
  async take(): Promise<void> {
    this.#unlock ??= this.#take();
    try {
      await this.#unlock;
    } catch (thrown) {
      this.#unlock = null; // the next one tries again
      throw thrown;
    }
  }

  /**
   * Takes it, brings it up to date and closes runs that a crash left open. A library that cannot be written can still
   * be read.
   * @returns one sentence for each thing worth saying
   * @throws HandbackError run.busy when another daemon holds it
   */
  async open(): Promise<Says[]> {
    const said: Says[] = [];
    try {
      await this.take();
    } catch (thrown) {
      if (thrown instanceof HandbackError && thrown.code === 'run.busy') throw thrown;
      const later = thrown instanceof HandbackError && thrown.code === 'library.read-only';
      this.#readOnly = later ? toldOf(thrown) : saying('remark.read-only', { why: toldOf(thrown) });
      said.push(this.#readOnly);
      if (later && thrown.told.hint) said.push(thrown.told.hint);
    }
    const { runs, troubles } = await listRuns(this.#library);
    said.push(...troubles);
    for (const run of this.#readOnly ? [] : runs.filter((r) => r.leftOpen)) {
      try {
        await recoverRun(run.folder);
        said.push(saying('remark.closed-now', { id: run.meta.id }));
      } catch (thrown) {
        said.push(saying('remark.not-closed', { id: run.meta.id, why: toldOf(thrown) }));
      }
    }
    return said;
  }

  async #take(): Promise<() => Promise<void>> {
    await refuseReadOnly(this.#library); // not even a lock is put into it
    await makeFolder(this.#library);
    const unlock = await lockLibrary(this.#library);
    try {
      await bringUpToDate(this.#library);
      this.#readOnly = null;
      return unlock;
    } catch (thrown) {
      await unlock();
      throw thrown;
    }
  }

  async release(): Promise<void> {
    await (await this.#unlock)?.();
  }
}
