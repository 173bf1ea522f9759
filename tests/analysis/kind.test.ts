import { describe, expect, it } from 'vitest';
import { another, learnBetween } from '../../src/analysis/between-cars.ts';
import { expectedAt } from '../../src/analysis/boost/expectation.ts';
import { DIFFER_BOOST, learnKind, lookUpKind, withKind } from '../../src/analysis/boost/kind.ts';
import {
  type BoostBaseline,
  type BoostLesson,
  lookUp,
  mergeLessons,
} from '../../src/analysis/boost/lesson.ts';
import { robust, studentT } from '../../src/analysis/spread.ts';
import { seededRandom } from '../../src/core/random.ts';

const BARO = { kpa: 100, sdKpa: 0, source: 'barometric sensor' } as const;
const AT = { rpm: 2500, lagged: 90 };
const PROFILE = { induction: 'turbocharger', fuel: 'diesel' } as const;

/** One car: pulls from 1,500 to 4,000 rpm at 90 % demand, `gauge` kPa of boost, scattering as healthy pulls do. */
function carOf(gauge: number, seed: number, drives = 2, fromRpm = 1500): BoostBaseline {
  const random = seededRandom(`car/${seed}`);
  const drive = (): BoostLesson => ({
    schema: 'handback.boost-lesson/2',
    baroKpa: 100,
    baroKnown: true,
    airC: 20,
    slower: [],
    pulls: Array.from({ length: 4 }, () => {
      const off = 1 + 0.01 * random.normal();
      const rpm = Array.from({ length: 40 }, (_, k) => fromRpm + k * 60).filter((r) => r <= 4000);
      return {
        rpm,
        demand: rpm.map(() => 90),
        map: rpm.map(() => 100 + gauge * off),
        air: rpm.map(() => null),
      };
    }),
  });
  return mergeLessons(Array.from({ length: drives }, drive));
}

/** Cars whose level differs by `spread`, a share. */
const fleet = (n: number, spread: number, seed: string): BoostBaseline[] => {
  const random = seededRandom(seed);
  return Array.from({ length: n }, (_, k) => carOf(120 * (1 + spread * random.normal()), k));
};

/** As far apart as cars of that spread are in the mean. */
const ladder = (n: number, spread: number): BoostBaseline[] =>
  Array.from({ length: n }, (_, k) =>
    carOf(120 * (1 + spread * Math.sqrt(12) * ((k + 0.5) / n - 0.5)), k, 1),
  );

const point = { ...AT, demand: 90, map: 220, cmd: null, airC: 20 } as unknown as Parameters<
  typeof expectedAt
>[0];
const expected = (baseline: BoostBaseline | null) => expectedAt(point, PROFILE, baseline, BARO);

describe('where values lie and what a further one may be', () => {
  it('has the quantiles of Student’s t within 2 % from five degrees of freedom on', () => {
    // Two-sided 95 %, from any printed table of t: 5, 9, 29 degrees of freedom.
    for (const [df, t] of [
      [5, 2.571],
      [9, 2.262],
      [29, 2.045],
    ] as const)
      expect(Math.abs(studentT(1.96, df) / t - 1)).toBeLessThan(0.02);
    expect(studentT(1.96, 2)).toBeGreaterThan(4.303);
  });

  it('covers a further value 95 times in 100, from 3 to 30 of them', () => {
    const random = seededRandom('covers');
    for (const n of [3, 5, 10, 30]) {
      let inside = 0;
      for (let k = 0; k < 4000; k++) {
        const { mean, sd } = robust(Array.from({ length: n }, () => random.normal()));
        if (Math.abs(random.normal() - mean) <= studentT(1.96, n - 1) * sd * Math.sqrt(1 + 1 / n)) inside++;
      }
      expect(inside / 4000).toBeGreaterThan(0.94);
      expect(inside / 4000).toBeLessThan(0.97);
    }
  });

  it('is moved by one wild value of ten by less than half a standard deviation', () => {
    const random = seededRandom('wild');
    for (let k = 0; k < 50; k++) {
      const sound = Array.from({ length: 9 }, () => random.normal());
      const with40 = robust([...sound, -40]);
      expect(Math.abs(with40.mean - robust(sound).mean)).toBeLessThan(0.5 * robust(sound).sd + 0.2);
      expect(with40.sd).toBeLessThan(2.2 * robust(sound).sd);
    }
  });
});

