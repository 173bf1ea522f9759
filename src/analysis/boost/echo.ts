/** A pressure that carries on what it read a few readings before, in order and to the bit, is old: a link that repeats itself. */
import type { OperatingPoint } from './points.ts';

/** So many readings back at most, and at least: nearer than two it stands still, which is another matter. Chosen by hand, not measured. */
const ECHO_FURTHEST = 10;
const ECHO_NEAREST = 2;
/**
 * So many readings in order, which differ by so much, kPa, are no chance. Chosen on half of 45 open drives with such readings put
 * in (docs/analysis.md).
 */
const ECHO_READINGS = 3;
const ECHO_SPREAD_KPA = 10;

export class Echo {
  /** The newest last. */
  readonly #read: OperatingPoint[] = [];
  /** By how many readings back: how many in order were the same. */
  readonly #same: number[] = Array.from({ length: ECHO_FURTHEST + 1 }, () => 0);

  /** When the first reading was that only repeats others, µs; null where the newest does not. */
  step(p: OperatingPoint): number | null {
    this.#read.push(p);
    if (this.#read.length > 2 * ECHO_FURTHEST) this.#read.shift();
    let fromUs: number | null = null;
    for (let back = ECHO_NEAREST; back <= ECHO_FURTHEST; back++) {
      const again = this.#read.at(-1 - back)?.map === p.map;
      const n = again ? Math.min(ECHO_FURTHEST, this.#same[back]! + 1) : 0;
      this.#same[back] = n;
      if (n < ECHO_READINGS) continue;
      const first = this.#read.length - n;
      let [low, high] = [p.map, p.map];
      for (let i = first; i < this.#read.length; i++) {
        low = Math.min(low, this.#read[i]!.map);
        high = Math.max(high, this.#read[i]!.map);
      }
      if (high - low < ECHO_SPREAD_KPA) continue;
      // A coarse sensor between two steps says nothing in order.
      if (new Set(this.#read.slice(first).map((q) => q.map)).size < ECHO_READINGS) continue;
      fromUs = Math.min(fromUs ?? p.tUs, this.#read[first]!.tUs);
    }
    return fromUs;
  }
}
