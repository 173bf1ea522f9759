/** What the boost detector shows while driving and keeps of each pull; each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { BoostDetector } from '../../src/analysis/boost/detector.ts';
import { type BoostBaseline, CELLS, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import type { CleanSample } from '../../src/analysis/types.ts';
import type { Profile } from '../../src/core/profile.ts';
import { type HandMadeDrive, type HandMadePull, handMade, rise } from './hand-made.ts';

const DIESEL: Profile = { induction: 'turbocharger', fuel: 'diesel' };
const TWIN: Profile = { induction: 'twin-charged', fuel: 'petrol' };
/** Gauge 80 kPa everywhere. */
const BASE: BoostBaseline = {
  ...mergeLessons([]),
  ...{
    runs: 9,
    pulls: 90,
    reference: 'gauge',
    baroKpa: 100,
    airC: [20, 0],
    noiseScale: { slow: 1, fast: 1 },
  },
  kpa: Array.from({ length: CELLS }, () => 80),
  runsAt: Array.from({ length: CELLS }, () => 9),
  pullsAt: Array.from({ length: CELLS }, () => 90),
};
const PULL: HandMadePull = { fromRpm: 2000, toRpm: 3000, s: 6, boost: rise(80, 0.5) };
const clean = (more: Partial<HandMadeDrive> = {}): CleanSample[] =>
  handMade({ pulls: [PULL], hz: 5, ...more }).map(({ signal, tUs, value }) => ({
    signal,
    tUs,
    value,
    flag: null,
  }));
function driven(
  samples: readonly CleanSample[],
  profile: Profile = DIESEL,
  baseline: BoostBaseline | null = BASE,
) {
  const d = new BoostDetector({ profile, baseline });
  const said = samples.flatMap((s) => d.step(s));
  const findings = d.finish(samples.at(-1)!.tUs);
  return { d, said, findings, pulls: d.pulls() };
}
/** The drive up to `s` seconds after the tip-in of its first pull. */
const upTo = (
  s: number,
  more: Partial<HandMadeDrive> = {},
  profile: Profile = DIESEL,
  base: BoostBaseline | null = BASE,
) => {
  const d = new BoostDetector({ profile, baseline: base });
  const all = clean(more);
  // Key on 6 s, idle 8 s, light driving 12 s.
  const said = all.filter((x) => x.tUs < (26 + s) * 1e6).flatMap((x) => d.step(x));
  return { d, said, view: d.view() };
};

it('after half a minute without a demand nothing will come of driving at little of it', () => {
  const given = (s: number) => {
    const d = new BoostDetector({ profile: TWIN, baseline: null });
    const seen = clean().filter((x) => ['map_kpa', 'rpm', 'baro_kpa'].includes(x.signal));
    const atUs = seen[0]!.tUs + s * 1e6;
    for (const x of seen.filter((x) => x.tUs < atUs)) d.step(x);
    d.step({ signal: 'rpm', tUs: atUs, value: 2000, flag: null });
    return d.given().get('boost.clutch-open');
  };
  expect(given(29.9)).toMatchObject({ share: 0, left: null });
  expect(given(30)).toMatchObject({ share: 0, left: { id: 'leg.left.signal' }, over: true });
});

