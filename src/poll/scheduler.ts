/**
 * What to ask next: pure, time is an input. Each PID has an interval; the one whose waiting time is longest
 * measured in its own intervals comes first. On a fast link everything keeps its rate, and between requests there is
 * rest; on a slow one all slow down in proportion, and none can starve because its lateness keeps growing.
 */
import { median } from 'simple-statistics';
import type { Says } from '../core/says.ts';
import { say } from '../core/wire-says.ts';
import type { PlannedPid } from './plan.ts';

const BACKOFF_S = [2, 5, 10, 30] as const;
const SILENT_BEFORE_BACKOFF = 3;
/** How long a PID that was missing from a group's answer is asked alone. */
const ALONE_US = 30e6;
/** Intervals that a PID counts as late before it was asked at all. */
const NEVER_ASKED = 1000;
/** A quick one that is due goes before others that are no later than this, in their intervals: those of one moment stay together. */
const HARDLY_LATE = 1.2;
/** Tries of a group size that count, and how many it takes before it is judged. */
const WINDOW = 8;
const ENOUGH = 3;
/** Every so many requests one group size is measured anew: links change, and bad luck must not last. */
const EXPLORE_EVERY = 100;

/** What a group size brought: time spent and PIDs answered, failures included. */
interface Try {
  readonly us: number;
  readonly answered: number;
}

interface Item {
  readonly planned: PlannedPid;
  askedUs: number;
  /** When it answered last, and its interval between answers, averaged over the last few. */
  answeredUs: number | null;
  everyUs: number | null;
  silent: number;
  backoff: number;
  notBeforeUs: number;
  aloneUntilUs: number;
  why: Says | null;
}

export interface Silence {
  readonly pid: number;
  readonly signals: readonly string[];
  readonly why: Says;
}

/** A PID that comes less often than wanted: the link, or the vehicle, does not carry more. */
export interface Shortfall {
  readonly pid: number;
  readonly signals: readonly string[];
  readonly wantedPerS: number;
  readonly perS: number;
}

/** Less than this share of the wanted rate counts as short of it. */
const SHORT = 0.8;
/** Weight of the newest interval in the average. */
const NEWEST = 0.2;

export class Scheduler {
  readonly #items: Item[];
  readonly #maxGroup: number;
  readonly #fits: (pids: readonly number[]) => boolean;
  readonly #tries: Tries[];
  /** Rest of the quick ones. */
  readonly #shortestUs: number;
  /** When a request with one of them went last. */
  #quickUs = Number.NEGATIVE_INFINITY;
  #asked = 0;

