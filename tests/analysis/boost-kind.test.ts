/** What other cars of a kind teach of boost, worked by hand. */
import { describe, expect, it } from 'vitest';
import { learnBetween } from '../../src/analysis/between-cars.ts';
import { learnKind, lookUpKind, ofKindAlone, withKind } from '../../src/analysis/boost/kind.ts';
import { type BoostBaseline, CELLS, centreOf, mergeLessons } from '../../src/analysis/boost/lesson.ts';

const EMPTY = mergeLessons([]);
const CELL = { rpm: 3000, demand: 90 };
const at = (rpm: number, demand: number): number =>
  Array.from({ length: CELLS }, (_, c) => c).find(
    (c) => centreOf(c).rpm === rpm && centreOf(c).demand === demand,
  )!;
/** A car that gave this at these cells, in air of 100 kPa. */
const car = (
  cells: readonly (readonly [rpm: number, demand: number, kpa: number])[],
  more: Partial<BoostBaseline> = {},
): BoostBaseline => {
  const kpa: (number | null)[] = Array.from({ length: CELLS }, () => null);
  for (const [rpm, demand, value] of cells) kpa[at(rpm, demand)] = value;
  return {
    ...{ ...EMPTY, runs: 2, pulls: 8, reference: 'gauge', baroKpa: 100, airC: [20, 0], kpa },
    ...{ noiseScale: { slow: 1, fast: 1 }, pullsAt: kpa.map(() => 4), runsAt: kpa.map(() => 2) },
    ...more,
  };
};
const one = (kpa: number, more: Partial<BoostBaseline> = {}) => car([[3000, 90, kpa]], more);
const cellOf = (cars: readonly BoostBaseline[], rpm = 3000, demand = 90) =>
  learnKind(cars)!.cells[at(rpm, demand)];

describe('which pressure cars of a kind regulate', () => {
  const absolute = (kpa: number) => one(kpa + 100, { reference: 'absolute' });
  it('is that of most, absolute where they are as many', () => {
    const reference = (cars: readonly BoostBaseline[]) => learnKind(cars)!.reference;
    expect(reference([one(100), absolute(100)])).toBe('absolute');
    expect(reference([one(100), one(100), absolute(100)])).toBe('gauge');
    expect(reference([one(100), absolute(100), absolute(100)])).toBe('absolute');
  });
  it('is that in which their boost is given, at the middle of their air', () => {
    expect(cellOf([one(100), one(100)])![0]).toBe(100);
    expect(cellOf([absolute(100), absolute(100)])![0]).toBe(200);
    const thin = [90, 96, 100].map((baroKpa) => one(200, { reference: 'absolute', baroKpa }));
    const kind = learnKind(thin)!;
    expect([kind.baroKpa, kind.cells[at(3000, 90)]![0]]).toEqual([96, 200]);
    // By gauge each car's own air counts.
    const own = [one(100), one(100), one(190, { reference: 'absolute', baroKpa: 90 })];
    expect(cellOf(own)![0]).toBe(100);
  });
});

it('is of cars that taught, with the middle of how they scatter', () => {
  expect(learnKind([])).toBeNull();
  expect(learnKind([EMPTY])).toBeNull();
  const kind = learnKind([
    EMPTY,
    one(100, { noiseScale: { slow: 1, fast: 0.8 } }),
    one(100, { noiseScale: { slow: 3, fast: 1.2 } }),
    one(100, { noiseScale: { slow: 2, fast: 4 } }),
  ])!;
  expect(kind).toMatchObject({ cars: 3, noiseScale: { slow: 2, fast: 1.2 } });
  expect(kind.cells[at(3000, 90)]![1]).toBe(3);
  expect(kind.cells[at(3050, 90)]).toBeNull();
  expect(learnKind([one(0)])!.cells[at(3000, 90)]).toBeNull();
  expect(learnKind([one(0.1)])!.cells[at(3000, 90)]).not.toBeNull();
});

