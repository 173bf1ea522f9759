/** Whether a pull brought nothing and whether its readings are believed: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import {
  atRestKpa,
  isAbsent,
  isLift,
  isPedalStuck,
  isStill,
  withoutLift,
  withoutSpikes,
} from '../../src/analysis/boost/absence.ts';
import type { Baro } from '../../src/analysis/boost/barometer.ts';
import { leastHealthyKpa } from '../../src/analysis/boost/expectation.ts';
import { regionsOf } from '../../src/analysis/boost/regions.ts';
import type { StretchPoint } from '../../src/analysis/boost/stretches.ts';
import type { Profile } from '../../src/core/profile.ts';

const BARO: Baro = { kpa: 100, sdKpa: 0.5, source: 'barometric sensor' };
const DIESEL: Profile = { induction: 'turbocharger', fuel: 'diesel' };
const PETROL: Profile = { induction: 'turbocharger', fuel: 'petrol' };
const TWIN: Profile = { induction: 'twin-charged', fuel: 'petrol' };
const BELT: Profile = { induction: 'supercharger', fuel: 'petrol' };

const point = (s: number, more: Partial<StretchPoint> = {}): StretchPoint => ({
  ...{ tUs: s * 1e6, map: 200, rpm: 2500, speed: 80, demand: 90, demandLow: 90, ect: 85, cmd: null },
  ...{
    airC: 20,
    act: null,
    maf: null,
    ageS: 0,
    lagged: 90,
    settled: true,
    frozen: false,
    still: false,
    echo: false,
    restS: 0,
  },
  ...{ idled: false, ...more },
});
/** `n` points over so many seconds. */
const points = (n: number, overS: number, more: (k: number) => Partial<StretchPoint> = () => ({})) =>
  Array.from({ length: n }, (_, k) => point((k * overS) / (n - 1), more(k)));

describe('no boost at all', () => {
  const absent = (
    profile: Profile,
    n: number,
    overS: number,
    more: Partial<StretchPoint>,
    at = { samples: 3, s: 1 },
  ) => {
    const { rpm = 2500 } = more;
    const region = regionsOf(profile).find((r) => rpm >= r.fromRpm && rpm < r.toRpm)!;
    return isAbsent(
      points(n, overS, () => more),
      region,
      profile,
      null,
      BARO,
      at,
    );
  };
  it('is half of the least that a healthy engine gives, and the doubt about the air', () => {
    // 40 kPa at the least, half of it and twice 0.5 kPa.
    expect(absent(DIESEL, 3, 1, { map: 121 })).toBe(true);
    expect(absent(DIESEL, 3, 1, { map: 121.1 })).toBe(false);
  });
  it('is seen in so many samples over so long', () => {
    expect(absent(DIESEL, 2, 1, { map: 100 })).toBe(false);
    expect(absent(DIESEL, 3, 0.99, { map: 100 })).toBe(false);
    expect(absent(DIESEL, 3, 1, { map: 100 })).toBe(true);
  });
  it('is 5 kPa, or 15 % of what is expected, where that is known from half demand on and is 20 kPa', () => {
    const told = (kpa: number, map: number, lagged = 90) =>
      absent({ ...DIESEL, expectedBoost: curve(kpa) }, 3, 1, { map, lagged });
    expect(told(100, 116)).toBe(true);
    expect(told(100, 116.1)).toBe(false);
    expect(told(25, 106)).toBe(true);
    expect(told(25, 106.1)).toBe(false);
    expect(told(20, 100)).toBe(true);
    expect(told(19.9, 100)).toBe(false);
  });
  it('is not asked of the clutch above 85 % of its band, where the turbocharger may help', () => {
    const { toRpm } = regionsOf(TWIN)[0]!;
    expect(absent(TWIN, 3, 1, { rpm: 0.85 * toRpm, map: 100 })).toBe(true);
    expect(absent(TWIN, 3, 1, { rpm: 0.85 * toRpm + 1, map: 100 })).toBe(false);
  });
});
const curve = (kpa: number): NonNullable<Profile['expectedBoost']> =>
  ({
    points: [
      { rpm: 1000, kpa },
      { rpm: 5000, kpa },
    ],
  }) as unknown as NonNullable<Profile['expectedBoost']>;

