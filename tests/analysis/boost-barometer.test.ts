/** Where barometric pressure is taken from, in order of trust: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { Barometer, UNKNOWN_BARO } from '../../src/analysis/boost/barometer.ts';
import type { Profile } from '../../src/core/profile.ts';

type Said = readonly [tS: number, signal: string, value: number];

function heard(said: readonly Said[], profile: Profile = {}, taughtKpa: number | null = null) {
  const barometer = new Barometer(profile, taughtKpa);
  for (const [tS, signal, value] of said) barometer.step({ tUs: tS * 1e6, signal, value, flag: null });
  return barometer.now;
}
const often = (n: number, signal: string, value: (k: number) => number): Said[] =>
  Array.from({ length: n }, (_, k) => [k, signal, value(k)]);
const entered: Profile = { baroKpa: { value: 97, source: 'entered' } };

describe('its own sensor', () => {
  it('comes before all else, as the median of the last fifteen readings', () => {
    expect(heard(often(15, 'baro_kpa', (k) => (k < 8 ? 90 : 100)))).toEqual({
      ...{ kpa: 90, sdKpa: 0.6, source: 'barometric sensor' },
    });
    // The sixteenth pushes out the first.
    expect(heard(often(16, 'baro_kpa', (k) => (k < 8 ? 90 : 100)))!.kpa).toBe(100);
    expect(heard([[0, 'baro_kpa', 95]], entered, 99)!.kpa).toBe(95);
  });
  it('is told anew after each reading, and a flagged one is not heard', () => {
    const barometer = new Barometer({}, null);
    const put = (value: number, flag: null | 'range') =>
      barometer.step({ tUs: 0, signal: 'baro_kpa', value, flag });
    put(90, 'range');
    expect(barometer.now).toBeNull();
    put(90, null);
    expect(barometer.now!.kpa).toBe(90);
    put(100, null);
    expect(barometer.now!.kpa).toBe(95);
  });
});

describe('the manifold with the engine stopped', () => {
  const stopped = (said: readonly Said[]) => heard(said)?.kpa ?? null;
  it('counts before the first start at once, whichever comes first', () => {
    const rpm: Said = [0, 'rpm', 0];
    expect(heard([rpm, [0.1, 'map_kpa', 99]])).toEqual({
      ...{ kpa: 99, sdKpa: 0.8, source: 'MAP with the engine stopped' },
    });
    expect(stopped([[0, 'map_kpa', 98], rpm])).toBe(98);
    expect(
      stopped([
        [0, 'map_kpa', 98],
        [0, 'rpm', 800],
      ]),
    ).toBeNull();
    // One pressure before the engine speed is one reading, however often that comes.
    expect(
      stopped([
        [0, 'map_kpa', 90],
        [0, 'rpm', 0],
        [1, 'rpm', 0],
        [2, 'rpm', 0],
        [2, 'map_kpa', 100],
      ]),
    ).toBe(95);
  });
  it('is stopped below 50 rpm', () => {
    const at = (rpm: number) =>
      stopped([
        [0, 'rpm', rpm],
        [1, 'map_kpa', 99],
      ]);
    expect([49, 50].map(at)).toEqual([99, null]);
  });
  it('counts after a run from 2.5 s of standing on, since it dips as the engine runs down', () => {
    const after = (s: number) =>
      stopped([
        [0, 'rpm', 800],
        [1, 'rpm', 0],
        [2, 'rpm', 0],
        [3, 'rpm', 0],
        [1 + s, 'map_kpa', 99],
      ]);
    expect([2.5, 2.6].map(after)).toEqual([null, 99]);
    // Running again and stopping anew begins anew.
    expect(
      stopped([
        [0, 'rpm', 0],
        [1, 'rpm', 800],
        [2, 'rpm', 0],
        [3, 'map_kpa', 70],
      ]),
    ).toBeNull();
  });
  it('knows nothing across more than 3 s without engine speed, which may hide a start and a stop', () => {
    const holed = (s: number) =>
      stopped([
        [0, 'rpm', 800],
        [1, 'rpm', 0],
        [1 + s, 'rpm', 0],
        [1 + s + 0.1, 'map_kpa', 80],
      ]);
    expect([3, 3.1].map(holed)).toEqual([80, null]);
    const silent = (s: number) =>
      stopped([
        [0, 'rpm', 800],
        [1, 'rpm', 0],
        [2, 'rpm', 0],
        [2 + s, 'map_kpa', 80],
      ]);
    expect([3, 3.1].map(silent)).toEqual([80, null]);
    // After a run, a pressure without an engine speed is not kept for the next stop.
    expect(
      stopped([
        [0, 'rpm', 800],
        [4, 'map_kpa', 80],
        [4, 'rpm', 0],
      ]),
    ).toBeNull();
  });
  it('is no barometric pressure at 55 kPa and below, or from 108 kPa on', () => {
    const at = (kpa: number) =>
      stopped([
        [0, 'rpm', 0],
        [0, 'map_kpa', kpa],
      ]);
    expect([55, 55.1, 107.9, 108].map(at)).toEqual([null, 55.1, 107.9, null]);
  });
});

describe('the idle of a diesel', () => {
  const diesel: Profile = { fuel: 'diesel' };
  const idling = (kpa: number, { rpm = 800, kmh = 0, n = 6, profile = diesel } = {}) =>
    heard(
      Array.from({ length: n }, (_, k): Said[] => [
        [k, 'speed_kmh', kmh],
        [k, 'rpm', rpm],
        [k, 'map_kpa', kpa],
      ]).flat(),
      profile,
    );
  it('lies 3 kPa above barometric, from six readings on, and never of petrol', () => {
    expect(idling(104)).toEqual({ kpa: 101, sdKpa: 2, source: 'idle MAP' });
    expect(idling(104, { n: 5 })).toBeNull();
    expect(idling(104, { profile: { fuel: 'petrol' } })).toBeNull();
  });
  it('is between 550 and 950 rpm, standing, from 70 to 120 kPa', () => {
    const there = (x: unknown) => x !== null;
    expect([550, 551, 949, 950].map((rpm) => there(idling(104, { rpm })))).toEqual([
      ...[false, true, true, false],
    ]);
    expect([0.9, 1].map((kmh) => there(idling(104, { kmh })))).toEqual([true, false]);
    expect([70, 71, 119, 120].map((kpa) => there(idling(kpa)))).toEqual([false, true, true, false]);
  });
  it('is not what stands in a stopped engine out of bounds', () => {
    const stands = often(6, 'rpm', () => 0).flatMap((s): Said[] => [
      s,
      [s[0], 'speed_kmh', 0],
      [s[0], 'map_kpa', 110],
    ]);
    expect(heard(stands, diesel)).toBeNull();
  });
});

describe('what is left', () => {
  it('is what was entered, the height of a receiver, the idle, the baseline, in this order', () => {
    const heights = often(15, 'gnss_height_m', () => 0);
    expect(heard(heights, entered, 99)).toEqual({ kpa: 97, sdKpa: 1.5, source: 'profile' });
    expect(heard(heights, {}, 99)).toEqual({ kpa: 101.325, sdKpa: 1.5, source: 'height of a receiver' });
    expect(heard(heights.slice(1), {}, 99)).toEqual({ kpa: 99, sdKpa: 2, source: 'baseline runs' });
    expect(heard([])).toBeNull();
  });
  it('is lowland air where nothing tells: 98 kPa, which twice its uncertainty of 4 makes 90 to 106', () => {
    expect(UNKNOWN_BARO).toEqual({ kpa: 98, sdKpa: 4, source: 'standard air' });
  });
  it('falls with height as in the standard atmosphere', () => {
    // ISO 2533, from memory: 89.875 kPa at 1000 m, 79.495 kPa at 2000 m.
    const at = (m: number) => heard(often(15, 'gnss_height_m', () => m))!.kpa;
    expect(at(1000)).toBeCloseTo(89.875, 2);
    expect(at(2000)).toBeCloseTo(79.495, 2);
  });
});
