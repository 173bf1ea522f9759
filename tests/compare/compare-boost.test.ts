/** Boost before against after, from pulls made by hand: each allowance, each bound, each printed number. */
import { describe, expect, it } from 'vitest';
import { type AirDoubt, compareBoost } from '../../src/compare/boost.ts';
import { type ComparedPoint, contrastOf, intervalOf } from '../../src/compare/contrast.ts';
import type { GatheredPull } from '../../src/compare/gather.ts';
import type { BoostRun } from '../../src/compare/points.ts';
import type { Role } from '../../src/compare/types.ts';
import type { Profile } from '../../src/core/profile.ts';

const DIESEL: Profile = { induction: 'turbocharger', fuel: 'diesel' };
const TWIN: Profile = { induction: 'twin-charged', fuel: 'petrol' };
const SAME_AIR: AirDoubt = { lnBaro: 0, baroSd: 0, baroKpa: 100, before: [20, 0], after: [20, 0] };

interface Made {
  readonly rpm?: number;
  readonly demand?: number;
  readonly ratio?: number | null;
  readonly wkg?: number;
  readonly sdWkg?: number;
  /** Number of the road that it was driven on; null without a receiver. */
  readonly road?: number | null;
}
const pull = (
  mapKpa: number,
  { rpm = 2625, demand = 92, ratio = 40, wkg, sdWkg = 0.5, road = null }: Made = {},
): GatheredPull => ({
  ...{ fromUs: 0, toUs: 1e6, airKpa: null, ratio, grade: wkg === undefined ? null : { pct: 4, sdPct: 0.4 } },
  way:
    road === null
      ? null
      : [0, 1, 2].map((k) => ({ tUs: k * 1e6, latDeg: 46 + road / 10 + k * 5e-4, lonDeg: -30 })),
  points: [{ tUs: 0, rpm, demand, mapKpa, power: wkg === undefined ? null : { wkg, sdWkg } }],
});
const run = (role: Role, day: string, ...pulls: GatheredPull[]): BoostRun =>
  ({ role, day, airFactor: 1, gathered: { pulls } }) as unknown as BoostRun;
const BEFORE = [150, 152, 148];
const AFTER = [165, 168, 162];
const runs = (dayAfter = 'a', made: Made = {}, after = AFTER): BoostRun[] => [
  run('before', 'a', ...BEFORE.map((kpa) => pull(kpa))),
  run('after', dayAfter, ...after.map((kpa) => pull(kpa, made))),
];
const compared = (of: readonly BoostRun[], profile = DIESEL, margin = 5, air = SAME_AIR) =>
  compareBoost(of, profile, margin, air);
const all = (...args: Parameters<typeof compared>) => compared(...args).overall.at(-1)!;
/** The same by the formulas of docs/compare.md. */
const expected = (
  extra: readonly (readonly [number, number])[] = [],
  days = ['a', 'a'],
  after: readonly number[] = AFTER,
) => {
  const of = (side: Role, kpa: readonly number[], from: number, day: string): ComparedPoint[] =>
    kpa.map((x, k) => ({ side, pull: from + k, day, point: 'p', value: Math.log(x) }));
  const c = contrastOf([...of('before', BEFORE, 0, days[0]!), ...of('after', after, 9, days[1]!)])!;
  const at = intervalOf(c, [[c.dayFactor * 0.01 ** 2, 10], ...extra], 0.95)!;
  return { c, at, pct: (ln: number) => 100 * Math.expm1(ln) };
};

