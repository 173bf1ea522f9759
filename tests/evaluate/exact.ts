/** Exact bounds of a share that was counted (C. J. Clopper, E. S. Pearson, Biometrika 26, 1934). */

/** P(X ≤ k) for a binomial X of n trials with probability p, summed in logarithms. */
function atMost(k: number, n: number, p: number): number {
  if (k >= n) return 1;
  if (k < 0) return 0;
  let logTerm = n * Math.log1p(-p);
  let sum = Math.exp(logTerm);
  for (let i = 1; i <= k; i++) {
    logTerm += Math.log((n - i + 1) / i) + Math.log(p) - Math.log1p(-p);
    sum += Math.exp(logTerm);
  }
  return Math.min(1, sum);
}

/** Two-sided 95 % bounds of k in n, as shares, by bisection. */
export function exact(k: number, n: number): readonly [number, number] {
  if (n === 0) return [0, 1];
  const solve = (tooLow: (p: number) => boolean): number => {
    let [a, b] = [0, 1];
    for (let i = 0; i < 60; i++) {
      const mid = (a + b) / 2;
      if (tooLow(mid)) a = mid;
      else b = mid;
    }
    return (a + b) / 2;
  };
  const low = k === 0 ? 0 : solve((p) => 1 - atMost(k - 1, n, p) < 0.025);
  const high = k === n ? 1 : solve((p) => atMost(k, n, p) > 0.025);
  return [low, high];
}
