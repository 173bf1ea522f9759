/** What the coolant detector takes for known, shows while driving, says and says again: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { type CoolantBaseline, type CoolantKind, mergeCoolant } from '../../src/analysis/coolant/baseline.ts';
import { CoolantDetector } from '../../src/analysis/coolant/detector.ts';
import type { CleanSample, Spoken } from '../../src/analysis/types.ts';
import type { Profile } from '../../src/core/profile.ts';

const entered = (value: number) => ({ value, source: 'entered' }) as const;
const baseline = (more: Partial<CoolantBaseline> = {}): CoolantBaseline => ({ ...mergeCoolant([]), ...more });
const kind = (valueC: number, far = 0): CoolantKind => ({
  ...{ schema: 'handback.coolant-kind/1', cars: 9, fan: null, warmUp: {} },
  plateau: { value: valueC, cars: 9, sd: 0, far },
});
const detector = (profile: Profile = {}, known: CoolantBaseline | null = null) =>
  new CoolantDetector({ profile, baseline: known });

/** Each second of a drive at 80 km/h, or as `at` says. */
const second = (t: number, ect: number, at: Readonly<Record<string, number>> = {}): CleanSample[] =>
  Object.entries({ ambient_c: 20, ect_c: ect, maf_gps: 20, rpm: 2000, speed_kmh: 80, ...at }).map(
    ([signal, value]) => ({ signal, tUs: t * 1e6, value, flag: null }),
  );
function driven(
  d: CoolantDetector,
  fromS: number,
  toS: number,
  ect: (t: number) => number,
  at: Readonly<Record<string, number>> = {},
): Spoken[] {
  const said: Spoken[] = [];
  for (let t = fromS; t < toS; t++) for (const s of second(t, ect(t), at)) said.push(...d.step(s));
  return said;
}
/** Ten minutes at 90 °C, which swing as a thermostat lets them. */
const swing = (t: number): number => 90 + Math.sin(t / 40);
function settled(profile: Profile = {}, known: CoolantBaseline | null = null): CoolantDetector {
  const d = detector(profile, known);
  driven(d, 0, 600, swing);
  return d;
}

describe('the limit', () => {
  const limit = (profile: Profile, known: CoolantBaseline | null = null) =>
    detector(profile, known).view().limitC;
  it('is 105 °C, or 13 above where the coolant is known to settle, or what was entered', () => {
    expect(limit({})).toBe(105);
    expect(limit({ coolantLimitC: entered(98) })).toBe(98);
    expect([92, 93].map((plateauC) => limit({}, baseline({ plateauC })))).toEqual([105, 106]);
    // A thermostat controls 2 °C above the temperature at which it begins to open.
    expect([90, 91].map((c) => limit({ thermostatC: entered(c) }))).toEqual([105, 106]);
    // What its own drives taught comes before what was entered.
    expect(limit({ thermostatC: entered(95) }, baseline({ plateauC: 93 }))).toBe(106);
  });
  it('of a car known by its kind is 13 above the lowest of it', () => {
    const at = limit({}, baseline({ kind: kind(110) }));
    expect(at).toBeCloseTo(110 - 1.645 * 1 + 13, 6);
    expect(limit({}, baseline({ kind: kind(110, 0.05) }))).toBeCloseTo(at - 5.5, 6);
    expect(limit({}, baseline({ plateauC: 93, kind: kind(110) }))).toBe(106);
  });
});

