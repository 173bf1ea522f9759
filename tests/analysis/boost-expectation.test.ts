/** What boost is expected at a point and how surely: each source and each threshold from both sides, worked by hand. */
import { describe, expect, it } from 'vitest';
import { expectedAt, leastHealthyKpa } from '../../src/analysis/boost/expectation.ts';
import { type BoostBaseline, type BoostKind, CELLS } from '../../src/analysis/boost/lesson.ts';
import type { StretchPoint } from '../../src/analysis/boost/stretches.ts';
import type { Profile } from '../../src/core/profile.ts';
import { BARO, DIESEL, taught } from './pulls.ts';

const PETROL: Profile = { induction: 'turbocharger', fuel: 'petrol' };
const TWIN: Profile = { induction: 'twin-charged', fuel: 'petrol' };
const BELT: Profile = { induction: 'supercharger', fuel: 'petrol' };
const entered = (value: number) => ({ value, source: 'entered' }) as const;

const point = (rpm: number, lagged = 90, cmd: number | null = null): StretchPoint => ({
  ...{
    tUs: 0,
    map: 150,
    rpm,
    speed: 60,
    demand: lagged,
    demandLow: lagged,
    ect: 85,
    airC: 20,
    cmd,
    act: null,
  },
  ...{
    maf: null,
    ageS: 0,
    lagged,
    settled: true,
    frozen: false,
    still: false,
    echo: false,
    restS: 0,
    idled: false,
  },
});

const kindOf = (kpa: number, cars = 5, sd = 0.04, far = 0.1, more: Partial<BoostKind> = {}): BoostKind => ({
  ...{ schema: 'handback.boost-kind/1', cars, baroKpa: 100, airC: [20, 0], reference: 'gauge', turboLag: 1 },
  cells: Array.from({ length: CELLS }, () => [kpa, cars, sd, far] as const),
  ...{ air: [], noiseScale: { slow: 1, fast: 1 }, ...more },
});

/** Of settled boost at full demand from 2000 rpm on, shares: between runs, pulls, samples (docs/analysis.md). */
const NOISE = { run: 0.008, pull: 0.018, point: 0.01 };
/** Four runs and sixteen pulls; a pull that taught is off by 0.7 of a pull's scatter. */
const TAUGHT = Math.hypot(NOISE.run / 2, (0.7 * NOISE.pull) / 4);

describe('the car’s own healthy drives', () => {
  const own = (more: Partial<BoostBaseline> = {}, kpa = 100, baro = BARO) =>
    expectedAt(
      point(2500),
      DIESEL,
      taught(() => kpa, more),
      baro,
    );
  it('give what they gave, as surely as runs, pulls and air tell it', () => {
    const e = own()!;
    expect(e).toMatchObject({ kpa: 100, source: 'baseline run', cars: 0 });
    expect(e.sd).toBeCloseTo(Math.hypot(TAUGHT, 0.5 / 100), 12);
    // 6 % at the least; wider where the car cannot repeat itself so well.
    expect(e.limit).toBe(0.06);
    const wide = own({ noiseScale: { slow: 9, fast: 4 } })!;
    // What it scatters by more than the usual pulls share: 1.8 % · √(4² − 1.2) beside the run's 4 · 0.8 %.
    const run = Math.hypot(0.032, 0.018 * Math.sqrt(14.8));
    expect(wide.noise).toEqual({
      ...{ run: expect.closeTo(run, 12), pull: expect.closeTo(0.072, 12), point: expect.closeTo(0.04, 12) },
    });
    expect(wide.limit).toBeCloseTo(2 * Math.hypot(run, wide.sd), 12);
    expect(wide.limit).toBeGreaterThan(0.06);
    // What air may do widens no limit: the interval holds it.
    const cold = (rpm: number) =>
      expectedAt(
        { ...point(rpm), airC: -5 },
        DIESEL,
        taught(() => 100, { airC: [20, 0] }),
        BARO,
      )!;
    expect(cold(2000)).toMatchObject({ limit: 0.06, warm: { below: expect.closeTo(25 / 288, 9) } });
    expect(cold(1999)).toMatchObject({ limit: 0.06, warm: { below: Number.POSITIVE_INFINITY } });
    // Pulls may repeat better than the usual; days are not taken to.
    expect(own({ noiseScale: { slow: 9, fast: 0.7 } })!.noise).toMatchObject({
      ...{ run: 0.008, pull: expect.closeTo(0.0126, 12) },
    });
  });
  it('scatter by the scale of slow engine speeds below 2000 rpm', () => {
    const at = (rpm: number) =>
      expectedAt(point(rpm), DIESEL, taught(undefined, { noiseScale: { slow: 2, fast: 1 } }), BARO)!.noise;
    expect(at(2000).point).toBeCloseTo(0.01, 12);
    expect(at(1999).point).toBeGreaterThan(0.019);
  });
  it('of an engine that regulates the absolute pressure give that, less today’s air, which then matters a quarter', () => {
    const e = own({ reference: 'absolute' }, 200)!;
    expect(e.kpa).toBe(100);
    expect(e.sd).toBeCloseTo(Math.hypot(TAUGHT, (0.25 * 0.5) / 100), 12);
  });
  it('in other air may be off by half the difference, beyond a hundredth', () => {
    const in96 = own({ baroKpa: 96 })!;
    expect(in96.sd).toBeCloseTo(Math.hypot(TAUGHT, 0.5 / 100, (0.5 * 4) / 100 - 0.01), 12);
    expect(own({ baroKpa: 98 })!.sd).toBeCloseTo(Math.hypot(TAUGHT, 0.5 / 100), 12);
  });
  it('tell nothing below 15 kPa', () => {
    expect([14.9, 15].map((kpa) => own({}, kpa)?.kpa ?? null)).toEqual([null, 15]);
    expect(own({ reference: 'absolute' }, 114.9)).toBeNull();
  });
});

