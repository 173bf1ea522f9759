/** What healthy drives teach of boost: the grid, its kernel, how sure it is; worked by hand. */
import { describe, expect, it } from 'vitest';
import {
  airBin,
  airIndex,
  type BoostLesson,
  CELLS,
  centreOf,
  interpolate,
  learnBoost,
  lookUp,
  mergeLessons,
} from '../../src/analysis/boost/lesson.ts';
import type { Sample } from '../../src/core/signals.ts';
import { handMade, rise } from './hand-made.ts';

type Pull = BoostLesson['pulls'][number];
/** So many samples at one point. */
const at = (n: number, rpm: number, demand: number, map: number, air: number | null = null): Pull => ({
  ...{ rpm: Array.from({ length: n }, () => rpm), demand: Array.from({ length: n }, () => demand) },
  ...{ map: Array.from({ length: n }, () => map), air: Array.from({ length: n }, () => air) },
});
const join = (...pulls: Pull[]): Pull => ({
  rpm: pulls.flatMap((p) => p.rpm),
  demand: pulls.flatMap((p) => p.demand),
  map: pulls.flatMap((p) => p.map),
  air: pulls.flatMap((p) => p.air),
});
const drive = (pulls: readonly Pull[], baroKpa = 100): BoostLesson => ({
  ...{ schema: 'handback.boost-lesson/2', baroKpa, baroKnown: true, airC: 20, pulls, slower: [] },
});
/** Kernel of what lies so far away: 150 rpm, 4 % demand. */
const near = (rpm: number, demand = 0) => Math.exp(-0.5 * ((rpm / 150) ** 2 + (demand / 4) ** 2));

describe('the grid', () => {
  it('is from 900 to 6950 rpm by 50, from 45 to 105 % by 2.5', () => {
    expect(CELLS).toBe(122 * 25);
    expect([0, 1, 25, CELLS - 1].map(centreOf)).toEqual([
      { rpm: 900, demand: 45 },
      { rpm: 900, demand: 47.5 },
      { rpm: 950, demand: 45 },
      { rpm: 6950, demand: 105 },
    ]);
  });
  const all = (c: number): readonly number[] => [centreOf(c).rpm + 10 * centreOf(c).demand, 7];
  it('is read on straight lines between its cells, and nowhere beyond', () => {
    expect(interpolate(all, 2012, 71)).toEqual([expect.closeTo(2012 + 710, 9), 7]);
    expect(interpolate(all, 6940, 104)).toEqual([expect.closeTo(6940 + 1040, 9), 7]);
    expect(interpolate(all, 2000, 130)![0]).toBeCloseTo(2000 + 1050, 9);
    expect([899, 900, 6950, 6951].map((rpm) => interpolate(all, rpm, 70) !== null)).toEqual([
      ...[false, true, true, false],
    ]);
    expect([44.9, 45].map((d) => interpolate(all, 2000, d) !== null)).toEqual([false, true]);
  });
  it('is read where half of what lies around is known', () => {
    const known = (rpm: number) => interpolate((c) => (centreOf(c).rpm <= 2000 ? [5] : null), rpm, 70);
    expect([2025, 2026].map(known)).toEqual([[5], null]);
  });
});

