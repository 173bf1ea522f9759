/** The real daemon on the simulated car under a clock that moves when told, with its page served: a drive in a blink. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { ManualClock } from '../../src/core/clock.ts';
import type { DaemonState, SeriesView } from '../../src/desk/api.ts';
import { Daemon, type DaemonOptions } from '../../src/desk/daemon.ts';
import type { Spoken } from '../../src/words/views.ts';
import { hears, holdFrames, pass, serve } from './browser.ts';

const STEP_MS = 1000;
/** So many steps the page follows at once; it draws none of them, as else it would as often as it is let. */
const FOLLOWED = 5;

export class SimulatedDrive {
  readonly clock = new ManualClock(1e9);
  readonly daemon: Daemon;
  readonly said: Spoken[] = [];
  url = '';
  /** The page that follows the drive. */
  page: Page | null = null;
  #sampledS = -1;
  readonly #library = mkdtempSync(join(tmpdir(), 'handback-drive-'));
  #close: () => Promise<void> = async () => undefined;

  constructor(options: Pick<DaemonOptions, 'linkFactory'> = {}) {
    this.daemon = new Daemon({ clock: this.clock, library: this.#library, ...options });
    this.daemon.subscribe((event, data) => {
      if (event === 'spoken') this.said.push(data as Spoken);
      if (event === 'samples')
        for (const { t } of Object.values(data as SeriesView))
          this.#sampledS = Math.max(this.#sampledS, t.at(-1) ?? -1);
    });
  }

  async serve(webRoot: string): Promise<void> {
    const server = await serve({ api: this.daemon, jobs: this.daemon.jobs, webRoot });
    this.url = server.url;
    this.#close = server.close;
  }

  /** Moves the drive on until the promise is settled. */
  settle<T>(promise: Promise<T>): Promise<T> {
    return this.clock.until(promise);
  }

  /** The daemon's next state of which it is so. The car's time stands still, however long page and disk take. */
  standing(so: (state: DaemonState) => boolean): Promise<void> {
    return new Promise((resolve) => {
      const stop = this.daemon.subscribe((event) => {
        if (event === 'state') look();
      });
      const look = (): void => {
        if (!so(this.daemon.state())) return;
        stop();
        resolve();
      };
      look();
    });
  }

  /**
   * Drives on until it is so, or for so many seconds of the drive at most. The page's time follows the car's, and is
   * level with it at the end: the page has heard all of it, and draws it then.
   * @returns whether it became so
   */
  async until(so: () => boolean, atMostS: number): Promise<boolean> {
    let behind = 0;
    if (this.page) await holdFrames(this.page, true);
    for (let s = 0; s < atMostS && !so(); s += STEP_MS / 1000) {
      await this.clock.advance(STEP_MS);
      behind++;
      if (behind === FOLLOWED) behind = await this.#follow(behind);
    }
    await this.#follow(behind);
    if (this.page) await holdFrames(this.page, false);
    return so();
  }

  async #follow(steps: number): Promise<0> {
    if (this.page && steps > 0) {
      await hears(this.page, this.#sampledS);
      await pass(this.page, steps * STEP_MS);
    }
    return 0;
  }

  async close(): Promise<void> {
    await this.#close();
    await this.settle(this.daemon.close());
    rmSync(this.#library, { recursive: true, force: true });
  }
}
