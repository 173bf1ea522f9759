/**
 * Timers that run in the order they fell due, each at its own time, however late the machine is. Without it a
 * computer that stalls for a fifth of a second would let an adapter's time-out overtake the answer that was on
 * its way, and the car on the bench would fall silent for a reason no car has.
 */
import type { Clock, Timer } from '../core/clock.ts';

/** Time lost beyond this is not made up for: a machine that slept goes on from where it woke. */
const MAX_BEHIND_US = 2_000_000;
/** After this long a catching-up clock lets the rest of the program have a turn. */
const TURN_US = 15_000;

interface Entry {
  readonly dueUs: number;
  readonly fn: () => void;
  done: boolean;
}

export interface OrderlyClock extends Clock {
  /** Runs what fell due; call before handing in something from outside. */
  settle(): void;
}

export function orderlyClock(clock: Clock): OrderlyClock {
  /** Latest first, so that the next is taken off the end; of one time, the first asked is nearest the end. */
  const queue: Entry[] = [];
  let atUs = clock.nowUs();
  let running = false;
  let armed: { readonly timer: Timer; readonly dueUs: number } | null = null;

  const arm = (): void => {
    const next = queue.at(-1);
    if (armed !== null && armed.dueUs === next?.dueUs) return;
    armed?.timer.cancel();
    armed = null;
    if (next === undefined) return;
    const timer = clock.after(Math.max(0, next.dueUs - clock.nowUs()) / 1000, () => {
      armed = null;
      settle();
    });
    armed = { timer, dueUs: next.dueUs };
  };

  const settle = (): void => {
    if (running) return;
    running = true;
    const turnEndsUs = clock.nowUs() + TURN_US;
    try {
      for (;;) {
        const nowUs = clock.nowUs();
        const next = queue.at(-1);
        if (next === undefined || next.dueUs > nowUs || nowUs > turnEndsUs) break;
        queue.pop();
        next.done = true;
        atUs = Math.max(atUs, next.dueUs, nowUs - MAX_BEHIND_US);
        next.fn();
      }
    } finally {
      running = false;
      arm();
    }
  };

  const nowUs = (): number => {
    const next = queue.at(-1);
    // While something that fell due waits, time has not passed it yet.
    if (!running) atUs = Math.max(atUs, Math.min(clock.nowUs(), next?.dueUs ?? Number.POSITIVE_INFINITY));
    return atUs;
  };

  return {
    nowUs,
    wallMs: () => clock.wallMs(),
    after(ms, fn) {
      const entry: Entry = { dueUs: nowUs() + Math.max(0, Math.round(ms * 1000)), fn, done: false };
      let i = queue.length;
      while (i > 0 && queue[i - 1]!.dueUs <= entry.dueUs) i--;
      queue.splice(i, 0, entry);
      if (!running) arm();
      return {
        cancel() {
          if (entry.done) return;
          entry.done = true;
          queue.splice(queue.indexOf(entry), 1);
          if (!running) arm();
        },
      };
    },
    settle,
  };
}