describe('above the engine speeds that taught', () => {
  const upTo = (edge: number, kpa = (_rpm: number) => 100) => taught((rpm) => (rpm > edge ? null : kpa(rpm)));
  const at = (rpm: number, baseline: BoostBaseline, profile = DIESEL) =>
    expectedAt(point(rpm), profile, baseline, BARO);
  it('the last level is carried on for 500 rpm, ever less surely', () => {
    const baseline = upTo(2600);
    const sdOf = (onRpm: number) => Math.hypot(TAUGHT, 0.005, 0.04 * Math.sqrt(onRpm / 500));
    for (const [rpm, onRpm] of [
      [2700, 100],
      [2900, 300],
      [3100, 500],
    ] as const)
      expect(at(rpm, baseline)!.sd).toBeCloseTo(sdOf(onRpm), 12);
    expect(at(3100, baseline)!.kpa).toBe(100);
    expect(at(3150, baseline)).toBeNull();
  });
  it('if it was level: within 8 % of what was given 500 rpm before', () => {
    const rose = (by: number) => upTo(2600, (rpm) => (rpm >= 2600 ? 100 : 100 - by));
    expect([8, 8.01].map((by) => at(2700, rose(by)) !== null)).toEqual([true, false]);
    expect([-8, -8.01].map((by) => at(2700, rose(by)) !== null)).toEqual([true, false]);
    const absolute = (by: number) => ({
      ...upTo(2600, (rpm) => (rpm >= 2600 ? 200 : 200 - by)),
      reference: 'absolute' as const,
    });
    expect([8, 8.01].map((by) => at(2700, absolute(by)) !== null)).toEqual([true, false]);
    // Unknown 500 rpm before is not level.
    expect(
      at(
        2700,
        taught((rpm) => (rpm >= 2150 && rpm <= 2600 ? 100 : null)),
      ),
    ).toBeNull();
  });
  it('not from below 2000 rpm, where it may still be on its way up', () => {
    expect(at(2050, upTo(2000))?.kpa).toBe(100);
    expect(at(2050, upTo(1950))).toBeNull();
    // The edge of the regions of a turbocharger does not matter but where it lies higher.
    const over = { ...DIESEL, handOverRpm: entered(2300) };
    expect(at(2350, upTo(2300), over)?.kpa).toBe(100);
    expect(at(2350, upTo(2250), over)).toBeNull();
  });
  it('not from one machine to another, and where two make the boost not within 500 rpm of the change', () => {
    expect(at(4050, upTo(4000), TWIN)?.kpa).toBe(100);
    expect(at(4050, upTo(3950), TWIN)).toBeNull();
    expect(at(4050, upTo(3950), { ...TWIN, clutch: false })).toBeNull();
    expect(at(2400, upTo(2350), TWIN)).toBeNull();
    // A turbocharger alone: from 2000 rpm on all is one.
    expect(at(4050, upTo(3950), DIESEL)?.kpa).toBe(100);
    const clutched: Profile = { ...BELT, clutch: true };
    expect(at(2050, upTo(2000), clutched)?.kpa).toBe(100);
    expect(at(9050, upTo(6950), DIESEL)).toBeNull();
  });
});