describe('the least that a healthy engine gives', () => {
  const least = (profile: Profile, rpm: number, lagged: number) =>
    leastHealthyKpa(point(0, { rpm, lagged }), profile);
  it('of a diesel: 20 kPa from half demand on, 40 from 70 %, above 1750 rpm', () => {
    expect([49.9, 50, 69.9, 70].map((d) => least(DIESEL, 1750, d))).toEqual([null, 20, 20, 40]);
    expect(least(DIESEL, 1749, 60)).toBeNull();
    expect(least(DIESEL, 1749, 90)).toBeNull();
  });
  it('of a petrol engine: 20 kPa from 2250 rpm and 70 % on', () => {
    expect([2249, 2250].map((rpm) => least(PETROL, rpm, 70))).toEqual([null, 20]);
    expect(least(PETROL, 3000, 69.9)).toBeNull();
  });
  it('of a belt-driven compressor: 25 kPa from 1500 rpm on; with a clutch in its band from 1200 rpm and 60 %', () => {
    expect([1499, 1500].map((rpm) => least(BELT, rpm, 70))).toEqual([null, 25]);
    expect([59.9, 60].map((d) => least(TWIN, 1200, d))).toEqual([null, 25]);
    expect(least(TWIN, 1199, 60)).toBeNull();
    expect(least(TWIN, 2400, 60)).toBeNull();
    expect(least({ ...TWIN, clutch: false }, 1500, 60)).toBeNull();
  });
  it('of both: 40 kPa in the band from 1200 rpm on, nothing between, 30 above', () => {
    expect([1199, 1200, 2399, 2400, 3499, 3500].map((rpm) => least(TWIN, rpm, 70))).toEqual([
      ...[null, 40, 40, null, null, 30],
    ]);
  });
});

describe('a pedal that repeats itself to the bit', () => {
  it('is a lift in four samples over 2.4 s, as long as half of the pull', () => {
    const lifted = (n: number, overS: number) =>
      isLift({ points: points(n, overS, () => ({ demand: 50 })), held: false });
    expect(lifted(4, 2.4)).toBe(true);
    expect(lifted(3, 2.4)).toBe(false);
    expect(lifted(4, 2.39)).toBe(false);
    const share = (moved: number) =>
      isLift({
        points: points(4 + moved, 2.4 + moved, (k) => ({ demand: k < 4 + moved - 4 ? 70 + k : 50 })),
        held: false,
      });
    expect(share(4)).toBe(true);
    expect(share(5)).toBe(false);
  });
  it('is none on the floor; at 60 % and more one where the engine gains less than 2.5 % a second', () => {
    const at = (demand: number, gain = 0) =>
      isLift({ points: points(4, 3, (k) => ({ demand, rpm: 2000 * (1 + (gain * k) / 3) })), held: false });
    expect([95, 95.1].map((d) => at(d))).toEqual([true, false]);
    expect([0.074, 0.076].map((gain) => at(60, gain))).toEqual([true, false]);
    expect(at(59.9, 0.2)).toBe(true);
  });
  it('below 60 % and off the floor may be stuck under boost that is too much as well', () => {
    const stuck = (demand: number, n = 4, overS = 2.4) =>
      isPedalStuck({ points: points(n, overS, (k) => ({ demand, rpm: 2000 + 200 * k })) });
    expect([59.9, 60, 98].map((demand) => stuck(demand))).toEqual([true, false, false]);
    expect([stuck(50, 3), stuck(50, 4, 2.39)]).toEqual([false, false]);
    const share = (moved: number) =>
      isPedalStuck({
        points: points(4 + moved, 2.4 + moved, (k) => ({ demand: k < moved ? 51 + k / 4 : 50 })),
      });
    expect([4, 5].map(share)).toEqual([true, false]);
  });
  it('from before a gear change on is one however short it is, but on the floor, from the first point and for half of the pull', () => {
    const held = (demand: (k: number) => number) =>
      isLift({ points: points(4, 1.5, (k) => ({ demand: demand(k), rpm: 2000 + 200 * k })), held: true });
    expect(held(() => 80)).toBe(true);
    expect([95, 95.1].map((d) => held(() => d))).toEqual([true, false]);
    expect(held((k) => (k < 2 ? 80 : 81 + k))).toBe(true);
    expect(held((k) => (k < 1 ? 80 : 81 + k))).toBe(false);
    expect(held((k) => (k < 2 ? 81 + k : 80))).toBe(false);
  });
});

