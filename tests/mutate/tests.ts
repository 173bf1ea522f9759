/** Whether a test file notices a change: asked of a process that stays, and that is ended where a change goes round in circles. */
import { type ChildProcess, fork } from 'node:child_process';
import { join } from 'node:path';

export type Outcome = 'killed' | 'timeout' | 'survived';

export interface AskedOfTests {
  /** Absolute path of the module, and what stands in its place. */
  readonly module: string;
  readonly text: string;
  /** Relative to the root. */
  readonly test: string;
}

export class Tests {
  #child: ChildProcess | null = null;

  run(asked: AskedOfTests, limitS: number): Promise<Outcome> {
    // A group of its own, so that what it started ends with it.
    this.#child ??= fork(join(import.meta.dirname, 'tests-child.ts'), { detached: true, stdio: 'ignore' });
    const child = this.#child;
    return new Promise((done) => {
      const end = (outcome: Outcome): void => {
        clearTimeout(timer);
        child.removeAllListeners();
        done(outcome);
      };
      const timer = setTimeout(() => {
        this.close();
        end('timeout');
      }, limitS * 1000);
      child.once('message', (passed) => end(passed === true ? 'survived' : 'killed'));
      child.once('exit', () => {
        this.#child = null;
        end('killed');
      });
      child.send(asked);
    });
  }

  close(): void {
    if (this.#child) process.kill(-this.#child.pid!, 'SIGKILL');
    this.#child = null;
  }
}
