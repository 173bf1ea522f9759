/** The clutch by its behaviour: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { ClutchWatch } from '../../src/analysis/boost/clutch.ts';
import type { OperatingPoint } from '../../src/analysis/boost/points.ts';
import type { Profile } from '../../src/core/profile.ts';
import { BARO, pull } from './pulls.ts';

const TWIN: Profile = { induction: 'twin-charged', fuel: 'petrol' };
const point = (s: number, more: Partial<OperatingPoint> = {}): OperatingPoint => ({
  ...{
    tUs: Math.round(s * 1e6),
    map: 60,
    rpm: 2000,
    speed: 50,
    demand: 20,
    demandLow: 20,
    ect: 85,
    airC: 20,
    cmd: null,
  },
  ...{ act: null, maf: null, ageS: 0, ...more },
});

describe('at light demand', () => {
  /** So many stretches of five seconds, a break of three between them. */
  function light(n: number, more: Partial<OperatingPoint>, everyS = 8): ClutchWatch {
    const watch = new ClutchWatch(TWIN);
    for (let i = 0; i < n; i++)
      for (let k = 0; k <= 10; k++) watch.point(point(everyS * i + k / 2, more), BARO);
    watch.point(point(everyS * n + 10), BARO);
    return watch;
  }
  const se = (n: number) => Math.hypot(1, 0.8 / Math.sqrt(n));
  it('the charge pipe lies within 2 kPa of barometric with the clutch open, above it when it is driven', () => {
    const at = (kpa: number, n = 4) => {
      const w = light(n, { act: 100 + kpa });
      return [w.openAtLight, w.drivenAtLight];
    };
    const open = 2 - 1.645 * se(4);
    const driven = 2 + 2.6 * se(4);
    expect([at(open - 0.05), at(open + 0.05)]).toEqual([
      [true, null],
      [false, null],
    ]);
    expect([at(driven - 0.05), at(driven + 0.05)]).toEqual([
      [false, null],
      [false, 'charge'],
    ]);
    expect([at(-1, 3), at(20, 3)]).toEqual([
      [false, null],
      [false, null],
    ]);
  });
  it('so does the manifold of a petrol engine, 5 kPa, in three stretches', () => {
    const driven = (kpa: number, n = 3) => light(n, { map: 100 + kpa }).drivenAtLight;
    const least = 5 + 2.6 * Math.hypot(1, 1 / Math.sqrt(3));
    expect([least - 0.05, least + 0.05].map((kpa) => driven(kpa))).toEqual([null, 'manifold']);
    expect(driven(20, 2)).toBeNull();
  });
  it('is 3 to 32 % between 1500 and 4000 rpm, four seconds after high demand', () => {
    const seen = (more: Partial<OperatingPoint>) => light(1, { act: 100, ...more }).light.length;
    expect([2.9, 3, 32, 32.1].map((demand) => seen({ demand }))).toEqual([0, 1, 1, 0]);
    expect([1499, 1500, 4000, 4001].map((rpm) => seen({ rpm }))).toEqual([0, 1, 1, 0]);
    const afterHigh = (demand: number, s: number) => {
      const watch = new ClutchWatch(TWIN);
      watch.point(point(0, { demand }), BARO);
      for (let k = 0; k <= 4; k++) watch.point(point(s + k / 2, { act: 100 }), BARO);
      watch.point(point(s + 12), BARO);
      return watch.light[0]?.fromUs ?? null;
    };
    expect([afterHigh(41, 3.9), afterHigh(41, 4.1)]).toEqual([4.4e6, 4.1e6]);
    expect(afterHigh(40, 3.9)).toBe(3.9e6);
  });
  it('is taken in stretches of five seconds, over which demand moves by 12 % at most', () => {
    const watch = new ClutchWatch(TWIN);
    for (let k = 0; k <= 44; k++) watch.point(point(k / 2, { act: 100 }), BARO);
    expect(watch.light.map((v) => [v.fromUs, v.toUs])).toEqual([
      ...[0, 5.5, 11, 16.5].map((s) => [s * 1e6, (s + 5.5) * 1e6]),
    ]);
    const moved = (pct: number) => {
      const watch = new ClutchWatch(TWIN);
      for (let k = 0; k <= 12; k++) watch.point(point(k / 2, { act: 100, demand: 10 + pct * (k % 2) }), BARO);
      return watch.light.length;
    };
    expect([12, 13].map(moved)).toEqual([1, 0]);
  });
  it('goes on over a hole of two and a half seconds, and no longer one', () => {
    const from = (holeS: number) => {
      const watch = new ClutchWatch(TWIN);
      for (const s of [0, 0.5, 1, 1 + holeS, 1.5 + holeS]) watch.point(point(s, { act: 100 }), BARO);
      watch.point(point(4.9, { demand: 90 }), BARO);
      return watch.light.map((v) => [v.fromUs / 1e6, v.toUs / 1e6]);
    };
    expect(from(2.5)).toEqual([[0, 4.9]]);
    expect(from(2.6)).toEqual([[0, 3.6]]);
  });
  it('is of two readings over two seconds at the least', () => {
    const seen = (...atS: number[]) => {
      const watch = new ClutchWatch(TWIN);
      const end = atS.pop()!;
      for (const s of atS) watch.point(point(s, { act: 100 }), BARO);
      watch.point(point(end, { demand: 90 }), BARO);
      return [watch.light.length, watch.lightMap.length];
    };
    expect(seen(0, 1, 2)).toEqual([1, 1]);
    expect(seen(0, 1, 1.99)).toEqual([0, 0]);
    expect(seen(0, 2)).toEqual([0, 0]);
  });
  it('is not told by what the pipe reads above barometric with the engine stopped', () => {
    const watch = new ClutchWatch(TWIN);
    for (let k = 0; k < 3; k++) watch.point(point(k, { rpm: 0, act: 103 }), BARO);
    for (let i = 0; i < 4; i++)
      for (let k = 0; k <= 10; k++) watch.point(point(10 + 8 * i + k / 2, { act: 103 }), BARO);
    watch.point(point(60), BARO);
    expect(watch.lightAct!.mean).toBeCloseTo(0, 9);
    // A stopped engine's zero makes it surer.
    expect(watch.lightAct!.se).toBeCloseTo(Math.hypot(0.4, 0.4), 9);
  });
});

