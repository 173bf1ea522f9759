/** Pulls cut into operating points: what lies in which, which gear it was, and what brings it to the middle. */
import { describe, expect, it } from 'vitest';
import type { GatheredPull } from '../../src/compare/gather.ts';
import { type BoostRun, type CellValue, cellValues, observationsOf } from '../../src/compare/points.ts';
import type { Role } from '../../src/compare/types.ts';

type At = readonly [rpm: number, demand: number, mapKpa: number];
const pull = (ratio: number | null, ...points: At[]): GatheredPull => ({
  ...{ fromUs: 0, toUs: 1e6, airKpa: null, ratio, way: null, grade: null },
  points: points.map(([rpm, demand, mapKpa]) => ({ tUs: 0, rpm, demand, mapKpa, power: null })),
});
const run = (role: Role, pulls: readonly GatheredPull[], airFactor = 1): BoostRun =>
  ({ role, day: role, airFactor, gathered: { pulls } }) as unknown as BoostRun;
const cells = (...points: At[]) =>
  cellValues([run('before', [pull(40, ...points)])]).map((v) => [v.rpmBin, v.demandBin]);

describe('a point', () => {
  it('is 250 rpm wide, in demand from 60, 70 and 85 to 105 %', () => {
    expect([2249, 2250, 2499, 2500].map((rpm) => cells([rpm, 90, 150])[0]![0])).toEqual([8, 9, 9, 10]);
    expect([59.9, 60, 69.9, 70, 84.9, 85, 104.9, 105].map((d) => cells([2000, d, 150])[0]?.[1])).toEqual([
      ...[undefined, 0, 0, 1, 1, 2, 2, undefined],
    ]);
  });
  it('is one value a pull, the mean of its logarithms at reference air', () => {
    const [one] = cellValues([run('before', [pull(40, [2100, 90, 100], [2100, 90, 400])], 0.5)]);
    expect(one).toMatchObject({
      ...{ rpmBin: 8, demandBin: 2, gear: 0, role: 'before', day: 'before', pull: 1, stretch: null },
      value: expect.closeTo(Math.log(200 / 0.5), 12),
    });
    expect(cellValues([run('before', [pull(40, [2100, 90, 0])])])).toEqual([]);
    const pulls = [pull(40, [2100, 90, 150]), pull(40, [2100, 90, 150])];
    expect(cellValues([run('before', pulls), run('after', pulls)]).map((v) => v.pull)).toEqual([1, 2, 3, 4]);
    // A pull that comes back to a point is still one value there.
    expect(
      cellValues([run('before', [pull(40, [2100, 90, 100], [2300, 90, 100], [2100, 90, 100])])]),
    ).toHaveLength(2);
  });
  it('holds what is measured, where it is', () => {
    const power = cellValues([run('before', [pull(40, [2100, 90, 100], [2100, 90, 200])])], (q) =>
      q.mapKpa > 150 ? q.mapKpa : null,
    );
    expect(power.map((v) => v.value)).toEqual([200]);
  });
});

it('ratios within 6 % are one gear, in every run', () => {
  const gears = (...ratios: (number | null)[]) =>
    cellValues([
      run(
        'before',
        ratios.slice(0, 2).map((r) => pull(r, [2100, 90, 150])),
      ),
      run(
        'after',
        ratios.slice(2).map((r) => pull(r, [2100, 90, 150])),
      ),
    ]).map((v) => v.gear);
  const apart = (ln: number) => gears(40, 40 * Math.exp(ln));
  expect([apart(0.059), apart(0.061)]).toEqual([
    [0, 0],
    [0, 1],
  ]);
  expect(gears(40, null, 30, 41)).toEqual([1, null, 0, 1]);
  expect(gears(30, 40, 50, 30)).toEqual([0, 1, 2, 0]);
});