describe('the view', () => {
  it('has no data before the first step, and the newest reading after it', () => {
    const d = detector();
    expect(d.view()).toMatchObject({ state: 'no data', valueC: null, sentence: { id: 'coolant.view.none' } });
    driven(d, 0, 3, () => 20);
    expect(d.view().valueC).toBe(20);
    driven(d, 3, 6, () => 21);
    // The mean of the step that ended, until a later reading comes.
    expect(d.view()).toMatchObject({ valueC: 20.4, plateauC: null, corridorC: null });
    driven(d, 6, 8, () => 23);
    expect(d.view().valueC).toBe(23);
    d.step({ signal: 'ect_c', tUs: 8e6, value: 200, flag: 'range' });
    d.step({ signal: 'rpm', tUs: 8e6, value: 2000, flag: null });
    expect(d.view().valueC).toBe(23);
  });
  it('draws a corridor from 4 °C below the plateau to what the road explains above it', () => {
    const d = settled();
    const { plateauC, corridorC, state } = d.view();
    expect(state).toBe('settled');
    expect(plateauC).toBeGreaterThan(88);
    expect(plateauC).toBeLessThan(92);
    // Light at 80 km/h 2.6 °C.
    expect(corridorC).toEqual([plateauC! - 4, expect.closeTo(plateauC! + 2.6, 9)]);
    const more = settled({}, baseline({ beyondC: 3 })).view();
    expect(more.corridorC![1]).toBeCloseTo(more.plateauC! + 5.6, 9);
    // Where it settled in cold air is not proved: from below that on, up to where it may stand.
    const cold = detector();
    driven(cold, 0, 700, swing, { ambient_c: -5, maf_gps: 4, speed_kmh: 40 });
    const unproved = cold.view();
    expect(unproved.plateauC).toBeCloseTo(90, 0);
    expect(unproved.corridorC).toEqual([unproved.plateauC! - 4, expect.closeTo(97 + 3, 9)]);
    // Drives that settled higher raise it, lower ones do not lower it.
    expect(settled({}, baseline({ leastPlateauC: 95 })).view().plateauC).toBe(95);
    expect(settled({}, baseline({ leastPlateauC: 70 })).view().plateauC).toBe(plateauC);
  });
});

/** Never settled, and standing. */
function unsettled(toC: number): CoolantDetector {
  const d = detector();
  const perS = (toC - 60) / 600;
  driven(d, 0, 600, (t) => 60 + perS * t, { rpm: 800, speed_kmh: 0, maf_gps: 3 });
  driven(d, 600, 640, () => toC, { rpm: 800, speed_kmh: 0, maf_gps: 3 });
  return d;
}