describe('what is learned together', () => {
  /** Two places; three cars that differ by turns. */
  const two = (rpm: number, demand: number, scale: Partial<BoostBaseline> = {}) =>
    [
      [110, 90],
      [90, 110],
      [100, 100],
    ].map(([a, b]) =>
      car(
        [
          [...([CELL.rpm, CELL.demand] as const), a!],
          [rpm, demand, b!],
        ],
        scale,
      ),
    );
  const expected = (variance: number) =>
    learnBetween(
      [
        [110, 90],
        [90, 110],
        [100, 100],
      ].flatMap((v, car) => v.map((value, cell) => ({ car, cell, value, variance }))),
      { unknown: 0.12, least: 0.01 },
    ).get(0)!.sd;
  /** Alone at its place a car’s level is all that differs. */
  const alone = learnBetween(
    [110, 90, 100].map((value, car) => ({ car, cell: 0, value, variance: 0.018 ** 2 / 4 })),
    { unknown: 0.12, least: 0.01 },
  ).get(0)!.sd;
  const sd = (...of: Parameters<typeof two>) => cellOf(two(...of))![2];
  it('are places that repeat alike: from 2000 rpm, from 60 % demand', () => {
    const together = expected(0.018 ** 2 / 4);
    expect(together).not.toBeCloseTo(alone, 3);
    expect([sd(2000, 90), sd(1950, 90)].map((x) => x.toFixed(4))).toEqual([
      together.toFixed(4),
      alone.toFixed(4),
    ]);
    expect(sd(3000, 57.5)).toBeCloseTo(alone, 4);
    expect(sd(3000, 60)).not.toBeCloseTo(alone, 3);
  });
  it('is known by the scatter of a pull over the pulls there, one at the least', () => {
    const of = (more: Partial<BoostBaseline>) => sd(3000, 92.5, more);
    const pullsAt = (n: number) => ({ pullsAt: Array.from({ length: CELLS }, () => n) });
    expect(of(pullsAt(1))).toBeCloseTo(expected(0.018 ** 2), 4);
    expect(of(pullsAt(0.5))).toBeCloseTo(expected(0.018 ** 2), 4);
    expect(of({ pullsAt: [] })).toBeCloseTo(expected(0.018 ** 2), 4);
    expect(of({ noiseScale: { slow: 1, fast: 3 } })).toBeCloseTo(expected((3 * 0.018) ** 2 / 4), 4);
    expect(of({ noiseScale: { slow: 3, fast: 1 } })).toBeCloseTo(expected(0.018 ** 2 / 4), 4);
  });
});

describe('the air index', () => {
  const air = (...of: (readonly [bin: number, mean: number, sd: number] | null)[]) =>
    learnKind(
      of.map((x) =>
        one(100, {
          air: Array.from({ length: 12 }, (_, bin) =>
            x !== null && x[0] === bin ? { mean: x[1], sd: x[2], airC: [20, 0] } : null,
          ),
        }),
      ),
    )!.air;
  it('is of all engine speeds together, each known by three pulls', () => {
    const [none, some] = [air(null, null), air([3, 10, 0.01], [3, 12, 0.01], [3, 11, 0.01])];
    expect(none.every((x) => x === null)).toBe(true);
    expect(some).toHaveLength(12);
    expect(some.map((x) => x !== null)).toEqual(Array.from({ length: 12 }, (_, k) => k === 3));
    const by = learnBetween(
      [10, 12, 11].map((value, car) => ({ car, cell: 3, value, variance: 0.01 ** 2 / 3 })),
      { unknown: 0.06, least: 0.01 },
    ).get(3)!;
    expect(some[3]).toEqual([11, 3, expect.closeTo(by.sd, 4), expect.closeTo(by.far, 4)]);
    // One or two cars: by what is taken, 6 %.
    expect(air([3, 10, 0.01])[3]![2]).toBeCloseTo(0.06 * Math.sqrt(2), 4);
  });
});

it('is read between its places, beside own drives or alone', () => {
  const kind = learnKind([one(100)])!;
  expect(lookUpKind(kind, 3000, 90)).toEqual({
    ...{ kpa: 100, cars: 1, sd: expect.closeTo(0.12 * Math.sqrt(2), 4) },
    far: expect.closeTo(0.12 * Math.sqrt(2) * (3.5 - 1.645), 4),
  });
  expect(lookUpKind(kind, 3100, 90)).toBeNull();
  const own = one(90);
  expect([ofKindAlone(own), ofKindAlone(withKind(own, kind)!), ofKindAlone(withKind(null, kind)!)]).toEqual([
    ...[false, false, true],
  ]);
  expect(withKind(own, kind)).toEqual({ ...own, kind });
  expect(withKind(null, null)).toBeNull();
  expect(withKind(null, kind)).toMatchObject({ runs: 0, kind: { cars: 1 } });
});
