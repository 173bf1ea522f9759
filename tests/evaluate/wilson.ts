/** Bounds of a share that was counted. */

/** Two-sided 95 % Wilson score interval of k in n, as shares. */
export function wilson(k: number, n: number): readonly [number, number] {
  if (n === 0) return [0, 1];
  const z = 1.959964;
  const p = k / n;
  const middle = (p + z ** 2 / (2 * n)) / (1 + z ** 2 / n);
  const half = (z / (1 + z ** 2 / n)) * Math.sqrt((p * (1 - p)) / n + z ** 2 / (4 * n ** 2));
  return [Math.max(0, middle - half), Math.min(1, middle + half)];
}
