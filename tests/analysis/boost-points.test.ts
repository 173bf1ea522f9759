/** Signals that come at their own times, brought together at each pressure: each bound from both sides. */
import { describe, expect, it } from 'vitest';
import {
  demandSignals,
  isClipped,
  type OperatingPoint,
  PointAligner,
} from '../../src/analysis/boost/points.ts';
import type { CleanSample } from '../../src/analysis/types.ts';
import type { Profile } from '../../src/core/profile.ts';

type Said = readonly [tS: number, signal: string, value: number, flag?: CleanSample['flag']];

const sample = ([tS, signal, value, flag = null]: Said): CleanSample => ({
  ...{ tUs: Math.round(tS * 1e6), signal, value, flag },
});
function aligned(said: readonly Said[], profile: Profile = {}): OperatingPoint[] {
  const aligner = new PointAligner(profile);
  return [...said.flatMap((s) => [...aligner.step(sample(s))]), ...aligner.finish()];
}
const one = (said: readonly Said[], profile: Profile = {}): OperatingPoint => aligned(said, profile)[0]!;

describe('a value at a pressure', () => {
  it('lies on the line between the readings around it, and is as old as the nearer of them', () => {
    const p = one([
      [0, 'rpm', 1000],
      [0.25, 'map_kpa', 120],
      [1, 'rpm', 2000],
    ]);
    expect(p).toMatchObject({ tUs: 250_000, map: 120, rpm: 1250, ageS: 0.25, speed: null, demand: null });
    const late = one([
      [0, 'rpm', 1000],
      [0.75, 'map_kpa', 120],
      [1, 'rpm', 2000],
    ]);
    expect([late.rpm, late.ageS]).toEqual([1750, 0.25]);
    const same = one([
      [0.2, 'rpm', 1000],
      [0.5, 'map_kpa', 120],
      [0.5, 'rpm', 2000],
    ]);
    expect([same.rpm, same.ageS]).toEqual([2000, 0]);
  });
  it('is not known across more than 1.6 s, nor before the first reading or after the last', () => {
    const over = (s: number) =>
      one([
        [0, 'rpm', 1000],
        [0.1, 'map_kpa', 120],
        [s, 'rpm', 2000],
      ]).rpm;
    expect(over(1.6)).toBeCloseTo(1062.5, 9);
    expect(over(1.61)).toBeNull();
    expect(
      one([
        [0, 'map_kpa', 120],
        [0.5, 'rpm', 1000],
        [1, 'rpm', 1000],
      ]).rpm,
    ).toBeNull();
    expect(
      one([
        [0, 'rpm', 1000],
        [0.5, 'map_kpa', 120],
      ]).rpm,
    ).toBeNull();
    expect(
      one([
        [0, 'rpm', 1000],
        [0.2, 'rpm', 2000],
        [0.5, 'map_kpa', 120],
      ]).rpm,
    ).toBeNull();
  });
  it('is that of its own signal', () => {
    const signals = ['rpm', 'speed_kmh', 'boost_cmd_kpa', 'boost_act_kpa', 'maf_gps'];
    const p = one([
      ...signals.map((s, k): Said => [0, s, k]),
      [0.5, 'map_kpa', 120],
      ...signals.map((s, k): Said => [1, s, k]),
    ]);
    expect([p.rpm, p.speed, p.cmd, p.act, p.maf]).toEqual([0, 1, 2, 3, 4]);
  });
  it('is as old as the worst of engine speed, road speed and demand', () => {
    const age = (signal: string) =>
      one([
        [0, signal, 20],
        [0.3, 'rpm', 1000],
        [0.4, 'map_kpa', 120],
        [0.5, 'rpm', 1000],
        [0.8, signal, 20],
      ]).ageS;
    expect(['speed_kmh', 'pedal_d_pct', 'maf_gps', 'boost_act_kpa', 'boost_cmd_kpa'].map(age)).toEqual([
      ...[0.4, 0.4, 0.1, 0.1, 0.1],
    ]);
  });
  it('of the coolant is the last one for a minute', () => {
    const after = (s: number) =>
      one([
        [0, 'ect_c', 85],
        [s, 'map_kpa', 120],
      ]).ect;
    expect([59.9, 60].map(after)).toEqual([85, null]);
    expect(one([[0, 'map_kpa', 120]]).ect).toBeNull();
  });
  it('is not taken of a flagged or endless reading, nor of one that goes back in time', () => {
    const rpm = (middle: Said) =>
      one([[0, 'rpm', 1000], middle, [0.5, 'map_kpa', 120], [1, 'rpm', 1000]]).rpm;
    expect(rpm([0.4, 'rpm', 5000, 'spike'])).toBe(1000);
    expect(rpm([0.4, 'rpm', Number.NaN])).toBe(1000);
    expect(rpm([0.4, 'rpm', 5000])).toBeGreaterThan(4000);
    const back = aligned([
      [1, 'map_kpa', 120],
      [0.9, 'map_kpa', 200],
      [1, 'map_kpa', 121],
    ]);
    expect(back.map((p) => p.map)).toEqual([120, 121]);
  });
  it('of 255 kPa is the end of one byte, not a measurement', () => {
    expect([254, 255, 256].map(isClipped)).toEqual([false, true, false]);
  });
});

