/**
 * Samples for drawing in bounded memory: the newest of each signal exactly, older ones as the lowest and highest of
 * ever longer stretches. The capture keeps every sample; this is what a page needs of it.
 */
import type { Sample } from '../core/signals.ts';
import { type Points, thinned } from '../signal/thin.ts';
import type { SeriesView } from './api.ts';

/** Kept exactly, of each signal: at least so many, at most twice as many (15 to 30 minutes at 20 a second). */
const EXACT = 16_384;
/** Stretches kept of each signal. */
const STRETCHES = 8192;
/** A damaged or hostile file may name any number of signals; the catalogue has far fewer. */
const MAX_SIGNALS = 500;

export class SeriesKeeper {
  readonly #columns = new Map<string, Column>();
  readonly #exact: number;
  readonly #stretches: number;
  /** How many samples came, in all. */
  count = 0;

  constructor(exact = EXACT, stretches = STRETCHES) {
    this.#exact = exact;
    this.#stretches = stretches;
  }

  /** Of each signal in order of time. */
  push(s: Sample): void {
    this.count++;
    let column = this.#columns.get(s.signal);
    if (!column) {
      if (this.#columns.size >= MAX_SIGNALS) return;
      column = new Column(this.#exact, this.#stretches);
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
  readonly #exact: number;
  #t = new Float64Array(256);
  #v = new Float64Array(256);
  #n = 0;
  readonly #old: Stretches;

  constructor(exact: number, stretches: number) {
    this.#exact = exact;
    this.#old = new Stretches(stretches);
  }

  push(t: number, v: number): void {
    if (this.#n === 2 * this.#exact) this.#age();
    else if (this.#n === this.#t.length) {
      this.#t = grown(this.#t, 2 * this.#exact);
      this.#v = grown(this.#v, 2 * this.#exact);
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

  #age(): void {
    for (let i = 0; i < this.#exact; i++) this.#old.push(this.#t[i]!, this.#v[i]!);
    this.#t.copyWithin(0, this.#exact);
    this.#v.copyWithin(0, this.#exact);
    this.#n = this.#exact;
  }
}

/** Lowest and highest of stretches of `size` samples; when there are too many, neighbours are joined. */
class Stretches {
  readonly #max: number;
  #size = 1;
  #filled = 0;
  /** Of each stretch: time and value of its lowest, time and value of its highest. */
  #data = new Float64Array(4 * 64);
  #n = 0;

  constructor(max: number) {
    this.#max = max;
  }

  push(t: number, v: number): void {
    if (this.#filled === this.#size) this.#filled = 0;
    if (this.#filled === 0) {
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
  }
}

function grown(old: Float64Array<ArrayBuffer>, max: number): Float64Array<ArrayBuffer> {
  const fresh = new Float64Array(Math.min(2 * old.length, max));
  fresh.set(old);
  return fresh;
}