describe('the pressure at a cell', () => {
  const one = (...pulls: Pull[]) => mergeLessons([drive(pulls)]);
  const kpa = (pulls: readonly Pull[], rpm: number, demand: number) =>
    lookUp(one(...pulls), rpm, demand)?.kpa;
  it('is known from a sample and a half on, by the kernel, as far as 400 rpm and 10 %', () => {
    expect(kpa([at(1, 2000, 90, 150)], 2000, 90)).toBeUndefined();
    expect(kpa([at(2, 2000, 90, 150)], 2000, 90)).toBe(150);
    const reach = (n: number) => {
      const b = one(at(n, 3000, 75, 150));
      const known = (rpm: number, demand: number) => lookUp(b, rpm, demand) !== null;
      const far = (step: number, is: (d: number) => boolean) => {
        let d = 0;
        while (is(d + step)) d += step;
        return d;
      };
      return [
        far(50, (d) => known(3000 + d, 75)),
        far(50, (d) => known(3000 - d, 75)),
        far(2.5, (d) => known(3000, 75 + d)),
        far(2.5, (d) => known(3000, 75 - d)),
      ];
    };
    const expected = (n: number) => {
      let [rpm, demand] = [0, 0];
      while (rpm < 400 && n * near(rpm + 50) >= 1.5) rpm += 50;
      while (demand < 10 && n * near(0, demand + 2.5) >= 1.5) demand += 2.5;
      return [rpm, rpm, demand, demand];
    };
    for (const n of [2, 3, 5, 20, 60, 200]) expect(reach(n)).toEqual(expected(n));
    expect(expected(200)).toEqual([400, 400, 10, 10]);
  });
  it('is the mean by that kernel over engine speed', () => {
    const b = one(join(at(4, 2000, 90, 150), at(4, 2100, 90, 170)));
    expect(lookUp(b, 2000, 90)!.kpa).toBeCloseTo((150 + near(100) * 170) / (1 + near(100)), 2);
  });
  it('is a line over demand, with the spread of a kernel width against a lone sample’s slope', () => {
    const b = one(join(at(4, 2000, 90, 150), at(4, 2000, 95, 170)));
    const [w1, w2] = [4, 4 * near(0, 5)];
    const [w, d, dd] = [w1 + w2, 5 * w2, 25 * w2];
    const [y, dy] = [150 * w1 + 170 * w2, 5 * 170 * w2];
    const slope = (dy - (d * y) / w) / (dd - (d * d) / w + 0.5 * 4 * 4);
    expect(lookUp(b, 2000, 90)!.kpa).toBeCloseTo((y - slope * d) / w, 2);
    // Full pedal of a sensor that reads more is the last column.
    expect(kpa([at(3, 2000, 130, 150)], 2000, 105)).toBe(150);
    expect(kpa([at(9, 800, 90, 150)], 900, 90)).toBeUndefined();
    expect(kpa([at(9, 7100, 90, 150)], 6950, 90)).toBeUndefined();
    expect(kpa([at(9, 2000, 40, 150)], 2000, 45)).toBeUndefined();
  });
  it('is of runs alike from twelve samples on', () => {
    const two = (n: number, m: number) =>
      mergeLessons([drive([at(n, 2000, 90, 150)]), drive([at(m, 2000, 90, 174)])]);
    expect(lookUp(two(12, 40), 2000, 90)!.kpa).toBeCloseTo(162, 2);
    expect(lookUp(two(4, 12), 2000, 90)!.kpa).toBeCloseTo(168, 2);
    expect(lookUp(two(12, 40), 2000, 90)!.runs).toBe(2);
    expect(lookUp(two(4, 12), 2000, 90)!.runs).toBeCloseTo(16 ** 2 / (4 ** 2 + 12 ** 2), 2);
  });
  it('rests on the pulls that came near it, each by its nearest sample, one at the least', () => {
    const b = one(
      at(9, 2000, 90, 150),
      join(at(9, 2150, 90, 150), at(9, 2100, 94, 150)),
      at(9, 2000, 90, 150),
    );
    // 94 % lies nearest to the column of 95; of the second pull its first sample is nearer in the kernel.
    expect(lookUp(b, 2000, 90)!.pulls).toBeCloseTo(2 + near(150), 2);
    expect(lookUp(one(at(40, 2000, 90, 150)), 2300, 90)!.pulls).toBe(1);
    expect(b).toMatchObject({ runs: 1, pulls: 3, baroKpa: 100 });
    // Drives without a pull teach nothing.
    expect(mergeLessons([drive([]), drive([at(9, 2000, 90, 150)], 90)])).toMatchObject({
      runs: 1,
      baroKpa: 90,
    });
    expect(mergeLessons([])).toMatchObject({ runs: 0, pulls: 0, baroKpa: 98, reference: 'absolute' });
  });
});

describe('which pressure repeats', () => {
  const two = (map: readonly [number, number]) =>
    mergeLessons([drive([at(8, 3000, 90, map[0])], 100), drive([at(8, 3000, 90, map[1])], 90)]);
  it('is the absolute one unless the gauge one repeats better by a fifth', () => {
    expect(two([200, 190]).reference).toBe('gauge');
    expect(two([200, 200]).reference).toBe('absolute');
    expect(lookUp(two([200, 190]), 3000, 90)!.kpa).toBe(100);
    // Gauge 100 against 100 + d, absolute 200 against 190 + d: alike at 5.
    const at5 = [4.6, 4.9, 5].map((d) => two([200, 190 + d]).reference);
    expect(at5).toEqual(['gauge', 'absolute', 'absolute']);
  });
});

