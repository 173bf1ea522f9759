/** A straight line through points by ordinary least squares. */

export interface Line {
  /** Change of y per unit of x; 0 when all x are the same. */
  readonly slope: number;
  /** y at x = 0. */
  readonly intercept: number;
  /** Sum of squared residuals, and of squared distances of x from their mean. */
  readonly sse: number;
  readonly sxx: number;
}

/** `xs` and `ys` of one length, at least one point. Sums are taken about the means, which keeps large x exact. */
export function leastSquares(xs: readonly number[], ys: readonly number[]): Line {
  const n = xs.length;
  let mx = 0;
  let my = 0;
  for (let i = 0; i < n; i++) {
    mx += xs[i]! / n;
    my += ys[i]! / n;
  }
  let sxx = 0;
  let sxy = 0;
  for (let i = 0; i < n; i++) {
    sxx += (xs[i]! - mx) ** 2;
    sxy += (xs[i]! - mx) * (ys[i]! - my);
  }
  const slope = sxx > 0 ? sxy / sxx : 0;
  let sse = 0;
  for (let i = 0; i < n; i++) sse += (ys[i]! - my - slope * (xs[i]! - mx)) ** 2;
  return { slope, intercept: my - slope * mx, sse, sxx };
}
