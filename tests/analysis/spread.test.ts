/** Where values lie and how much they differ, worked by hand. */
import { describe, expect, it } from 'vitest';
import { robust, studentT } from '../../src/analysis/spread.ts';

describe('location and spread', () => {
  it('of nothing are not asked for, of one or of like values are that value without spread', () => {
    expect(() => robust([])).toThrow(RangeError);
    expect(robust([3])).toEqual({ mean: 3, sd: 0 });
    expect(robust([3, 3, 3])).toEqual({ mean: 3, sd: 0 });
  });
  it('of two values are their middle, and what the clipped squares of two give', () => {
    // Neither is clipped: each lies as far from the middle as the other, so sd² = 2·1² / ((2 − 1)·0.77846).
    const { mean, sd } = robust([-1, 1]);
    expect(mean).toBeCloseTo(0, 12);
    expect(sd).toBeCloseTo(Math.sqrt(2 / 0.77846), 4);
  });
  it('solve both equations of the proposal: clipped at 1.5 the deviations cancel, and square to (n − 1) β', () => {
    for (const values of [
      [0, 1, 2, 3, 4, 5, 30],
      [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 40],
      [1, 2, 4, 8, 16],
      [0, 0, 0, 0, 0, 1, 2, 3],
    ]) {
      const { mean, sd } = robust(values);
      const z = values.map((x) => Math.max(-1.5, Math.min(1.5, (x - mean) / sd)));
      expect(z.reduce((a, x) => a + x, 0)).toBeCloseTo(0, 4);
      expect(z.reduce((a, x) => a + x * x, 0)).toBeCloseTo((values.length - 1) * 0.77846, 4);
    }
  });
  it('has fifty rounds where all but one are alike to the bit and nothing settles', () => {
    const { mean, sd } = robust([1, 1, 1, 1, 9]);
    expect(mean).toBeCloseTo(1.12417, 5);
    expect(sd).toBeCloseTo(0.31448, 5);
  });
  it('hardly move with one wild value', () => {
    expect(robust([1, 2, 3, 4, 5, 6, 7, 8, 9, 1e6]).mean).toBeLessThan(7);
  });
});

it('Student’s t is the normal quantile for very many degrees of freedom, and wider for few', () => {
  expect(studentT(1.96, 1e9)).toBeCloseTo(1.96, 6);
  // Of Wallace's approximation at 5 degrees of freedom, by hand: y = 1.96·43/41, t² = 5 (e^(y²/5) − 1).
  expect(studentT(1.96, 5)).toBeCloseTo(Math.sqrt(5 * Math.expm1(((1.96 * 43) / 41) ** 2 / 5)), 12);
});