describe('how well it repeats', () => {
  /** Of settled boost at full demand from 2000 rpm on (docs/analysis.md). */
  const [RUN, PULL, POINT] = [0.008, 0.018, 0.01];
  const fast = (first: number, second: number, n = 4, rpm = 3000) =>
    mergeLessons([drive([at(n, rpm, 90, first)]), drive([at(n, rpm, 90, second)])]).noiseScale;
  const z2 = (r: number, n = 4) => r ** 2 / (PULL ** 2 + 1.5 * RUN ** 2 + POINT ** 2 / n);
  it('is the default’s, by six pulls, where nothing tells', () => {
    const none = mergeLessons([drive([at(9, 3000, 90, 200)])]).noiseScale;
    expect([none.slow, none.fast]).toEqual([1.2, Math.sqrt(1.2)].map((x) => expect.closeTo(x, 12)));
  });
  it('is what each pull is off by from the other drives', () => {
    const of = (r1: number, r2: number, n = 4) => Math.sqrt((6 * 1.2 + z2(r1, n) + z2(r2, n)) / 8);
    expect(fast(200, 204).fast).toBeCloseTo(of(4 / 104, 4 / 100), 9);
    expect(fast(200, 204, 2).fast).toBeCloseTo(of(4 / 104, 4 / 100, 2), 9);
    expect(fast(200, 204).slow).toBeCloseTo(1.2, 12);
    // Beyond ten deviations a pull counts as ten.
    expect(fast(200, 300).fast).toBeCloseTo(Math.sqrt((7.2 + 200) / 8), 9);
    // Gauge pressures below 15 kPa tell nothing.
    const [known, none] = [fast(115, 115).fast, fast(114.9, 114.9).fast];
    expect([known, none]).toEqual([Math.sqrt(7.2 / 8), Math.sqrt(1.2)].map((x) => expect.closeTo(x, 9)));
  });
  it('is told apart below 2000 rpm', () => {
    expect(fast(200, 204, 4, 1950).fast).toBeCloseTo(Math.sqrt(1.2), 12);
    expect(fast(200, 204, 4, 1950).slow).not.toBeCloseTo(1.2, 3);
    expect(fast(200, 204, 4, 2000).slow).toBeCloseTo(1.2, 12);
  });
  it('lies from 0.7 to 8 times the default', () => {
    const many = (map: (k: number) => number) =>
      mergeLessons(
        Array.from({ length: 12 }, (_, k) => drive(Array.from({ length: 3 }, () => at(4, 3000, 90, map(k))))),
      ).noiseScale.fast;
    expect(many(() => 200)).toBe(0.7);
    expect(many((k) => (k % 2 ? 150 : 250))).toBe(8);
  });
});

describe('the air index', () => {
  it('is air over engine speed and pressure, from 20 kPa on, by 500 rpm', () => {
    expect(airIndex({ maf: 60, rpm: 3000, map: 200 })).toBe(10);
    expect(airIndex({ maf: null, rpm: 3000, map: 200 })).toBeNull();
    expect([19.9, 20].map((map) => airIndex({ maf: 6, rpm: 3000, map }) !== null)).toEqual([false, true]);
    expect([999, 1000, 1499, 1500].map(airBin)).toEqual([-1, 0, 0, 1]);
  });
  const air = (...pulls: Pull[]) => mergeLessons([drive(pulls)]).air;
  const three = (x: number, rpm = 2600, demand = 90) => [x, x, x].map((a) => at(3, rpm, demand, 200, a));
  it('is the median of three pulls, each its median, from 60 % demand on', () => {
    expect(air(...three(10))).toHaveLength(12);
    expect(air(...three(10))[3]).toEqual({ mean: 10, sd: 0.012, airC: [20, 0] });
    expect(air(...three(10).slice(1))[3]).toBeNull();
    expect(air(...three(10, 2600, 59.9))[3]).toBeNull();
    expect(air(...three(10, 2600, 60))[3]).not.toBeNull();
    const [a, b, c] = [9, 10, 12].map((x) => at(3, 2600, 90, 200, x));
    expect(air(a!, b!, c!)[3]).toEqual({ mean: 10, sd: expect.closeTo(1.48 / 10, 12), airC: [20, 0] });
    const odd = join(at(2, 2600, 90, 200, 10), at(1, 2600, 90, 200, 99), at(4, 2600, 90, 200));
    expect(air(odd, odd, odd)[3]!.mean).toBe(10);
  });
  it('is taught by no few samples alone: worth one pull of many', () => {
    const lone = (n: number, pulls: number) =>
      air(...Array.from({ length: pulls }, () => at(n, 2600, 90, 200, 10)))[3];
    // A sample alone is worth 0.012²/(0.012² + 0.06²) = 0.038 of a pull, two together 0.24.
    expect([25, 27].map((n) => lone(1, n) !== null)).toEqual([false, true]);
    expect([4, 5].map((n) => lone(2, n) !== null)).toEqual([false, true]);
  });
  it('moves with the air hardly by what one sample of one drive says', () => {
    const day = (airC: number, n: number, x: number) => ({ ...drive([at(n, 2600, 90, 200, x)]), airC });
    const slope = (n: number) => mergeLessons([day(0, n, 14), day(17, n, 15), day(17, n, 15)]).warmth.air;
    expect(Math.abs(slope(1).perC)).toBeLessThan(0.001);
    expect(slope(1).sd).toBeGreaterThan(0.0017);
    expect(slope(9).perC).toBeGreaterThan(0.002);
  });
});

