/** The real daemon on the simulated car under a clock that moves when told, with its page served: a drive in a blink. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon, type DaemonOptions } from '../../src/desk/daemon.ts';
import { startServer } from '../../src/server/server.ts';
import type { Spoken } from '../../src/words/views.ts';

const STEP_MS = 1000;

export class SimulatedDrive {
  readonly clock = new ManualClock(1e9);
  readonly daemon: Daemon;
  readonly said: Spoken[] = [];
  url = '';
  readonly #library = mkdtempSync(join(tmpdir(), 'handback-drive-'));
  #close: () => Promise<void> = async () => undefined;

  constructor(options: Pick<DaemonOptions, 'linkFactory'> = {}) {
    this.daemon = new Daemon({ clock: this.clock, library: this.#library, ...options });
    this.daemon.subscribe((event, data) => {
      if (event === 'spoken') this.said.push(data as Spoken);
    });
  }

  async serve(webRoot: string): Promise<void> {
    const server = await startServer({
      api: this.daemon,
      jobs: this.daemon.jobs,
      host: '127.0.0.1',
      port: 0,
      webRoot,
    });
    this.url = server.url;
    this.#close = server.close;
  }

  /** Moves the drive on until the promise is settled. */
  settle<T>(promise: Promise<T>): Promise<T> {
    return this.clock.until(promise);
  }

  /** Drives on until it is so, or for so many seconds of the drive at most. @returns whether it became so */
  async until(so: () => boolean, atMostS: number): Promise<boolean> {
    for (let s = 0; s < atMostS && !so(); s += STEP_MS / 1000) {
      await this.clock.advance(STEP_MS);
      // What is on its way to the page gets out before the next second comes in.
      await new Promise((resolve) => setTimeout(resolve, 1));
    }
    return so();
  }

  async close(): Promise<void> {
    await this.#close();
    await this.settle(this.daemon.close());
    rmSync(this.#library, { recursive: true, force: true });
  }
}
