/** Fewer points to draw, every minimum and maximum kept. */

export interface Points {
  /** Seconds. */
  readonly t: readonly number[];
  readonly v: readonly number[];
}

/** At most about `points`. Buckets of equal count; each gives its lowest and highest value in the order in which they came. */
export function thinned({ t, v }: Points, points: number): Points {
  if (t.length <= points) return { t, v };
  const out: { t: number[]; v: number[] } = { t: [], v: [] };
  const buckets = Math.max(1, Math.floor(points / 2));
  for (let b = 0; b < buckets; b++) {
    const from = Math.floor((b * t.length) / buckets);
    const to = Math.floor(((b + 1) * t.length) / buckets);
    let low = from;
    let high = from;
    for (let i = from + 1; i < to; i++) {
      if (v[i]! < v[low]!) low = i;
      if (v[i]! > v[high]!) high = i;
    }
    for (const i of low === high ? [low] : [Math.min(low, high), Math.max(low, high)]) {
      out.t.push(t[i]!);
      out.v.push(v[i]!);
    }
  }
  return out;
}
