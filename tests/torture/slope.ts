/** How much something grows with time, and how sure that is. */
import { leastSquares } from '../../src/signal/line.ts';

export interface Slope {
  readonly perHour: number;
  /** Twice the standard error. */
  readonly within: number;
  /** Of the points about their line. */
  readonly scatter: number;
}

/** Null for fewer than six points. */
export function slopeOf(hours: readonly number[], values: readonly number[]): Slope | null {
  if (hours.length < 6) return null;
  const { slope, sse, sxx } = leastSquares(hours, values);
  const variance = sse / (hours.length - 2);
  return { perHour: slope, within: 2 * Math.sqrt(variance / sxx), scatter: Math.sqrt(variance) };
}
