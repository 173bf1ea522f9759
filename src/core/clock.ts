/** Time as every layer sees it: monotonic microseconds for evidence, wall time only for anchors, timers injectable. */

export interface Timer {
  cancel(): void;
}

export interface Clock {
  /** Monotonic time in whole microseconds; zero is arbitrary but fixed for the life of the clock. */
  nowUs(): number;
  /** Wall-clock time in milliseconds since 1970 (UTC); may jump. Only for anchors and labels. */
  wallMs(): number;
  /** Calls `fn` once after `ms` milliseconds. */
  after(ms: number, fn: () => void): Timer;
}

export function sleep(clock: Clock, ms: number): Promise<void> {
  return new Promise((resolve) => {
    clock.after(ms, resolve);
  });
}

/** Late by more than this a timer was not by itself, ms; and the longest that what came meanwhile needs to be read. Chosen. */
const LATE_MS = { least: 2, most: 100 } as const;

/**
 * Calls `fn` once when what is awaited from outside stayed away for `ms`. A computer that was busy rings its timers before it
 * hands over what came meanwhile: a ring that is late gives that as long again, once.
 */
export function afterAwaiting(clock: Clock, ms: number, fn: () => void): Timer {
  const dueUs = clock.nowUs() + 1000 * ms;
  let timer = clock.after(ms, () => {
    const lateMs = (clock.nowUs() - dueUs) / 1000;
    if (lateMs < LATE_MS.least) fn();
    else timer = clock.after(Math.min(lateMs, LATE_MS.most), fn);
  });
  return { cancel: () => timer.cancel() };
}

/** The machine's own clocks. */
export const systemClock: Clock = {
  nowUs: () => Math.round(performance.now() * 1000),
  wallMs: () => Date.now(),
  after(ms, fn) {
    const handle = setTimeout(fn, ms);
    return { cancel: () => clearTimeout(handle) };
  },
};

interface Entry {
  readonly atUs: number;
  readonly seq: number;
  readonly fn: () => void;
}

/** A clock that moves only when told to: for tests and for simulation faster than real time. */
export class ManualClock implements Clock {
  #nowUs: number;
  #wallMs: number;
  #seq = 0;
  readonly #queue: Entry[] = [];

  constructor(startUs = 0, wallMs = Date.UTC(2026, 0, 5, 8, 0, 0)) {
    this.#nowUs = startUs;
    this.#wallMs = wallMs;
  }

  nowUs(): number {
    return this.#nowUs;
  }

  wallMs(): number {
    return this.#wallMs;
  }

  /** Moves the wall clock only, as a person or a time server would. */
  jumpWall(ms: number): void {
    this.#wallMs += ms;
  }

  after(ms: number, fn: () => void): Timer {
    const entry = { atUs: this.#nowUs + Math.max(0, Math.round(ms * 1000)), seq: this.#seq++, fn };
    this.#queue.push(entry);
    return {
      cancel: () => this.#drop(entry),
    };
  }

  /**
   * Advances by `ms`, firing due timers in order. After each timer pending promise callbacks get a
   * turn, so code that awaits between timers runs as it would in real time.
   */
  async advance(ms: number): Promise<void> {
    const targetUs = this.#nowUs + Math.round(ms * 1000);
    await settle();
    for (;;) {
      let next: Entry | undefined;
      for (const e of this.#queue) {
        if (e.atUs <= targetUs && (!next || e.atUs < next.atUs || (e.atUs === next.atUs && e.seq < next.seq)))
          next = e;
      }
      if (!next) break;
      this.#drop(next);
      this.#moveTo(Math.max(this.#nowUs, next.atUs));
      next.fn();
      await settle();
    }
    this.#moveTo(targetUs);
    await settle();
  }

  /**
   * Advances until the promise is settled: what awaits timers then runs as in real time. While the disk works for
   * this program time stands still, so that the time at which something is done does not hang on how fast it is.
   * @param mostMs simulated
   * @returns what the promise brings; rejects as it does, and when it is not settled by then
   */
  async until<T>(promise: Promise<T>, stepMs = 20, mostMs = Number.POSITIVE_INFINITY): Promise<T> {
    let done = false;
    const end = (): void => {
      done = true;
    };
    promise.then(end, end);
    for (let ms = 0; ; ms += stepMs) {
      await settle();
      while (!done && diskWorks()) await moment().then(settle);
      if (done) return promise;
      if (ms >= mostMs) throw new Error(`not settled after ${mostMs / 1000} simulated seconds`);
      await this.advance(stepMs);
    }
  }

  #drop(entry: Entry): void {
    const i = this.#queue.indexOf(entry);
    if (i >= 0) this.#queue.splice(i, 1);
  }

  #moveTo(us: number): void {
    this.#wallMs += (us - this.#nowUs) / 1000;
    this.#nowUs = us;
  }
}

/** Requests to the file system that are under way in this program, or questions to a thread that reads. */
const diskWorks = (): boolean =>
  process
    .getActiveResourcesInfo()
    .some((r) => r.startsWith('FSReq') || r === 'CloseReq' || r === 'MessagePort');

/** The shortest real time there is to wait for the disk in: to ask without pause would take a whole processor. */
function moment(): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, 1));
}

function settle(): Promise<void> {
  return new Promise((resolve) => setImmediate(resolve));
}