describe('a pull that is kept', () => {
  it('has its speeds, gear, boost and outcome', () => {
    const [pull] = driven(clean()).pulls;
    expect(pull).toMatchObject({ engagement: false, held: true, gear: expect.any(Number) });
    expect(pull!.kmhAt1000Rpm).toBeCloseTo(1000 / 38, 0);
    expect(Math.round(pull!.kmhAt1000Rpm! * 10) / 10).toBe(pull!.kmhAt1000Rpm);
    expect([pull!.rpmFrom, pull!.rpmTo].every(Number.isInteger)).toBe(true);
    expect(pull!.rpmTo - pull!.rpmFrom).toBeGreaterThan(800);
    expect(Math.abs(pull!.shortfallPct!)).toBeLessThan(3);
    expect(pull!.boostKpa.at(-1)).toBeCloseTo(80, -1);
    const [short] = driven(clean({ pulls: [{ ...PULL, boost: rise(20, 0.5) }] })).pulls;
    expect(short).toMatchObject({ held: false });
    expect(short!.shortfallPct).toBeGreaterThan(70);
    expect(short!.shortfallPct).toBeLessThan(80);
    const [weak] = driven(clean({ pulls: [{ ...PULL, boost: rise(60, 0.5) }] })).pulls;
    expect(weak!.held).toBeNull();
    const [unknown] = driven(clean(), DIESEL, null).pulls;
    expect(unknown).toMatchObject({ held: true, shortfallPct: null });
  });
  it('has the gear that the whole drive makes of it: a shorter one that comes later moves it up', () => {
    // From 40 s on, light driving before the second pull, the road is half as fast for the same engine speed.
    const samples = clean({ pulls: [PULL, PULL] }).map((s) =>
      s.signal === 'speed_kmh' && s.tUs > 40e6 ? { ...s, value: Math.round(s.value / 2) } : s,
    );
    const d = new BoostDetector({ profile: DIESEL, baseline: BASE });
    for (const s of samples) d.step(s);
    expect(d.pulls()[0]!.gear).toBe(1);
    d.finish(samples.at(-1)!.tUs);
    expect(d.pulls().map((p) => p.gear)).toEqual([2, 1]);
  });
  it('lasts 1.2 s from 60 % demand on', () => {
    const n = (more: Partial<HandMadePull>) => driven(clean({ pulls: [{ ...PULL, ...more }] })).pulls.length;
    expect([0.8, 3].map((s) => n({ s }))).toEqual([0, 1]);
    expect([55, 65].map((demandPct) => n({ demandPct }))).toEqual([0, 1]);
  });
  it('engages a clutch from 60 % demand on, below its band, or below the hand-over after a sudden demand', () => {
    const engages = (fromRpm: number, demandPct = 95, profile = TWIN) =>
      driven(clean({ pulls: [{ ...PULL, fromRpm, toRpm: fromRpm + 600, demandPct }] }), profile).pulls[0]!
        .engagement;
    expect([2000, 3000, 3700].map((rpm) => engages(rpm))).toEqual([true, true, false]);
    expect(engages(2000, 95, DIESEL)).toBe(false);
    const late: Profile = { ...TWIN, engagementDemandPct: { value: 90, source: 'entered' } };
    expect([75, 95].map((pct) => engages(2000, pct, late))).toEqual([false, true]);
  });
  it('draws what was expected, to a tenth, within 1.96 of all that scatters', () => {
    const { d } = driven(clean());
    const [band] = d.expectedBands();
    expect(band!.t.length).toBeGreaterThan(15);
    expect([band!.lowKpa.length, band!.highKpa.length]).toEqual([band!.t.length, band!.t.length]);
    const [low, high] = [band!.lowKpa.at(-1)!, band!.highKpa.at(-1)!];
    expect((low + high) / 2).toBeCloseTo(80, 0);
    const sd = Math.hypot(0.008 / 3, (0.7 * 0.018) / Math.sqrt(90), 0.6 / 80, 0.008, 0.018, 0.01);
    expect((high - low) / 2).toBeCloseTo(1.96 * sd * 80, 0);
    expect(driven(clean(), DIESEL, null).d.expectedBands()).toEqual([]);
  });
});