describe('a pressure that falls away under it', () => {
  const under = (
    demand: number,
    maps: readonly number[],
    more: (k: number) => Partial<StretchPoint> = () => ({}),
    throttledBack: (fallen: readonly StretchPoint[]) => boolean = () => false,
  ) =>
    withoutLift(
      points(maps.length, 0.6 * (maps.length - 1), (k) => ({ demand, map: maps[k]!, ...more(k) })),
      BARO,
      throttledBack,
    ).length;
  it('below nine tenths at the end, in three samples at most, is the lift', () => {
    expect(under(80, [200, 200, 200, 200, 200, 189, 189, 189])).toBe(5);
    expect(under(80, [200, 200, 200, 200, 200, 190, 190, 190])).toBe(8);
    expect(under(80, [200, 200, 200, 200, 200, 200, 189, 189, 189, 189])).toBe(10);
    expect(under(96, [200, 200, 200, 200, 200, 189, 189, 189])).toBe(8);
  });
  it('counts in four samples over 2.4 s under one reading of the pedal', () => {
    const kept = (n: number, overS: number) =>
      withoutLift(
        points(n, overS, (k) => ({ demand: 80, map: k < n - 1 ? 200 : 150 })),
        BARO,
        () => false,
      ).length;
    expect([kept(4, 2.4), kept(4, 2.39), kept(3, 2.4), kept(3, 5)]).toEqual([3, 4, 3, 3]);
  });
  it('is so in the middle where the engine slows down by more than 1 %', () => {
    const slower = (share: number) =>
      under(80, [200, 200, 200, 150, 150, 150, 150, 200, 200, 200, 200], (k) => ({
        rpm: k === 5 ? 2500 * (1 - share) : 2500,
      }));
    expect(slower(0.009)).toBe(11);
    expect(slower(0.011)).toBe(3);
  });
  it('is so, on the floor too, where the air of three samples and more says that exhaust gas is let back in', () => {
    const back = (n: number) => {
      const fallen = Array.from({ length: n }, () => 150);
      return under(100, [200, 200, 200, ...fallen, 200, 200, 200, 200], undefined, (of) =>
        of.every((p) => p.map === 150),
      );
    };
    expect([2, 3, 4].map(back)).toEqual([9, 3, 3]);
  });
  it('is so on the floor where the car brakes by more than 1.2 m/s² over 1.2 s', () => {
    const braking = (kmhPerS: number, known = true) =>
      under(100, [200, 200, 200, 150, 150, 150, 150, 200, 200, 200, 200], (k) => ({
        speed: known ? 100 - Math.max(0, k - 2) * 0.6 * kmhPerS : null,
      }));
    expect(braking(1.19 * 3.6)).toBe(11);
    expect(braking(1.21 * 3.6)).toBe(3);
    expect(braking(5, false)).toBe(11);
  });
});

describe('a pressure that stands still', () => {
  it('is in doubt in four samples, most of a pull, off barometric', () => {
    const still = (n: number, of: number, map = 150) =>
      isStill(
        points(of, of, (k) => ({ map: k < n ? map : 160 + k })),
        BARO,
      );
    expect(still(4, 4)).toBe(true);
    expect(still(3, 4)).toBe(false);
    expect(still(4, 8)).toBe(true);
    expect(still(4, 9)).toBe(false);
    // Of two that stood as long the first counts.
    expect(
      isStill(
        points(8, 8, (k) => ({ map: k < 4 ? 150 : 101 })),
        BARO,
      ),
    ).toBe(true);
    expect(
      isStill(
        points(8, 8, (k) => ({ map: k < 4 ? 101 : 150 })),
        BARO,
      ),
    ).toBe(false);
    expect(atRestKpa(BARO)).toBe(3);
    expect([102.9, 103, 103.1, 96.9].map((map) => still(4, 4, map))).toEqual([false, false, true, true]);
  });
  it('is not the sample that leaps by more than 25 kPa from both neighbours and back', () => {
    const kept = (...maps: number[]) =>
      withoutSpikes(points(maps.length, maps.length, (k) => ({ map: maps[k]! }))).map((p) => p.map);
    expect(kept(200, 174, 200)).toEqual([200, 200]);
    expect(kept(200, 175, 200)).toEqual([200, 175, 200]);
    expect(kept(200, 150, 100)).toEqual([200, 150, 100]);
    expect(kept(200, 160, 219)).toEqual([200, 219]);
    expect(kept(200, 160, 221)).toEqual([200, 160, 221]);
    expect(kept(174, 200)).toEqual([174, 200]);
  });
});