describe('a region', () => {
  it('has the effect in percent and kPa with its interval, and each side as it was', () => {
    const { c, at, pct } = expected();
    const r = all(runs());
    expect(r).toMatchObject({
      rpm: [900, 9000],
      verdict: 'better',
      needs: null,
      sameRoad: null,
      power: null,
    });
    expect(r.effectPct).toBeCloseTo(pct(c.difference), 9);
    expect(r.interval).toEqual([pct(at.low), pct(at.high)].map((x) => expect.closeTo(x, 9)));
    const before = Math.exp(c.before.mean);
    expect(r.effectKpa).toBeCloseTo((before * pct(c.difference)) / 100, 9);
    expect(r.intervalKpa).toEqual([at.low, at.high].map((x) => expect.closeTo(before * Math.expm1(x), 9)));
    expect(r.degreesOfFreedom).toBeCloseTo(at.degreesOfFreedom, 9);
    expect(r.before).toEqual({
      ...{ pulls: 3, mean: expect.closeTo(before, 9), scatterPct: expect.closeTo(100 * c.before.sd!, 9) },
    });
    expect(r.after.mean).toBeCloseTo(Math.exp(c.after.mean), 9);
  });
  it('of two days allows 1 % each, with ten degrees of freedom', () => {
    const { at, pct } = expected([], ['a', 'b']);
    const interval = all(runs('b')).interval!;
    expect(interval).toEqual([pct(at.low), pct(at.high)].map((x) => expect.closeTo(x, 9)));
    expect(interval[1] - interval[0]).toBeGreaterThan(all(runs()).interval![1] - all(runs()).interval![0]);
  });
  it('of other air allows what the correction may be off by', () => {
    const by = (air: Partial<AirDoubt>, variance: number) => {
      const { at, pct } = expected([[variance, 50]]);
      expect(all(runs(), DIESEL, 5, { ...SAME_AIR, ...air }).interval).toEqual(
        [pct(at.low), pct(at.high)].map((x) => expect.closeTo(x, 9)),
      );
    };
    by({ lnBaro: 0.1 }, (0.3 * 0.1) ** 2);
    by({ baroSd: 0.02 }, 0.02 ** 2);
    // What the gas law takes of the boost lies at the edge of the rule's interval, 1.645 standard errors away.
    const boostShare = [...BEFORE, ...AFTER].reduce((a, kpa) => a + (1 - 100 / kpa) / 6, 0);
    const perC = boostShare / 288 / 1.645;
    by({ after: [45, 0] }, (25 * perC) ** 2);
    by({ before: [45, 0] }, (25 * perC) ** 2);
    by({ after: [20, 144] }, (12 * perC) ** 2);
  });
  it('of other air allows four times as much below 2,000 rpm (twice by physics, twice as nothing bounds it), and nothing where there is no boost', () => {
    const half = (air: Partial<AirDoubt>, rpm: number, kpa: readonly number[]) => {
      const sides = (['before', 'after'] as const).map((role) =>
        run(role, 'a', ...kpa.map((x) => pull(x, { rpm }))),
      );
      const [low, high] = all(sides, DIESEL, 5, { ...SAME_AIR, ...air }).interval!;
      return (Math.log1p(high / 100) - Math.log1p(low / 100)) / 2;
    };
    const warm = { after: [60, 0] } as const;
    const more = (rpm: number, kpa: readonly number[]) =>
      Math.sqrt(half(warm, rpm, kpa) ** 2 - half({}, rpm, kpa) ** 2);
    expect(more(1875, [149, 150, 151]) / more(2125, [149, 150, 151])).toBeCloseTo(4, 0);
    expect(half(warm, 2125, [98, 99, 100])).toBeCloseTo(half({}, 2125, [98, 99, 100]), 9);
  });
  it('across gears allows 1 % more, and says which regions', () => {
    const { at, pct } = expected([[0.01 ** 2, 10]]);
    const other = compared(runs('a', { ratio: 30 }));
    expect(other.overall.at(-1)!.interval).toEqual(
      [pct(at.low), pct(at.high)].map((x) => expect.closeTo(x, 9)),
    );
    expect(other.notes).toHaveLength(1);
    expect(other.notes[0]).toMatchObject({ id: 'compare.gears', args: { allowed: 0.01 } });
    expect(compared(runs()).notes).toEqual([]);
  });
  it('keeps gears apart where three pulls a side are left', () => {
    const mixed = (n: number) => [
      run('before', 'a', ...BEFORE.map((kpa) => pull(kpa)), ...BEFORE.map((kpa) => pull(kpa, { ratio: 30 }))),
      run(
        'after',
        'a',
        ...AFTER.slice(0, n).map((kpa) => pull(kpa)),
        ...AFTER.map((kpa) => pull(kpa, { ratio: 20 })),
      ),
    ];
    expect([2, 3].map((n) => compared(mixed(n)).notes.length)).toEqual([1, 0]);
    expect(all(mixed(3)).after.pulls).toBe(3);
    expect(all(mixed(2)).after.pulls).toBe(5);
    // Two in the same gear are not given up for as few across.
    const two = [run('before', 'a', pull(150), pull(151)), run('after', 'a', pull(165), pull(166))];
    expect(compared(two).notes).toEqual([]);
  });
  it('is that which holds the middle of a point', () => {
    const low = (rpm: number, profile = DIESEL) =>
      compared(
        ['before', 'after'].map((role) => run(role as Role, 'a', ...BEFORE.map((kpa) => pull(kpa, { rpm })))),
        profile,
      ).overall.map((r) => r.before.pulls);
    // Points are 250 rpm wide: 1750 to 2000 and 2000 to 2250 about the edge of 2000 rpm.
    expect([1999, 2000].map((rpm) => low(rpm))).toEqual([
      [3, 0, 3],
      [0, 3, 3],
    ]);
    // 2250 to 2500 about 2400: its middle lies below.
    expect([2490, 2510].map((rpm) => low(rpm, TWIN))).toEqual([
      [3, 0, 0, 3],
      [0, 3, 0, 3],
    ]);
    expect([899, 1010].map((rpm) => low(rpm).at(-1))).toEqual([0, 3]);
  });
  it('says at which engine speeds both sides were driven, not as far as it reaches', () => {
    const at = (beforeRpm: number, afterRpm: number) =>
      compared([
        run('before', 'a', ...BEFORE.map((kpa) => pull(kpa, { rpm: beforeRpm }))),
        run('after', 'a', ...AFTER.map((kpa) => pull(kpa, { rpm: afterRpm }))),
      ]).overall.map((r) => r.comparedRpm);
    expect(at(3010, 3010)).toEqual([null, [3000, 3250], [3000, 3250]]);
    expect(at(1999, 1999)).toEqual([[1750, 2000], null, [1750, 2000]]);
    expect(at(3010, 3510)).toEqual([null, null, null]);
  });
  it('has its name by how the engine is charged', () => {
    const names = (profile: Profile) =>
      compared(runs(), profile).overall.map((r) => [r.region.id.replace('compare.region.', ''), ...r.rpm]);
    expect(names(DIESEL)).toEqual([
      ['turbocharger-low', 1100, 2000],
      ['turbocharger-high', 2000, 9000],
      ['all', 900, 9000],
    ]);
    expect(names(TWIN).map(([name]) => name)).toEqual([
      ...['clutch-band', 'changeover', 'above-changeover', 'all'],
    ]);
    expect(names({ induction: 'supercharger' }).map(([name]) => name)).toEqual(['supercharger', 'all']);
    const [first, second] = compared(runs()).overall;
    expect([first!.region.args, second!.region.args]).toEqual([{ rpm: 2000 }, { rpm: 2000 }]);
  });
  it('without a counterpart shows what it has, and asks for more', () => {
    const r = all([run('before', 'a', ...BEFORE.map((kpa) => pull(kpa)))]);
    expect(r).toMatchObject({ effectPct: null, interval: null, effectKpa: null, degreesOfFreedom: null });
    expect(r).toMatchObject({ verdict: 'not shown', after: { pulls: 0, mean: null, scatterPct: null } });
    const mean = Math.exp(BEFORE.reduce((a, x) => a + Math.log(x), 0) / 3);
    expect(r.before).toEqual({ pulls: 3, mean: expect.closeTo(mean, 9), scatterPct: null });
    expect(r.needs!.id).toBe('compare.need.after');
    const one = all([run('before', 'a', pull(150)), run('after', 'a', pull(160))]);
    expect(one).toMatchObject({ verdict: 'not shown', interval: null });
    expect(one.effectPct).toBeCloseTo((100 * 10) / 150, 9);
  });
});

