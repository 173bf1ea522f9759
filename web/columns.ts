/** Samples of one signal as typed arrays that grow to a bound, and their reduction to what a screen can show. */

const FIRST_CAPACITY = 1024;
/** A line is not drawn across more than so many usual steps of its signal, within these bounds. */
const GAP_STEPS = 4;
const GAP_S = { least: 2, most: 20 };

export class Columns {
  /** Seconds of the run, ascending. */
  t = new Float64Array(FIRST_CAPACITY);
  /** Values; NaN is a hole. */
  v = new Float64Array(FIRST_CAPACITY);
  length = 0;
  readonly #limit: number;

  /** @param limit most samples kept (two hours at 30 a second by default); then the oldest quarter goes. */
  constructor(limit = 220_000) {
    this.#limit = limit;
  }

  /** Samples not newer than the last are left out, so that overlapping deliveries can be merged blindly. */
  push(t: number, v: number | null): void {
    if (!Number.isFinite(t) || (this.length > 0 && t <= this.t[this.length - 1]!)) return;
    if (this.length >= this.#limit) this.#dropOldest();
    if (this.length === this.t.length) this.#grow();
    this.t[this.length] = t;
    this.v[this.length] = v ?? Number.NaN;
    this.length++;
  }

  /** Index of the first sample at or after `t`. */
  from(t: number): number {
    let low = 0;
    let high = this.length;
    while (low < high) {
      const mid = (low + high) >> 1;
      if (this.t[mid]! < t) low = mid + 1;
      else high = mid;
    }
    return low;
  }

  /** Median time between neighbours, from up to a hundred places; Infinity while there are none. */
  usualStepS(): number {
    const places = Math.min(100, this.length - 1);
    if (places < 1) return Number.POSITIVE_INFINITY;
    const steps: number[] = [];
    for (let k = 0; k < places; k++) {
      const i = 1 + Math.floor((k * (this.length - 1)) / places);
      steps.push(this.t[i]! - this.t[i - 1]!);
    }
    return steps.sort((a, b) => a - b)[places >> 1]!;
  }

  /** Nothing for longer than this is a hole. */
  gapS(): number {
    return Math.min(GAP_S.most, Math.max(GAP_S.least, GAP_STEPS * this.usualStepS()));
  }

  /** The newest value at or before `t`, with its time; null when there is none. */
  at(t: number): { t: number; v: number } | null {
    for (let i = this.from(t + 1e-9) - 1; i >= 0; i--)
      if (!Number.isNaN(this.v[i]!)) return { t: this.t[i]!, v: this.v[i]! };
    return null;
  }

  #dropOldest(): void {
    const drop = Math.ceil(this.length / 4);
    this.t.copyWithin(0, drop, this.length);
    this.v.copyWithin(0, drop, this.length);
    this.length -= drop;
  }

  #grow(): void {
    const size = Math.min(this.t.length * 2, this.#limit);
    const t = new Float64Array(size);
    const v = new Float64Array(size);
    t.set(this.t);
    v.set(this.v);
    this.t = t;
    this.v = v;
  }
}

/** Slots of one screen column of pixels: two times, so that both extremes can be drawn in their order. */
export interface Grid {
  readonly firstBucket: number;
  readonly buckets: number;
  readonly widthS: number;
  readonly x: number[];
}

/**
 * Screen columns over a time window. They sit at multiples of their width, not at the window's edge, so that a
 * moving window does not make the same peak dance. One column more on each side lets lines run to the edge.
 */
export function gridOver(fromS: number, toS: number, columns: number): Grid {
  const widthS = (toS - fromS) / Math.max(1, columns);
  const firstBucket = Math.floor(fromS / widthS) - 1;
  const buckets = Math.ceil(toS / widthS) + 1 - firstBucket;
  const x: number[] = [];
  for (let k = 0; k < buckets; k++)
    x.push((firstBucket + k + 0.25) * widthS, (firstBucket + k + 0.75) * widthS);
  return { firstBucket, buckets, widthS, x };
}

/**
 * Smallest and largest value of each screen column, in the order they came; undefined = nothing there (the line
 * runs on), null = a hole (the line breaks): a NaN in the data, or nothing for longer than `gapS`.
 * With `minus`, its newest value is subtracted from each sample (pressure above barometric).
 */
export function decimate(
  data: Columns,
  grid: Grid,
  gapS: number,
  minus: Columns | null = null,
): (number | null | undefined)[] {
  const out: (number | null | undefined)[] = new Array(grid.x.length).fill(undefined);
  const firstS = grid.firstBucket * grid.widthS;
  const start = Math.max(0, data.from(firstS) - 1);
  const end = Math.min(data.length, data.from(firstS + grid.buckets * grid.widthS) + 1);
  let m = minus === null ? 0 : Math.max(0, minus.from(start < data.length ? data.t[start]! : 0) - 1);
  let lastBucket = -1;
  let lastT = Number.NaN;
  let broken = false;
  for (let i = start; i < end; i++) {
    const t = data.t[i]!;
    let v = data.v[i]!;
    if (minus) {
      while (m + 1 < minus.length && minus.t[m + 1]! <= t) m++;
      v -= m < minus.length ? minus.v[m]! : Number.NaN;
    }
    if (Number.isNaN(v)) {
      broken = true;
      continue;
    }
    const k = Math.min(grid.buckets - 1, Math.max(0, Math.floor(t / grid.widthS) - grid.firstBucket));
    if ((broken || t - lastT > gapS) && lastBucket >= 0 && k > lastBucket + 1)
      out.fill(null, 2 * (lastBucket + 1), 2 * k);
    place(out, 2 * k, v);
    broken = false;
    lastBucket = k;
    lastT = t;
  }
  return out;
}

/** Keeps the two extremes of a column in the order in which they came. */
function place(out: (number | null | undefined)[], i: number, v: number): void {
  const a = out[i];
  const b = out[i + 1];
  if (a === undefined || a === null) out[i] = v;
  else if (b === undefined || b === null) out[i + 1] = v;
  else if (v > Math.max(a, b)) {
    out[i] = Math.min(a, b); // either came before the new peak
    out[i + 1] = v;
  } else if (v < Math.min(a, b)) {
    out[i] = Math.max(a, b);
    out[i + 1] = v;
  }
}