describe('the view', () => {
  it('shows boost against what is expected while a pull is driven', () => {
    const { view } = upTo(4);
    expect(view).toMatchObject({ baroKpa: 100, pulling: true, engagement: false, demandName: 'pedal_d_pct' });
    expect(view.boostKpa).toBeGreaterThan(70);
    expect(view.expectedKpa![0]).toBeLessThan(80);
    expect(view.expectedKpa![1]).toBeGreaterThan(80);
    expect(upTo(-2).view).toMatchObject({ pulling: false, expectedKpa: null });
    expect(upTo(4, { pulls: [{ ...PULL, demandPct: 55 }] }).view.pulling).toBe(false);
    expect(upTo(4, { pulls: [{ ...PULL, demandPct: 65 }] }).view.pulling).toBe(true);
  });
  it('shows from the least of any healthy engine to three times as much where nothing is known', () => {
    expect(upTo(4, {}, DIESEL, null).view.expectedKpa).toEqual([40, 120]);
    const none = { baroSensor: false, keyOnS: 0, pulls: [PULL] };
    expect(upTo(-2, none, TWIN, null).view).toMatchObject({
      baroKpa: null,
      boostKpa: null,
      expectedKpa: null,
    });
  });
  it('says what the last pull came to', () => {
    const last = (boost: number, profile = DIESEL) => {
      const { d } = driven(clean({ pulls: [{ ...PULL, boost: rise(boost, 0.5) }] }), profile);
      return d.view().last!.text;
    };
    expect(last(80)).toMatchObject({ id: 'boost.last.held', args: { kind: 'pull' } });
    expect(last(20)).toMatchObject({ id: 'boost.last.missed' });
    expect(last(60).id).toBe('boost.last.open');
    // Once it was spoken of, less than was due is called short.
    const twice = clean({ pulls: [PULL, PULL].map((p) => ({ ...p, boost: rise(60, 0.5) })) });
    expect(driven(twice).d.view().last!.text).toMatchObject({
      ...{ id: 'boost.last.short', args: { shortfall: expect.closeTo(0.25, 1) } },
    });
    expect(last(80, TWIN)).toMatchObject({ id: 'boost.last.held', args: { kind: 'engagement' } });
    expect(upTo(-5).view.sentence.id).toBe('boost.view.no-pull');
    const breathing: Profile = { induction: 'naturally aspirated' };
    expect(upTo(-5, {}, breathing).view.sentence.id).toBe('boost.view.no-charger');
  });
  it('counts engagements that held and missed, below the changeover', () => {
    const low = { ...PULL, fromRpm: 1400, toRpm: 2300 };
    const counted = (boost: number, from = low) =>
      driven(clean({ pulls: [{ ...from, boost: rise(boost, 0.3) }] }), TWIN).d.view().engagements;
    expect(counted(80)).toEqual({ held: 1, missed: 0 });
    expect(counted(10)).toEqual({ held: 0, missed: 1 });
    expect(counted(80, { ...PULL, fromRpm: 3600, toRpm: 4400 })).toEqual({ held: 0, missed: 0 });
  });
  it('maps each cell by its pulls: some, enough from three on, bad where one missed', () => {
    const states = (n: number, boost: number) => {
      const { d } = driven(
        clean({ pulls: Array.from({ length: n }, () => ({ ...PULL, boost: rise(boost, 0.5) })) }),
      );
      return new Set(
        d
          .view()
          .map.filter((c) => c.pulls > 0)
          .map((c) => c.state),
      );
    };
    expect([1, 2, 3].map((n) => [...states(n, 80)])).toEqual([['some'], ['some'], ['enough']]);
    expect([...states(1, 20)]).toEqual(['bad']);
    const empty = driven(clean())
      .d.view()
      .map.filter((c) => c.pulls === 0);
    expect(empty.every((c) => c.state === 'empty')).toBe(true);
    expect(empty.length).toBeGreaterThan(10);
  });
});