describe('points and curve', () => {
  it('are by 250 rpm and demand, each with its verdict over all of them', () => {
    const two = [
      run('before', 'a', ...BEFORE.flatMap((kpa) => [pull(kpa), pull(kpa, { rpm: 1900, demand: 65 })])),
      run('after', 'a', ...AFTER.flatMap((kpa) => [pull(kpa), pull(kpa / 1.1, { rpm: 1900, demand: 65 })])),
    ];
    const { points, difference } = compared(two);
    expect(points.map((p) => [p.rpm, p.demandPct, p.verdict, p.signal])).toEqual([
      [[1750, 2000], [60, 70], 'no worse', 'map_kpa'],
      [[2500, 2750], [85, 100], 'better', 'map_kpa'],
    ]);
    const { c, at, pct } = expected();
    expect(points[1]!.effectPct).toBeCloseTo(pct(c.difference), 9);
    expect(points[1]!.interval).toEqual([pct(at.low), pct(at.high)].map((x) => expect.closeTo(x, 9)));
    expect(points[1]!.before.pulls).toBe(3);
    const before = Math.exp(c.before.mean);
    expect(difference!.rpm).toEqual([1875, 2625]);
    expect([difference!.kpa[1], difference!.lowKpa[1], difference!.highKpa[1]]).toEqual(
      [c.difference, at.low, at.high].map((x) => expect.closeTo(before * Math.expm1(x), 9)),
    );
    expect(difference!.beforeKpa[1]).toBeCloseTo(before, 9);
    expect(difference!.afterKpa[1]).toBeCloseTo(Math.exp(c.after.mean), 9);
    expect(compared([run('before', 'a', pull(150)), run('after', 'a', pull(160))]).difference).toBeNull();
  });
});