describe('other cars of the kind', () => {
  const withKind = (own: BoostBaseline, kind: BoostKind): BoostBaseline => ({ ...own, kind });
  const nothing = taught(() => null);
  it('alone give their level, as wide as they differ', () => {
    const e = expectedAt(point(2500), DIESEL, withKind(nothing, kindOf(100)), BARO)!;
    expect(e).toMatchObject({ kpa: 100, source: 'kind', cars: 5 });
    expect(e.sd).toBeCloseTo(Math.hypot(0.04, 0.005), 12);
    expect(e.limit).toBe(0.1);
    const thin = kindOf(200, 5, 0.04, 0.1, { reference: 'absolute', baroKpa: 96 });
    const at = expectedAt(point(2500), DIESEL, withKind(nothing, thin), BARO)!;
    expect(at.kpa).toBe(100);
    expect(at.sd).toBeCloseTo(Math.hypot(0.04, 0.25 * 0.005, 0.01), 12);
    const low = (kpa: number) => expectedAt(point(2500), DIESEL, withKind(nothing, kindOf(kpa)), BARO);
    expect([14.9, 15].map((kpa) => low(kpa)?.kpa ?? null)).toEqual([null, 15]);
  });
  it('beside own drives draw by their share of the variance', () => {
    const own = taught(undefined, { runs: 1, pulls: 1 });
    const alone = Math.hypot(0.008, 0.7 * 0.018);
    const e = expectedAt(point(2500), DIESEL, withKind(own, kindOf(102, 9, 0.03)), BARO)!;
    const share = alone ** 2 / (alone ** 2 + 0.03 ** 2);
    expect(e).toMatchObject({ source: 'baseline run and kind', cars: 9 });
    expect(e.kpa).toBeCloseTo(100 + 2 * share, 12);
    expect(e.sd).toBeCloseTo(Math.hypot(alone * Math.sqrt(1 - share), 0.5 / e.kpa), 12);
    // Where they contradict the own ones they count for what they lie apart.
    const apart = expectedAt(point(2500), DIESEL, withKind(own, kindOf(120, 9, 0.03)), BARO)!;
    expect(apart.kpa).toBeCloseTo(100 + 20 * (alone ** 2 / (alone ** 2 + 0.2 ** 2)), 12);
    // The far reach of the kind counts by its share too.
    const far = expectedAt(point(2500), DIESEL, withKind(own, kindOf(100, 9, 0.03, 0.9)), BARO)!;
    expect(far.limit).toBeCloseTo(0.9 * share, 12);
  });
  it('beside a level carried on count the more, the less sure that is', () => {
    const own = taught((rpm) => (rpm > 2600 ? null : 100));
    const e = expectedAt(point(3100), DIESEL, withKind(own, kindOf(102)), BARO)!;
    const variance = TAUGHT ** 2 + 0.04 ** 2;
    const share = variance / (variance + 0.04 ** 2);
    expect(e.kpa).toBeCloseTo(100 + 2 * share, 12);
    expect(e.sd).toBeCloseTo(Math.hypot(Math.sqrt(variance * (1 - share)), 0.5 / e.kpa), 12);
  });
  it('give way to what this car is asked for or what was entered', () => {
    const kind = withKind(nothing, kindOf(100));
    expect(expectedAt(point(2500, 90, 190), DIESEL, kind, BARO)!.source).toBe('commanded boost');
    const curve: Profile = {
      ...DIESEL,
      expectedBoost: { source: 'entered', points: [2000, 3000].map((rpm) => ({ rpm, kpa: 80 })) },
    };
    expect(expectedAt(point(2500), curve, kind, BARO)!.source).toBe('profile');
    expect(expectedAt(point(2500, 90, 190), curve, null, BARO)!.source).toBe('commanded boost');
    expect(expectedAt(point(2500), DIESEL, null, BARO)).toBeNull();
  });
});

const WHATEVER_AIR = { more: 0, sd: 0, unread: 0, charge: 0, colder: 0, below: 0 };

describe('what the control unit asks for', () => {
  const asked = (rpm: number, profile: Profile, lagged = 90, cmd = 200) =>
    expectedAt(point(rpm, lagged, cmd), profile, null, BARO);
  it('is expected from 80 % demand and 15 kPa on, met within 12 %', () => {
    expect(asked(2500, DIESEL)).toEqual({
      ...{
        kpa: 100,
        noise: { run: 0.02, pull: 0.03, point: 0.03 },
        sd: 0.005,
        warm: WHATEVER_AIR,
        source: 'commanded boost',
      },
      ...{ limit: 0.12, cars: 0 },
    });
    expect([79.9, 80].map((d) => asked(2500, DIESEL, d) !== null)).toEqual([false, true]);
    expect([114.9, 115].map((cmd) => asked(2500, DIESEL, 90, cmd) !== null)).toEqual([false, true]);
  });
  it('where the machine in question can meet it: a slow turbocharger and a changeover cannot', () => {
    const where = (profile: Profile) =>
      [1000, 1500, 1999, 2000, 2399, 2400, 3499, 3500, 8999, 9000].filter((rpm) => asked(rpm, profile));
    expect(where(DIESEL)).toEqual([2000, 2399, 2400, 3499, 3500, 8999]);
    expect(where(TWIN)).toEqual([1500, 1999, 2000, 2399, 3500, 8999]);
    expect(where(BELT)).toEqual([1000, 1500, 1999, 2000, 2399, 2400, 3499, 3500, 8999]);
    expect(asked(899, BELT)).toBeNull();
  });
});

