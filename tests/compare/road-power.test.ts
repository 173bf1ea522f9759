/** What a pull leaves for accelerating and climbing, from fixes made by hand: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { RoadPower } from '../../src/compare/power.ts';

const G = 9.80665;
interface Drive {
  readonly seconds?: number;
  readonly mps?: (t: number) => number;
  /** Height over the way, m. */
  readonly height?: (m: number) => number;
  readonly has?: (signal: string, t: number) => boolean;
  readonly everyS?: number;
  readonly errorM?: number | null;
}
/** At 20 m/s up a hill of 5 %, a fix a second, for a minute. */
function driven(d: Drive = {}): RoadPower {
  const { seconds = 60, mps = () => 20, height = (m) => 0.05 * m, has = () => true, everyS = 1 } = d;
  const power = new RoadPower();
  const put = (signal: string, t: number, value: number) => {
    if (has(signal, t)) power.step({ signal, tUs: Math.round(t * 1e6), value, flag: null });
  };
  if (d.errorM != null) put('gnss_height_error_m', 0, d.errorM);
  let way = 0;
  for (let k = 0; k * everyS <= seconds; k++) {
    const t = k * everyS;
    if (k > 0) way += ((mps(t) + mps(t - everyS)) / 2) * everyS;
    put('gnss_speed_kmh', t, 3.6 * mps(t));
    put('gnss_height_m', t, 300 + height(way));
  }
  return power;
}

describe('the grade of a pull', () => {
  it('is that of its own way', () => {
    const kinked = driven({ height: (m) => (m < 400 ? 0 : 0.08 * (m - 400)) });
    expect(kinked.gradeOf(0, 15)!.pct).toBeCloseTo(0, 6);
    expect(kinked.gradeOf(25, 40)!.pct).toBeCloseTo(8, 6);
  });
  it('is of 200 m at the least, as much before as after', () => {
    // A height of 8 m error that wanders by 0.6 of it in 150 s, over a way of so many metres and seconds.
    const sd = (s: number, m: number) => ((100 * 0.6 * 8) / m) * Math.sqrt(2 * (1 - Math.exp(-s / 150)));
    const power = driven();
    for (const [from, to, s, m] of [
      [20, 40, 20, 400],
      [25, 35, 10, 200],
      [28, 32, 10, 200],
      [29, 32, 9, 180],
    ] as const)
      expect(power.gradeOf(from, to)!.sdPct).toBeCloseTo(sd(s, m), 9);
  });
  it('takes six heights, 10 m apart, over no hole of more than 5 s', () => {
    const heights = (n: number) =>
      driven({ has: (signal, t) => signal !== 'gnss_height_m' || (t >= 20 && t < 20 + n) }).gradeOf(15, 30);
    expect([5, 6].map((n) => heights(n) !== null)).toEqual([false, true]);
    const slow = (mps: number) => driven({ mps: () => mps }).gradeOf(0, 12) !== null;
    // At 4 m/s a height each three seconds.
    expect(slow(4)).toBe(true);
    const crawl = driven({ mps: () => 4, has: (s, t) => s !== 'gnss_height_m' || t < 15 });
    expect(crawl.gradeOf(0, 12)).toBeNull();
    const hole = (s: number) =>
      driven({ has: (signal, t) => signal !== 'gnss_height_m' || t <= 20 || t >= 20 + s }).gradeOf(10, 35);
    expect([5, 6].map((s) => hole(s) !== null)).toEqual([true, false]);
  });
  it('is none where heights scatter by more than 6 m, and as sure as the receiver says', () => {
    const scatter = (m: number) =>
      driven({ height: (way) => (Math.round(way / 20) % 2 ? m : -m) }).gradeOf(10, 39);
    expect([4.04, 4.06].map((m) => scatter(m) !== null)).toEqual([true, false]);
    const sd = (errorM: number | null) => driven({ errorM }).gradeOf(10, 40)!.sdPct;
    expect(sd(null)).toBeCloseTo(sd(8), 9);
    expect(sd(4)).toBeCloseTo(sd(8) / 2, 9);
  });
  it('is not known before or after what was driven, nor where its end is in a hole of 2.5 s', () => {
    const power = driven();
    expect(power.gradeOf(40, 61)).toBeNull();
    expect(power.gradeOf(61, 62)).toBeNull();
    // The end of the pull is in the hole: the next fix is too late for it.
    const end = (s: number) => driven({ has: (_, t) => t <= 40 || t >= 40 + s }).gradeOf(10, 40.4) !== null;
    expect([2, 4].map(end)).toEqual([true, false]);
  });
  it('is not known where speed has a hole of 2.5 s within it', () => {
    const hole = (s: number) =>
      driven({ has: (signal, t) => signal !== 'gnss_speed_kmh' || t <= 20 || t >= 20 + s });
    expect(hole(2).gradeOf(10, 35)!.pct).toBeCloseTo(5, 6);
    for (const s of [3, 4, 5]) expect(hole(s).gradeOf(10, 35)).toBeNull();
    expect(hole(3).gradeOf(40, 55)!.pct).toBeCloseTo(5, 6);
  });
  it('is not of flagged fixes', () => {
    const power = new RoadPower();
    for (let t = 0; t < 60; t++)
      for (const [signal, value] of [
        ['gnss_speed_kmh', 72],
        ['gnss_height_m', 300],
      ] as const)
        power.step({ signal, tUs: t * 1e6, value, flag: 'range' });
    expect(power.gradeOf(10, 40)).toBeNull();
  });
});

describe('power at a moment', () => {
  it('is speed times acceleration and climb', () => {
    // From 10 m/s on, half a metre a second faster each second.
    const power = driven({ mps: (t) => 10 + 0.5 * t });
    const { wkg, sdWkg } = power.at(20, { pct: 5, sdPct: 0.4 })!;
    expect(wkg).toBeCloseTo(20 * (0.5 + G * Math.sin(Math.atan(0.05))), 9);
    expect(sdWkg).toBeCloseTo((20 * G * 0.4) / 100, 9);
    expect(power.at(20.1, { pct: 0, sdPct: 0 })!.wkg).toBeCloseTo(20.05 * 0.5, 9);
  });
  it('takes three fixes within 1.2 s to either side', () => {
    const grade = { pct: 0, sdPct: 0 };
    const at = (everyS: number, tS = 20) => driven({ everyS }).at(tS, grade) !== null;
    expect([1.2, 1.25].map((s) => at(s, 16 * s))).toEqual([true, false]);
    expect([driven().at(0, grade), driven().at(60.5, grade)]).toEqual([null, null]);
    // What is further away tells nothing.
    const bent = driven({ mps: (t) => (t <= 21 ? 20 : 30) });
    expect(bent.at(20, grade)!.wkg).toBeCloseTo(0, 9);
  });
  it('leaves out fixes nearer than 0.15 s to the last', () => {
    const grade = { pct: 0, sdPct: 0 };
    const dense = (everyS: number) => {
      const power = driven({ everyS, seconds: 4, mps: (t) => (Math.round(t / everyS) % 2 ? 30 : 20) });
      return Math.abs(power.at(2, grade)!.wkg);
    };
    expect(dense(0.14)).toBeLessThan(0.001);
    expect(dense(0.16)).toBeGreaterThan(0.001);
  });
});
