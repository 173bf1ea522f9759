import { mean, standardDeviation } from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/core/random.ts';

describe('seeded random', () => {
  it('repeats for one seed and differs for another', () => {
    const draw = (seed: number | string): number[] => {
      const r = seededRandom(seed);
      return Array.from({ length: 5 }, () => r.next());
    };
    expect(draw(7)).toEqual(draw(7));
    expect(draw(7)).not.toEqual(draw(8));
  });

  it('forks do not disturb one another', () => {
    const one = seededRandom(1);
    const a = one.fork('a').next();
    one.next();
    expect(one.fork('a').next()).toBe(a);
    expect(one.fork('b').next()).not.toBe(a);
  });

  it('is uniform and normal within the sampling error of 100,000 draws', () => {
    const r = seededRandom('moments');
    const n = 100_000;
    const uniform = Array.from({ length: n }, () => r.next());
    const normal = Array.from({ length: n }, () => r.normal());
    // five standard errors: 1/√12/√n for the uniform mean, 1/√n and 1/√(2n) for the normal mean and deviation
    expect(Math.abs(mean(uniform) - 0.5)).toBeLessThan((5 * 0.2887) / Math.sqrt(n));
    expect(Math.abs(mean(normal))).toBeLessThan(5 / Math.sqrt(n));
    expect(Math.abs(standardDeviation(normal) - 1)).toBeLessThan(5 / Math.sqrt(2 * n));
    expect(Math.min(...uniform.slice(0, 50_000))).toBeGreaterThanOrEqual(0);
    expect(Math.max(...uniform.slice(0, 50_000))).toBeLessThan(1);
  });
});