describe('a drive', () => {
  const pull = { fromRpm: 2000, toRpm: 3000, s: 5, boost: rise(80, 0.5) };
  const lesson = (more: object = {}, drop: (s: Sample) => boolean = () => false) =>
    learnBoost(
      handMade({ pulls: [pull, pull], hz: 10, ...more })
        .filter((s) => !drop(s))
        .map(({ signal, tUs, value }) => ({ signal, tUs, value, flag: null })),
      { induction: 'turbocharger', fuel: 'diesel' },
    );
  it('teaches its pulls, thinned to four samples a second', () => {
    const { pulls, baroKpa, baroKnown } = lesson();
    expect([pulls.length, baroKpa, baroKnown]).toEqual([2, 100, true]);
    // Ten a second: each third of them, from when the lagged demand has settled.
    expect(pulls[0]!.rpm.length).toBeGreaterThan(4);
    const steps = pulls[0]!.rpm.slice(1).map((rpm, k) => rpm - pulls[0]!.rpm[k]!);
    expect(new Set(steps)).toEqual(new Set([60]));
    expect(pulls[0]!.air.every((a) => a === null)).toBe(true);
    const withAir = lesson({ air: (rpm: number, kpa: number) => (rpm * kpa) / 1e4 }).pulls[0]!;
    expect(withAir.air[0]).toBeCloseTo(10, 0);
  });
  it('teaches nothing of a cold engine, nor of a pressure that ended its byte', () => {
    expect([59, 60].map((ectC) => lesson({ ectC }).pulls.length)).toEqual([0, 2]);
    expect(lesson({}, (s) => s.signal === 'ect_c').pulls).toHaveLength(2);
    const full = lesson({ pulls: [{ ...pull, boost: () => 155, disturb: clipped }] });
    expect(full.pulls).toEqual([]);
  });
  it('says where barometric pressure was not known', () => {
    const none = lesson({ baroSensor: false, keyOnS: 0 }, (s) => s.signal === 'speed_kmh' && s.value === 0);
    expect([none.baroKnown, none.baroKpa]).toEqual([false, 98]);
  });
});
const clipped = (_t: number, signal: string, value: number) => (signal === 'map_kpa' ? 255 : value);

describe('one drive alone', () => {
  const scale = (...pulls: Pull[]) => mergeLessons([drive(pulls)]).noiseScale;
  const pulls = (...kpas: number[]) => kpas.map((kpa) => join(at(6, 1700, 90, kpa), at(6, 3000, 90, 200)));
  const prior = { slow: expect.closeTo(1.2, 9), fast: expect.closeTo(Math.sqrt(1.2), 9) };
  it('never says that the car repeats better than is taken to be', () => {
    expect(scale(...pulls(150, 150, 150, 150, 150, 150))).toEqual(prior);
    expect(scale(...pulls(150))).toEqual(prior);
  });
  it('says where its pulls contradict each other, and only there', () => {
    const { slow, fast } = scale(...pulls(130, 170, 130, 170, 130, 170));
    expect(slow).toBeGreaterThan(4);
    expect(fast).toEqual(prior.fast);
  });
});