describe('a point is released', () => {
  const releasedAt = (said: readonly Said[]): number | null => {
    const aligner = new PointAligner({});
    for (const s of said) if (aligner.step(sample(s)).length > 0) return s[0];
    return null;
  };
  it('at once where nothing is awaited, else with the neighbour of every signal that is alive', () => {
    expect(releasedAt([[0, 'map_kpa', 120]])).toBe(0);
    expect(
      releasedAt([
        [0, 'rpm', 1000],
        [0.1, 'speed_kmh', 20],
        [0.2, 'map_kpa', 120],
        [0.3, 'rpm', 1000],
        [0.4, 'speed_kmh', 20],
      ]),
    ).toBe(0.4);
    expect(
      releasedAt([
        [0, 'rpm', 1000],
        [0.2, 'map_kpa', 120],
        [0.2, 'rpm', 1000],
      ]),
    ).toBe(0.2);
  });
  it('1.6 s late at most', () => {
    const ticking = (from: number) =>
      Array.from({ length: 30 }, (_, k): Said => [Math.round(10 * from + k) / 10, 'ect_c', 85]);
    expect(releasedAt([[0, 'rpm', 1000], [0.1, 'map_kpa', 120], ...ticking(0.2)])).toBe(1.8);
  });
  it('without waiting for a signal silent for five seconds', () => {
    const silent = (s: number) =>
      releasedAt([
        [0, 'rpm', 1000],
        [s, 'map_kpa', 120],
        [s + 0.1, 'ect_c', 85],
      ]);
    expect([silent(5), silent(4.8)]).toEqual([5, null]);
    expect(silent(4.95)).toBe(5.05);
  });
});