describe('a curve that was entered', () => {
  const curve = (...points: [number, number][]): Profile => ({
    ...DIESEL,
    expectedBoost: { source: 'entered', points: points.map(([rpm, kpa]) => ({ rpm, kpa })) },
  });
  const at = (rpm: number, profile: Profile, lagged = 90) =>
    expectedAt(point(rpm, lagged), profile, null, BARO);
  it('is a line between its points, in whatever order they came, and nothing beyond them', () => {
    const c = curve([3000, 100], [2000, 60], [4000, 90]);
    expect([1999, 2000, 2250, 3000, 3500, 4000, 4001].map((rpm) => at(rpm, c)?.kpa ?? null)).toEqual([
      ...[null, 60, 70, 100, 95, 90, null],
    ]);
    expect(at(2000, curve([2000, 50], [2000, 70], [3000, 80]))!.kpa).toBe(70);
  });
  it('counts from 85 % demand and 15 kPa on, known to 2 % and the air, met within 12 %', () => {
    const c = curve([2000, 100], [3000, 100]);
    expect(at(2500, c)).toEqual({
      ...{ kpa: 100, noise: { run: 0.02, pull: 0.03, point: 0.03 }, sd: expect.closeTo(0.025, 12) },
      ...{ warm: WHATEVER_AIR, source: 'profile', limit: 0.12, cars: 0 },
    });
    expect([84.9, 85].map((d) => at(2500, c, d) !== null)).toEqual([false, true]);
    const low = (kpa: number) => at(2500, curve([2000, kpa], [3000, kpa])) !== null;
    expect([14.9, 15].map(low)).toEqual([false, true]);
  });
});

describe('the least of any healthy engine (common practice, no source)', () => {
  const least = (profile: Profile, rpm: number, lagged = 70) => leastHealthyKpa(point(rpm, lagged), profile);
  it('is 40 kPa of a turbo-diesel from 1750 rpm on, 20 at half demand', () => {
    expect([1749, 1750].map((rpm) => least(DIESEL, rpm))).toEqual([null, 40]);
    expect([1749, 1750].map((rpm) => least(DIESEL, rpm, 69.9))).toEqual([null, 20]);
    expect([49.9, 50].map((d) => least(DIESEL, 2500, d))).toEqual([null, 20]);
    expect([1099, 8999, 9000].map((rpm) => least(DIESEL, rpm))).toEqual([null, 40, null]);
  });
  it('is 20 kPa of a petrol turbocharger from 2250 rpm on, none at half demand', () => {
    expect([2249, 2250].map((rpm) => least(PETROL, rpm))).toEqual([null, 20]);
    expect(least(PETROL, 2500, 69.9)).toBeNull();
  });
  it('is 40 kPa of a compressor below the changeover, 30 above, none in between', () => {
    expect([1199, 1200, 2399, 2400, 3499, 3500].map((rpm) => least(TWIN, rpm))).toEqual([
      ...[null, 40, 40, null, null, 30],
    ]);
  });
  it('is 25 kPa of a closed clutch from the demand that closes it on', () => {
    expect([59.9, 60, 69.9].map((d) => least(TWIN, 2000, d))).toEqual([null, 25, 25]);
    expect([1199, 1200, 2399, 2400].map((rpm) => least(TWIN, rpm, 65))).toEqual([null, 25, 25, null]);
    const early = { ...TWIN, engagementDemandPct: entered(52) };
    expect([51.9, 52].map((d) => least(early, 2000, d))).toEqual([null, 25]);
    expect(least({ ...TWIN, clutch: false }, 2000, 65)).toBeNull();
    const belt = { ...BELT, fuel: 'diesel' } as const;
    expect(least(belt, 2000, 65)).toBeNull();
  });
  it('is 25 kPa of a belt from 1500 rpm on, and none without a charger', () => {
    expect([1499, 1500].map((rpm) => least(BELT, rpm))).toEqual([null, 25]);
    expect(least({ induction: 'naturally aspirated' }, 3000)).toBeNull();
  });
});
