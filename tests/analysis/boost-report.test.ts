/** Which boost findings are made of what regions say: each branch, and each number that is printed. */
import { describe, expect, it } from 'vitest';
import type { PullAir } from '../../src/analysis/boost/air.ts';
import type { BoostCase } from '../../src/analysis/boost/case.ts';
import type { RegionEvidence } from '../../src/analysis/boost/evidence.ts';
import { type BoostBaseline, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { askedRpm, regionsOf } from '../../src/analysis/boost/regions.ts';
import { boostFindings } from '../../src/analysis/boost/report.ts';
import { type Estimate, PAID_LOOKS, patchAt, ShortfallScan } from '../../src/analysis/boost/scan.ts';
import type { Witness } from '../../src/analysis/boost/witness.ts';
import type { Finding } from '../../src/analysis/types.ts';
import type { Profile } from '../../src/core/profile.ts';
import { madeWitness } from './witness.ts';

const TWIN: Profile = { induction: 'twin-charged', fuel: 'petrol' };
const DIESEL: Profile = { induction: 'turbocharger', fuel: 'diesel' };

type Stub = { readonly [K in keyof Omit<RegionEvidence, 'witnesses'>]?: RegionEvidence[K] } & {
  readonly witnesses?: readonly Witness[];
};
type Key = 'low' | 'middle' | 'high';

const estimate = (deviation: number, more: Partial<Estimate> = {}): Estimate => ({
  ...{ fromRpm: 2000, toRpm: 3000, fromDemandPct: 60, toDemandPct: 100, deviation, se: 0.01, limit: 0.06 },
  ...{
    expectedKpa: 100,
    pulls: 4,
    samples: 20,
    there: 20,
    carried: true,
    mostOver: true,
    pullVariance: 1e-4,
    runVariance: 1e-4,
    warmVariance: 0,
    warmBelow: 0,
    warmUnread: 0,
    looks: PAID_LOOKS,
  },
  ...more,
});
const witness = (more: Partial<Witness> = {}): Witness =>
  madeWitness({
    ...{ fromUs: 10e6, toUs: 13e6, rpm: [2100, 2900], spanS: 3, boostKpa: 90, expectedKpa: 100 },
    ...{ deviation: -0.1, sd: 0, runSd: 0, patches: [], ...more },
  });
/** Air that is `excess` more than the pressure accounts for, known to 1 %. */
const air = (excess: number, sd = 0.01): PullAir =>
  ({
    ...{ excess, variance: sd ** 2, deviation: -excess, gain: 1, n: 8 },
    known: { warm: 0, taught: 0, far: 0, cars: 0 },
  }) as PullAir;
const airy = (excess: number, n = 4, sd = 0.01) =>
  Array.from({ length: n }, () => witness({ air: air(excess, sd) }));

/** Regions as they are with nothing driven, but for what is said. */
function caseOf(regions: Partial<Record<Key, Stub>>, more: Partial<BoostCase> = {}): BoostCase {
  const { profile = TWIN } = more;
  return {
    regions: regionsOf(profile).map((region) => {
      const stub: Stub = {
        ...{
          region,
          scan: new ShortfallScan(),
          witnesses: [],
          estimate: null,
          shortfall: null,
          shared: null,
        },
        ...{
          absent: false,
          intermittent: false,
          contradicted: false,
          goneForLong: false,
          mayComeLate: false,
          driven: [],
          leaks: false,
          held: 0,
          missed: 0,
          good: null,
          unknown: null,
        },
        ...{ odd: null, lacks: { pulls: 0, warm: true, through: [] }, surplus: false },
        toGo: { ...askedRpm(region), pulls: 3, lifted: false },
        ...regions[region.key],
      };
      const short = stub.shortfall !== null;
      return {
        all: stub.witnesses,
        short,
        basis: stub.shortfall ?? stub.estimate,
        ...stub,
      } as RegionEvidence;
    }),
    ...{ profile, baseline: mergeLessons([]), clutch: null, induction: null, shape: null },
    ...{ signals: new Set(['map_kpa', 'rpm', 'iat_c']), demandName: 'pedal_d_pct', saidAtS: () => null },
    ...more,
  };
}
const found = (id: string, regions: Partial<Record<Key, Stub>>, more: Partial<BoostCase> = {}): Finding =>
  boostFindings(caseOf(regions, more)).find((f) => f.id === `boost.${id}`)!;
/** Verdict, and what it points to or needs. */
const said = (...of: Parameters<typeof found>) => {
  const f = found(...of);
  return [f.verdict, (f.pointsTo ?? f.needs)?.id.replace('boost.', '')];
};
const SHORT = estimate(-0.3);
const short: Stub = { estimate: SHORT, shortfall: SHORT, witnesses: [witness()] };
const fine: Stub = { estimate: estimate(0), witnesses: [witness({ deviation: 0 })] };
const absent: Stub = { absent: true, missed: 1, witnesses: [witness({ deviation: null, held: false })] };

describe('a region', () => {
  it('is a fault where it is short or brings nothing, unless boost comes and goes there', () => {
    expect(said('above-hand-over', { high: short })).toEqual(['fault shown', 'points.turbo-or-leak']);
    expect(said('above-hand-over', { high: absent })).toEqual(['fault shown', 'points.turbo-or-leak']);
    expect(said('above-hand-over', { high: { ...short, intermittent: true } })[0]).toBe('not shown');
    expect(said('above-hand-over', { high: fine })[0]).toBe('not shown');
    expect(found('above-hand-over', { high: short }, { saidAtS: () => 7 }).saidAtS).toBe(7);
  });
  it('prints deviation, interval of 1.645 errors and limit in kPa, to a tenth', () => {
    const e = estimate(-0.3016, { expectedKpa: 103, se: 0.012 });
    const f = found('above-hand-over', { high: { ...short, estimate: e, shortfall: e } });
    expect(f.measured).toEqual({ value: -31.1, unit: 'kPa', interval: [-33.1, -29] });
    expect(f.limit).toMatchObject({ value: -6.2, unit: 'kPa', source: { id: 'boost.source.baseline' } });
    expect([f.fromS, f.toS, f.system, f.signals]).toEqual([10, 13, 'boost', ['map_kpa', 'rpm']]);
  });
  it('is good by its weakest speeds, against a loss of a tenth', () => {
    const weakest = estimate(-0.02, { expectedKpa: 120 });
    const good = { fromRpm: 2000, toRpm: 3500, fromDemandPct: 60, toDemandPct: 100, lossPct: 7, weakest };
    const f = found('above-hand-over', { high: { ...fine, good } });
    expect(f).toMatchObject({ verdict: 'shown good', measured: { value: -2.4 }, limit: { value: -12 } });
    expect(f.evidence[0]).toMatchObject({
      ...{ fromS: 10, toS: 13 },
      text: { id: 'boost.good-range', args: { fromRpm: 2000, toRpm: 3500, loss: 0.07 } },
    });
    // What was spoken of as a fault and is none is not good.
    const back = found('above-hand-over', { high: { ...fine, good } }, { saidAtS: () => 8 });
    expect(back).toMatchObject({ verdict: 'not shown', aside: false });
    expect(back.needs).toMatchObject({ id: 'boost.need.taken-back', args: { atS: 8 } });
    expect(back.evidence.some((e) => e.text.id === 'boost.good-range')).toBe(false);
    // Where a fault is shown elsewhere what was not shown keeps its own needs.
    const others = found('above-hand-over', { low: short, high: fine }, { saidAtS: () => 8 });
    expect(others.needs!.id).not.toBe('boost.need.taken-back');
    const goodOthers = found(
      'above-hand-over',
      { low: short, high: { ...fine, good } },
      { saidAtS: () => 8 },
    );
    expect(goodOthers.needs!.id).toBe('boost.need.taken-back');
  });
  it('with nothing to hold it against shows how level boost was', () => {
    const shape = { fromS: 1, toS: 2, text: { id: 'boost.view.no-pull' as const, args: {} } };
    const first = (high: Stub) => found('above-hand-over', { high }, { shape }).evidence[0];
    expect(first({ witnesses: [witness({ deviation: null })] })).toBe(shape);
    expect(first(fine)).not.toBe(shape);
    expect(found('clutch-band', { low: { witnesses: [] } }, { shape }).evidence).toEqual([]);
  });
});

describe('the changeover', () => {
  const dip = (deviation: number, more: Partial<Estimate> = {}, of: Stub = {}): Stub => ({
    ...{ estimate: estimate(deviation, more), witnesses: [witness()], ...of },
  });
  const verdict = (middle: Stub, low: Stub = fine, high: Stub = fine) =>
    said('hand-over-dip', { low, middle, high });
  it('dips by its mean alone, 12 % with the whole interval', () => {
    const at = 0.12 + 1.645 * 0.01;
    expect([at + 0.001, at - 0.001].map((d) => verdict(dip(-d))[0])).toEqual(['fault shown', 'not shown']);
    expect(verdict(dip(-0.3))).toEqual(['fault shown', 'points.changeover']);
    expect(verdict(dip(-0.3, { carried: false }))[0]).toBe('not shown');
    expect(verdict(dip(0, {}, { absent: true }))[0]).toBe('fault shown');
    expect(verdict(dip(0, {}, { shortfall: estimate(-0.1) }))[0]).toBe('not shown');
    expect(found('hand-over-dip', { low: fine, high: fine, middle: dip(0) })).toMatchObject({
      ...{ aside: true, limit: { value: -12 } },
    });
  });
  it('of a car known by its kind may dip by as much as cars differ', () => {
    const kind = (limit: number) =>
      dip(-0.3, { limit }, { witnesses: [witness({ cars: 5, source: 'kind' })] });
    expect([0.28, 0.29].map((limit) => verdict(kind(limit))[0])).toEqual(['fault shown', 'not shown']);
    expect(verdict(dip(-0.3, { limit: 0.5 }))[0]).toBe('fault shown');
  });
  it('is no dip where a neighbour is short, missed or unknown', () => {
    const elsewhere = ['not shown', 'need.elsewhere'];
    expect(verdict(dip(-0.3), short)).toEqual(elsewhere);
    expect(verdict(dip(-0.3), fine, { ...fine, missed: 1 })).toEqual(elsewhere);
    expect(verdict(dip(-0.3), fine, {})).toEqual(elsewhere);
  });
});

describe('what a shortfall points to', () => {
  it('in the clutch band by what the changeover misses, as a share of 0.35', () => {
    const band = (deviation: number, se = 0.01) =>
      said('clutch-band', {
        low: { ...short, estimate: estimate(-0.4), shortfall: estimate(-0.4) },
        middle: { estimate: estimate(deviation, { se }), witnesses: [] },
        high: fine,
      });
    // 0.35 of 40 % is 14 %; 1.645 standard errors to one side.
    expect(band(-0.123)).toEqual(['fault shown', 'points.slip']);
    expect(band(-0.124)).toEqual(['fault shown', 'points.slip-or-leak']);
    expect(band(-0.156)).toEqual(['fault shown', 'points.slip-or-leak']);
    expect(band(-0.157)).toEqual(['fault shown', 'points.leak-everywhere']);
    expect(band(-0.16, 0.03)).toEqual(['fault shown', 'points.slip-or-leak']);
    const hint = found('clutch-band', { low: short, high: fine }).pointsTo!;
    expect(hint).toMatchObject({ id: 'boost.points.slip-or-leak', args: { fromRpm: 2400, toRpm: 3500 } });
    // One machine all the way up: a leak takes boost from it at all speeds as well.
    const belt = (profile: Profile, by: Stub = short) => said('clutch-band', { low: by }, { profile })[1];
    expect(belt({ induction: 'supercharger', clutch: true })).toBe('points.slip-or-leak-alone');
    expect(belt({ induction: 'supercharger', clutch: true }, { ...short, witnesses: airy(0) })).toBe(
      'points.slip',
    );
    expect(belt({ induction: 'supercharger' })).toBe('points.belt');
    expect(belt({ induction: 'twin-charged', clutch: false })).toBe('points.belt');
  });
  it('and to a clutch that closes late where no tip-in says that it closes in time', () => {
    const band = (deviation: number, mayBeLate: boolean, low: Stub = {}, se = 0.01) =>
      said(
        'clutch-band',
        {
          low: { ...short, estimate: estimate(deviation), shortfall: estimate(deviation), ...low },
          middle: { estimate: estimate(0, { se }), witnesses: [] },
          high: fine,
        },
        { clutch: clutch({ mayBeLate }) },
      )[1];
    expect([false, true].map((may) => band(-0.4, may))).toEqual(['points.slip', 'points.slip-or-late']);
    expect([false, true].map((may) => band(-0.4, may, {}, 0.2))).toEqual([
      ...['points.slip-or-leak', 'points.slip-late-or-leak'],
    ]);
    // Dead, but never asked for as long as a clutch takes that closes late.
    expect([false, true].map((may) => band(-0.8, may))).toEqual(['points.clutch', 'points.clutch-or-late']);
    expect(band(-0.8, true, { goneForLong: true })).toBe('points.clutch');
  });
  it('as good as no boost at all to the clutch itself, from 65 % on', () => {
    const dead = (deviation: number) =>
      said('clutch-band', {
        low: { ...short, estimate: estimate(deviation), shortfall: estimate(deviation) },
        high: fine,
      })[1];
    expect([-0.64, -0.65].map(dead)).toEqual(['points.slip-or-leak', 'points.clutch']);
    expect(said('clutch-band', { low: { ...short, absent: true }, high: fine })[1]).toBe('points.clutch');
    expect(said('clutch-band', { low: absent })[1]).toBe('points.clutch');
  });
  it('short everywhere to a leak, or by the air to a turbocharger', () => {
    const everywhere = (low: Stub, high: Stub, profile: Profile) =>
      said('above-hand-over', { low, high }, { profile })[1];
    expect(everywhere(short, short, TWIN)).toBe('points.leak-everywhere');
    expect(everywhere(short, short, DIESEL)).toBe('points.turbo-or-leak');
    // Without air mass nothing tells a leak from a weak turbocharger, wherever it shows.
    expect(everywhere(fine, short, DIESEL)).toBe('points.turbo-or-leak');
    expect(everywhere(short, { ...short, absent: true }, DIESEL)).toBe('points.turbo-or-leak');
    expect(everywhere({ ...short, intermittent: true }, short, DIESEL)).toBe('points.turbo-or-leak');
    expect(said('low-speed', { low: short, high: fine }, { profile: DIESEL })[1]).toBe(
      'points.turbo-slow-or-leak',
    );
    // A leak takes boost from the clutch band of a twin-charged car as well.
    expect(everywhere(fine, short, TWIN)).toBe('points.turbo');
    expect(everywhere({}, short, TWIN)).toBe('points.turbo-or-leak');
    expect(everywhere({ ...fine, estimate: estimate(0, { se: 0.2 }) }, short, TWIN)).toBe(
      'points.turbo-or-leak',
    );
    const lost = { ...short, witnesses: airy(0.25) };
    expect(everywhere(lost, lost, DIESEL)).toBe('points.leak-air');
    const sound = { ...short, witnesses: airy(0) };
    expect(everywhere(sound, sound, DIESEL)).toBe('points.turbo');
    expect(said('low-speed', { low: sound, high: sound }, { profile: DIESEL })[1]).toBe('points.turbo-slow');
    expect(everywhere(fine, lost, DIESEL)).toBe('points.leak-air');
  });
  it('air tells from two pulls on, and by itself where nothing says how much is missing', () => {
    const by = (high: Stub) => said('above-hand-over', { low: fine, high }, { profile: DIESEL })[1];
    expect([1, 2].map((n) => by({ ...short, witnesses: airy(0.25, n) }))).toEqual([
      ...['points.turbo-or-leak', 'points.leak-air'],
    ]);
    // 2.5 % of the air, known to 1.1 %: nothing is known of the boost that it took.
    const none = (excess: number) => by({ absent: true, missed: 1, witnesses: airy(excess, 8) });
    const half = 1.645 * Math.hypot(0.01 / Math.sqrt(8), 0.01);
    expect([0.025 + half + 0.001, 0.025 + half - 0.001].map(none)).toEqual([
      ...['points.leak-air', 'points.turbo-or-leak'],
    ]);
  });
  it('air that is lost is a fifth of the boost that is missing, with the whole interval', () => {
    const of = (excess: number, deviation: number) => {
      const lost = { estimate: estimate(deviation), shortfall: estimate(deviation), witnesses: airy(excess) };
      return said('leak', { low: lost, high: lost }, { profile: DIESEL });
    };
    // A fifth of 50 % is 10 %: with eight pulls the air is known to 1.06 %.
    const half = 1.645 * Math.hypot(0.01 / Math.sqrt(8), 0.01);
    expect(of(0.1 + half + 0.002, -0.5)).toEqual(['fault shown', 'points.leak']);
    expect(of(0.1 + half - 0.002, -0.5)[1]).not.toBe('points.leak');
  });
});

describe('coming and going', () => {
  const gone: Stub = { ...fine, intermittent: true, held: 5, missed: 1 };
  it('is a fault, of the clutch’s contact or of what hangs, and was said when that was said', () => {
    expect(said('intermittent', { low: gone })).toEqual(['fault shown', 'points.contact']);
    expect(said('intermittent', { high: gone })).toEqual(['fault shown', 'points.hangs']);
    const at = (times: Record<string, number>) =>
      found('intermittent', { low: gone }, { saidAtS: (id) => times[id] ?? null }).saidAtS;
    expect(at({ 'boost.intermittent': 90, 'boost.clutch-band': 40 })).toBe(90);
    expect(at({ 'boost.clutch-band': 40 })).toBeNull();
    expect(at({})).toBeNull();
    expect(found('intermittent', { low: gone }).rule.args).toMatchObject({
      ...{ gone: 0.5, surely: 0.2, times: 30, pulls: 6 },
    });
  });
  it('is explained by a clutch that closes late or a turbocharger that does not take over', () => {
    const elsewhere = ['not shown', 'need.elsewhere'];
    expect(said('intermittent', { low: gone }, { clutch: clutch({ late: true }) })).toEqual(elsewhere);
    expect(said('intermittent', { low: gone, high: short }, { clutch: clutch() })).toEqual(elsewhere);
    expect(said('intermittent', { low: gone, high: short })[0]).toBe('fault shown');
    const dead = (goneForLong: boolean) =>
      said(
        'intermittent',
        { low: { ...gone, absent: true, goneForLong } },
        { clutch: clutch({ late: true }) },
      );
    expect(dead(true)[0]).toBe('fault shown');
    expect(dead(false)).toEqual(elsewhere);
  });
  it('is none from six pulls on that held in a region, none missing', () => {
    const held = (n: number, more: Stub = {}) =>
      found('intermittent', { low: { ...fine, held: n, ...more } });
    expect([5, 6].map((n) => held(n).verdict)).toEqual(['not shown', 'shown good']);
    // Where they count, for pulls of other regions do not.
    expect(held(5).needs).toEqual({
      id: 'boost.need.full-pulls',
      args: { pulls: 1, fromRpm: 1200, toRpm: 2400 },
    });
    expect(found('intermittent', { low: { ...fine, held: 2 }, high: { ...fine, held: 4 } }).needs).toEqual({
      id: 'boost.need.full-pulls',
      args: { pulls: 2, fromRpm: 3500, toRpm: 5000 },
    });
    expect(held(9, { missed: 1 }).needs!.id).toBe('boost.need.elsewhere');
    const gone = witness({ deviation: -0.7, held: null });
    expect(held(9, { witnesses: [gone] })).toMatchObject({
      verdict: 'not shown',
      needs: { id: 'boost.need.pulls' },
    });
    const late = { clutch: clutch({ late: true }) };
    expect(said('intermittent', { low: { ...fine, held: 9 } }, late)).toEqual([
      'not shown',
      'need.elsewhere',
    ]);
    const unknown = { fromRpm: 1500, toRpm: 2000, why: 'left-out-short' as const };
    expect(held(9, { unknown }).needs!.id).toBe('boost.need.left-out');
    expect(held(9, { unknown: { ...unknown, why: 'left-out' } }).verdict).toBe('shown good');
    expect(held(9).aside).toBe(true);
  });
});

const good = {
  fromRpm: 2000,
  toRpm: 3500,
  fromDemandPct: 60,
  toDemandPct: 100,
  lossPct: 7,
  weakest: estimate(0),
};

describe('a leak', () => {
  it('of two machines needs no air mass, of one it does', () => {
    expect(said('leak', { low: short, high: short })).toEqual(['fault shown', 'points.leak']);
    expect(said('leak', { low: short, high: short }, { profile: DIESEL })).toEqual([
      ...['not shown', 'need.press-test'],
    ]);
    const sound = { ...short, witnesses: airy(0) };
    expect(said('leak', { low: sound, high: sound })).toEqual(['not shown', 'need.press-test']);
  });
  it('is none where all but the changeover are good', () => {
    expect(said('leak', { low: { ...fine, good }, high: { ...fine, good } })[0]).toBe('shown good');
    expect(said('leak', { low: { ...fine, good }, high: fine })[0]).toBe('not shown');
  });
  it('is shown by air that contradicts the pressure in two regions alike, where pressure is not high', () => {
    const contradicts = (low: Stub, high: Stub) => said('leak', { low, high }, { profile: DIESEL });
    const region = (excess: number, deviation = -0.01, sd = 0.01): Stub => ({
      estimate: estimate(deviation),
      witnesses: airy(excess, 4, sd),
    });
    const lost = ['fault shown', 'points.leak-or-sensor'];
    expect(contradicts(region(0.15), region(0.15))).toEqual(lost);
    expect(contradicts(region(0.15, 0.01), region(0.15, 0.01))[0]).toBe('not shown');
    expect(contradicts(region(0.15, -0.02), region(0.15, 0.01))).toEqual(lost);
    expect(contradicts(region(0.15), {})[0]).toBe('not shown');
    expect(contradicts(region(0.3), region(0))[0]).toBe('not shown');
    expect(contradicts(region(0.3), region(0.1))[0]).toBe('not shown');
    // On which side of none pressure lies is told by what is known best.
    const known = (deviation: number, se: number) => ({
      ...region(0.15),
      estimate: estimate(deviation, { se }),
    });
    expect(contradicts(known(-0.05, 0.01), known(0.1, 0.03))).toEqual(lost);
    expect(contradicts(known(-0.05, 0.03), known(0.1, 0.01))[0]).toBe('not shown');
    expect(contradicts(region(0.15, -1e-5), region(0.15, -1e-5))).toEqual(lost);
    expect(contradicts(region(0.15, 0), region(0.15, 0))[0]).toBe('not shown');
    const f = found('leak', { low: region(0.15), high: region(0.15) }, { profile: DIESEL });
    const half = 100 * 1.645 * Math.hypot(0.01 / Math.sqrt(8), 0.01);
    expect(f.measured).toMatchObject({ value: 15, unit: '%' });
    expect(f.measured!.interval[0]).toBeCloseTo(15 - half, 1);
    expect(f.measured!.interval[1]).toBeCloseTo(15 + half, 1);
    expect(f.limit).toMatchObject({ value: 2.5, unit: '%', source: { id: 'boost.source.air' } });
    expect(f.aside).toBe(true);
  });
  it('in one region alone is shown there, by its air', () => {
    const f = found('above-hand-over', {
      low: fine,
      high: { ...fine, leaks: true, witnesses: airy(0.15) },
    });
    expect(f).toMatchObject({ verdict: 'fault shown', measured: { value: 15, unit: '%' } });
  });
});

describe('too much boost', () => {
  const over: Stub = { ...fine, surplus: true };
  it('points to the control, or to a teacher that was weak itself', () => {
    expect(said('surplus', { low: over })).toEqual(['fault shown', 'points.control-or-teacher']);
    const by = (source: Witness['source']) =>
      said('surplus', { low: { ...over, witnesses: [witness({ source })] } })[1];
    expect(
      ['kind', 'baseline run and kind', 'commanded boost', 'profile'].map((s) => by(s as never)),
    ).toEqual([
      ...['points.control-or-teacher', 'points.control-or-teacher', 'points.control', 'points.control'],
    ]);
    expect(said('surplus', { middle: over })[0]).toBe('not shown');
    // Held against the limit that it must exceed, and at the estimate even where a window is short.
    const most = estimate(0.2);
    const f = found('surplus', { low: { ...over, estimate: most, shortfall: estimate(-0.3) } });
    expect(f).toMatchObject({ measured: { value: 20 }, limit: { value: 12 } });
    const open = { low: fine, high: { ...over, estimate: most } };
    expect(found('clutch-open', open, { clutch: clutch() })).toMatchObject({
      ...{ verdict: 'fault shown', measured: { value: 20 }, limit: { value: 12 } },
    });
    expect(said('surplus', { low: { ...fine, good }, high: { ...fine, good } })[0]).toBe('shown good');
    expect(found('surplus', {}).rule.args).toMatchObject({ limits: 2, confidence: 0.9, z: 3.5 });
  });
});

type Clutch = NonNullable<BoostCase['clutch']>;
const clutch = (more: object = {}): Clutch =>
  ({
    ...{
      late: false,
      mayBeLate: false,
      prompt: false,
      onset: null,
      onsets: [],
      light: [],
      lightMap: [],
      lightAct: null,
    },
    ...{ lightManifold: null, drivenAtLight: null, openAtLight: false, evidence: () => [], ...more },
  }) as unknown as Clutch;

describe('the clutch', () => {
  const times = [
    { fromUs: 20e6, toUs: 22e6, value: 1.5 },
    { fromUs: 30e6, toUs: 33e6, value: 1.7 },
  ];
  it('closes late, where its band is not dead', () => {
    const onset = { mean: 1.604, se: 0.1, n: 2 };
    const of = (low: Stub, more: object) => found('late', { low }, { clutch: clutch(more) });
    const late = of(fine, { late: true, onset, onsets: times });
    expect(late).toMatchObject({
      ...{ verdict: 'fault shown', fromS: 20, toS: 33, pointsTo: { id: 'boost.points.closes-late' } },
      measured: { value: 1.6, unit: 's', interval: [1.44, 1.77] },
      limit: { value: 1, unit: 's' },
    });
    // Late pressure counts for more than pulls that were over before it could come.
    expect(of({ ...absent, goneForLong: true }, { late: true }).needs!.id).toBe('boost.need.elsewhere');
    expect(of(absent, { late: true, onset, onsets: times }).verdict).toBe('fault shown');
    expect(of(fine, { prompt: true }).verdict).toBe('shown good');
    expect(of(fine, {}).needs).toMatchObject({ id: 'boost.need.tip-ins', args: { tips: 3, holdS: 3 } });
    expect(of(fine, {})).toMatchObject({ fromS: null, toS: null, measured: null });
    // What its pulls miss is that.
    expect(said('clutch-band', { low: short, high: fine }, { clutch: clutch({ late: true }) })).toEqual([
      ...['not shown', 'need.elsewhere'],
    ]);
  });
  it('does not open, by the charge pipe or by too much boost above', () => {
    const of = (more: object, high: Stub = {}, c: Partial<BoostCase> = {}) =>
      found('clutch-open', { high }, { clutch: clutch(more), ...c });
    expect(of({ drivenAtLight: 'charge' }).pointsTo!.id).toBe('boost.points.does-not-open');
    // Printed is what shows it.
    const light = {
      lightAct: { mean: 1, se: 0.2, n: 4 },
      lightManifold: { mean: 9, se: 1, n: 3 },
      lightMap: times,
    };
    expect(of({ ...light, drivenAtLight: 'manifold' })).toMatchObject({
      ...{ verdict: 'fault shown', limit: { value: 5 }, measured: { value: 9 } },
    });
    expect(of({}, { ...fine, surplus: true }).verdict).toBe('fault shown');
    expect(of({}, fine).verdict).toBe('not shown');
    expect(of({ openAtLight: true }).verdict).toBe('shown good');
    expect(of({}).needs).toMatchObject({
      ...{ id: 'boost.need.light', args: { holdS: 30, fromRpm: 1500, toRpm: 3000, pulls: 2 } },
    });
    const act = of({ lightAct: { mean: 1.26, se: 0.2, n: 4 }, light: times });
    expect(act).toMatchObject({
      ...{ fromS: 20, toS: 33, limit: { value: 2 } },
      measured: { value: 1.3, unit: 'kPa', interval: [0.9, 1.6] },
    });
    const manifold = of({ lightManifold: { mean: -30, se: 1, n: 4 }, lightMap: times });
    expect(manifold).toMatchObject({ fromS: 20, toS: 33, limit: { value: 5 }, measured: { value: -30 } });
  });
  it('opens, by a manifold below barometric in four stretches where boost above is good', () => {
    const good = {
      fromRpm: 3500,
      toRpm: 5000,
      fromDemandPct: 60,
      toDemandPct: 100,
      lossPct: 7,
      weakest: estimate(0),
    };
    const taught = { ...mergeLessons([]), runs: 2 };
    const of = (mean: number, n: number, more: object = {}, c: Partial<BoostCase> = {}) =>
      found(
        'clutch-open',
        { high: { ...fine, good } },
        {
          baseline: taught,
          ...c,
          clutch: clutch({ lightManifold: { mean, se: 1, n }, lightMap: times, ...more }),
        },
      ).verdict;
    expect([-1.6, -1.7].map((mean) => of(mean, 4))).toEqual(['not shown', 'shown good']);
    expect([3, 4].map((n) => of(-30, n))).toEqual(['not shown', 'shown good']);
    expect(of(-30, 4, { lightAct: { mean: 3, se: 1, n: 4 }, light: times })).toBe('not shown');
    expect(of(-30, 4, {}, { baseline: null })).toBe('not shown');
    const kind = { ...mergeLessons([]), kind: {} } as unknown as BoostCase['baseline'];
    expect(of(-30, 4, {}, { baseline: kind })).toBe('not shown');
  });
});

describe('what to drive next', () => {
  const next = (high: Stub, more: Partial<BoostCase> = {}) => {
    const { id, args } = found('above-hand-over', { high }, more).needs!;
    return [id.replace('boost.need.', ''), args];
  };
  it('is first of all a signal that is missing', () => {
    const without = (signal: string) =>
      next(fine, { signals: new Set(['map_kpa', 'rpm'].filter((s) => s !== signal)) })[0];
    expect([without('map_kpa'), without('rpm')]).toEqual(['map', 'rpm']);
    expect(next(fine, { demandName: null })[0]).toBe('demand');
    expect(next({ ...fine, intermittent: true })[0]).toBe('repair-first');
  });
  it('is a baseline where nothing says what is due', () => {
    const asked = { fromDemandPct: 70, holdS: 3, warmC: 70, pulls: 3 };
    const none = { baseline: null };
    expect(next({}, none)).toEqual(['baseline-engagements', { ...asked, fromRpm: 3500, toRpm: 5000 }]);
    const low = found('low-speed', {}, { ...none, profile: DIESEL }).needs!;
    expect([low.id, low.args]).toEqual([
      'boost.need.baseline-pulls',
      { ...asked, fromRpm: 1200, toRpm: 2000 },
    ]);
    const high = found('above-hand-over', {}, { ...none, profile: DIESEL }).needs!;
    expect(high.args).toMatchObject({ fromRpm: 2000, toRpm: 3500 });
    expect(next({}, { ...none, signals: new Set(['map_kpa', 'rpm', 'boost_cmd_kpa']) })[0]).toBe('pulls');
    // As many as are still missing, and none once they are there.
    const driven = (n: number) => Array.from({ length: n }, () => witness());
    expect([1, 2, 3].map((n) => next({ driven: driven(n) }, none)[0])).toEqual([
      ...['baseline-engagements', 'baseline-engagements', 'baseline'],
    ]);
    expect(next({ driven: driven(2) }, none)[1]).toMatchObject({ pulls: 1 });
    expect(next(fine, none)[0]).toBe('pulls');
  });
  it('is where nothing is known, or was left out', () => {
    const unknown = { fromRpm: 3500, toRpm: 4000, why: 'untaught' as const };
    expect(next({ ...fine, unknown })).toEqual([
      ...['untaught', { fromRpm: 3500, toRpm: 4000, fromDemandPct: 60 }],
    ]);
    expect(next({ ...fine, unknown: { ...unknown, why: 'left-out' } })).toEqual([
      ...['left-out', { fromRpm: 3500, toRpm: 4000, fromDemandPct: 60, holdS: 3 }],
    ]);
    expect(next({ ...fine, unknown }, { baseline: null })[0]).toBe('pulls');
  });
  it('is the pull again that looked odd', () => {
    const odd = witness({ fromUs: 44e6, rpm: [3600, 4100], boostKpa: 30, expectedKpa: 90 });
    expect(next({ ...fine, odd })).toEqual([
      'again',
      { atS: 44, fromRpm: 3600, toRpm: 4100, boostKpa: 30, expectedKpa: 90 },
    ]);
    expect(next({ ...fine, odd: witness({ expectedKpa: null }) })[0]).toBe('pulls');
  });
  it('is so many pulls, from 70 % demand for 3 s at 70 °C, through the speeds that block', () => {
    const pulls = (high: Stub) => next({ ...fine, ...high });
    const how = { fromDemandPct: 70, holdS: 3, warmC: 70, fromRpm: 3500, toRpm: 5000 };
    expect(pulls({ lacks: { pulls: 2, warm: true, through: [] } })).toEqual(['pulls', { ...how, pulls: 2 }]);
    expect(pulls({ lacks: { pulls: 0, warm: false, through: [] } })).toEqual(['pulls', { ...how, pulls: 1 }]);
    const through = [{ fromRpm: 1000, toRpm: 1550 }];
    expect(pulls({ lacks: { pulls: 0, warm: true, through }, toGo: null })).toEqual([
      ...['pulls', { ...how, fromRpm: 1000, toRpm: 1550, pulls: 1 }],
    ]);
    const at = { fromRpm: 4000, toRpm: 4500 };
    expect(pulls({ toGo: { ...at, pulls: 12, lifted: false } })).toEqual([
      'pulls',
      { ...how, ...at, pulls: 12 },
    ]);
    expect(pulls({ toGo: { ...at, pulls: null, lifted: false } })).toEqual([
      'one-day',
      { ...how, ...at, pulls: 5 },
    ]);
    expect(pulls({ toGo: null })).toEqual(['one-day', { ...how, pulls: 5 }]);
  });
  it('is another drive that teaches where boost lies above what taught, and only where a drive did', () => {
    const above = { ...fine, toGo: { fromRpm: 4000, toRpm: 4500, pulls: null, lifted: true } };
    expect(next(above)).toEqual(['above', { fromRpm: 4000, toRpm: 4500, fromDemandPct: 60 }]);
    expect(next({ ...above, toGo: { ...above.toGo, lifted: false } })[0]).toBe('one-day');
    const commanded = [witness({ deviation: 0, source: 'commanded boost' })];
    expect(next({ ...above, witnesses: commanded })[0]).toBe('one-day');
    const fewer = { pulls: 1, warm: true, through: [] };
    expect(next({ ...above, lacks: fewer })[0]).toBe('pulls');
  });
  it('is like air where warmth alone keeps it open, however many pulls', () => {
    const taught: BoostBaseline = { ...mergeLessons([]), runs: 3, airC: [22, 0] };
    const far = (
      runVariance: number,
      warmVariance: number,
      deviation = 0,
      airC: number | null = -3,
      of = taught,
      warmBelow = Number.POSITIVE_INFINITY,
    ) =>
      next(
        {
          estimate: estimate(deviation, { runVariance, warmVariance, warmBelow }),
          witnesses: [witness({ airC })],
        },
        { baseline: of },
      );
    // 1.645 · 0.061 = 10.03 %: no number of pulls rules 10 % out; 1.645 · 0.06 = 9.87 % they may.
    expect(far(0.061 ** 2, 0.06 ** 2)).toEqual(['like-air', { airC: -3, taughtC: 22 }]);
    expect(far(0.06 ** 2, 0.059 ** 2)[0]).toBe('pulls');
    // Nor would they in like air.
    expect(far(0.09 ** 2, 0.03 ** 2)[0]).toBe('pulls');
    // A shortfall that would be sure in like air; one that is sure as it is.
    expect(far(0.061 ** 2, 0.06 ** 2, -0.2)[0]).toBe('like-air');
    expect(far(0.05 ** 2, 0.049 ** 2, -0.2)[0]).toBe('pulls');
    // No car's air takes 15 %: more pulls show it.
    expect(far(0.061 ** 2, 0.06 ** 2, -0.2, -3, taught, 0.15)[0]).toBe('pulls');
    expect(far(0.061 ** 2, 0.06 ** 2, 0, null)[0]).toBe('air-unread');
    expect(far(0.061 ** 2, 0.06 ** 2, 0, -3, { ...taught, airC: [7, 36] })[0]).toBe('air-unread');
    const kind = { ...mergeLessons([]), kind: { airC: [18, 0] as const } } as unknown as typeof taught;
    expect(far(0.061 ** 2, 0.06 ** 2, 0, -3, kind)).toEqual(['like-air', { airC: -3, taughtC: 18 }]);
  });
  it('is own drives where only the kind says what is due', () => {
    const kind = { ...fine, witnesses: [witness({ source: 'kind', cars: 5 })] };
    const toGo = (pulls: number | null) => ({ toGo: { fromRpm: 3500, toRpm: 5000, pulls, lifted: false } });
    const own = next({ ...kind, ...toGo(null) });
    expect(own[0]).toBe('own-baseline');
    expect(own[1]).toMatchObject({ pulls: 3, cars: 5, within: expect.closeTo(1.96 * 0.01, 9) });
    expect(next({ ...kind, ...toGo(12) })[0]).toBe('pulls');
  });
  it('for a leak and too much boost is of the first region that is not good', () => {
    const of = (low: Stub, high: Stub) =>
      ['leak', 'surplus'].map((id) => found(id, { low, high }).needs!.args.fromRpm);
    expect(of(fine, { ...fine, good })).toEqual([1200, 1200]);
    expect(of({ ...fine, good }, fine)).toEqual([3500, 3500]);
  });
});

describe('the evidence', () => {
  const many = (n: number, more: (k: number) => Partial<Witness>) =>
    Array.from({ length: n }, (_, k) => witness({ fromUs: k * 10e6, toUs: (k * 10 + 3) * 1e6, ...more(k) }));
  const times = (witnesses: readonly Witness[], e: Estimate | null = estimate(0)) =>
    found('above-hand-over', {
      high: { witnesses, estimate: e, lacks: { pulls: 1, warm: true, through: [] } },
    }).evidence.map((x) => x.fromS / 10);
  it('is of twelve pulls at the most: the clearest misses and the newest', () => {
    expect(times(many(12, () => ({})))).toHaveLength(12);
    expect(times(many(14, () => ({})))).toEqual([2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13]);
    const missed = many(20, (k) => ({ held: k !== 1 && k !== 3 }));
    expect(times(missed)).toEqual([1, 3, ...Array.from({ length: 10 }, (_, k) => 10 + k)]);
    const all = many(20, (k) => ({ held: k >= 9 }));
    expect(times(all)).toEqual([0, 1, 2, 3, 4, 5, ...[14, 15, 16, 17, 18, 19]]);
  });
  const patch = (rpm: number, deviation: number, w = 1) =>
    ({ at: patchAt(rpm, 95), w, deviation: w * deviation }) as Witness['patches'][number];
  it('is of those that deviate most where the estimate was taken', () => {
    const e = estimate(-0.2);
    const at = (deviations: Record<number, [rpm: number, deviation: number]>) =>
      times(
        many(20, (k) => ({
          patches: [patch(deviations[k]?.[0] ?? 2600, deviations[k]?.[1] ?? 0.01)],
        })),
        e,
      ).slice(0, 3);
    expect(at({ 1: [2600, -0.3], 2: [2600, -0.5], 3: [4200, -0.9], 4: [2600, 0.5] })).toEqual([1, 2, 10]);
  });
  it('leaves out what only brushed a region for less than 0.4 s, where others did not', () => {
    const brushed = (us: number) =>
      times([...many(2, () => ({})), witness({ fromUs: 500e6, toUs: 500e6 + us })]);
    expect([399_999, 400_000].map((us) => brushed(us).length)).toEqual([2, 3]);
    expect(times([witness({ fromUs: 5e6, toUs: 5e6 })])).toHaveLength(1);
    expect(times([witness(), witness({ fromUs: 500e6, toUs: 500e6, held: false })])).toHaveLength(2);
  });
  it('leaves out a pull above the least of any engine where others are held against what is expected', () => {
    const least = (boostKpa: number, more: Partial<Witness> = {}) =>
      witness({ deviation: null, expectedKpa: 20, leastKpa: [20, 20], boostKpa, ...more });
    const shown = (list: readonly Witness[], e: Estimate | null) =>
      found('above-hand-over', { high: { estimate: e, shortfall: e, witnesses: list } }).evidence.filter(
        (x) => x.text.id === 'boost.seen.pull-due',
      ).length;
    const all = [witness(), least(25), least(20), least(19), least(25, { held: false })];
    expect(shown(all, estimate(-0.25))).toBe(2);
    // Nothing else is known.
    expect(shown(all, null)).toBe(4);
  });
  it('of a shortfall begins with where it was surest, as far as it was driven', () => {
    const e = estimate(-0.25, { pulls: 2 });
    const witnesses = [
      witness({ patches: [patch(2600, -0.2)], rpm: [1800, 2700] }),
      witness({ patches: [patch(2600, -0.4)], rpm: [2200, 3400], fromUs: 40.04e6, toUs: 42.06e6 }),
      witness({ patches: [patch(4200, -0.9)], rpm: [4100, 4400], fromUs: 70e6, toUs: 72e6 }),
    ];
    const [first] = found('above-hand-over', { high: { estimate: e, shortfall: e, witnesses } }).evidence;
    expect(first).toMatchObject({
      ...{ fromS: 40, toS: 42.1 },
      text: {
        id: 'boost.seen.surest',
        args: { fromRpm: 2000, toRpm: 3000, fromDemandPct: 60, byKpa: -25, expectedKpa: 100, pulls: 2 },
      },
    });
    const narrow = witnesses.slice(0, 1).map((w) => ({ ...w, rpm: [2300, 2700] as const }));
    const [only] = found('above-hand-over', {
      high: { estimate: e, shortfall: e, witnesses: narrow },
    }).evidence;
    expect(only!.text.args).toMatchObject({ fromRpm: 2300, toRpm: 2700 });
    // Shown only together with another region: of the pulls of both.
    const of = { estimate: e, shortfall: e, shared: e };
    const [both] = found(
      'above-hand-over',
      { low: { witnesses }, high: { ...of, witnesses: [] } },
      { profile: DIESEL },
    ).evidence;
    expect(both!.text.id).toBe('boost.seen.surest');
  });
  it('says of a pull what it gave, in its gear, and what was due', () => {
    const text = (more: Partial<Witness>) => {
      const f = found('above-hand-over', { high: { witnesses: [witness(more)] } });
      return f.evidence.at(-1)!.text;
    };
    expect(text({})).toMatchObject({
      id: 'boost.seen.pull-expected',
      args: { boostKpa: 90, expectedKpa: 100, range: { args: { fromRpm: 2100, kmh: 25, atRpm: 1000 } } },
    });
    const due = (more: Partial<Witness>) => text({ deviation: null, ...more });
    expect(due({ expectedKpa: 40, leastKpa: [40, 40] })).toMatchObject({
      ...{ id: 'boost.seen.pull-due', args: { leastKpa: 40 } },
    });
    // Half of it at less demand: what is due by what, and what that makes.
    expect(due({ expectedKpa: 27, leastKpa: [20, 40] })).toMatchObject({
      id: 'boost.seen.pull-due-by-demand',
      args: { lowKpa: 20, highKpa: 40, highFromPct: 70, leastKpa: 27 },
    });
    // Held against what this car gave, for want of any such: no word of any engine.
    expect(due({})).toMatchObject({ id: 'boost.seen.pull' });
    expect(text({ expectedKpa: null }).id).toBe('boost.seen.pull');
    expect(text({ ratio: null }).args.range).toMatchObject({ id: 'boost.seen.range' });
  });
  it('names what it was held against, and how many cars', () => {
    const of = (witnesses: readonly Witness[]) =>
      found('above-hand-over', { high: { witnesses, estimate: estimate(0) } });
    const source = (s: Witness['source'], more: Partial<BoostCase> = {}) =>
      found('above-hand-over', { high: { witnesses: [witness({ source: s })], estimate: estimate(0) } }, more)
        .limit!.source.id;
    expect(source('commanded boost')).toBe('boost.source.commanded');
    expect(source('profile')).toBe('boost.source.profile');
    expect(source('baseline run')).toBe('boost.source.baseline');
    expect(source('least of any healthy engine')).toBe('boost.source.default');
    // The last pull with an expectation tells.
    const last = of([witness({ source: 'kind' }), witness({ deviation: null, source: 'profile' })]);
    expect(last.limit!.source.id).toBe('boost.source.kind');
    const cars = (...list: [cars: number, n: number][]) => {
      const f = of(list.map(([c, n]) => witness({ source: 'baseline run and kind', cars: c, n })));
      expect(f.evidence[0]!.text.id).toBe('boost.seen.baseline-and-kind');
      return f.limit!.source.args;
    };
    expect(cars([5, 6], [9, 2])).toEqual({ cars: 6, within: expect.closeTo(1.96 * 0.01, 9) });
    expect(cars([0.5, 6]).cars).toBe(1);
    expect(cars([5, 6], [0, 60]).cars).toBe(5);
    expect(of([witness({ source: 'kind', cars: 3 })]).evidence[0]).toMatchObject({
      ...{ fromS: 10, toS: 13, text: { id: 'boost.seen.kind', args: { cars: 3 } } },
    });
    expect(of([witness()]).evidence).toHaveLength(1);
  });
});

describe('a car whose induction is not known', () => {
  const by = (guess: string | null) =>
    ({ guess: () => guess }) as unknown as NonNullable<BoostCase['induction']>;
  it('is judged by a guess that is named, and asked for it', () => {
    const of = (high: Stub, guess: string | null) =>
      JSON.stringify(found('above-hand-over', { high }, { profile: DIESEL, induction: by(guess) }));
    expect(of(fine, null)).toContain('boost.need.induction"');
    expect(of(fine, 'turbocharger')).toContain('boost.need.induction-guessed');
    expect(of(short, null)).toContain('boost.rule.no-induction');
    expect(of(short, null)).not.toContain('boost.need.induction');
    expect(of(short, 'turbocharger')).toContain('boost.rule.guessed');
    expect(of(short, 'turbocharger')).toContain('boost.rule.region');
  });
  it('without a charger has no boost to judge', () => {
    expect(boostFindings(caseOf({}, { profile: { induction: 'naturally aspirated' } }))).toEqual([]);
  });
});
