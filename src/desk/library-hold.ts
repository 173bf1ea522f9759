/** The library, held for one daemon alone from its first write on: two never write into one. */

import { readdir, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { sweepLeftovers } from '../run/leftovers.ts';
import { listRuns, recoverRun } from '../run/library.ts';
import { bringUpToDate, refuseReadOnly } from '../run/library-format.ts';
import { isLocked, lockLibrary } from '../run/lock.ts';
import { makeFolder } from '../run/meta.ts';

/** Where a job is taken in or a practice drive made until it is whole: left over when the program was killed meanwhile. */
const UNFINISHED = /^\.(?:import|practice)-[0-9a-f]{8,}$/;

export class LibraryHold {
  readonly #library: string;
  #unlock: Promise<() => Promise<void>> | null = null;
  #readOnly: Says | null = null;
  #swept: Promise<void> | null = null;

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
      await this.#tidy();
      // Of a library of thousands of runs that takes a while, and nobody waits for it.
      this.#swept = sweepLeftovers(this.#library).catch(() => undefined);
      this.#readOnly = null;
      return unlock;
    } catch (thrown) {
      await unlock();
      throw thrown;
    }
  }

  /** Folders that nobody works in any more; what cannot be taken away stays. */
  async #tidy(): Promise<void> {
    for (const entry of await readdir(this.#library, { withFileTypes: true })) {
      const folder = join(this.#library, entry.name);
      if (!entry.isDirectory() || !UNFINISHED.test(entry.name) || (await isLocked(folder))) continue;
      await rm(folder, { recursive: true, force: true }).catch(() => undefined);
    }
  }

  async release(): Promise<void> {
    await this.#swept;
    await (await this.#unlock)?.();
  }
}
