/** What is one stretch of high demand: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import type { OperatingPoint } from '../../src/analysis/boost/points.ts';
import { lagS, type Stretch, Stretcher } from '../../src/analysis/boost/stretches.ts';
import type { Profile } from '../../src/core/profile.ts';

const DIESEL: Profile = { induction: 'turbocharger', fuel: 'diesel' };

const at = (s: number, more: Partial<OperatingPoint>): OperatingPoint => ({
  ...{ tUs: s * 1e6, map: 100 + 10 * s, rpm: 2000, speed: 50, demand: 90, demandLow: 90, ect: 85, airC: 20 },
  ...{ cmd: null, act: null, maf: null, ageS: 0, ...more },
});

/** A point each fifth of a second: light for two seconds, then as `more` says, then light again. */
function driven(
  n: number,
  more: (k: number) => Partial<OperatingPoint> & { readonly s?: number },
): Stretch[] {
  const stretcher = new Stretcher(DIESEL);
  const out: Stretch[] = [];
  const at = (s: number, p: Partial<OperatingPoint>) =>
    out.push(
      ...stretcher.step({
        ...{ tUs: s * 1e6, map: 100 + 10 * s, rpm: 2000, speed: 50, demand: 10, demandLow: p.demand ?? 10 },
        ...{ ect: 85, airC: 20, cmd: null, act: null, maf: null, ageS: 0, ...p },
      }),
    );
  for (let k = 0; k < 10; k++) at(k / 5, {});
  let endS = 0;
  for (let k = 0; k < n; k++) {
    const { s = 2 + k / 5, ...p } = more(k);
    at(s, { demand: 90, ...p });
    endS = s;
  }
  for (let k = 1; k < 20; k++) at(endS + k / 5, {});
  return [...out, ...stretcher.finish((endS + 5) * 1e6)];
}
const counts = (...args: Parameters<typeof driven>) => driven(...args).map((s) => s.points.length);

describe('a stretch', () => {
  it('is of 45 % demand and 900 rpm, less what lies within 0.3 s of its end and the last', () => {
    expect(counts(20, () => ({}))).toEqual([19]);
    expect([45, 44.9].map((demand) => counts(20, () => ({ demand })).length)).toEqual([1, 0]);
    expect(counts(20, () => ({ demandLow: 44.9 }))).toEqual([]);
    expect([900, 899].map((rpm) => counts(20, () => ({ rpm, speed: null })).length)).toEqual([1, 0]);
    expect([3, 2].map((n) => counts(n, () => ({})).length)).toEqual([1, 0]);
  });
  it('ends at a hole of more than 2.5 s', () => {
    const across = (s: number) => counts(20, (k) => ({ s: 2 + k / 5 + (k >= 10 ? s - 0.2 : 0) })).length;
    expect([2.5, 2.6].map(across)).toEqual([1, 2]);
  });
  it('ends where engine and road speed part, and tells its ratio from 6 km/h on', () => {
    const tolerance = 0.03 + 0.8 / 50;
    const parts = (by: number) => counts(20, (k) => ({ rpm: k < 10 ? 2000 : 2000 * Math.exp(by) })).length;
    expect([0.9 * tolerance, 1.1 * tolerance].map(parts)).toEqual([1, 2]);
    const creeping = (per: number) => counts(20, (k) => ({ rpm: 2000 * Math.exp(k * per) }))[0];
    // Twice the tolerance from its beginning.
    expect(creeping((2 * tolerance) / 20)).toBe(19);
    expect(creeping((2 * tolerance) / 15)).toBeLessThan(16);
    const ratio = (speed: number | null) => driven(20, () => ({ speed }))[0]?.ratio ?? null;
    expect([null, 5.9, 6, 7].map(ratio)).toEqual([null, null, 2000 / 6, 2000 / 7]);
  });
  it('without a road speed ends where the engine falls by 7 %', () => {
    const falls = (to: number) => counts(20, (k) => ({ speed: null, rpm: k < 10 ? 2000 : to })).length;
    expect([1861, 1859].map(falls)).toEqual([1, 2]);
  });
  it('is sudden where demand was light within 1.5 s before its tip', () => {
    const slow = (k: number, steps: number) => ({ demand: Math.min(90, 31 + (60 * k) / steps) });
    expect(driven(30, () => ({}))[0]).toMatchObject({ sudden: true });
    expect(driven(30, (k) => slow(k, 20))[0]).toMatchObject({ sudden: true });
    expect(driven(60, (k) => slow(k, 40))[0]).toMatchObject({ sudden: false });
    const tip = driven(30, () => ({}))[0]!.tip!;
    // From 10 to 90 % in a fifth of a second it passes 45 % after 35/80 of it.
    expect(tip.atUs / 1e6).toBeCloseTo(1.8 + (0.2 * 35) / 80, 6);
    expect(tip.errS).toBeCloseTo(0.1, 9);
  });
});

