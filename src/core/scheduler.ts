/** Our clock as `rxjs` wants it, so that its operators wait on simulated time as on real time. */
import { type SchedulerAction, type SchedulerLike, Subscription } from 'rxjs';
import type { Clock, Timer } from './clock.ts';

export function schedulerOf(clock: Clock): SchedulerLike {
  return {
    now: () => clock.nowUs() / 1000,
    schedule: <T>(work: Work<T>, delay?: number, state?: T) =>
      new ClockAction(clock, work).schedule(state, delay),
  };
}

type Work<T> = (this: SchedulerAction<T>, state?: T) => void;

class ClockAction<T> extends Subscription implements SchedulerAction<T> {
  readonly #clock: Clock;
  readonly #work: Work<T>;
  #timer: Timer | null = null;

  constructor(clock: Clock, work: Work<T>) {
    super(() => this.#timer?.cancel());
    this.#clock = clock;
    this.#work = work;
  }

  schedule(state?: T, delay = 0): Subscription {
    this.#timer?.cancel();
    if (!this.closed) this.#timer = this.#clock.after(delay, () => this.#work.call(this, state));
    return this;
  }
}
