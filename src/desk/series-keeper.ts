/**
 * Samples for drawing in bounded memory: the newest of each signal exactly, older ones as the lowest and highest of
 * ever longer stretches. The capture keeps every sample; this is what a page needs of it.
 *
 * By count alone a slow signal's room would fill over many hours. A run being recorded bounds it by time as well: all
 * signals have their room after an hour and a half, and from then on it stays as it is.
 */
import type { Sample } from '../core/signals.ts';
import { type Points, thinned } from '../signal/thin.ts';
import type { SeriesView } from './api.ts';

export interface Bounds {
  /** Kept exactly, of each signal: at least so many, at most twice as many (15 to 30 minutes at 20 a second). Even. */
  readonly exact: number;
  /** Kept exactly, where that is less: at least so many seconds, at most twice as many. */
  readonly exactS: number;
  /** Stretches kept of each signal; even. */
  readonly stretches: number;
  /** No stretch is shorter, s; doubled each time that their number is halved. */
  readonly leastS: number;
}

/** An ended run: as fine as there is room for. */
const ENDED: Bounds = { exact: 16_384, exactS: Number.POSITIVE_INFINITY, stretches: 8192, leastS: 0 };
/** A run being recorded. Stretches of a second for the first hour and more, of eight after eight hours: half a pixel. */
export const RECORDED: Bounds = { exact: 16_384, exactS: 900, stretches: 4096, leastS: 1 };
/** A damaged or hostile file may name any number of signals; the catalogue has far fewer. */
const MAX_SIGNALS = 500;

export class SeriesKeeper {
  readonly #columns = new Map<string, Column>();
  readonly #bounds: Bounds;
  /** How many samples came, in all. */
  count = 0;
  /** Time of the latest, s; 0 before the first. */
  lastS = 0;

  constructor(bounds = ENDED) {
    this.#bounds = bounds;
  }

  /** Numbers that there is room for, in all. */
  get room(): number {
    return [...this.#columns.values()].reduce((n, column) => n + column.room, 0);
  }

  /** Of each signal in order of time. */
  push(s: Sample): void {
    this.count++;
    this.lastS = Math.max(this.lastS, s.tUs / 1e6);
    let column = this.#columns.get(s.signal);
    if (!column) {
      if (this.#columns.size >= MAX_SIGNALS) return;
      column = new Column(this.#bounds);
      this.#columns.set(s.signal, column);
    }
    column.push(s.tUs / 1e6, s.value);
  }

  /** About `points` values a signal between the two times (seconds), every minimum and maximum kept. */
  series(points: number, fromS = Number.NEGATIVE_INFINITY, toS = Number.POSITIVE_INFINITY): SeriesView {
    const view: Record<string, Points> = {};
    for (const [name, column] of this.#columns) view[name] = thinned(column.between(fromS, toS), points);
    return view;
  }
}

interface Drawn {
  t: number[];
  v: number[];
}

class Column {
  readonly #most: number;
  readonly #exactS: number;
  #t = new Float64Array(256);
  #v = new Float64Array(256);
  #n = 0;
  readonly #old: Stretches;

  constructor(bounds: Bounds) {
    this.#most = 2 * bounds.exact;
    this.#exactS = bounds.exactS;
    this.#old = new Stretches(bounds);
  }

  get room(): number {
    return 2 * this.#t.length + this.#old.room;
  }

  push(t: number, v: number): void {
    if (this.#n === this.#most) this.#age(this.#n / 2);
    else if (this.#n > 0 && t - this.#t[0]! > 2 * this.#exactS) this.#age(this.#before(t - this.#exactS));
    if (this.#n === this.#t.length) {
      this.#t = grown(this.#t, this.#most);
      this.#v = grown(this.#v, this.#most);
    }
    this.#t[this.#n] = t;
    this.#v[this.#n] = v;
    this.#n++;
  }

  between(fromS: number, toS: number): Drawn {
    const out: Drawn = { t: [], v: [] };
    this.#old.between(fromS, toS, out);
    for (let i = 0; i < this.#n; i++) {
      const t = this.#t[i]!;
      if (t < fromS || t > toS) continue;
      out.t.push(t);
      out.v.push(this.#v[i]!);
    }
    return out;
  }

  /** How many of the exact ones are older. */
  #before(tS: number): number {
    let n = 0;
    while (n < this.#n && this.#t[n]! < tS) n++;
    return n;
  }

  #age(oldest: number): void {
    for (let i = 0; i < oldest; i++) this.#old.push(this.#t[i]!, this.#v[i]!);
    this.#t.copyWithin(0, oldest, this.#n);
    this.#v.copyWithin(0, oldest, this.#n);
    this.#n -= oldest;
  }
}

/** Lowest and highest of stretches of `size` samples or more; when there are too many, neighbours are joined. */
class Stretches {
  readonly #max: number;
  #size = 1;
  #leastS: number;
  #filled = 0;
  #fromS = 0;
  /** Of each stretch: time and value of its lowest, time and value of its highest. */
  #data = new Float64Array(4 * 64);
  #n = 0;

  constructor({ stretches, leastS }: Bounds) {
    this.#max = stretches;
    this.#leastS = leastS;
  }

  get room(): number {
    return this.#data.length;
  }

  push(t: number, v: number): void {
    if (this.#filled >= this.#size && t - this.#fromS >= this.#leastS) this.#filled = 0;
    if (this.#filled === 0) {
      this.#fromS = t;
      if (this.#n === this.#max) this.#halve();
      if (4 * this.#n === this.#data.length) this.#data = grown(this.#data, 4 * this.#max);
      this.#data.set([t, v, t, v], 4 * this.#n++);
    } else this.#widen(4 * (this.#n - 1), t, v, t, v);
    this.#filled++;
  }

  between(fromS: number, toS: number, out: Drawn): void {
    const d = this.#data;
    for (let i = 0; i < 4 * this.#n; i += 4) {
      const low = d[i]!;
      const high = d[i + 2]!;
      if (Math.max(low, high) < fromS || Math.min(low, high) > toS) continue;
      for (const k of low === high ? [i] : low < high ? [i, i + 2] : [i + 2, i]) {
        out.t.push(d[k]!);
        out.v.push(d[k + 1]!);
      }
    }
  }

  #widen(at: number, tLow: number, low: number, tHigh: number, high: number): void {
    const d = this.#data;
    if (low < d[at + 1]!) {
      d[at] = tLow;
      d[at + 1] = low;
    }
    if (high > d[at + 3]!) {
      d[at + 2] = tHigh;
      d[at + 3] = high;
    }
  }

  /** Two neighbours become one; `max` is even, so all pairs are whole. */
  #halve(): void {
    const d = this.#data;
    for (let i = 0; i < this.#n; i += 2) {
      d.copyWithin(2 * i, 4 * i, 4 * i + 4);
      this.#widen(2 * i, d[4 * i + 4]!, d[4 * i + 5]!, d[4 * i + 6]!, d[4 * i + 7]!);
    }
    this.#n /= 2;
    this.#size *= 2;
    this.#leastS *= 2;
  }
}

function grown(old: Float64Array<ArrayBuffer>, max: number): Float64Array<ArrayBuffer> {
  const fresh = new Float64Array(Math.min(2 * old.length, max));
  fresh.set(old);
  return fresh;
}
