/** A table's time column as whole microseconds of run time, however the table writes its times. */
import { type Cell, clockUs, dateTimeUs, minutesUs, type NumberReader } from './cells.ts';
import type { TimeTaken } from './time-check.ts';
import { conversion } from './units.ts';

type Way = 'number' | 'date and time' | 'time of day' | 'minutes';

/** Above this many seconds a number counts from 1970, not from the start of a drive (3e8 s is 1979). */
const EPOCH_S = 3e8;
const DAY_US = 86_400e6;
const HOUR_US = 3_600e6;
const MAX_US = 4e15; // beyond 2096; keeps every sum below 2^53

/** The first time decides how the column is read; times since 1970 and times of day count from the first. */
export class TimeReader {
  readonly #unit: string | null;
  #way: Way | null = null;
  #toS: (value: number) => number = (v) => v;
  #originUs = 0;
  #lastClockUs = 0;
  /** Days as written, and when each began. */
  readonly #days = new Map<string, number>();
  /** Midnights, or full hours of a clock without hours, that have passed. */
  #passedUs = 0;
  #text: string | null = null;
  #textUs = 0;

  /** @param unit of plain numbers as the header gives it; null: seconds, unless the size says since 1970. */
  constructor(unit: string | null) {
    this.#unit = unit;
  }

  /** The times are plain numbers from the start of the drive: neither dates nor times of day say their unit. */
  get isPlain(): boolean {
    return this.#way === 'number' && this.#originUs === 0;
  }

  /** Plain times whose header gives no unit. */
  get isBare(): boolean {
    return this.isPlain && this.#unit === null;
  }

  /** Unit of plain times of which nothing but their header spoke: minutes, or what is seconds by now; null of others. */
  get plainUnit(): TimeTaken | null {
    if (!this.isPlain) return null;
    return this.#unit !== null && this.#toS(1) === 60 ? 'min' : 's';
  }

  /** Run time in microseconds; null when the cell is no time. */
  read(cell: Cell, numbers: NumberReader): number | null {
    if (typeof cell === 'string') {
      if (cell === this.#text) return this.#textUs; // long tables repeat the time of each round
      const us = this.#readText(cell.trim(), numbers);
      if (us !== null) {
        this.#text = cell;
        this.#textUs = us;
      }
      return us;
    }
    if (cell === null) return null;
    return typeof cell === 'number' ? this.#number(cell) : this.#since('date and time', cell.epochUs);
  }

  #readText(text: string, numbers: NumberReader): number | null {
    const number = numbers.read(text);
    if (number !== null) return this.#number(number);
    const stamp = dateTimeUs(text);
    if (stamp !== null) return this.#since('date and time', stamp);
    const clock = clockUs(text);
    if (clock !== null && this.#way === 'minutes') return this.#since('minutes', clock.us);
    if (clock !== null) {
      if (clock.day !== '') this.#enterDay(clock.day, clock.us);
      else this.#enterRound(clock.us, DAY_US);
      this.#lastClockUs = clock.us;
      return this.#since('time of day', clock.us + this.#passedUs);
    }
    const minutes = minutesUs(text);
    if (minutes === null) return null;
    this.#enterRound(minutes, HOUR_US);
    this.#lastClockUs = minutes;
    return this.#since('minutes', minutes + this.#passedUs);
  }

  /** A clock that is half a round behind has begun anew. */
  #enterRound(us: number, roundUs: number): void {
    if (us < this.#lastClockUs - roundUs / 2) this.#passedUs += roundUs;
  }

  /** A day that was not written before is the next one, or the one before where the clock leaps ahead: a table from its end. */
  #enterDay(day: string, us: number): void {
    let beganUs = this.#days.get(day);
    if (beganUs === undefined) {
      const back = us > this.#lastClockUs + DAY_US / 2;
      beganUs = this.#days.size === 0 ? 0 : this.#passedUs + (back ? -DAY_US : DAY_US);
      this.#days.set(day, beganUs);
    }
    this.#passedUs = beganUs;
  }

  #number(value: number): number | null {
    if (!Number.isFinite(value)) return null;
    if (this.#way === null) {
      this.#way = 'number';
      this.#toS = numberUnit(this.#unit, value);
      if (this.#toS(value) >= EPOCH_S) this.#originUs = Math.round(this.#toS(value) * 1e6);
    }
    if (this.#way !== 'number') return null;
    return bounded(Math.round(this.#toS(value) * 1e6) - this.#originUs);
  }

  #since(way: Way, us: number): number | null {
    if (this.#way === null) {
      this.#way = way;
      this.#originUs = us;
    }
    return this.#way === way ? bounded(us - this.#originUs) : null;
  }
}

const bounded = (us: number): number | null => (Math.abs(us) <= MAX_US ? us + 0 : null);

function numberUnit(unit: string | null, first: number): (value: number) => number {
  if (unit === null) {
    if (first >= EPOCH_S * 1e6) return (v) => v / 1e6; // microseconds since 1970
    if (first >= EPOCH_S * 1e3) return (v) => v / 1e3; // milliseconds since 1970
    return (v) => v;
  }
  const convert = conversion(unit, 's');
  return convert === null || convert === 'same' ? (v) => v : convert;
}