describe('boost after a tip-in', () => {
  /** Comes between the samples at `s` and half a second before. */
  function tips(n: number, s: number, rpm = 1500): ClutchWatch {
    const watch = new ClutchWatch(TWIN);
    for (let i = 0; i < n; i++)
      watch.stretch(
        pull(12, (k) => ({ rpm, map: (k + 1) * 0.5 >= s ? 150 : 100 }), { atUs: 0, errS: 0.1 }),
        BARO,
      );
    return watch;
  }
  it('is late beyond 1 s in two tips, prompt within in three', () => {
    expect(tips(3, 0.5).onset!.mean).toBeCloseTo(0.3, 6);
    expect([2, 3].map((n) => tips(n, 0.5).prompt)).toEqual([false, true]);
    expect([1, 2].map((n) => tips(n, 2).late)).toEqual([false, true]);
    expect([tips(3, 1.5).late, tips(3, 1.5).prompt]).toEqual([false, false]);
  });
  it('may be late as long as not one brought boost within 1 s', () => {
    expect([tips(0, 1), tips(3, 1.5)].map((t) => t.mayBeLate)).toEqual([true, true]);
    const once = tips(3, 1.5);
    once.stretch(
      pull(12, () => ({ rpm: 1500, map: 150 }), { atUs: 0, errS: 0.1 }),
      BARO,
    );
    expect(once.mayBeLate).toBe(false);
  });
  it('is timed after a sudden tip-in that was seen', () => {
    const onsets = (more: object) => {
      const watch = new ClutchWatch(TWIN);
      watch.stretch({ ...pull(12, () => ({ rpm: 1500 })), ...more }, BARO);
      return watch.onsets.length;
    };
    expect([onsets({}), onsets({ sudden: false }), onsets({ tip: null })]).toEqual([1, 0, 0]);
  });
  it('is timed from 1100 rpm to 100 below the top of the band', () => {
    expect([1099, 1100, 2300, 2301].map((rpm) => tips(1, 0.5, rpm).onsets.length)).toEqual([0, 1, 1, 0]);
  });
  it('is held against what it became at more than 55 % demand', () => {
    const onsets = (later: number) => {
      const watch = new ClutchWatch(TWIN);
      watch.stretch(
        pull(12, (k) => ({ rpm: 1500, demand: k < 3 ? 90 : later })),
        BARO,
      );
      return watch.onsets.length;
    };
    expect([55, 56].map(onsets)).toEqual([0, 1]);
  });
  it('is of the band: above 2400 rpm the turbocharger brings it whatever the clutch does', () => {
    const onsets = (rpmLater: number) => {
      const watch = new ClutchWatch(TWIN);
      const later = (k: number) => (k + 1) * 0.5 >= 2;
      watch.stretch(
        pull(12, (k) => ({ rpm: later(k) ? rpmLater : 1800, map: later(k) ? 150 : 105 })),
        BARO,
      );
      return watch.onsets.length;
    };
    expect([2400, 2401].map(onsets)).toEqual([1, 0]);
  });
});
