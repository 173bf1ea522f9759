/** Numbers of the judging against numbers from elsewhere: reference data, textbook tables, a statistics library. */
import { linearRegression, mean } from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import { SequentialTest } from '../../src/analysis/coolant/sequential.ts';
import { seededRandom } from '../../src/core/random.ts';
import { leastSquares } from '../../src/signal/line.ts';
import { exact } from '../evaluate/exact.ts';

/** NIST StRD, linear regression, data set Norris: y, x and the certified line (from memory). */
const NORRIS = [
  [0.1, 0.2, 338.8, 337.4, 118.1, 118.2, 888, 884.6, 9.2, 10.1, 228.1, 226.5, 668.5, 666.3, 998.5, 996.3],
  [449.1, 448.6, 778.9, 777, 559.2, 558.2, 0.3, 0.4, 0.1, 0.6, 778.1, 775.5, 668.8, 666.9, 339.3, 338],
  [448.9, 447.5, 10.8, 11.6, 557.7, 556, 228.3, 228.1, 998, 995.8, 888.8, 887.6, 119.6, 120.2, 0.3, 0.3],
  [0.6, 0.3, 557.6, 556.8, 339.3, 339.1, 888, 887.2, 998.5, 999, 778.9, 779, 10.2, 11.1, 117.6, 118.3],
  [228.9, 229.2, 668.4, 669.1, 449.2, 448.9, 0.2, 0.5],
].flat();
const norrisY = NORRIS.filter((_, i) => i % 2 === 0);
const norrisX = NORRIS.filter((_, i) => i % 2 === 1);

describe('the straight line', () => {
  it('gives the certified values of the NIST data set Norris', () => {
    const line = leastSquares(norrisX, norrisY);
    expect(norrisX.length).toBe(36);
    expect(line.slope).toBeCloseTo(1.00211681802045, 11);
    expect(line.intercept).toBeCloseTo(-0.262323073774029, 10);
    expect(Math.sqrt(line.sse / 34)).toBeCloseTo(0.884796396144373, 10);
  });
  it('gives the same as simple-statistics, on times far from zero too', () => {
    const random = seededRandom('lines');
    for (let k = 0; k < 200; k++) {
      const far = k % 2 === 0 ? 0 : 1e5;
      const points = Array.from({ length: 4 + (k % 40) }, (_, i) => [
        far + 5 * i + random.next(),
        90 + random.normal(),
      ]);
      const near = points.map(([x, y]) => [x! - far, y!]);
      const line = leastSquares(
        points.map((p) => p[0]!),
        points.map((p) => p[1]!),
      );
      const { m, b } = linearRegression(near);
      expect(line.slope).toBeCloseTo(m, 9);
      expect(line.intercept + line.slope * far).toBeCloseTo(b, 7);
    }
  });
  it('is level when all x are the same', () => {
    expect(leastSquares([3, 3, 3], [1, 2, 6])).toEqual({ slope: 0, intercept: 3, sse: 14, sxx: 0 });
  });
});

/** Mean number of steps until `alarm` over seeded streams of standard normal values about `shift`. */
function runLength(make: () => (x: number) => boolean, shift: number, runs: number): number {
  const random = seededRandom(`run length ${shift}`);
  const lengths: number[] = [];
  for (let r = 0; r < runs; r++) {
    const alarm = make();
    let n = 1;
    while (!alarm(random.normal() + shift)) n++;
    lengths.push(n);
  }
  return mean(lengths);
}

describe('run lengths of sequential tests', () => {
  /**
   * D. C. Montgomery, Introduction to Statistical Quality Control, table of average run lengths of the two-sided
   * tabular CUSUM with k = 1/2 (from memory). It checks the streams and the counting that the next test uses.
   */
  const CUSUM = [
    { h: 4, shift: 0, arl: 168 },
    { h: 4, shift: 0.5, arl: 26.6 },
    { h: 4, shift: 1, arl: 8.38 },
    { h: 4, shift: 2, arl: 3.34 },
    { h: 5, shift: 0.5, arl: 38 },
    { h: 5, shift: 1, arl: 10.4 },
    { h: 5, shift: 2, arl: 4.01 },
  ];
  const cusum = (h: number) => () => {
    let up = 0;
    let down = 0;
    return (x: number): boolean => {
      up = Math.max(0, up + x - 0.5);
      down = Math.max(0, down - x - 0.5);
      return Math.max(up, down) > h;
    };
  };
  for (const { h, shift, arl } of CUSUM)
    it(`CUSUM with h = ${h} and a shift of ${shift}: ${arl} steps`, () => {
      const runs = shift === 0 ? 3000 : 8000;
      expect(runLength(cusum(h), shift, runs) / arl).toBeGreaterThan(0.95);
      expect(runLength(cusum(h), shift, runs) / arl).toBeLessThan(1.05);
    });

  /**
   * Shiryaev–Roberts with a bound A for a shift of θ standard deviations: mean time to a false alarm A·e^(0.583 θ), from
   * M. Pollak, Annals of Statistics 15 (1987), with the constant of D. Siegmund, Sequential Analysis (1985).
   */
  const BOUND = 300;
  const judged = (theta: number) => () => {
    const hours = (5 * BOUND) / 3600;
    const test = new SequentialTest({ sigma: 1, lambdas: [theta], block: 1, hours });
    return (x: number): boolean => {
      test.step(x);
      return test.share() >= 1;
    };
  };
  for (const theta of [0.5, 1, 1.5])
    it(`the judge's test, betting on ${theta} standard deviations, has the textbook's time to a false alarm`, () => {
      const expected = BOUND * Math.exp(0.583 * theta);
      const seen = runLength(judged(theta), 0, 2500) / expected;
      expect(seen).toBeGreaterThan(0.93);
      expect(seen).toBeLessThan(1.07);
    });
  it('and it is never quicker than the bound that it guarantees, several bets averaged', () => {
    const make = () => {
      const test = new SequentialTest({ sigma: 1, lambdas: [0.5, 1, 2], block: 1, hours: 5 / 12 });
      return (x: number): boolean => {
        test.step(x);
        return test.share() >= 1;
      };
    };
    expect(runLength(make, 0, 2000)).toBeGreaterThan(300);
  });
});

describe('exact bounds of a share', () => {
  /** 0 of n: 1 − 0.025^(1/n), by definition; the others from printed tables of Clopper and Pearson's intervals (from memory). */
  it('0 of 10, 9 of 10 and 5 of 10', () => {
    expect(exact(0, 10)[0]).toBe(0);
    expect(exact(0, 10)[1]).toBeCloseTo(1 - 0.025 ** 0.1, 9);
    expect(exact(9, 10)[0]).toBeCloseTo(0.555, 3);
    expect(exact(9, 10)[1]).toBeCloseTo(0.9975, 4);
    expect(exact(5, 10)[0]).toBeCloseTo(0.1871, 4);
    expect(exact(5, 10)[1]).toBeCloseTo(0.8129, 4);
  });
});