describe('power', () => {
  const powered = (n: number, wkg: number, sdWkg: number, ratio = 40) =>
    Array.from({ length: n }, (_, k) => pull(150 + k, { wkg: wkg + k / 10, sdWkg, ratio }));
  it('is the difference in W a kilogram, with the error of the grade once a run', () => {
    const r = all([
      run('before', 'a', ...powered(3, 10, 0.5)),
      run('before', 'a', ...powered(3, 10, 0.5)),
      run('after', 'a', ...powered(3, 12, 0.3)),
    ]).power!;
    const of = (side: Role, from: number, wkg: number): ComparedPoint[] =>
      [0, 1, 2].map((k) => ({ side, pull: from + k, day: 'a', point: 'p', value: wkg + k / 10 }));
    const c = contrastOf([...of('before', 0, 10), ...of('before', 3, 10), ...of('after', 9, 12)])!;
    const at = intervalOf(c, [[0.5 ** 2 / 2 + 0.3 ** 2, 10]], 0.95)!;
    expect(r.differenceWkg).toBeCloseTo(2, 9);
    expect(r.interval).toEqual([expect.closeTo(at.low, 9), expect.closeTo(at.high, 9)]);
    expect([r.before, r.after]).toEqual([
      { pulls: 6, wkg: expect.closeTo(10.1, 9) },
      { pulls: 3, wkg: expect.closeTo(12.1, 9) },
    ]);
  });
  it('is of the same gears only, where both sides were measured', () => {
    const c = compared([
      run('before', 'a', ...powered(3, 10, 0.5)),
      run('after', 'a', ...powered(3, 12, 0.5, 30)),
    ]);
    expect(c.overall.at(-1)!.power).toBeNull();
    const grade = { pct: expect.closeTo(4, 9), sdPct: expect.closeTo(0.4, 9) };
    expect(c.power).toEqual({ before: grade, after: grade });
    const half = compared([run('before', 'a', ...powered(3, 10, 0.5)), run('after', 'a', pull(150))]);
    expect(half.power).toBeNull();
  });
});

