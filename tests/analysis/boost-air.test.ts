import { describe, expect, it } from 'vitest';
import {
  airExcess,
  airIsLost,
  airOf,
  chargeMoved,
  isBorneOutByAir,
  isStuckAgainstAir,
  isThrottledBack,
  type PullAir,
} from '../../src/analysis/boost/air.ts';
import type { Baro } from '../../src/analysis/boost/barometer.ts';
import { airBin, type BoostBaseline } from '../../src/analysis/boost/lesson.ts';
import type { StretchPoint } from '../../src/analysis/boost/stretches.ts';
import { ANY_CAR } from '../../src/analysis/boost/warmth.ts';

const RPM = 2500;
const BARO: Baro = { kpa: 100, sdKpa: 0.5, source: 'barometric sensor' };
/** A = 10⁵ · air / (engine speed · MAP) of the sound engine (docs/analysis.md). */
const INDEX = 14.72;
const air = Array.from({ length: 12 }, (_, bin) =>
  bin === airBin(RPM) ? { mean: INDEX, sd: 0.012, airC: [20, 0] as const } : null,
);
const baseline = { air, warmth: ANY_CAR } as Partial<BoostBaseline> as BoostBaseline;

/** Pulls at full demand; `excess` more air than the pressure accounts for. */
const points = (mapKpa: readonly number[], excess: number): StretchPoint[] =>
  mapKpa.map(
    (map, i) =>
      ({
        ...{ tUs: i * 1e6, rpm: RPM, map, demand: 90, lagged: 90, ect: 85, airC: 20 },
        maf: (INDEX * (1 + excess) * RPM * map) / 1e5,
      }) as StretchPoint,
  );

it('a pressure that stands still to the bit against its air is stuck', () => {
  // 100 kPa on the reading, 210 kPa in the manifold: 110 % more air than it accounts for.
  expect(isStuckAgainstAir(points([100, 100, 100], 1.1), baseline)).toBe(true);
  expect(isStuckAgainstAir(points([100, 100], 0.31), baseline)).toBe(true);
});

it('is not stuck: it moves (a pipe that came off), the air agrees, one sample alone, nothing known of the air', () => {
  expect(isStuckAgainstAir(points([100, 101, 100], 1.1), baseline)).toBe(false);
  expect(isStuckAgainstAir(points([100, 100, 100], 0.29), baseline)).toBe(false);
  expect(isStuckAgainstAir(points([100], 1.1), baseline)).toBe(false);
  expect(isStuckAgainstAir(points([100, 100, 100], 1.1), null)).toBe(false);
});

describe('a pressure that stands still is the engine’s own', () => {
  const of = (n: number, excess: number, dueKpa: number, known: BoostBaseline | null = baseline) =>
    isBorneOutByAir(points(Array<number>(n).fill(160), excess), known, dueKpa);
  // Of four samples: a day 1 %, a pull 1.2 %, what they alone are off by 6 %/4^1.5.
  const se = Math.hypot(0.01, 0.012, 0.06 / 8);
  it('where no more air and no less goes in than it accounts for', () => {
    expect(of(4, 0, 230)).toBe(true);
    expect([-2, -1.9, 1.9, 2].map((k) => of(4, k * se, 230))).toEqual([false, true, true, false]);
  });
  it('where what was due would take far more', () => {
    expect([3.4, 3.6].map((k) => of(4, 0, 160 * (1 + k * se)))).toEqual([false, true]);
    // One sample alone may be off by 6 %: 3.5 standard errors are 22 %.
    expect([1.21, 1.23].map((k) => of(1, 0, 160 * k))).toEqual([false, true]);
  });
  it('not where nothing is known of the air', () => {
    expect(of(4, 0, 230, null)).toBe(false);
  });
});

const moving = [200, 201, 200, 199];

it('tells what the pressure deviates by if the air is lost, and how surely', () => {
  const told = airOf(points(moving, 0.1), baseline, BARO)!;
  expect(told.excess).toBeCloseTo(0.1, 9);
  // 200 kPa of 220 that there would be: 20 of 120 kPa of boost are missing.
  expect(told.deviation).toBeCloseTo(-20 / 120, 6);
  expect(told.gain).toBeCloseTo(220 / 120, 6);
  expect(told.variance).toBeCloseTo(0.012 ** 2 + (0.06 / 4 ** 1.5) ** 2, 9);
  expect(airOf(points([200], 0.1), baseline, BARO)!.variance).toBeCloseTo(0.012 ** 2 + 0.06 ** 2, 9);
});