it('tells whether its demand reads to the bit what it read before a gear change', () => {
  const held = (after: number, more: (k: number) => object) =>
    driven(20, (k) => ({ demand: k < 10 ? 80 : after, ...more(k) })).map((s) => s.held);
  const changed = (k: number) => ({ rpm: k < 10 ? 2000 : 1600 });
  expect(held(80, changed)).toEqual([false, true]);
  expect(held(80.06, changed)).toEqual([false, false]);
  // Changed again: it is the same reading still.
  expect(held(80, (k) => ({ rpm: k < 7 ? 2400 : k < 14 ? 2000 : 1600 }))).toEqual([false, true, true]);
  // A hole tells nothing of the gear.
  expect(held(80, (k) => ({ s: 2 + k / 5 + (k >= 10 ? 3 : 0) }))).toEqual([false, false]);
});

it('tells which readings of the pressure only repeat, in order, what was read two to ten before', () => {
  const echoes = (map: (k: number) => number) =>
    driven(30, (k) => ({ map: map(k) }))[0]!.points.flatMap((p, k) => (p.echo ? [k] : []));
  const again = (n: number, back: number, step = 5) =>
    echoes((k) => 120 + step * (k >= 15 && k < 15 + n ? k - back : k));
  expect(echoes((k) => 120 + 5 * k)).toEqual([]);
  expect([3, 4].map((n) => again(n, 10))).toEqual([
    [15, 16, 17],
    [15, 16, 17, 18],
  ]);
  expect([again(2, 5), again(4, 11), again(3, 5, 4.9)]).toEqual([[], [], []]);
  expect(again(3, 3)).toEqual([15, 16, 17]);
  expect(echoes((k) => 150 + 10 * (k % 3)).length).toBeGreaterThan(20);
  // Neither what swings between two pressures, nor between such as lie near each other.
  expect(echoes((k) => 150 + 10 * (k % 2))).toEqual([]);
  expect(echoes((k) => 150 + (k % 3))).toEqual([]);
});

it('is open from its first point on and null outside', () => {
  const stretcher = new Stretcher(DIESEL);
  const open = (s: number, demand: number) => {
    stretcher.step(at(s, { demand, demandLow: demand }));
    return stretcher.open?.length ?? null;
  };
  expect([open(0, 10), open(0.2, 90), open(0.4, 90), open(0.6, 10)]).toEqual([null, 1, 2, null]);
});

