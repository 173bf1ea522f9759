/** A turbocharger slower than the one by which the lag was measured: its own drives say so, and are held against each other by it. */
import { describe, expect, it } from 'vitest';
import { learnKind, turboLagOf, withKind } from '../../src/analysis/boost/kind.ts';
import { type BoostLesson, learnBoost, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { lagS, TURBO_LAGS } from '../../src/analysis/boost/stretches.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import type { CleanSample } from '../../src/analysis/types.ts';
import { seededRandom } from '../../src/core/random.ts';
import { clean, judgeBoost } from '../evaluate/boost.ts';
import { simulate } from '../evaluate/boost-sim.ts';
import { drawnCar, drawnDay } from '../evaluate/drawn-car.ts';
import { type HandMadePull, handMade } from './hand-made.ts';

const DIESEL = { induction: 'turbocharger', fuel: 'diesel' } as const;
const FULL_KPA = 110;

/** In a low gear engine speed is through before the boost has come; in a high gear it is not. */
function pull(turboLag: number, fromRpm: number, toRpm: number, s: number): HandMadePull {
  let [atS, share] = [0, 0];
  return {
    ...{ fromRpm, toRpm, s },
    boost: (t, rpm) => {
      if (t < atS) [atS, share] = [0, 0];
      share += (1 - Math.exp(-(t - atS) / lagS(DIESEL, rpm, turboLag))) * (1 - share);
      atS = t;
      return 8 + (FULL_KPA - 8) * share;
    },
  };
}

function drive(turboLag: number, seed: number): CleanSample[] {
  const random = seededRandom(`slow/${seed}`);
  const pulls = Array.from({ length: 12 }, () =>
    pull(turboLag, random.between(1050, 1500), random.between(2100, 2800), random.between(3.5, 15)),
  );
  const front = new Plausibility();
  const samples = handMade({ pulls, hz: 5, seed });
  return [...samples.flatMap((x) => front.push(x)), ...front.finish()];
}
const lessonsOf = (turboLag: number) => [1, 2, 3].map((seed) => learnBoost(drive(turboLag, seed), DIESEL));
const LESSONS = new Map(TURBO_LAGS.map((lag) => [lag, lessonsOf(lag)]));
const KIT_ALONE = (l: BoostLesson): BoostLesson => ({ ...l, slower: [] });

describe('a car’s own drives', () => {
  it('tell the lag by which their pulls agree', () => {
    const told = TURBO_LAGS.map((lag) => mergeLessons(LESSONS.get(lag)!).turboLag);
    expect(told).toEqual(TURBO_LAGS);
    // One drive alone does not tell it surely.
    expect(mergeLessons(LESSONS.get(2)!.slice(0, 1)).turboLag).toBe(1);
    expect(mergeLessons([]).turboLag).toBe(1);
  });
  it('tell none of a compressor on a belt', () => {
    const belt = learnBoost(drive(1, 1), { induction: 'supercharger', fuel: 'petrol' });
    expect(belt.slower).toEqual([]);
    expect(LESSONS.get(1)![0]!.slower.map((o) => o.turboLag)).toEqual([2]);
  });
});

describe('a lag that is only a little likelier', () => {
  /** Pulls of 4 samples at 3,000 rpm: by KIT's lag each is off by `offKpa`, by a slower one by nothing. */
  const lesson = (offKpa: number, pulls: number): BoostLesson => {
    const of = (map: number) => ({
      ...{ rpm: [3000, 3000, 3000, 3000], demand: [90, 90, 90, 90] },
      ...{ map: [map, map, map, map], air: [null, null, null, null] },
    });
    const all = (off: number) => Array.from({ length: pulls }, () => of(200 + off));
    return {
      ...{ schema: 'handback.boost-lesson/2', baroKpa: 100, baroKnown: true, airC: 20 },
      ...{ pulls: all(offKpa), slower: [{ turboLag: 2, pulls: all(0) }] },
    };
  };
  const lagOf = (offKpa: number, pulls: number) =>
    mergeLessons([lesson(offKpa, pulls), lesson(-offKpa, pulls)]).turboLag;
  it('is not taken: by few pulls, or where all scatter little', () => {
    expect([1, 3, 9].map((n) => lagOf(3, n))).toEqual([1, 1, 2]);
    expect([0, 1, 3].map((off) => lagOf(off, 9))).toEqual([1, 1, 2]);
  });
});

it('cars of a kind tell the middle of theirs to one that has not taught yet', () => {
  const cars = [1, 2, 2].map((lag) => mergeLessons(LESSONS.get(lag as 1)!));
  expect(turboLagOf(withKind(null, learnKind(cars)))).toBe(2);
  expect(turboLagOf(withKind(cars[0]!, learnKind(cars)))).toBe(1);
  expect(turboLagOf(null)).toBeUndefined();
});

it('a simulated car whose turbocharger is slower is shown good below 2,000 rpm by its own lag, and not by KIT’s', () => {
  const car = drawnCar('turbo-diesel', 117);
  const day = drawnDay(car, 117, 9);
  const driven = (k: number): CleanSample[] =>
    clean(simulate(day.car, 'road-test', 'healthy', 100_000 * k + 117, { ...day.options, hz: 5 }));
  const [own, ...others] = [0, 1, 2, 3].map((k) => driven(k).filter((s) => s.signal !== 'boost_cmd_kpa'));
  const lessons = others.map((d) => learnBoost(d, DIESEL));
  const judged = (of: readonly BoostLesson[]): boolean =>
    judgeBoost(own!, DIESEL, mergeLessons(of)).systemGood;
  expect(mergeLessons(lessons).turboLag).toBeGreaterThan(1);
  expect([judged(lessons), judged(lessons.map(KIT_ALONE))]).toEqual([true, false]);
});