describe('a pull without boost', () => {
  const dead = { pulls: [{ ...PULL, s: 8, boost: () => 1 }] };
  it('is spoken of before it ends, two seconds after it began at the soonest', () => {
    // While it is driven the sentence of state does not say that none was.
    const state = (s: number) => upTo(s, dead).view.sentence.id;
    for (const s of [0.5, 2, 2.5, 3, 4]) {
      const { said: all, view } = upTo(s, dead);
      if (view.last === null)
        expect(view.sentence.id).toBe(all.length > 0 ? 'boost.view.missing-now' : 'boost.view.no-pull');
    }
    expect([0.5, 4].map(state)).toEqual(['boost.view.no-pull', 'boost.view.missing-now']);
    const said = (s: number) => upTo(s, dead).said.length > 0;
    expect(said(2)).toBe(false);
    expect(said(7)).toBe(true);
    const { said: all } = driven(clean(dead));
    const [first] = all;
    expect(first!.finding).toMatchObject({ id: 'boost.above-hand-over', verdict: 'fault shown' });
    expect(first!.finding.saidAtS).toBe(first!.atS);
    expect(first!.atS).toBeLessThan(26 + 8);
    expect(new Set(all.map((s) => s.finding.id)).size).toBe(all.length);
  });
  it('is not, where it brings more than 15 kPa', () => {
    const said = (kpa: number) => upTo(7, { pulls: [{ ...PULL, s: 8, boost: () => kpa }] }).said.length > 0;
    expect(said(20)).toBe(false);
  });
  it('is judged also where the pressure is flagged as stuck at barometric', () => {
    const stuck = (kpa: number) => {
      const samples = clean({ pulls: [{ ...PULL, s: 8, boost: () => kpa }] }).map((s): CleanSample => {
        const inPull = s.tUs > 26e6 && s.tUs < 34e6;
        return s.signal === 'map_kpa' && inPull ? { ...s, value: 100 + kpa, flag: 'stuck' } : s;
      });
      return driven(samples).findings.find((f) => f.id === 'boost.above-hand-over')!.verdict;
    };
    expect(stuck(0)).toBe('fault shown');
    expect(stuck(6)).toBe('not shown');
  });
});

describe('a signal that comes late', () => {
  const pulls = Array.from({ length: 14 }, (_, k) => ({ ...PULL, fromRpm: 1500 + 40 * k, toRpm: 3200 }));
  const late = (byS: number, boostKpa: number) =>
    driven(
      clean({ pulls: pulls.map((p) => ({ ...p, boost: rise(boostKpa, 0.5) })) })
        .map((s) => (s.signal === 'map_kpa' ? { ...s, tUs: s.tUs + byS * 1e6 } : s))
        .sort((a, b) => a.tUs - b.tUs),
    );
  const shown = ({ findings }: Pick<ReturnType<typeof late>, 'findings'>) =>
    findings.filter((f) => f.verdict === 'fault shown').map((f) => f.id);
  it('leaves boost unjudged, and takes back what was spoken of', () => {
    expect(shown(late(0, 80))).toEqual([]);
    expect(shown(late(0, 40))).toContain('boost.above-hand-over');
    const { said, findings } = late(2, 40);
    expect(shown({ findings })).toEqual(['sensor.late']);
    const boost = findings.filter((f) => f.id.startsWith('boost.'));
    expect(boost.length).toBeGreaterThan(4);
    expect(said.length).toBeGreaterThan(0);
    expect(said.map((s) => s.finding.id)).not.toContain('sensor.late');
    for (const f of boost) {
      const atS = said.find((s) => s.finding.id === f.id)?.atS;
      expect(f).toMatchObject({ verdict: 'not shown', evidence: [], measured: null, saidAtS: null });
      expect(f.excluded ?? []).toEqual([]);
      expect(f.needs).toMatchObject(
        atS === undefined
          ? { id: 'sensor.late.need', args: { signal: 'map_kpa' } }
          : { id: 'sensor.late.need-said', args: { signal: 'map_kpa', atS } },
      );
    }
  });
  it('of the air mass leaves the pressure judged as if no air mass had been read', () => {
    // A fifth more air than the pressure accounts for: by it, were it in time, air is lost.
    const air = (rpm: number, kpa: number): number => (14.7 * 1.2 * rpm * kpa) / 1e5;
    const taught: BoostBaseline = {
      ...BASE,
      air: Array.from({ length: 12 }, () => ({ mean: 14.7, sd: 0.012, airC: [20, 0] as const })),
    };
    const of = (byS: number | null, boostKpa: number) => {
      const samples = clean({ pulls: pulls.map((p) => ({ ...p, boost: rise(boostKpa, 0.5) })), air })
        .filter((s) => byS !== null || s.signal !== 'maf_gps')
        .map((s) => (s.signal === 'maf_gps' ? { ...s, tUs: s.tUs + byS! * 1e6 } : s))
        .sort((a, b) => a.tUs - b.tUs);
      const { d, findings } = driven(samples, DIESEL, taught);
      return { given: d.given(), map: d.view().map, findings };
    };
    const boost = ({ findings }: ReturnType<typeof of>) =>
      findings.filter((f) => f.id.startsWith('boost.')).map((f) => ({ ...f, saidAtS: null }));
    const byAir = of(0, 70).findings.find((f) => f.signals.includes('maf_gps'));
    expect(byAir?.id).toMatch(/^boost\./);
    for (const kpa of [80, 40]) {
      const late = of(2, kpa);
      const without = of(null, kpa);
      expect(shown(late)).toContain('sensor.late');
      expect(boost(late).some((f) => f.signals.includes('maf_gps'))).toBe(false);
      expect(boost(late)).toEqual(boost(without));
      expect([late.given, late.map]).toEqual([without.given, without.map]);
    }
    expect(shown(of(2, 40))).toContain('boost.above-hand-over');
  });
  it('is not looked for where no charger is', () => {
    const plain: Profile = { induction: 'naturally aspirated', fuel: 'petrol' };
    const samples = clean({ pulls })
      .map((s) => (s.signal === 'map_kpa' ? { ...s, tUs: s.tUs + 2e6 } : s))
      .sort((a, b) => a.tUs - b.tUs);
    expect(driven(samples, plain).findings.map((f) => f.id)).not.toContain('sensor.late');
    expect(driven(samples).findings.map((f) => f.id)).toContain('sensor.late');
  });
});