describe('the demand seen through the lag of the turbocharger', () => {
  const lagAfter = (between: Partial<OperatingPoint>, s = 3, speed = 50) => {
    const stretcher = new Stretcher(DIESEL);
    for (let k = 0; k < 14; k++) stretcher.step(at(k / 5, {}));
    stretcher.step(at(2.8, between));
    stretcher.step(at(s, { speed }));
    return stretcher.open?.at(-1)?.lagged;
  };
  /** From `before` on through so many steps of a fifth of a second. */
  const lagged = (before: number, steps: number) =>
    90 + (before - 90) * Math.exp((-0.2 * steps) / lagS(DIESEL, 2000));
  it('goes on from what it was', () => {
    // Nothing is known of the time before the first point: it is taken to have come from nothing.
    expect(lagAfter({})).toBeCloseTo(lagged(0, 15), 9);
  });
  it('is that of the turbocharger of this car', () => {
    const demandBy = (turboLag: number) => {
      const stretcher = new Stretcher(DIESEL, turboLag);
      for (let k = 0; k <= 15; k++) stretcher.step(at(k / 5, {}));
      return stretcher.open?.at(-1)?.lagged;
    };
    expect(demandBy(1)).toBeCloseTo(lagged(0, 15), 9);
    expect(demandBy(3)).toBeCloseTo(lagged(0, 5), 9);
  });
  it('begins anew where demand or engine speed is not known', () => {
    expect(lagAfter({ demand: null })).toBeCloseTo(lagged(0, 1), 9);
    expect(lagAfter({ rpm: null, speed: null })).toBeCloseTo(lagged(0, 1), 9);
  });
  it('begins anew at a hole and at a change of gear', () => {
    expect(lagAfter({}, 5.3)).toBeCloseTo(90 + (lagged(0, 14) - 90) * Math.exp(-2.5 / lagS(DIESEL, 2000)), 9);
    expect(lagAfter({}, 5.31)).toBe(0);
    expect(lagAfter({}, 3, 80)).toBe(0);
  });
});

describe('a pressure that repeats itself to the bit', () => {
  const marks = (n: number, more: (k: number) => Partial<OperatingPoint>) => {
    const [first] = driven(30, (k) => (k < n ? { map: 180, ...more(k) } : {}));
    return [first?.points.some((p) => p.frozen) ?? false, first?.points.some((p) => p.still) ?? false];
  };
  it('is frozen in three samples over 1.5 s while demand moves by 35 %, from less than 55 % on by 10', () => {
    const by = (from: number, pct: number, n = 20) =>
      marks(n, (k) => ({ demand: k % 2 === 0 ? from : from + pct }))[0];
    expect([34, 36].map((pct) => by(55, pct))).toEqual([false, true]);
    expect([9, 11].map((pct) => by(50, pct))).toEqual([false, true]);
    expect([8, 9].map((n) => by(55, 36, n))).toEqual([false, true]);
  });
  it('is told with how long it had repeated itself, and whether the engine idled meanwhile', () => {
    const rest = (rpm: number) => {
      const stretcher = new Stretcher(DIESEL);
      for (let k = 0; k < 20; k++)
        stretcher.step(at(k / 5, { map: 180, speed: null, rpm: k < 10 ? rpm : 2000, demand: 60 + 2 * k }));
      const { restS, idled } = stretcher.open!.at(-1)!;
      return [restS, idled];
    };
    expect([999, 1000].map(rest)).toEqual([
      [3.8, true],
      [3.8, false],
    ]);
  });
  it('stands still while engine speed rises by a fifth', () => {
    const by = (share: number) =>
      marks(20, (k) => ({ rpm: 2000 * (1 + (share * k) / 19), speed: 50 * (1 + (share * k) / 19) }));
    expect([0.19, 0.21].map(by)).toEqual([
      [false, false],
      [false, true],
    ]);
  });
});

it('a turbocharger lags the more the slower the engine turns; a belt does not', () => {
  const at = (rpm: number, profile = DIESEL) => lagS(profile, rpm);
  expect([900, 1000, 1250, 1750, 2500, 5000].map((rpm) => at(rpm))).toEqual([1.9, 1.9, 1.6, 1, 0.6, 0.6]);
  expect(at(1500)).toBeCloseTo(1.3, 9);
  expect(at(1125)).toBeCloseTo(1.75, 9);
  const twin: Profile = { induction: 'twin-charged', fuel: 'petrol' };
  expect([2399, 2400].map((rpm) => at(rpm, twin))).toEqual([0.25, 1 - (0.4 * 650) / 750]);
  expect(at(5000, { induction: 'supercharger', fuel: 'petrol' })).toBe(0.25);
  expect(at(5000, { induction: 'naturally aspirated', fuel: 'petrol' })).toBe(0.1);
  // A slower turbocharger's is a multiple of it; a belt knows none.
  expect([900, 1500, 5000].map((rpm) => lagS(DIESEL, rpm, 2.5))).toEqual([4.75, 3.25, 1.5]);
  expect([2399, 3300].map((rpm) => lagS(twin, rpm, 2.5) / lagS(twin, rpm))).toEqual([1, 2.5]);
});