describe('coolant too hot to drive on', () => {
  const asked = (d: CoolantDetector) =>
    new Set(d.finish(640e6).flatMap((f) => (f.verdict === 'not shown' ? [f.needs!.id] : [])));
  const DRIVES_ON = ['settle', 'more', 'moving', 'asked', 'fan', 'fan-asked'].map(
    (n) => `coolant.needs.${n}`,
  );

  it('is that from 97 °C on without a plateau: no finding and no leg sends it on', () => {
    const [warm, hot] = [unsettled(96.9), unsettled(97.1)];
    expect([warm.tooHot, hot.tooHot]).toEqual([false, true]);
    expect(hot.view().tooHot).toBe(true);
    const left = (d: CoolantDetector) =>
      ['coolant.climb', 'coolant.fan', 'coolant.warm-up'].map((id) => d.given().get(id)!);
    expect(left(hot).map((g) => [g.left?.id, g.over])).toEqual([
      ['leg.left.cool', true],
      ['leg.left.cool', true],
      ['leg.left.cool', true],
    ]);
    expect(left(warm)[0]!.left?.id).not.toBe('leg.left.cool');
    const needs = asked(hot);
    expect(needs).toContain('coolant.needs.no-plateau');
    for (const id of DRIVES_ON) expect(needs).not.toContain(id);
    expect(asked(warm)).toContain('coolant.needs.settle');
  });
  it('is that within 3 °C of the limit, settled or not', () => {
    const stood = (c: number) => {
      const d = settled();
      // As a stand explains.
      driven(d, 600, 760, (t) => Math.min(c, 90 + (t - 600) / 12), { speed_kmh: 0 });
      return d;
    };
    expect([101.9, 102.1].map((c) => stood(c).tooHot)).toEqual([false, true]);
    expect(stood(102.1).given().get('coolant.fan')).toMatchObject({ left: { id: 'leg.left.cool' } });
    expect(stood(102.1).view().sentence).toMatchObject({
      ...{ id: 'coolant.view.near-limit', args: { limitC: 105 } },
    });
  });
  it('and is not called opening, settling or settled', () => {
    const d = detector();
    driven(d, 0, 700, (t) => Math.min(96, 30 + t / 10));
    expect(d.view().sentence.args).toMatchObject({ state: 'opening' });
    d.step({ signal: 'ect_c', tUs: 701e6, value: 97, flag: null });
    expect(d.view().sentence.args).toMatchObject({ state: 'none of them', nowC: 97 });
    const far = settled();
    driven(far, 600, 605, swing);
    expect(far.view().sentence.args).toMatchObject({ state: 'settled' });
    const newest = (value: number) => {
      far.step({ signal: 'ect_c', tUs: 606e6, value, flag: null });
      return (far.view().sentence.args as { state: string }).state;
    };
    const { plateauC } = far.view();
    expect([3, 3.1, -6, -6.1].map((c) => newest(plateauC! + c))).toEqual([
      ...['settled', 'none of them', 'settled', 'none of them'],
    ]);
    expect(newest(114)).toBe('none of them');
  });
  it('nor rising where it has stood for a minute after it rose', () => {
    const d = settled();
    const stand = { speed_kmh: 0, rpm: 800 };
    const ids = [0, 10, 20, 30, 40, 50, 60, 70].map((s) => {
      if (s === 0) driven(d, 600, 690, (t) => 90 + (8 * (t - 600)) / 90, stand);
      else driven(d, 680 + s, 690 + s, (t) => (t % 20 < 10 ? 98 : 97.6), stand);
      return d.view().sentence.id;
    });
    expect(ids[0]).toBe('coolant.spoken.watch-high');
    expect(ids.slice(-2)).toEqual(['coolant.view.watch-high', 'coolant.view.watch-high']);
  });
  it('nor settled where it moved by more than 6 °C within a minute, as after a hot restart', () => {
    const fell = (fallC: number) => {
      const d = settled();
      driven(d, 600, 650, (t) => 93 - (fallC * (t - 600)) / 50);
      return d;
    };
    const state = (d: CoolantDetector) => (d.view().sentence.args as { state: string }).state;
    expect([5, 8.5].map((c) => state(fell(c)))).toEqual(['settled', 'none of them']);
    const still = fell(8.5);
    driven(still, 650, 720, () => 86);
    expect(state(still)).toBe('settled');
  });
});

/** A degree each ten seconds, from 600 s on. */
const climbing = (t: number): number => 90 + (t - 600) / 10;

