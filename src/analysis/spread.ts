/** Where several values lie and how much they differ, when one of them may be wrong; and what a further one may then be. */
import { median } from 'simple-statistics';

/**
 * One-sided 95 %: each side of the limit is held against its own bound; the interval printed is two-sided 90 %.
 * Normal distribution, by definition.
 */
export const Z95 = 1.645;
/** Two-sided share of the interval of `Z95` standard errors either way. By definition of `Z95`. */
export const CONFIDENCE = 0.9;
/**
 * A shortfall must also be this many standard errors away from none: it pays for the looking at all windows at once
 * chosen on 45 open diesel trips together (docs/analysis.md).
 */
export const Z_FAULT = 3.5;
/** Both sides, 95 %. Normal distribution, by definition. */
export const Z_BOTH = 1.96;

/** P. J. Huber, *Robust Statistics* (1981), section 6.4, "Proposal 2": beyond so many standard deviations a value counts no more. */
const HUBER_K = 1.5;
/** E ψ(z)² of a normal deviate at that HUBER_K (closed form, from memory; checked by drawing). */
const BETA = 0.77846;
/** Standard deviations in a median absolute deviation. Normal distribution, by definition. */
export const SD_PER_MAD = 1.4826;
const MOST_ROUNDS = 50;
const CLOSE = 1e-6;

/** Location and standard deviation; a single value has none, and NaN is not answered. @throws RangeError without values */
export function robust(values: readonly number[]): { readonly mean: number; readonly sd: number } {
  const n = values.length;
  if (n === 0) throw new RangeError('no values');
  let mean = median([...values]);
  let sd = SD_PER_MAD * median(values.map((x) => Math.abs(x - mean)));
  if (sd === 0) sd = Math.sqrt(values.reduce((a, x) => a + (x - mean) ** 2, 0) / Math.max(1, n - 1));
  if (sd === 0) return { mean, sd };
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const was = { mean, sd };
    const clipped = (x: number): number => Math.max(-HUBER_K, Math.min(HUBER_K, (x - mean) / sd));
    const weights = values.map((x) => (x === mean ? 1 : (clipped(x) * sd) / (x - mean)));
    const total = weights.reduce((a, w) => a + w, 0);
    mean = values.reduce((a, x, i) => a + weights[i]! * x, 0) / total;
    sd *= Math.sqrt(values.reduce((a, x) => a + clipped(x) ** 2, 0) / ((n - 1) * BETA));
    if (Math.abs(mean - was.mean) + Math.abs(sd - was.sd) < CLOSE * sd) break;
  }
  return { mean, sd };
}

/** Factors of the degrees of freedom in Wallace's formula (1959, from memory). */
const WALLACE = [8, 3] as const;

/**
 * The quantile of Student's t that has the probability of the normal quantile `z`, for `df` degrees of freedom.
 * D. L. Wallace, *Bounds on normal approximations to Student's and the chi-square distributions* (1959), solved for t;
 * from memory, checked against a table.
 */
export function studentT(z: number, df: number): number {
  const y = (z * (WALLACE[0] * df + WALLACE[1])) / (WALLACE[0] * df + 1);
  return Math.sqrt(df * Math.expm1((y * y) / df));
}
