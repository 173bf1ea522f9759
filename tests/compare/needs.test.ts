/** What to drive so that a region is settled: how many pulls, of which side, and where; worked by hand. */
import { describe, expect, it } from 'vitest';
import type { Contrast, SideSum } from '../../src/compare/contrast.ts';
import { asksForBefore, needsOf, type Wanted } from '../../src/compare/needs.ts';
import type { BoostRun } from '../../src/compare/points.ts';
import type { say } from '../../src/compare/says.ts';
import type { Role } from '../../src/compare/types.ts';

type Drove = readonly [fromRpm: number, toRpm: number, ratio?: number | null, demand?: number];
const run = (role: Role, ...pulls: Drove[]): BoostRun =>
  ({
    ...{ role, day: role, airFactor: 1 },
    gathered: {
      pulls: pulls.map(([from, to, ratio = 40, demand = 90]) => ({
        ratio,
        points: [from, to].map((rpm) => ({ rpm, demand })),
      })),
    },
  }) as unknown as BoostRun;
const side = (pulls: number, sd: number | null): SideSum => ({
  ...{ pulls, mean: 0, sd, variance: sd === null ? null : sd ** 2 / pulls, degreesOfFreedom: pulls - 1 },
});
const contrast = (before: SideSum, after: SideSum, difference = 0): Contrast => ({
  ...{ difference, before, after, variance: null, dayFactor: 0 },
});
const wanted = (more: Partial<Wanted> = {}): Wanted => ({
  ...{ runs: [run('before', [2000, 3000]), run('after', [2000, 3000])], rpm: [1500, 4000], key: 'high' },
  ...{ contrast: null, extra: [], marginPct: 10, ...more },
});
const asked = (more: Partial<Wanted>) => {
  const { id, args } = needsOf(wanted(more));
  return [id.replace('compare.need.', ''), args.pulls, ...(args.after === undefined ? [] : [args.after])];
};

describe('before there is a difference', () => {
  const [before, after] = [run('before', [2000, 3000]), run('after', [2000, 3000])];
  it('asks for three pulls where there are none in common', () => {
    expect(asked({ runs: [after] })).toEqual(['no-pull-before', 3]);
    expect(asked({ runs: [] })).toEqual(['no-pull-before', 3]);
    expect(asked({ runs: [before] })).toEqual(['after', 3]);
    expect(asked({ runs: [before, after] })).toEqual(['no-common', 3]);
  });
  it('counts pulls from 60 % demand within the region', () => {
    const there = (...pulls: Drove[]) => asked({ runs: [run('before', ...pulls)] })[0] === 'after';
    expect([59.9, 60].map((demand) => there([2000, 2000, 40, demand]))).toEqual([false, true]);
    expect([1499, 1500, 3999, 4000].map((rpm) => there([rpm, rpm]))).toEqual([false, true, true, false]);
  });
  it('asks for pulls of the side whose scatter is not known', () => {
    expect(asked({ contrast: contrast(side(1, null), side(3, 0.02)) })).toEqual(['few-before', 3]);
    expect([1, 2, 3].map((n) => asked({ contrast: contrast(side(3, 0.02), side(n, null)) })[1])).toEqual([
      ...[2, 1, 1],
    ]);
  });
});

/**
 * Half an interval of `n` pulls is t(n − 1) / √n of their scatter; t as printed in any table: 4.303, 3.182, 2.776, 2.571
 * for 2 to 5 degrees of freedom.
 */
const half = { 3: 4.303 / Math.sqrt(3), 4: 3.182 / 2, 5: 2.776 / Math.sqrt(5), 6: 2.571 / Math.sqrt(6) };
const around = (x: number) => [0.998 * x, 1.002 * x];

