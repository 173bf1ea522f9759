/** Sheets for the daemon: finds the job or run in the library and gathers what its sheet is made from. */
import type { Clock } from '../core/clock.ts';
import { VERSION } from '../core/version.ts';
import { findJob } from '../job/library.ts';
import { findRun } from '../run/library.ts';
import type { SheetInput } from '../sheet/types.ts';
import { gatherSheet } from './gather-sheet.ts';
import type { Teaching } from './teaching.ts';

export interface SheetDeskOptions {
  readonly library: string;
  readonly clock: Clock;
  readonly teaching: Teaching;
}

export class SheetDesk {
  readonly #o: SheetDeskOptions;

  constructor(options: SheetDeskOptions) {
    this.#o = options;
  }

  /** @throws HandbackError library.path, input.* */
  async ofJob(id: string): Promise<SheetInput> {
    return this.#gather((await findJob(this.#o.library, id)).folder);
  }

  /** Of one run by itself. @throws HandbackError input.* */
  async ofRun(id: string): Promise<SheetInput> {
    return this.#gather((await findRun(this.#o.library, id)).folder);
  }

  #gather(folder: string): Promise<SheetInput> {
    return gatherSheet(folder, {
      tool: `handback ${VERSION}`,
      nowMs: this.#o.clock.wallMs(),
      timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone,
      taught: async (run) => (await this.#o.teaching.before(run))?.value ?? null,
    });
  }
}
