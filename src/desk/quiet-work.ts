/** Work for when nobody records and nobody asks anything: it waits for such a time and gives way at once. */
import { filter, interval, type Observable, takeUntil } from 'rxjs';
import type { Clock } from '../core/clock.ts';
import { schedulerOf } from '../core/scheduler.ts';

const LOOK_EVERY_MS = 10_000;

/** Why quiet work is given up that is begun anew in the next quiet time. */
export class GaveWay extends Error {}

export interface QuietWorkOptions {
  readonly clock: Clock;
  readonly isQuiet: () => boolean;
  /** Begun anew when it rejects with `GaveWay`, the signal's reason; with anything else it has ended. */
  readonly work: (signal: AbortSignal) => Promise<void>;
  readonly end$: Observable<unknown>;
}

export class QuietWork {
  #due = false;
  #going: AbortController | null = null;

  constructor({ clock, isQuiet, work, end$ }: QuietWorkOptions) {
    interval(LOOK_EVERY_MS, schedulerOf(clock))
      .pipe(
        takeUntil(end$),
        filter(() => this.#due && this.#going === null && isQuiet()),
      )
      .subscribe(() => {
        const going = new AbortController();
        this.#going = going;
        this.#due = false;
        work(going.signal)
          .catch((thrown: unknown) => {
            this.#due ||= thrown instanceof GaveWay;
          })
          .finally(() => {
            this.#going = null;
          });
      });
  }

  /** There is something to do. */
  due(): void {
    this.#due = true;
  }

  giveWay(): void {
    this.#going?.abort(new GaveWay('something else goes first'));
  }
}