describe('the driver’s demand', () => {
  const demand = (profile: Profile, ...signals: string[]) => {
    const aligner = new PointAligner(profile);
    const before = aligner.demandName;
    for (const s of signals) aligner.step(sample([0, s, 50]));
    aligner.step(sample([0.5, 'map_kpa', 120]));
    for (const s of signals) aligner.step(sample([1, s, 50]));
    aligner.finish();
    return [before, aligner.demandName];
  };
  it('is of the pedal before the throttle, which is an intake flap on a diesel', () => {
    expect(demandSignals({})).toEqual(['pedal_d_pct', 'pedal_e_pct', 'rel_throttle_pct', 'throttle_pct']);
    expect(demandSignals({ fuel: 'diesel' })).toEqual(['pedal_d_pct', 'pedal_e_pct']);
    expect(demand({}, 'throttle_pct', 'pedal_e_pct', 'rel_throttle_pct')).toEqual([null, 'pedal_e_pct']);
    expect(demand({}, 'throttle_pct')).toEqual([null, 'throttle_pct']);
    expect(demand({ fuel: 'diesel' }, 'throttle_pct')).toEqual([null, null]);
  });
  /** Percent at `raw`, after these readings a second apart. */
  const percent = (raw: number, rest: readonly number[] = [], signal = 'pedal_d_pct'): number =>
    aligned([
      ...rest.map((v, k): Said => [k, signal, v]),
      [rest.length, signal, raw],
      [rest.length, 'map_kpa', 120],
    ])[0]!.demand!;
  it('is 0 at rest and 100 at the floor: 15 and 80 % of the sensor where it has not shown its rest', () => {
    expect([15, 80, 47.5].map((raw) => percent(raw))).toEqual([0, 100, 50]);
    expect(percent(10)).toBe(0);
    expect([83.2, 83.3, 100].map((raw) => percent(raw) === 105)).toEqual([false, true, true]);
  });
  it('by a throttle is no pull before that is wide open: its opening is not the foot', () => {
    const of = (raw: number) => [percent(raw), percent(raw, [], 'throttle_pct')];
    expect(of(15)).toEqual([0, 0]);
    expect(of(34.5)).toEqual([30, 30]);
    expect(of(67)).toEqual([80, 44]);
    expect(of(70.25)).toEqual([85, 85]);
    expect(of(80)).toEqual([100, 100]);
  });
  it('has its floor at 92 % where it rests below 8', () => {
    expect(percent(80, [8, 8, 8])).toBe(100);
    // 0.7 to the bit is still the same.
    expect(percent(50, [0, 0.7, 0])).toBeCloseTo(5000 / 92, 9);
    expect(percent(80, [7.9, 7.9, 7.9])).toBeCloseTo((100 * (80 - 7.9)) / (92 - 7.9), 9);
  });
  it('learns its rest from three readings in a row within 0.7 of the one before, below 30', () => {
    const rest = (...values: number[]) => {
      // What the floor was taken for tells the rest: at 80 of the sensor all rests from 8 on read 100.
      const at = percent(50, [...values, 50]);
      return Math.round(10 * ((5000 - 80 * at) / (100 - at))) / 10;
    };
    expect(rest(20, 20)).toBe(15);
    expect(rest(20, 20, 20)).toBe(20);
    expect(rest(20, 20.7, 20.0)).toBe(20);
    expect(rest(20, 20.8, 20.1)).toBe(15);
    expect(rest(29.9, 29.9, 29.9)).toBe(29.9);
    expect(rest(30, 30, 30)).toBe(15);
    // A lower rest replaces a higher one, never the other way round; a lone zero is none.
    expect(rest(20, 20, 20, 18, 18, 18)).toBe(18);
    expect(rest(18, 18, 18, 20, 20, 20)).toBe(18);
    expect(rest(20, 20, 20, 0, 20, 20, 20)).toBe(20);
  });
  it('at a pressure has the lower of its neighbours with it, where a lift hides', () => {
    const p = one([
      [0, 'pedal_d_pct', 80],
      [0.5, 'map_kpa', 120],
      [1, 'pedal_d_pct', 47.5],
    ]);
    expect([p.demand, p.demandLow]).toEqual([75, 50]);
    // At its own time a reading has no neighbour.
    const own = one([
      [0, 'rpm', 1000],
      [0.1, 'pedal_d_pct', 47.5],
      [0.5, 'map_kpa', 120],
      [0.5, 'pedal_d_pct', 80],
      [1, 'pedal_d_pct', 15],
      [1, 'rpm', 1000],
    ]);
    expect([own.demand, own.demandLow, own.rpm]).toEqual([100, 100, 1000]);
  });
});

it('keeps what a pressure still to be told needs, however much came since', () => {
  // 1,200 readings of road speed: the point in their middle has both of its neighbours.
  const many = Array.from({ length: 1200 }, (_, k): Said => [k / 1000, 'speed_kmh', k]);
  const said: Said[] = [[0, 'rpm', 1000], ...many.slice(0, 1000), [1, 'map_kpa', 120], ...many.slice(1000)];
  const p = one([...said, [1.3, 'rpm', 1000]]);
  expect([p.rpm, p.speed]).toEqual([1000, 1000]);
});
