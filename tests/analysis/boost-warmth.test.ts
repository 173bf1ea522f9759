/** What the temperature of the air does to boost and air index: slopes by hand, and what a day far from those that taught is held to. */
import { describe, expect, it } from 'vitest';
import { expectedAt } from '../../src/analysis/boost/expectation.ts';
import { type BoostLesson, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import type { StretchPoint } from '../../src/analysis/boost/stretches.ts';
import {
  ANY_CAR as ANY,
  ANY_DAY,
  airOf,
  type CellDrives,
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
    expect(onDay(s, [10, 0], 10).sd).toBe(0);
    expect(onDay(s, [10, 0], 30)).toEqual({ more: expect.closeTo(-0.033, 3), sd: expect.closeTo(0.018, 3) });
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
    expect(onDay(slope, [20, 0], 20)).toEqual({ more: -0, sd: 0 });
    expect(onDay(slope, [20, 0], 0)).toEqual({ more: 0.04, sd: expect.closeTo(0.02, 12) });
    const unread = Math.sqrt(0.001 ** 2 * 13 ** 2 + (0.002 ** 2 + 0.001 ** 2) * 144);
    expect(onDay(slope, [20, 0], null).sd).toBeCloseTo(unread, 12);
    expect(onDay(slope, meanAir([{ weight: 1, air: airOf(null) }]), 20).sd).toBeCloseTo(unread, 12);
    expect(meanAir([])).toBe(ANY_DAY);
    expect(meanAir([1, 3].map((weight) => ({ weight, air: airOf(10 * weight) })))).toEqual([25, 0]);
    expect(meanAir([1, 2, 3, 4].map(() => ({ weight: 2, air: airOf(null) })))).toEqual([7, 36]);
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
      ...{ schema: 'handback.boost-lesson/1', baroKpa: 100, baroKnown: true, airC },
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
    expect(due(ten, -5).kpa).toBeCloseTo(107.5, 0);
    expect(Math.abs(due(ten, 30).kpa - 97)).toBeLessThan(1);
    expect(due(ten, 30).warm).toBeLessThan(0.015);
    const two = [drive(20, 0), drive(21, 0)];
    expect(due(two, 20.5).warm).toBe(0);
    expect(due(two, 0).warm).toBeGreaterThan(0.04);
    expect(due(two, null).warm).toBeGreaterThan(0.03);
    expect(due([drive(null, 0), drive(null, 0)], 20).warm).toBeGreaterThan(0.02);
  });
  it('never make a day less sure by another drive of its own warmth', () => {
    for (let n = 1; n < SPREAD.length; n++) {
      const some = SPREAD.slice(0, n).map((c) => drive(c, -0.003));
      expect(due([...some, drive(3, -0.003)], 3).warm).toBeLessThanOrEqual(due(some, 3).warm + 1e-6);
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
