/** Samples as columns: what a whole run looks like in memory (20 bytes a sample instead of an object each). */
import type { Sample } from '../core/signals.ts';

export class SampleTable {
  readonly names: string[] = [];
  readonly #index = new Map<string, number>();
  #tUs = new Float64Array(1024);
  #sentUs = new Float64Array(1024);
  #value = new Float64Array(1024);
  #signal = new Uint16Array(1024);
  length = 0;

  push(s: Sample): void {
    if (this.length === this.#tUs.length) this.#grow();
    let k = this.#index.get(s.signal);
    if (k === undefined) {
      k = this.names.length;
      this.names.push(s.signal);
      this.#index.set(s.signal, k);
    }
    const i = this.length++;
    this.#tUs[i] = s.tUs;
    this.#sentUs[i] = s.sentUs;
    this.#value[i] = s.value;
    this.#signal[i] = k;
  }

  at(i: number): Sample {
    if (i < 0 || i >= this.length) throw new RangeError(`sample ${i} of ${this.length}`);
    return {
      signal: this.names[this.#signal[i]!]!,
      tUs: this.#tUs[i]!,
      sentUs: this.#sentUs[i]!,
      value: this.#value[i]!,
    };
  }

  /** Time of a sample, whole microseconds. */
  tUs(i: number): number {
    return this.#tUs[i]!;
  }

  *[Symbol.iterator](): Generator<Sample> {
    for (let i = 0; i < this.length; i++) yield this.at(i);
  }

  /** True when the times already ascend. */
  isSorted(): boolean {
    for (let i = 1; i < this.length; i++) if (this.#tUs[i]! < this.#tUs[i - 1]!) return false;
    return true;
  }

  /** Sorts by time; samples of one time keep their order. */
  sort(): void {
    const order = Uint32Array.from({ length: this.length }, (_, i) => i);
    const t = this.#tUs;
    order.sort((a, b) => t[a]! - t[b]! || a - b);
    this.#tUs = Float64Array.from(order, (i) => t[i]!);
    const sent = this.#sentUs;
    this.#sentUs = Float64Array.from(order, (i) => sent[i]!);
    const value = this.#value;
    this.#value = Float64Array.from(order, (i) => value[i]!);
    const signal = this.#signal;
    this.#signal = Uint16Array.from(order, (i) => signal[i]!);
  }

  /** One signal's times (seconds) and values. */
  series(name: string): { tS: Float64Array; value: Float64Array } {
    const k = this.#index.get(name);
    const tS: number[] = [];
    const value: number[] = [];
    if (k !== undefined)
      for (let i = 0; i < this.length; i++)
        if (this.#signal[i] === k) {
          tS.push(this.#tUs[i]! / 1e6);
          value.push(this.#value[i]!);
        }
    return { tS: Float64Array.from(tS), value: Float64Array.from(value) };
  }

  #grow(): void {
    const n = this.#tUs.length * 2;
    const grow = <T extends Float64Array | Uint16Array>(old: T, fresh: T): T => {
      fresh.set(old);
      return fresh;
    };
    this.#tUs = grow(this.#tUs, new Float64Array(n));
    this.#sentUs = grow(this.#sentUs, new Float64Array(n));
    this.#value = grow(this.#value, new Float64Array(n));
    this.#signal = grow(this.#signal, new Uint16Array(n));
  }
}
