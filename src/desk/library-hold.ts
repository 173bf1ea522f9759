/** The library, held for one daemon alone from its first write on: two never write into one. */
import { HandbackError, reasonOf } from '../core/errors.ts';
import { listRuns, recoverRun } from '../run/library.ts';
import { lockLibrary } from '../run/lock.ts';
import { makeFolder } from '../run/meta.ts';

export class LibraryHold {
  readonly #library: string;
  #unlock: Promise<() => Promise<void>> | null = null;

  constructor(library: string) {
    this.#library = library;
  }

  /** @throws HandbackError run.busy when another daemon holds it, run.write */
  async take(): Promise<void> {
    this.#unlock ??= makeFolder(this.#library).then(() => lockLibrary(this.#library));
    try {
      await this.#unlock;
    } catch (thrown) {
      this.#unlock = null; // the next one tries again
      throw thrown;
    }
  }

  /**
   * Takes it and closes runs that a crash left open. A library that cannot be written can still be read.
   * @returns one sentence for each thing worth saying
   * @throws HandbackError run.busy when another daemon holds it
   */
  async open(): Promise<string[]> {
    const said: string[] = [];
    try {
      await this.take();
    } catch (thrown) {
      if (thrown instanceof HandbackError && thrown.code === 'run.busy') throw thrown;
      said.push(`The library cannot be written: runs can be opened, not recorded. ${reasonOf(thrown)}`);
    }
    const { runs, troubles } = await listRuns(this.#library);
    said.push(...troubles);
    for (const run of runs.filter((r) => r.leftOpen)) {
      try {
        await recoverRun(run.folder);
        said.push(`Run ${run.meta.id} was interrupted; it has been closed and is complete up to there.`);
      } catch (thrown) {
        said.push(`Run ${run.meta.id} was interrupted and cannot be closed: ${reasonOf(thrown)}`);
      }
    }
    return said;
  }

  async release(): Promise<void> {
    await (await this.#unlock)?.();
  }
}
