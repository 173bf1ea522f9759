/** Pauses of whatever can be stopped: all of them end at once. */
import type { Clock } from '../core/clock.ts';

export class Pauses {
  readonly #clock: Clock;
  readonly #ends = new Set<() => void>();
  #stopped = false;

  constructor(clock: Clock) {
    this.#clock = clock;
  }

  get stopped(): boolean {
    return this.#stopped;
  }

  /** Ends those that go on; from now on there are none. */
  stop(): void {
    this.#stopped = true;
    for (const end of [...this.#ends]) end();
  }

  /** Ends early when stopped. */
  pause(ms: number): Promise<void> {
    if (this.#stopped) return Promise.resolve();
    return new Promise((resolve) => {
      const end = () => {
        timer.cancel();
        this.#ends.delete(end);
        resolve();
      };
      const timer = this.#clock.after(ms, end);
      this.#ends.add(end);
    });
  }
}