describe('other cars of the kind', () => {
  it('changes nothing where there are none', () => {
    const own = carOf(120, 1);
    expect(withKind(own, null)).toBe(own);
    expect(learnKind([])).toBeNull();
    expect(expected(own)?.source).toBe('baseline run');
  });

  it('takes one or two cars to differ by the stated spread, and accuses no car within 3.5 of it', () => {
    for (const n of [1, 2]) {
      const e = expected(withKind(null, learnKind(fleet(n, 0.001, 'few'))))!;
      expect(e.source).toBe('kind');
      expect(e.cars).toBe(n);
      expect(e.sd).toBeCloseTo(DIFFER_BOOST.unknown * Math.sqrt(1 + 1 / n), 2);
      expect(e.limit + 1.645 * e.sd).toBeGreaterThanOrEqual(
        3.499 * DIFFER_BOOST.unknown * Math.sqrt(1 + 1 / n),
      );
    }
  });

  it('tells more the more cars there are, and is as wide as they differ', () => {
    const width = (n: number, spread: number) => lookUpKind(learnKind(ladder(n, spread))!, 2500, 90)!;
    const [three, ten, twenty, apart] = [width(3, 0.04), width(10, 0.04), width(20, 0.04), width(20, 0.12)];
    expect(ten.sd).toBeLessThan(0.6 * three.sd);
    expect(twenty.sd).toBeLessThan(ten.sd);
    expect(twenty.sd).toBeGreaterThan(0.03);
    expect(twenty.sd).toBeLessThan(0.055);
    expect(apart.sd).toBeGreaterThan(2.4 * twenty.sd);
    expect(twenty.kpa).toBeGreaterThan(215);
    expect(twenty.kpa).toBeLessThan(225);
  });

  it('is widened, not spoilt, by one faulty car of ten', () => {
    const sound = fleet(9, 0.03, 'sound');
    const clean = lookUpKind(learnKind([...sound, carOf(121, 77)])!, 2500, 90)!;
    const spoilt = lookUpKind(learnKind([...sound, carOf(60, 78)])!, 2500, 90)!;
    // Gauge 120 kPa: the mean of all would have moved by 6.
    expect(Math.abs(spoilt.kpa - clean.kpa)).toBeLessThan(2);
    expect(spoilt.sd).toBeLessThan(2 * clean.sd);
  });

  it('gives way to own drives, the more the more there are, and to the kind where they did not go', () => {
    const kind = learnKind(fleet(10, 0.03, 'others'))!;
    // A healthy car 8 % above the middle of its kind.
    const off = (drives: number): number => {
      const own = carOf(130, 5, drives);
      const alone = expected(own)!;
      const both = expected(withKind(own, kind))!;
      expect(both.source).toBe('baseline run and kind');
      expect(both.sd).toBeLessThanOrEqual(alone.sd);
      return Math.abs(both.kpa - alone.kpa) / alone.kpa;
    };
    expect(off(1)).toBeLessThan(0.01);
    expect(off(12)).toBeLessThan(off(1) / 3);
    const elsewhere = carOf(130, 5, 2, 3400);
    expect(lookUp(elsewhere, 2500, 90)).toBeNull();
    expect(expected(withKind(elsewhere, kind))?.source).toBe('kind');
  });

  it('covers a further car 94 to 99 times in 100 where cars differ in level and from place to place, from 3 on', () => {
    const random = seededRandom('covers a car');
    for (const [level, rest] of [
      [0.04, 0.02],
      [0.02, 0.04],
    ] as const)
      for (const n of [3, 10, 30]) {
        let inside = 0;
        for (let k = 0; k < 600; k++) {
          const given = Array.from({ length: n }, (_, car) => {
            const own = 1 + level * random.normal();
            return Array.from({ length: 12 }, (__, cell) => ({
              ...{ car, cell, variance: 1e-6 },
              value: 100 * own * (1 + rest * random.normal()),
            }));
          }).flat();
          const { value, sd } = learnBetween(given, { unknown: 0.12, least: 0.001 }).get(3)!;
          const further = 100 * (1 + level * random.normal()) * (1 + rest * random.normal());
          if (Math.abs(further / value - 1) <= 1.96 * sd) inside++;
        }
        expect(inside / 600, `${n} cars, ${rest}`).toBeGreaterThan(0.93);
        expect(inside / 600, `${n} cars, ${rest}`).toBeLessThan(0.992);
      }
  });

  it('lets what the control unit asks for or a curve says come first', () => {
    const kind = withKind(null, learnKind(fleet(10, 0.03, 'others')));
    const asked = expectedAt({ ...point, cmd: 230 }, PROFILE, kind, BARO);
    expect(asked?.source).toBe('commanded boost');
  });

  it('repeats the worked example of the manual: ten and thirty cars that differ by 4 %', () => {
    for (const [n, either, tails] of [
      [10, 0.095, 0.256],
      [30, 0.083, 0.166],
    ] as const) {
      const { sd, far } = another(n, 0.04 * Math.sqrt(1 + 1 / n), DIFFER_BOOST);
      expect(1.96 * sd).toBeCloseTo(either, 3);
      expect(far + 1.645 * sd).toBeCloseTo(tails, 3);
    }
  });

  it('says of few cars that their tails are not known', () => {
    expect(another(3, 0.01, DIFFER_BOOST).far).toBeGreaterThan(another(10, 0.01, DIFFER_BOOST).far);
    expect(another(10, 0.04, DIFFER_BOOST).far).toBeGreaterThan(another(30, 0.04, DIFFER_BOOST).far);
  });
});