describe('a pressure sensor at fault', () => {
  /** Four good pulls, then for so long the pressure stands still while the engine turns faster and slower. */
  const thenStill = (s: number) => {
    const before = clean({
      pulls: [PULL, PULL, PULL, PULL].map((p) => ({ ...p, fromRpm: 1500, toRpm: 3200 })),
    });
    const fromUs = before.at(-1)!.tUs;
    const still = Array.from({ length: 2 * s }, (_, k): CleanSample[] => {
      const tUs = fromUs + (k + 1) * 0.5e6;
      return [
        { signal: 'rpm', value: k % 8 < 4 ? 1000 : 2500, tUs, flag: null },
        { signal: 'map_kpa', value: 90, tUs, flag: null },
      ];
    }).flat();
    const { findings } = driven([...before, ...still]);
    const high = findings.find((f) => f.id === 'boost.above-hand-over')!;
    const sensor = findings.find((f) => f.id === 'sensor.map_kpa')!;
    return [sensor.verdict === 'fault shown', high.verdict, high.needs?.id ?? null] as const;
  };
  it('leaves no boost shown good that rests on it, whatever was pulled before', () => {
    expect(thenStill(100)).toEqual([false, 'shown good', null]);
    expect(thenStill(130)).toEqual([true, 'not shown', 'boost.need.sensor']);
  });
  it('leaves no fault either that rests on a reading that stood still, and names what it takes back', () => {
    /** Good pulls, then the pressure stands still in further ones. */
    const pulls = Array.from({ length: 12 }, () => ({ ...PULL, fromRpm: 1500, toRpm: 3200 }));
    const stuckFromS = (fromS: number, kpa: number) => {
      const all = clean({ pulls }).map((s) =>
        s.signal === 'map_kpa' && s.tUs > fromS * 1e6 ? { ...s, value: 100 + kpa } : s,
      );
      return driven(all);
    };
    const { said, findings } = stuckFromS(110, 0);
    const sensor = said.find((s) => s.finding.id === 'sensor.map_kpa')!;
    const boost = said.filter((s) => s.finding.id.startsWith('boost.'));
    expect(boost.length).toBeGreaterThan(0);
    expect(boost.every((s) => s.atS < sensor.atS)).toBe(true);
    expect(findings.filter((f) => f.verdict === 'fault shown').map((f) => f.id)).toEqual(['sensor.map_kpa']);
    const [first] = boost;
    expect(findings.find((f) => f.id === first!.finding.id)).toMatchObject({
      ...{
        saidAtS: null,
        pointsTo: null,
        needs: { id: 'boost.need.sensor-said', args: { atS: first!.atS } },
      },
    });
    expect(findings.flatMap((f) => f.excluded ?? [])).toEqual([]);
    const ranges = findings.filter((f) => f.excluded !== undefined);
    expect(ranges.map((f) => f.measured)).toEqual(ranges.map(() => null));
    const still = sensor.finding.fromS!;
    expect(ranges.flatMap((f) => f.evidence).filter((e) => e.toS > still)).toEqual([]);
    expect(ranges.flatMap((f) => f.evidence).length).toBeGreaterThan(0);
  });
  it('but is cleared, and no boost at all stands, where the engine draws in no more than the pressure at rest accounts for', () => {
    const index = 14.7;
    const taught: BoostBaseline = {
      ...BASE,
      air: BASE.air.map(() => ({ mean: index, sd: 0.012, airC: [20, 0] as const })),
    };
    /** The reading stands at barometric pressure throughout; what the engine draws in tells. */
    const judged = (boostKpa: number, base: BoostBaseline, stillFromS = 0) => {
      const pulls = Array.from({ length: 12 }, () => ({
        ...{ ...PULL, fromRpm: 1500, toRpm: 3200 },
        boost: () => boostKpa,
      }));
      const air = (rpm: number, mapKpa: number) => (index * rpm * mapKpa) / 1e5;
      const samples = clean({ pulls, air }).map((s) => (s.signal === 'map_kpa' ? { ...s, value: 100 } : s));
      return driven([...idling(stillFromS), ...later(samples, stillFromS)], DIESEL, base);
    };
    /** Nobody pulls yet, while engine speed moves. */
    const idling = (s: number): CleanSample[] =>
      Array.from({ length: 2 * s }, (_, k): CleanSample[] => [
        { signal: 'map_kpa', value: 100, tUs: k * 0.5e6, flag: null },
        { signal: 'rpm', value: k % 8 < 4 ? 1000 : 2500, tUs: k * 0.5e6, flag: null },
      ]).flat();
    const later = (samples: readonly CleanSample[], s: number) =>
      samples.map((o) => ({ ...o, tUs: o.tUs + s * 1e6 }));
    const faults = (...of: Parameters<typeof judged>) =>
      judged(...of)
        .findings.filter((f) => f.verdict === 'fault shown')
        .map((f) => f.id);
    expect(faults(0, taught)).toEqual(['boost.low-speed', 'boost.above-hand-over']);
    expect(faults(80, taught)).toEqual(['sensor.map_kpa']);
    expect(faults(0, BASE)).toEqual(['sensor.map_kpa']);
    expect(judged(0, taught).said.map((s) => s.finding.id)).not.toContain('sensor.map_kpa');
    const { said, findings } = judged(0, taught, 150);
    const sensor = said.filter((s) => s.finding.id === 'sensor.map_kpa');
    expect(sensor.map((s) => s.atS)).toEqual([120]);
    expect(findings.find((f) => f.id === 'sensor.map_kpa')).toMatchObject({
      ...{ verdict: 'not shown', needs: { id: 'boost.need.taken-back', args: { atS: 120 } } },
    });
    expect(findings.filter((f) => f.verdict === 'fault shown').map((f) => f.id)).toEqual([
      ...['boost.low-speed', 'boost.above-hand-over'],
    ]);
  });
  it('and lets stand what was spoken of before it stood still', () => {
    const none = [PULL, PULL].map((p) => ({ ...p, boost: () => 0 }));
    const late = Array.from({ length: 9 }, () => PULL);
    const samples = clean({ pulls: [...none, ...late] }).map((s) =>
      s.signal === 'map_kpa' && s.tUs > 70e6 ? { ...s, value: 93 } : s,
    );
    const { findings } = driven(samples);
    const shown = findings.filter((f) => f.verdict === 'fault shown');
    expect(shown.map((f) => f.id)).toContain('sensor.map_kpa');
    expect(shown.find((f) => f.id === 'boost.above-hand-over')!.saidAtS).toBeLessThan(70);
  });
});