describe('how many pulls more', () => {
  /** With before known to perfection. */
  const ofAfter = (sd: number, pulls: number, difference = 0, marginPct = 10) =>
    asked({ contrast: contrast(side(5, 0), side(pulls, sd), difference), marginPct });
  it('of after, until its interval is nine tenths of the way to the margin', () => {
    expect(around(0.09 / half[5]).map((sd) => ofAfter(sd, 3))).toEqual([
      ['after', 2],
      ['after', 3],
    ]);
    expect(around(0.09 / half[4]).map((sd) => ofAfter(sd, 3))).toEqual([
      ['after', 1],
      ['after', 2],
    ]);
    // Three at the least, and one at the least.
    expect(ofAfter(0.0001, 1)).toEqual(['after', 2]);
    expect(ofAfter(0.0001, 2)).toEqual(['after', 1]);
    expect(ofAfter(0.0001, 7)).toEqual(['after', 1]);
  });
  it('by how far the difference lies from the margin, or from none; half the margin at the least', () => {
    const goals: [number, number][] = [
      [0.05, 0.15],
      [-0.02, 0.08],
      [-0.05, 0.05],
      [-0.2, 0.2],
    ];
    for (const [difference, far] of goals)
      expect(around((0.9 * far) / half[5]).map((sd) => ofAfter(sd, 3, difference))).toEqual([
        ['after', 2],
        ['after', 3],
      ]);
    // A tenth below none with a margin of a fifth: a tenth either way.
    expect(around(0.09 / half[5]).map((sd) => ofAfter(sd, 3, -0.1, 20))).toEqual([
      ['after', 2],
      ['after', 3],
    ]);
  });
  it('of before, where after alone cannot settle it', () => {
    const ofBefore = (sd: number, after: SideSum) => asked({ contrast: contrast(side(3, sd), after) });
    expect(around(0.09 / half[5]).map((sd) => ofBefore(sd, side(30, 0)))).toEqual([
      ['too-few', 2],
      ['too-few', 3],
    ]);
    expect(ofBefore(0.998 * (0.09 / half[5]), side(5, 0))).toEqual(['too-few', 2]);
    expect(ofBefore(0.998 * (0.09 / half[5]), side(4, 0))).toEqual(['too-few-both', 2, 1]);
    expect(ofBefore(0.998 * (0.09 / half[4]), side(3, 0))).toEqual(['too-few-both', 1, 1]);
  });
  it('of both sides by Welch’s degrees of freedom', () => {
    // Both alike, n a side: 2 (n − 1) degrees of freedom, t = 2.306 for 8, 2.228 for 10.
    const both = (n: number, t: number) => 0.09 / (t * Math.sqrt(2 / n));
    const of = (sd: number) => asked({ contrast: contrast(side(3, sd), side(3, sd)) });
    expect(around(both(5, 2.306)).map(of)).toEqual([
      ['too-few-both', 2, 2],
      ['too-few-both', 3, 3],
    ]);
    const wide = (sd: number) => asked({ contrast: contrast(side(2, sd), side(2, sd)) });
    expect(around(both(6, 2.228)).map(wide)).toEqual([
      ['too-few-both', 4, 4],
      ['too-few-both', 5, 5],
    ]);
  });
  it('and what the air and the days add: where that hides it, no number of pulls helps', () => {
    const of = (variance: number, df: number) =>
      asked({ contrast: contrast(side(5, 0), side(3, 0)), extra: [[variance, df]] });
    // 10 degrees of freedom: t = 2.2281.
    const hides = (0.09 / 2.2281) ** 2;
    expect(around(hides).map((v) => of(v, 10))).toEqual([
      ['after', 1],
      ['hidden', 3],
    ]);
    const two = (v: number) =>
      asked({
        contrast: contrast(side(5, 0), side(3, 0)),
        // Two parts of ten degrees of freedom each are twenty together: t = 2.086.
        extra: [
          [v / 2, 10],
          [v / 2, 10],
        ],
      });
    expect(around((0.09 / 2.086) ** 2).map((v) => two(v)[0])).toEqual(['after', 'hidden']);
  });
  it('and says what hides it: the days only where the sides do not share them, and pulls that differ among themselves', () => {
    const by = (dayFactor: number, sd: number, variance: number) =>
      needsOf(
        wanted({
          contrast: { ...contrast(side(5, sd), side(3, sd)), dayFactor },
          extra: [[variance, 10]],
        }),
      ).args.by;
    expect([by(2, 0, 1), by(0, 0, 1), by(2, 1, 0.01), by(0, 1, 0.01)]).toEqual([
      'days',
      'air',
      'pulls',
      'pulls',
    ]);
  });
  it('and no more than twenty', () => {
    // t = 2.093 for 19 degrees of freedom.
    const twenty = 0.09 / (2.093 / Math.sqrt(20));
    expect(ofAfter(0.998 * twenty, 3)).toEqual(['after', 17]);
    expect(ofAfter(1.002 * twenty, 3)).toEqual(['hidden', 3]);
    expect(asked({ contrast: contrast(side(20, 0.01), side(20, 0.01)) })).toEqual(['after', 3]);
  });
});

describe('how to drive them', () => {
  const how = (rpm: readonly [number, number], ...pulls: Drove[]) => {
    const { args } = needsOf(wanted({ rpm, runs: pulls.length === 0 ? [] : [run('after', ...pulls)] }));
    const { id, args: at } = args.how as ReturnType<typeof say>;
    return [id, at.fromRpm, at.toRpm, at.kmh];
  };
  it('is through the speeds that the middle pull passed, to fifty, in its gear', () => {
    expect(how([1500, 4000], [1980, 3020, 40], [1760, 2520, 30], [2510, 3990, 50])).toEqual([
      ...['compare.how-gear', 2000, 3000, 25],
    ]);
    expect(how([1500, 4000], [2000, 3000, null])).toEqual(['compare.how', 2000, 3000, undefined]);
    expect(needsOf(wanted()).args.how).toMatchObject({ args: { atRpm: 1000, kmh: 25 } });
  });
  it('is as before drove it, where it did', () => {
    const both = [run('after', [1500, 2000]), run('before', [2500, 3500])];
    expect(needsOf(wanted({ runs: both })).args.how).toMatchObject({ args: { fromRpm: 2500, toRpm: 3500 } });
  });
  it('where nothing was driven is from the bottom of the region over 1500 rpm, from 1200 on', () => {
    expect(how([1500, 4000])).toEqual(['compare.how', 1500, 3000, undefined]);
    expect(how([900, 2400])).toEqual(['compare.how', 1200, 2400, undefined]);
    expect(how([900, 9000], [1000, 1100])[1]).toBe(1200);
  });
  it('goes over 500 rpm at the least, within the region', () => {
    expect(how([1500, 4000], [2000, 2100])).toEqual(['compare.how-gear', 2000, 2500, 25]);
    expect(how([1500, 4000], [3800, 3900])).toEqual(['compare.how-gear', 3500, 4000, 25]);
    expect(how([1500, 1800], [1600, 1700])).toEqual(['compare.how-gear', 1500, 1800, 25]);
  });
});

it('what asks for drives of before can be had only while the car is as it was', () => {
  const asks = (id: string, args: object = {}) => asksForBefore({ id, args } as ReturnType<typeof say>);
  for (const id of ['no-pull-before', 'few-before', 'too-few', 'too-few-both'])
    expect(asks(`compare.need.${id}`)).toBe(true);
  expect(asks('compare.need.after')).toBe(false);
  expect(asks('compare.need.settle', { role: 'before' })).toBe(true);
  expect(asks('compare.need.settle', { role: 'after' })).toBe(false);
  expect(asks('other', { role: 'before' })).toBe(false);
});