  /** @param fits may these go together? What is asked alone always may. */
  constructor(
    pids: readonly PlannedPid[],
    maxGroup: number,
    nowUs: number,
    fits: (pids: readonly number[]) => boolean = () => true,
  ) {
    this.#fits = fits;
    this.#maxGroup = maxGroup;
    this.#shortestUs = Math.min(...pids.map((p) => p.restUs));
    this.#tries = Array.from({ length: maxGroup + 1 }, (_, size) => new Tries(size));
    this.#items = pids.map((planned) => ({
      planned,
      // Everything once at first, whatever the link.
      askedUs: nowUs - NEVER_ASKED * planned.intervalUs,
      answeredUs: null,
      everyUs: null,
      silent: 0,
      backoff: 0,
      notBeforeUs: 0,
      aloneUntilUs: 0,
      why: null,
    }));
  }

  /**
   * PIDs for the next request in order of their number: the most urgent ones, and with the quick what would be due before
   * the request after it, so that it needs none of its own. Empty before `dueUs`.
   */
  next(nowUs: number): number[] {
    const able = this.#items.filter((i) => nowUs >= i.notBeforeUs);
    if (!able.some((i) => this.#goesUs(i) <= nowUs)) return [];
    const isDue = (i: Item): boolean => dueUs(i) <= nowUs;
    const withQuick = able.some((i) => this.#isQuick(i) && isDue(i));
    const rides = (i: Item): boolean =>
      dueUs(i) < nowUs + this.#shortestUs && (withQuick || !this.#isQuick(i));
    const urgency = (i: Item): number => {
      const late = lateness(i, nowUs);
      return late >= 1 && this.#isQuick(i) ? Math.max(late, HARDLY_LATE) : late;
    };
    const ready = able.filter((i) => isDue(i) || rides(i));
    ready.sort(
      (a, b) =>
        Number(isDue(b)) - Number(isDue(a)) || urgency(b) - urgency(a) || a.planned.pid - b.planned.pid,
    );
    const first = ready[0]!;
    this.#asked++;
    let group = [first];
    if (nowUs >= first.aloneUntilUs) {
      const company = ready.filter((i) => nowUs >= i.aloneUntilUs);
      group = company.slice(0, this.#groupSize(company.length));
      while (group.length > 1 && !this.#fits(group.map((i) => i.planned.pid))) group.pop();
    }
    for (const i of group) i.askedUs = nowUs;
    if (group.some((i) => this.#isQuick(i))) this.#quickUs = nowUs;
    // Always in the same order: some links need less for a request that is the one before.
    return group.map((i) => i.planned.pid).sort((a, b) => a - b);
  }

  /** When something will be due; null when there is nothing to ask at all. */
  dueUs(): number | null {
    let due: number | null = null;
    for (const i of this.#items) {
      const at = Math.max(i.notBeforeUs, this.#goesUs(i));
      if (due === null || at < due) due = at;
    }
    return due;
  }

  /** @param answered the PIDs of `asked` that came back; `why` when some did not. */
  done(
    asked: readonly number[],
    answered: readonly number[],
    roundTripUs: number,
    nowUs: number,
    why: Says,
  ): void {
    const size = asked.length;
    this.#tries[size]?.push({ us: roundTripUs, answered: answered.length });
    for (const item of this.#items) {
      const { pid } = item.planned;
      if (!asked.includes(pid)) continue;
      if (answered.includes(pid)) {
        if (item.answeredUs !== null) {
          const us = nowUs - item.answeredUs;
          item.everyUs = item.everyUs === null ? us : item.everyUs + NEWEST * (us - item.everyUs);
        }
        item.answeredUs = nowUs;
        item.silent = 0;
        item.backoff = 0;
        item.why = null;
      } else if (size > 1) {
        // Perhaps only the company was wrong: ask alone, at once.
        if (answered.length > 0) item.aloneUntilUs = nowUs + ALONE_US;
        item.askedUs = nowUs - item.planned.intervalUs;
      } else if (++item.silent >= SILENT_BEFORE_BACKOFF) {
        const seconds = BACKOFF_S[Math.min(item.backoff, BACKOFF_S.length - 1)]!;
        item.backoff++;
        item.notBeforeUs = nowUs + seconds * 1e6;
        item.why = say('wire.asked-again', { why, seconds });
      }
    }
  }

  /** The vehicle as a whole was silent for a while: no single PID is to blame. */
  forgive(nowUs: number): void {
    for (const tries of this.#tries) tries.forget();
    for (const i of this.#items) {
      i.silent = 0;
      i.backoff = 0;
      i.notBeforeUs = 0;
      i.why = null;
      i.answeredUs = null;
      i.askedUs = Math.min(i.askedUs, nowUs - i.planned.intervalUs);
    }
  }

  /** PIDs that are backed off, each with its reason. */
  silences(): Silence[] {
    return this.#items.flatMap((i) =>
      i.why === null ? [] : [{ pid: i.planned.pid, signals: i.planned.signals, why: i.why }],
    );
  }

  /** Wanted more often than it comes; the silent ones are told by `silences`. */
  shortfalls(): Shortfall[] {
    return this.#items.flatMap(({ planned, everyUs, why }) => {
      if (everyUs === null || why !== null || planned.intervalUs >= SHORT * everyUs) return [];
      const { pid, signals, intervalUs } = planned;
      return [{ pid, signals, wantedPerS: 1e6 / intervalUs, perS: 1e6 / everyUs }];
    });
  }

  #isQuick(i: Item): boolean {
    return i.planned.restUs === this.#shortestUs;
  }

  /** When a request goes for it: one that is not quick waits for the quick, once, and then goes by itself. */
  #goesUs(i: Item): number {
    const waits = !this.#isQuick(i) && dueUs(i) > this.#quickUs;
    return dueUs(i) + (waits ? this.#shortestUs : 0);
  }

  /** The size that brings most answers per time; a size not yet judged is tried first. */
  #groupSize(available: number): number {
    const most = Math.min(available, this.#maxGroup);
    if (this.#asked % EXPLORE_EVERY === 0) this.#tries[1 + ((this.#asked / EXPLORE_EVERY) % most)]!.forget();
    let best = most;
    let bestRate = -1;
    for (let n = most; n >= 1; n--) {
      const { rate } = this.#tries[n]!;
      if (rate === null) return n;
      if (rate > bestRate) {
        best = n;
        bestRate = rate;
      }
    }
    return best;
  }
}

/** The last tries of one group size. */
class Tries {
  readonly #size: number;
  #last: readonly Try[] = [];
  /** Null: too few to tell. */
  #rate: number | null = null;

  constructor(size: number) {
    this.#size = size;
  }

  push(one: Try): void {
    this.#last = [...this.#last, one].slice(-WINDOW);
    this.#rate = this.#last.length < ENOUGH ? null : rateOf(this.#last, this.#size);
  }

  forget(): void {
    this.#last = [];
    this.#rate = null;
  }

  get rate(): number | null {
    return this.#rate;
  }
}

/**
 * PIDs answered, a microsecond. The slowest that came whole counts as long as such an answer usually takes: one that is
 * late now and then is no fault of the size, one that brings nothing may be.
 */
function rateOf(tries: readonly Try[], size: number): number {
  const whole = tries.filter((t) => t.answered === size).map((t) => t.us);
  const usualUs = whole.length > 0 ? median(whole) : 0;
  const us = tries.reduce((sum, t) => sum + (t.answered === size ? usualUs : t.us), 1);
  return tries.reduce((sum, t) => sum + t.answered, 0) / us;
}

const dueUs = (i: Item): number => i.askedUs + i.planned.restUs;

function lateness(i: Item, nowUs: number): number {
  return (nowUs - i.askedUs) / i.planned.intervalUs;
}