describe('a value is brought to the middle of its point', () => {
  /** ln pressure on a plane, samples off its middle by pull. */
  const plane = (rpm: number, demand: number) => 5 + 0.0004 * (rpm - 2100) + 0.006 * (demand - 92);
  const on = (rpm: number, demand: number): At => [rpm, demand, Math.exp(plane(rpm, demand))];
  const spread = (values: readonly CellValue[]) => {
    const v = values.filter((x) => x.rpmBin === 8 && x.demandBin === 2).map((x) => x.value);
    return Math.max(...v) - Math.min(...v);
  };
  const grid = (n: number) =>
    Array.from({ length: n }, (_, i) =>
      Array.from({ length: n }, (_, k) => on(2010 + (230 * i) / n, 86 + (14 * k) / n)),
    ).flat();
  it('along the slopes of its own side, as far as its samples tell them', () => {
    const many = (side: Role) => run(side, [...grid(12).map((p) => pull(40, p))]);
    const raw = 0.0004 * 230 + 0.006 * 14;
    // A ridge of a quarter of a sample at full reach hardly holds 144 samples back.
    expect(spread(cellValues([many('before')]))).toBeLessThan(0.08 * raw);
    // Two samples that lie together tell no slope.
    const two = [on(2060, 92), on(2140, 92)].map((p) => pull(40, p));
    expect(spread(cellValues([run('before', two)]))).toBeGreaterThan(0.6 * 0.0004 * 80);
    // The other side's samples tell it nothing.
    const both = cellValues([run('before', two), many('after')]).filter((v) => v.role === 'before');
    expect(spread(both)).toBeGreaterThan(0.6 * 0.0004 * 80);
  });
  it('by weighted least squares over 400 rpm and 15 % around it, with a ridge of a quarter', () => {
    // Two samples at one demand, ±100 rpm about 2125: x = ±0.25, weight 15/16 each.
    const [a, b] = cellValues([
      run('before', [pull(40, [2025, 90, Math.exp(5)]), pull(40, [2225, 90, Math.exp(5.1)])]),
    ]);
    const k = 1 - 0.25 ** 2;
    const slope = (2 * k * 0.25 * 0.05) / (2 * k * 0.25 ** 2 + 0.25) / 400;
    expect(a!.value).toBeCloseTo(5 + 100 * slope, 12);
    expect(b!.value).toBeCloseTo(5.1 - 100 * slope, 12);
    // ±5 % of demand about 92.5: z = ±1/3, weight 8/9.
    const [c, d] = cellValues([
      run('before', [pull(40, [2125, 87.5, Math.exp(5)]), pull(40, [2125, 97.5, Math.exp(5.1)])]),
    ]);
    const w = 1 - 1 / 9;
    const perPct = (2 * w * 0.05) / 3 / ((2 * w) / 9 + 0.25) / 15;
    expect(c!.value).toBeCloseTo(5 + 5 * perPct, 12);
    expect(d!.value).toBeCloseTo(5.1 - 5 * perPct, 12);
    // Both at once, along the diagonal: neither takes all of it.
    const [e] = cellValues([
      run('before', [pull(40, [2025, 87.5, Math.exp(5)]), pull(40, [2225, 97.5, Math.exp(5.1)])]),
    ]);
    const m = 2 * k * w;
    const [xx, zz, xz] = [m / 16 + 0.25, m / 9 + 0.25, m / 12];
    const [xy, zy] = [m * 0.25 * 0.05, (m * 0.05) / 3];
    const det = xx * zz - xz * xz;
    const moved = (100 * (zz * xy - xz * zy)) / det / 400 + (5 * (xx * zy - xz * xy)) / det / 15;
    expect(e!.value).toBeCloseTo(5 + moved, 12);
    // What lies further than its reach tells nothing.
    const far = (rpm: number) =>
      cellValues([
        run('before', [
          pull(40, [2025, 90, Math.exp(5)]),
          pull(40, [2225, 90, Math.exp(5.1)]),
          pull(40, [rpm, 90, Math.exp(9)]),
        ]),
      ])[0]!.value;
    expect(far(2526)).toBeCloseTo(5 + 100 * slope, 12);
    expect(far(2500)).not.toBeCloseTo(5 + 100 * slope, 4);
  });
});

it('a value whose side has nothing within reach of the middle stays as it was measured', () => {
  const light = Array.from({ length: 9 }, () => pull(40, [2100, 85.5, 140]));
  const values = cellValues([run('before', light), run('after', [pull(40, [2100, 104.9, 150])])]);
  expect(values.at(-1)!.value).toBe(Math.log(150));
});

it('is matched by engine speed and demand, with gear and stretch of road where it is asked', () => {
  const value = (more: Partial<CellValue>): CellValue => ({
    ...{ rpmBin: 8, demandBin: 2, gear: 1, role: 'after', day: 'd', pull: 3, stretch: 4, value: 5, ...more },
  });
  const points = (acrossGears: boolean, onRoad: boolean, ...list: Partial<CellValue>[]) =>
    observationsOf(list.map(value), { acrossGears, onRoad }).map((o) => o.point);
  const differ = (acrossGears: boolean, onRoad: boolean, other: Partial<CellValue>) =>
    new Set(points(acrossGears, onRoad, {}, other)).size === 2;
  expect(differ(true, false, { gear: 2 })).toBe(false);
  expect(differ(false, false, { gear: 2 })).toBe(true);
  expect(differ(false, false, { gear: null })).toBe(true);
  expect(differ(true, false, { stretch: 5 })).toBe(false);
  expect(differ(true, true, { stretch: 5 })).toBe(true);
  expect(differ(true, false, { rpmBin: 9 })).toBe(true);
  expect(differ(true, false, { demandBin: 1 })).toBe(true);
  expect(points(true, true, { stretch: null })).toEqual([]);
  expect(points(true, false, { stretch: null })).toHaveLength(1);
  expect(observationsOf([value({})], { acrossGears: true, onRoad: false })[0]).toMatchObject({
    ...{ side: 'after', pull: 3, day: 'd', value: 5 },
  });
});