describe('a climb', () => {
  it('is said, and said again after a minute while it lasts', () => {
    const d = settled();
    const said = driven(d, 600, 900, climbing).filter((s) => s.finding.id === 'coolant.climb');
    expect(said.length).toBeGreaterThan(2);
    const apart = said.slice(1).map((s, k) => s.atS - said[k]!.atS);
    expect(new Set(apart)).toEqual(new Set([60]));
    expect(said.every((s) => s.finding.verdict === 'fault shown')).toBe(true);
    expect(d.view().state).toBe('climbing');
    expect(d.suspicion).toBeGreaterThan(0.9);
    const before = settled();
    driven(before, 600, 720, climbing);
    const [low, high] = before.view().minutesToLimit!;
    // Three degrees at six a minute.
    expect(low).toBeLessThanOrEqual(0.6);
    expect(high).toBeGreaterThanOrEqual(0.4);
  });
  it('names as plateau only what this drive or a baseline settled at', () => {
    const said = (airC: number, known: CoolantBaseline | null = null) => {
      const d = detector({ coolantLimitC: entered(120) }, known);
      // Light in cold air: where it settled is not proved.
      const light = { ambient_c: airC, maf_gps: 4, speed_kmh: 40 };
      driven(d, 0, 700, swing, light);
      driven(d, 700, 1000, (t) => 90 + (t - 700) / 12, light);
      const text = d.finish(1000e6).find((f) => f.id === 'coolant.climb')!.evidence[0]!.text;
      return [text.id, Math.round((text.args as { plateauC: number }).plateauC)];
    };
    expect(said(20)).toEqual(['coolant.seen.climb', 90]);
    expect(said(-5)).toEqual(['coolant.seen.climb-assumed', 97]);
    expect(said(-5, baseline({ leastPlateauC: 98 }))).toEqual(['coolant.seen.climb', 98]);
  });
  it('drives no leg that was not driven: a climb without a plateau leaves steady load open', () => {
    const d = detector();
    driven(d, 0, 500, (t) => Math.min(112, 30 + t / 6));
    const [leg] = [d.given().get('coolant.climb')!];
    expect(d.finish(500e6).find((f) => f.id === 'coolant.climb')!.verdict).toBe('fault shown');
    expect(leg).toMatchObject({ share: 0, over: true, left: { id: 'leg.left.repair' } });
  });
  it('is put right before anything else is driven for', () => {
    const d = settled();
    driven(d, 600, 900, climbing);
    const findings = d.finish(900e6);
    expect(findings.find((f) => f.id === 'coolant.climb')!.verdict).toBe('fault shown');
    const open = findings.filter((f) => f.verdict === 'not shown').map((f) => f.needs!.id);
    expect(open.length).toBeGreaterThan(1);
    expect(new Set(open)).toEqual(new Set(['coolant.needs.climb-first']));
    const healthy = settled()
      .finish(600e6)
      .flatMap((f) => f.needs?.id ?? []);
    expect(healthy).not.toContain('coolant.needs.climb-first');
  });
  it('is called one only while it rises, and over once the coolant is back: nobody is told to stop then', () => {
    const d = settled();
    driven(d, 600, 690, climbing);
    const hold = (fromS: number, toS: number, c: number) => driven(d, fromS, toS, () => c);
    hold(690, 800, 99);
    expect(d.view()).toMatchObject({ state: 'climbing', sentence: { id: 'coolant.spoken.limit' } });
    // Falls by 10 °C a minute, then stands at its plateau until the alarm has ended.
    const fell = driven(d, 800, 860, (t) => 99 - (t - 800) / 6);
    expect(fell.map((s) => s.sentence.id)).not.toContain('coolant.spoken.climb');
    const said = driven(d, 860, 1000, () => 89);
    expect(said.filter((s) => s.finding.id === 'coolant.climb')).toEqual([]);
    expect(d.view().sentence).toEqual({ id: 'coolant.view.state', args: { state: 'settled', nowC: 89 } });
  });
  it('ends with the drive: a last step that began after it is not taken', () => {
    const end = (endS: number) => {
      const d = settled();
      driven(d, 600, 603, () => 90);
      return d.finish(endS * 1e6).find((f) => f.id === 'coolant.climb')!.toS;
    };
    expect([599, 600, 603].map(end)).toEqual([600, 600, 603]);
  });
});