it('says nothing of a pressure that stands still in three samples, of a clipped one, a cold engine, too little boost', () => {
  expect(airOf(points([200, 200, 200], 0.1), baseline, BARO)).toBeNull();
  expect(airOf(points([200, 200], 0.1), baseline, BARO)).not.toBeNull();
  expect(airOf(points([255], 0.1), baseline, BARO)).toBeNull();
  const cold = (ect: number) =>
    airOf(
      points(moving, 0.1).map((p) => ({ ...p, ect })),
      baseline,
      BARO,
    );
  expect([cold(59.9), cold(60)].map((a) => a === null)).toEqual([true, false]);
  const due = (kpa: number) => airOf(points([kpa - 0.5, kpa + 0.5], 0), baseline, BARO);
  expect([due(119.9), due(120.1)].map((a) => a === null)).toEqual([true, false]);
});

it('a tenth less air is exhaust gas that was let back in', () => {
  expect([-0.099, -0.101].map((x) => isThrottledBack(points(moving, x), baseline))).toEqual([false, true]);
  expect(isThrottledBack(points(moving, -0.2), null)).toBe(false);
});

describe('air that is lost', () => {
  const of = (excess: number, sd = 0.012, n = 4): { readonly air: PullAir } => ({
    air: {
      ...{ excess, variance: sd ** 2, deviation: -excess, gain: 1, n },
      known: { warm: 0, more: 0, law: 0, taught: 0, far: 0, cars: 0 },
    },
  });
  it('is more than 2.5 % with its whole interval, in two pulls and four samples', () => {
    const se = Math.hypot(0.01, 0.012 / Math.SQRT2);
    const lost = (x: number, n = 4) => airIsLost(airExcess([of(x, 0.012, n), of(x, 0.012, n)]));
    expect([0.025 + 1.6 * se, 0.025 + 1.7 * se].map((x) => lost(x))).toEqual([false, true]);
    expect([1, 2].map((n) => lost(0.1, n))).toEqual([false, true]);
    expect(airIsLost(airExcess([of(0.1)]))).toBe(false);
    expect(airIsLost(airExcess([]))).toBe(false);
  });
  it('is less sure where three pulls contradict each other; two may by chance', () => {
    const scattered = (...x: number[]) => airExcess(x.map((e) => of(e, 0.01)))!.se;
    expect(scattered(0, 0.1)).toBeCloseTo(Math.hypot(0.01, 0.01 / Math.SQRT2), 9);
    // χ² of 0, 0.05 and 0.1 at 0.01 each is 50, 25 a degree of freedom.
    expect(scattered(0, 0.05, 0.1)).toBeCloseTo(Math.hypot(0.01, (0.01 / Math.sqrt(3)) * 5), 9);
    expect(scattered(0.05, 0.05, 0.05)).toBeCloseTo(Math.hypot(0.01, 0.01 / Math.sqrt(3)), 9);
  });
});

describe('the warmth of the charge', () => {
  /** Pulls on a day on which any car's index may lie 5 % off (standard deviation). */
  const of = (excess: number, n: number, { warm = 0.05, more = 0, law = 0.05 } = {}) =>
    chargeMoved(
      Array.from({ length: n }, () => ({
        air: {
          ...{ excess, variance: 0.012 ** 2, deviation: -excess, gain: 1, n: 4 },
          known: { warm, more, law, taught: 0, far: 0, cars: 0 },
        },
      })),
    );
  // Two days of 1 % each, and four pulls of 1.2 %.
  const variance = 2 * 0.01 ** 2 + 0.012 ** 2 / 4;
  const told = 0.05 ** 2 / (0.05 ** 2 + variance);
  it('has moved as far as the air index has, as surely as days and pulls tell', () => {
    expect(of(0, 4)).toBeCloseTo(Math.sqrt(told * variance) / 0.05, 9);
    expect(of(-0.03, 4)).toBeCloseTo(Math.hypot(0.03 * told, Math.sqrt(told * variance)) / 0.05, 9);
    expect(of(0.03, 4)).toBeCloseTo(of(-0.03, 4), 9);
    expect(of(-0.2, 4)).toBe(1);
  });
  it('has moved with the index by what own drives say, whatever this day adds', () => {
    expect(of(0, 4, { warm: 0.001, more: -0.04 })).toBeCloseTo(0.8, 2);
    expect(of(0.04, 4, { more: -0.04 * told })).toBeCloseTo(of(0, 4), 9);
  });
  it('may have moved as any car’s where no air tells', () => {
    expect(chargeMoved([])).toBe(1);
    expect(chargeMoved([{ air: null }])).toBe(1);
    expect(of(0, 4, { warm: 0, law: 0 })).toBe(1);
  });
});
