/** Fewer points to draw, every minimum and maximum kept. */

/** Buckets of equal count; each gives its lowest and highest value in the order in which they came. */
export function thinned(
  tS: ArrayLike<number>,
  value: ArrayLike<number>,
  points: number,
): { t: number[]; v: number[] } {
  if (tS.length <= points) return { t: Array.from(tS), v: Array.from(value) };
  const t: number[] = [];
  const v: number[] = [];
  const buckets = Math.max(1, Math.floor(points / 2));
  for (let b = 0; b < buckets; b++) {
    const from = Math.floor((b * tS.length) / buckets);
    const to = Math.floor(((b + 1) * tS.length) / buckets);
    let low = from;
    let high = from;
    for (let i = from + 1; i < to; i++) {
      if (value[i]! < value[low]!) low = i;
      if (value[i]! > value[high]!) high = i;
    }
    for (const i of low === high ? [low] : [Math.min(low, high), Math.max(low, high)]) {
      t.push(tS[i]!);
      v.push(value[i]!);
    }
  }
  return { t, v };
}
