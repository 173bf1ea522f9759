/** What the temperature of the air does to boost and air index: slopes by hand, and what a day far from those that taught is held to. */
import { describe, expect, it } from 'vitest';
import { expectedAt } from '../../src/analysis/boost/expectation.ts';
import { type BoostLesson, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { isFar, PAID_LOOKS } from '../../src/analysis/boost/scan.ts';
import type { StretchPoint } from '../../src/analysis/boost/stretches.ts';
import {
  type AirTemp,
  ANY_CAR as ANY,
  ANY_DAY,
  airOf,
  type CellDrives,
  chargeAlike,
  daysApart,
  meanAir,
  onDay,
  learnSlope as slopeOf,
} from '../../src/analysis/boost/warmth.ts';
import { seededRandom } from '../../src/core/random.ts';
import { BARO } from './pulls.ts';

const ANY_CAR = ANY.fast;
const learnSlope = (cells: readonly CellDrives[], pulls: readonly number[]) => slopeOf(cells, pulls, ANY_CAR);
const noise = { run: 0.01, pull: 0.02 };
const cell = (...drives: readonly (readonly [drive: number, airC: number, x: number])[]): CellDrives => ({
  noise,
  drives: drives.map(([drive, airC, x]) => ({ drive, weight: 1, airC, x })),
});

describe('the slope', () => {
  // 0 and 20 °C, 4 % apart, four pulls each: every deviation from 10 °C weighs w = 1/0.02²; errors of a drive
  // √(0.01² + 0.02²/4) = √2 %, of the slope √2 · √2 · 10 / 200 = 0.1 % a degree; any car's is 0.2111 %.
  const prior = 100 / 288 / 1.645;
  const share = prior ** 2 / (prior ** 2 + 0.1 ** 2);
  it('lies between what two drives tell and what any car’s is, by their variances', () => {
    const s = learnSlope([cell([0, 0, 1.02], [1, 20, 0.98])], [4, 4]);
    expect(100 * s.perC).toBeCloseTo(-0.2 * share, 9);
    expect(100 * s.sd).toBeCloseTo(prior * Math.sqrt(1 - share), 9);
    expect(100 * s.sd).toBeCloseTo(0.0904, 4);
    expect(100 * s.perC).toBeCloseTo(-0.163, 3);
    expect(onDay(s, ANY_CAR, [10, 0], [10, 0]).sd).toBe(0);
    // The gas law takes 20/288 = 6.9 % at most, 3.7 % more than is expected anyway.
    expect(onDay(s, ANY_CAR, [10, 0], [30, 0])).toEqual({
      more: expect.closeTo(-0.033, 3),
      sd: expect.closeTo(0.018, 3),
      ...{ unread: 0, charge: 0, colder: 0 },
      below: expect.closeTo(0.0368, 4),
    });
    expect(onDay(s, ANY_CAR, [30, 0], [10, 0]).below).toBeCloseTo(20 / 288 + 0.0326, 3);
  });
  it('is told less by one pull a drive than by four, and by none as by one', () => {
    const sd = (pulls: number) => learnSlope([cell([0, 0, 1.02], [1, 20, 0.98])], [pulls, pulls]).sd;
    // Errors of a drive √(0.01² + 0.02²) = √5 %, of the slope √2 · √5 · 10 / 200 % a degree.
    const own = (Math.SQRT2 * Math.sqrt(5) * 10) / 200;
    expect(100 * sd(1)).toBeCloseTo(prior * Math.sqrt(1 - prior ** 2 / (prior ** 2 + own ** 2)), 9);
    expect(sd(0)).toBe(sd(1));
  });
  it('is no surer for being told in many cells', () => {
    const one = learnSlope([cell([0, 0, 1.02], [1, 20, 0.98])], [4, 4]);
    const many = learnSlope(
      Array.from({ length: 50 }, () => cell([0, 0, 1.02], [1, 20, 0.98])),
      [4, 4],
    );
    expect(many.sd).toBeCloseTo(one.sd, 9);
    expect(many.perC).toBeCloseTo(one.perC, 9);
  });
  it('is any car’s where no two drives share a cell, and hardly surer where they were alike warm', () => {
    expect(learnSlope([], [])).toBe(ANY_CAR);
    expect(learnSlope([cell([0, 0, 1.02]), cell([1, 20, 0.9])], [4, 4])).toEqual(ANY_CAR);
    expect(learnSlope([cell([0, 10, 1], [1, 11, 1])], [4, 4]).sd).toBeGreaterThan(0.99 * ANY_CAR.sd);
  });
  it('is not told by who drove where: a cold drive where boost is low, a warm one where it is high', () => {
    const both = [cell([0, 0, 1], [1, 20, 1]), cell([0, 0, 0.5]), cell([1, 20, 1.5])];
    expect(learnSlope(both, [4, 4]).perC).toBeCloseTo(0, 12);
  });
  it('is less sure where three drives differ by more than their scatter', () => {
    const told = (off: number) => learnSlope([cell([0, 0, 1], [1, 10, 1 + off], [2, 20, 1])], [4, 4, 4]).sd;
    expect(told(0.005)).toBeCloseTo(told(0), 12);
    expect(told(0.1)).toBeGreaterThan(1.5 * told(0));
  });
  it('of drawn cars lies within 1.645 standard errors in 85 to 95 of 100, of 2 to 10 drives', () => {
    const random = seededRandom('slopes');
    for (const n of [2, 3, 10]) {
      let inside = 0;
      for (let k = 0; k < 2000; k++) {
        const perC = ANY_CAR.sd * random.normal();
        const pulls = Array.from({ length: n }, () => 1 + Math.floor(8 * random.next()));
        const drives = pulls.map((p, j) => {
          const airC = 7 + 12 * random.normal();
          const error = 0.01 * random.normal() + (0.02 / Math.sqrt(p)) * random.normal();
          return [j, airC, 1 + perC * airC + error] as const;
        });
        const s = learnSlope([cell(...drives)], pulls);
        if (Math.abs(perC - s.perC) < 1.645 * s.sd) inside++;
      }
      expect(inside / 2000).toBeGreaterThan(0.85);
      expect(inside / 2000).toBeLessThan(0.96);
    }
  });
});

describe('a day', () => {
  it('is the less sure the further it lies from those that taught, and as any day where none was read', () => {
    const slope = { perC: -0.002, sd: 0.001 };
    const on = (taught: AirTemp, airC: number | null) => onDay(slope, ANY_CAR, taught, airOf(airC));
    expect(on([20, 0], 20)).toEqual({ more: -0, sd: 0, unread: 0, charge: 0, colder: 0, below: 0 });
    expect(on([20, 0], 0)).toMatchObject({ more: 0.04, sd: expect.closeTo(0.02, 12) });
    const unread = (0.002 ** 2 + 0.001 ** 2) * 144;
    const sd = Math.sqrt(0.001 ** 2 * 13 ** 2 + unread);
    expect(on([20, 0], null)).toMatchObject({
      sd: expect.closeTo(sd, 12),
      unread: expect.closeTo(unread, 12),
    });
    expect(on(meanAir([{ weight: 1, air: airOf(null) }]), 20).sd).toBeCloseTo(sd, 12);
    // Of a temperature that was not read nobody knows how far off it is.
    expect(on([20, 0], null).below).toBe(Number.POSITIVE_INFINITY);
    expect(meanAir([])).toBe(ANY_DAY);
    expect(meanAir([1, 3].map((weight) => ({ weight, air: airOf(10 * weight) })))).toEqual([25, 0]);
    expect(meanAir([1, 2, 3, 4].map(() => ({ weight: 2, air: airOf(null) })))).toEqual([7, 36]);
  });
});

describe('the warmth of the charge', () => {
  it('is in what is left of any car’s slope, below 2000 rpm', () => {
    // Of 0.42 % a degree drives left 0.21: a quarter of the variance is any car's still, and a quarter of it by so little told.
    const half = { perC: 0.001, sd: ANY.slow.sd / 2 };
    const on = (byC: number) => onDay(half, ANY.slow, [10, 0], [10 + byC, 0]);
    const charge = (0.25 * ANY.slow.sd * 20) ** 2;
    expect(on(20)).toMatchObject({ charge: expect.closeTo(charge, 12), colder: 0 });
    expect(on(-20)).toMatchObject({ charge: expect.closeTo(charge, 12), colder: expect.closeTo(charge, 12) });
    expect(onDay(half, ANY.fast, [10, 0], [30, 0])).toMatchObject({ charge: 0, colder: 0 });
    for (const unread of [onDay(half, ANY.slow, [10, 1], [-10, 0]), onDay(half, ANY.slow, [10, 0], [-10, 1])])
      expect(unread).toMatchObject({ charge: 0, colder: 0 });
  });
  it('takes half with it where it has not moved, and on a colder day all', () => {
    expect(chargeAlike(1)).toEqual({ charge: 0, colder: 0 });
    expect(chargeAlike(0)).toEqual({ charge: 0.75, colder: 0.25 });
    expect(chargeAlike(0.5)).toEqual({ charge: 1 - 0.75 ** 2, colder: 0.75 ** 2 - 0.5 ** 2 });
  });
});

it('two days of any car differ by its slope times their temperatures, as far as these were read', () => {
  expect(daysApart(ANY_CAR, [5, 0], [30, 0])).toBeCloseTo(25 * ANY_CAR.sd, 12);
  expect(daysApart(ANY_CAR, ANY_DAY, ANY_DAY)).toBeCloseTo(Math.sqrt(288) * ANY_CAR.sd, 12);
});

/** Above `x`, of a normal deviate: a series, and far out a continued fraction (Abramowitz and Stegun 26.2.10, 26.2.14). */
function tail(x: number): number {
  const density = Math.exp(-0.5 * x * x) / Math.sqrt(2 * Math.PI);
  if (x > 2.5) {
    let f = x;
    for (let k = 200; k > 0; k--) f = x + k / f;
    return density / f;
  }
  let [term, sum] = [x, x];
  for (let k = 1; k < 200; k++) {
    term *= (-x * x) / (2 * k);
    sum += term / (2 * k + 1);
  }
  return 0.5 - sum / Math.sqrt(2 * Math.PI);
}

describe('a shortfall on such a day', () => {
  const of = (deviation: number, alike: number, warm: number, warmBelow: number, warmUnread = 0) =>
    isFar({
      deviation,
      se: Math.hypot(alike, warm),
      warmVariance: warm ** 2,
      warmBelow,
      warmUnread,
      looks: PAID_LOOKS,
    });
  it('is held to 3.5 standard errors where the air was alike, or physics sets no nearer bound', () => {
    expect([-0.1051, -0.1049].map((d) => of(d, 0.03, 0, 0))).toEqual([true, false]);
    const far = 3.5 * Math.hypot(0.03, 0.01);
    expect([-far - 0.001, -far + 0.001].map((d) => of(d, 0.03, 0.01, 0.3))).toEqual([true, false]);
  });
  it('of a slope and a temperature that are both not known must be wider than of a normal deviate', () => {
    // The product of two deviates lies beyond 6.43 as seldom as one beyond 3.5, by the integral of φ(x) Φ(−6.43/x).
    const n = 20_000;
    let sum = 0;
    for (let i = 0; i < n; i++) {
      const x = (10 * (i + 0.5)) / n;
      sum += 2 * Math.exp(-0.5 * x * x) * tail(6.43 / x) * (10 / n);
    }
    expect(sum / Math.sqrt(2 * Math.PI) / tail(3.5)).toBeCloseTo(1, 1);
    const all = (d: number) => of(d, 1e-6, 0.05, Number.POSITIVE_INFINITY, 0.05 ** 2);
    expect([-6.6, -6.2].map((d) => all(0.05 * d))).toEqual([true, false]);
    // Beside an error that is a normal deviate it matters less: between the two.
    const half = (d: number) => of(d, 0.05, 0.05, Number.POSITIVE_INFINITY, 0.05 ** 2);
    expect([-5.0, -4.8].map((d) => half(0.05 * Math.SQRT2 * d))).toEqual([true, false]);
  });
  it('is as unlikely for a car within the gas law, whose slope is as likely as told', () => {
    // 25 °C from what taught: any car, sd 5.3 %, at most 8.7 %; the rest 3 %.
    const [alike, warm, below] = [0.03, 25 * ANY_CAR.sd, 25 / 288];
    const from = -below / warm;
    // Simpson's rule in 2,000 steps.
    const chance = (short: number): number => {
      const n = 2000;
      let [top, all] = [0, 0];
      for (let i = 0; i <= n; i++) {
        const z = from + (i / n) * (6 - from);
        const k = (i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2) * Math.exp(-0.5 * z * z);
        all += k;
        top += k * tail((short + z * warm) / alike);
      }
      return top / all;
    };
    let [low, high] = [0, 1];
    for (let i = 0; i < 40; i++) {
      const middle = (low + high) / 2;
      if (of(-middle, alike, warm, below)) high = middle;
      else low = middle;
    }
    expect(chance(high) / tail(3.5)).toBeGreaterThan(0.97);
    expect(chance(high) / tail(3.5)).toBeLessThan(1.03);
    expect(high).toBeGreaterThan(below + 2 * alike);
    expect(high).toBeLessThan(below + 3.5 * alike);
    expect(high).toBeLessThan(3.5 * Math.hypot(alike, warm));
  });
});

describe('lessons', () => {
  /** Gauge 100 kPa at 20 °C, air index 15; both by `perC` a degree. */
  const drive = (airC: number | null, perC: number, k = 0): BoostLesson => {
    const by = 1 + perC * ((airC ?? 20) - 20);
    const rpm = Array.from({ length: 25 }, (_, i) => 2200 + 40 * i);
    const pull = {
      ...{ rpm, demand: rpm.map(() => 90), map: rpm.map(() => 100 + 100 * by + 0.1 * k) },
      air: rpm.map(() => 15 * by),
    };
    return {
      ...{ schema: 'handback.boost-lesson/2', baroKpa: 100, baroKnown: true, airC, slower: [] },
      pulls: [pull, pull, pull],
    };
  };
  const at = (airC: number | null): StretchPoint =>
    ({ ...{ rpm: 2600, lagged: 90, demand: 90, map: 200, cmd: null }, airC }) as StretchPoint;
  const due = (lessons: readonly BoostLesson[], airC: number | null) =>
    expectedAt(at(airC), { induction: 'turbocharger', fuel: 'diesel' }, mergeLessons(lessons), BARO)!;
  const SPREAD = [-5, 0, 5, 10, 15, 20, 25, 30, 12, 8];

  it('know the slope from ten drives over 30 °C, and are sure only near it from two alike ones', () => {
    const ten = SPREAD.map((c, k) => drive(c, -0.003, k % 2));
    expect(Math.abs(due(ten, -5).kpa - 107.5)).toBeLessThan(1);
    expect(Math.abs(due(ten, 30).kpa - 97)).toBeLessThan(1);
    expect(due(ten, 30).warm.sd).toBeLessThan(0.015);
    const two = [drive(20, 0), drive(21, 0)];
    expect(due(two, 20.5).warm.sd).toBe(0);
    expect(due(two, 0).warm.sd).toBeGreaterThan(0.04);
    expect(due(two, null).warm.sd).toBeGreaterThan(0.03);
    expect(due([drive(null, 0), drive(null, 0)], 20).warm.sd).toBeGreaterThan(0.02);
  });
  it('never make a day less sure by another drive of its own warmth', () => {
    for (let n = 1; n < SPREAD.length; n++) {
      const some = SPREAD.slice(0, n).map((c) => drive(c, -0.003));
      expect(due([...some, drive(3, -0.003)], 3).warm.sd).toBeLessThanOrEqual(due(some, 3).warm.sd + 1e-6);
    }
  });
  it('teach the same in any order', () => {
    const all = SPREAD.map((c, k) => drive(c, -0.003, k));
    const { warmth, noiseScale, ...one } = mergeLessons(all);
    const { warmth: again, noiseScale: scale, ...other } = mergeLessons(all.toReversed());
    expect(other).toEqual(one);
    expect(scale.fast).toBeCloseTo(noiseScale.fast, 12);
    for (const q of ['slow', 'fast', 'air'] as const) {
      expect(again[q].perC).toBeCloseTo(warmth[q].perC, 12);
      expect(again[q].sd).toBeCloseTo(warmth[q].sd, 12);
    }
  });
  it('hold the air index as it is in air of one temperature', () => {
    const { air, warmth } = mergeLessons(SPREAD.map((c) => drive(c, -1 / 293)));
    expect(air[3]!.sd).toBe(0.012);
    expect(warmth.air.perC).toBeCloseTo(-1 / 293, 3);
    expect(air[3]!.mean).toBeCloseTo(15 * (1 - (air[3]!.airC[0] - 20) / 293), 1);
  });
});