describe('the same road', () => {
  type On = readonly [kpa: number, road: number | null];
  const side = (role: Role, ...list: On[]) =>
    run(role, 'a', ...list.map(([kpa, road]) => pull(kpa, { road })));
  const points = (role: Role, from: number, ...list: On[]): ComparedPoint[] =>
    list.map(([kpa, road], k) => ({
      ...{ side: role, pull: from + k, day: 'a', point: `${road}`, value: Math.log(kpa) },
    }));
  const pct = (ln: number) => 100 * Math.expm1(ln);
  it('counts the pulls whose stretch the other side drove as well', () => {
    const of = (before: On[], after: On[]) =>
      compared([side('before', ...before), side('after', ...after)]).sameRoad;
    expect(
      of(
        [
          [150, 1],
          [151, 1],
          [152, 2],
          [153, null],
        ],
        [
          [160, 1],
          [161, 3],
        ],
      ),
    ).toEqual({
      ...{ stretches: 1, before: { pulls: 4, matched: 2 }, after: { pulls: 2, matched: 1 } },
    });
    expect(of([[150, 1]], [[160, 2]])).toEqual({
      ...{ stretches: 0, before: { pulls: 1, matched: 0 }, after: { pulls: 1, matched: 0 } },
    });
    expect(of([[150, null]], [[160, 2]])).toBeNull();
    expect(of([[150, 1]], [[160, null]])).toBeNull();
  });
  it('is told from the pulls of each stretch, where they tell how they scatter', () => {
    const before: On[] = [
      [150, 1],
      [152, 1],
      [140, 2],
      [143, 2],
    ];
    const after: On[] = [
      [165, 1],
      [168, 1],
      [154, 2],
      [150, 2],
    ];
    const all = compared([side('before', ...before, [99, 7]), side('after', ...after)]).overall.at(-1)!;
    const c = contrastOf([...points('before', 0, ...before), ...points('after', 9, ...after)])!;
    const at = intervalOf(c, [], 0.95)!;
    expect(all.sameRoad).toEqual({
      ...{ before: 4, after: 4, pairs: false, effectPct: expect.closeTo(pct(c.difference), 9) },
      interval: [expect.closeTo(pct(at.low), 9), expect.closeTo(pct(at.high), 9)],
    });
    // The one pull on a road of its own is in what stands beside it.
    expect(all.before.pulls).toBe(5);
  });
  it('is told from stretches as pairs, where each was driven once a side', () => {
    const before: On[] = [
      [150, 1],
      [140, 2],
      [160, 3],
      [145, 4],
    ];
    const after: On[] = [
      [165, 1],
      [153, 2],
      [177, 3],
      [160, 4],
    ];
    const { sameRoad } = compared([side('before', ...before), side('after', ...after)]).overall.at(-1)!;
    const ratios = before.map(([kpa], k) => Math.log(after[k]![0] / kpa));
    expect(sameRoad).toMatchObject({ before: 4, after: 4, pairs: true });
    expect(sameRoad!.effectPct).toBeCloseTo(pct(ratios.reduce((a, x) => a + x, 0) / 4), 9);
    expect(sameRoad!.interval![0]).toBeGreaterThan(0);
    const one = compared([side('before', [150, 1]), side('after', [165, 1])]).overall.at(-1)!.sameRoad;
    expect(one).toMatchObject({ pairs: false, effectPct: expect.closeTo(10, 9), interval: null });
    expect(compared([side('before', [150, 1]), side('after', [165, 2])]).overall.at(-1)!.sameRoad).toBeNull();
  });
});