describe('a watch', () => {
  /** So much above the plateau for so long, then back, and again `pauseS` later. */
  const twice = (pauseS: number) => {
    const d = settled();
    const rise = (from: number) => (t: number) => 90 + Math.min(4.5, (t - from) / 40) + Math.sin(t / 40) / 2;
    const second = 600 + 260 + pauseS;
    return [
      ...driven(d, 600, 860, rise(600)),
      ...driven(d, 860, second, swing),
      ...driven(d, second, second + 260, rise(second)),
    ].filter((s) => s.finding.id === 'coolant.watch');
  };
  it('has no verdict, and is said again only ten minutes after the last', () => {
    const soon = twice(200);
    expect(soon).toHaveLength(1);
    expect(soon[0]!.finding.verdict).toBe('not shown');
    const late = twice(500);
    expect(late).toHaveLength(2);
    expect(late[1]!.atS - late[0]!.atS).toBeGreaterThanOrEqual(600);
  });
  it('is said once more where it comes near the limit before an alarm does, and to stop then', () => {
    const d = settled({ coolantLimitC: entered(97) });
    const said = driven(d, 600, 900, (t) => 90 + Math.min(4.5, (t - 600) / 40));
    const aloud = said.map((s) => s.sentence.id);
    expect(aloud.slice(0, 3)).toEqual([
      'coolant.spoken.watch',
      'coolant.view.near-limit',
      'coolant.spoken.climb-soon',
    ]);
    expect(said[1]!.finding).toMatchObject({ id: 'coolant.watch', verdict: 'not shown' });
  });
  it('says so near the limit once in ten minutes, however often it ends and begins anew', () => {
    const d = settled({ coolantLimitC: entered(105) });
    const stand = { rpm: 800, speed_kmh: 0, maf_gps: 3 };
    /** Up to just below the limit, back, and up again, each within three minutes. */
    const wave = (t: number) => 97 + 5.6 * Math.sin(((t - 600) / 180) * Math.PI) ** 2;
    const said = driven(d, 600, 1100, wave, stand);
    const near = said.filter((s) => s.sentence.id === 'coolant.view.near-limit');
    expect(near).toHaveLength(1);
  });
  /** Five minutes at a stand: up to `peakC` by 5 °C a minute, and back by 4 °C in 20 s, as a fan takes it. */
  const fan = (peakC: number) => (t: number) => {
    const s = t - 600;
    const first = (peakC - 90) * 12;
    const cycle = (s - first) % 68;
    return s < first ? 90 + s / 12 : cycle < 20 ? peakC - cycle / 5 : peakC - 4 + (cycle - 20) / 12;
  };
  const still = { rpm: 800, speed_kmh: 0, maf_gps: 3 };
  const watches = (said: readonly Spoken[]) => said.filter((s) => s.finding.id === 'coolant.watch').length;
  it('ends where a fan brings the coolant back, and a stand up to 2 °C above that is none again', () => {
    const d = settled();
    expect(watches(driven(d, 600, 708, fan(99), still))).toBe(1);
    expect(d.view().state).toBe('rising');
    driven(d, 708, 750, fan(99), still);
    for (let t = 750; t < 960; t += 5) {
      driven(d, t, t + 5, fan(99), still);
      expect(d.view().state).toBe('settled');
    }
    const stood = (toC: number) => {
      const again = settled();
      driven(again, 600, 960, fan(99), still);
      driven(again, 960, 1400, swing);
      driven(again, 1400, 1640, (t) => 90 + ((toC - 90) * (t - 1400)) / 240, still);
      return again.view().state;
    };
    expect([101, 102].map(stood)).toEqual(['settled', 'rising']);
  });
  it('is none at a stand up to where a fan brought a healthy drive back, and one on the move', () => {
    const taught = baseline({ drives: 1, fansC: [99] });
    expect(watches(driven(settled({}, taught), 600, 960, fan(99), still))).toBe(0);
    expect(watches(driven(settled({}, taught), 600, 960, fan(99), { ...still, speed_kmh: 12 }))).toBe(1);
    expect(watches(driven(settled({}, baseline()), 600, 960, fan(99), still))).toBe(1);
  });
  it('says "more than this driving explains" only of what is, and "rising" only of what rises', () => {
    expect(twice(200)[0]!.sentence.id).toBe('coolant.spoken.watch');
    const d = settled();
    const stand = { rpm: 800, speed_kmh: 0, maf_gps: 3 };
    const said = driven(d, 600, 1100, (t) => Math.min(99, 90 + (t - 600) / 45), stand);
    const watch = said.filter((s) => s.finding.id === 'coolant.watch').map((s) => s.sentence.id);
    expect(watch).toEqual(['coolant.spoken.watch-high']);
    const rising = settled();
    driven(rising, 600, 951, (t) => Math.min(99, 90 + (t - 600) / 45), stand);
    const newest = (c: number) => {
      rising.step({ signal: 'ect_c', tUs: 952e6, value: c, flag: null });
      return rising.view().sentence.id;
    };
    expect([97, 95].map(newest)).toEqual(['coolant.spoken.watch-high', 'coolant.view.watch-high']);
    expect(d.view()).toMatchObject({ state: 'rising', sentence: { id: 'coolant.view.watch-high' } });
  });
});
