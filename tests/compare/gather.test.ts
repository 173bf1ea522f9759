/** What a comparison keeps of a run: pulls, tip-ins, air, warm-up and plateau; each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { type Gathered, Gathering } from '../../src/compare/gather.ts';
import type { Profile } from '../../src/core/profile.ts';
import type { Sample } from '../../src/core/signals.ts';
import { type HandMadeDrive, type HandMadePull, handMade, rise } from '../analysis/hand-made.ts';

const DIESEL: Profile = { induction: 'turbocharger', fuel: 'diesel' };
const PULL: HandMadePull = { fromRpm: 2000, toRpm: 3000, s: 6, boost: rise(80, 0.5) };
function gathered(samples: Iterable<Sample>, profile: Profile = DIESEL): Gathered {
  const g = new Gathering(profile);
  for (const s of samples) g.push(s);
  return g.finish();
}
const drive = (more: Partial<HandMadeDrive> = {}, profile: Profile = DIESEL) =>
  gathered(handMade({ pulls: [PULL], hz: 5, ...more }), profile);

describe('a pull', () => {
  it('is its settled points, four a second at the most, with its gear and without a road', () => {
    const { pulls, demandName } = drive({ hz: 10 });
    expect([pulls.length, demandName]).toEqual([1, 'pedal_d_pct']);
    const [first] = pulls;
    expect(first).toMatchObject({ way: null, grade: null, ratio: expect.closeTo(38, 0) });
    const apart = first!.points
      .slice(1)
      .map((p, k) => Math.round((p.tUs - first!.points[k]!.tUs) / 1e4) / 100);
    expect(new Set(apart)).toEqual(new Set([0.3]));
    expect(first!.points.length).toBeGreaterThan(8);
    expect(first!.points.every((p) => p.power === null && p.demand > 60 && p.rpm > 2000)).toBe(true);
    expect(first!.points.at(-1)!.mapKpa).toBeGreaterThan(170);
    // At four a second exactly every one of them counts.
    const four = drive({ hz: 4 }).pulls[0]!.points;
    expect(four[1]!.tUs - four[0]!.tUs).toBe(250_000);
  });
  it('counts from 60 °C to below the limit, or where the coolant is not known', () => {
    const n = (ectC: number, profile = DIESEL) => drive({ ectC }, profile).pulls.length;
    expect([59, 60, 104, 105].map((c) => n(c))).toEqual([0, 1, 1, 0]);
    const hot: Profile = { ...DIESEL, coolantLimitC: { value: 95, source: 'entered' } };
    expect([94, 95].map((c) => n(c, hot))).toEqual([1, 0]);
    const all = handMade({ pulls: [PULL], hz: 5 }).filter((s) => s.signal !== 'ect_c');
    expect(gathered(all).pulls).toHaveLength(1);
  });
  it('whose pressure stands still is none, but where it stands at barometric for want of boost', () => {
    const still = (kpa: number) =>
      drive({ pulls: [{ ...PULL, disturb: (_, signal, v) => (signal === 'map_kpa' ? 100 + kpa : v) }] })
        .pulls;
    expect(still(60)).toHaveLength(0);
    expect(still(0)).toHaveLength(1);
  });
  it('is counted apart where no pressure came with it that is believed', () => {
    const pulls = [PULL, PULL, PULL];
    const samples = handMade({ pulls, hz: 5 });
    expect(gathered(samples)).toMatchObject({ unreadPulls: 0, pulls: { length: 3 } });
    const stuck = samples.map((s) => (s.signal === 'map_kpa' ? { ...s, value: 140 } : s));
    expect(gathered(stuck)).toMatchObject({ unreadPulls: 3, pulls: [] });
    const none = samples.filter((s) => s.signal !== 'map_kpa');
    expect(gathered(none)).toMatchObject({ unreadPulls: 3, pulls: [] });
  });
});

it('a pull under a satellite receiver has the grade of its own way, and what is left at each of its moments', () => {
  const samples = handMade({ pulls: [{ ...PULL, s: 12 }], hz: 5 });
  const pedal = samples.filter((s) => s.signal === 'pedal_d_pct' && s.value > 70);
  const [fromUs, toUs] = [pedal[0]!.tUs, pedal.at(-1)!.tUs];
  let [heightM, lastUs] = [300, 0];
  // 5 % uphill while the pedal is down, level before and after.
  const heard = samples.flatMap((s) => {
    if (s.signal !== 'speed_kmh') return [];
    if (s.tUs >= fromUs && s.tUs <= toUs) heightM += (0.05 * s.value * (s.tUs - lastUs)) / 3.6e6;
    lastUs = s.tUs;
    return [
      { ...s, signal: 'gnss_speed_kmh' },
      { ...s, signal: 'gnss_height_m', value: heightM },
    ];
  });
  const [pull] = gathered([...samples, ...heard].sort((a, b) => a.tUs - b.tUs)).pulls;
  expect(pull!.grade!.pct).toBeCloseTo(5, 0);
  // Half-way 2500 rpm, 18.3 m/s, faster by 26.3 km/h in 12 s: 18.3 · (0.61 + 9.81 · 0.05) W/kg.
  const middle = pull!.points.find((p) => p.rpm > 2480)!;
  expect(middle.power!.wkg).toBeGreaterThan(18.5);
  expect(middle.power!.wkg).toBeLessThan(21.5);
});

describe('a tip-in', () => {
  it('is the pressure from a second before demand rose to four after', () => {
    const { tips } = drive({ hz: 10 });
    expect(tips).toHaveLength(1);
    const [tip] = tips;
    const at = tip!.points.map((p) => (p.tUs - tip!.atUs) / 1e6);
    expect([at[0]! >= -1, at[0]! < -0.85, at.at(-1)! <= 4, at.at(-1)! > 3.85]).toEqual([
      true,
      true,
      true,
      true,
    ]);
    expect(tip!.rpm).toBeGreaterThan(1990);
    expect(tip!.rpm).toBeLessThan(2100);
    // Below barometric before, boost after.
    expect(tip!.points[0]!.mapKpa).toBeLessThan(60);
    expect(tip!.points.at(-1)!.mapKpa).toBeGreaterThan(170);
  });
  it('is one only where its time is known to 0.6 s', () => {
    expect([0.8, 1].map((hz) => drive({ hz }).tips.length > 0)).toEqual([false, true]);
  });
});

describe('a run', () => {
  const steady = (seconds: number, at: (t: number) => Readonly<Record<string, number>>): Sample[] =>
    Array.from({ length: seconds }, (_, t) =>
      Object.entries({ ect_c: 90, rpm: 2000, speed_kmh: 80, maf_gps: 20, ...at(t) }).map(
        ([signal, value], k) => ({ signal, value, tUs: t * 1e6 + k, sentUs: t * 1e6 + k }),
      ),
    ).flat();
  it('has its end, its pressures and its barometric pressure', () => {
    const g = drive();
    expect(g.mapCount).toBe(handMade({ pulls: [PULL], hz: 5 }).filter((s) => s.signal === 'map_kpa').length);
    expect(g.endUs).toBe(Math.max(...handMade({ pulls: [PULL], hz: 5 }).map((s) => s.tUs)));
    expect(g.baro).toEqual({ kpa: 100, sdKpa: 0.6, source: 'barometric sensor' });
    expect(g.signals.has('baro_kpa')).toBe(true);
    expect(g.signals.has('maf_gps')).toBe(false);
  });
  it('breathes the air around it, in the middle of all, told by whichever sensor', () => {
    const ambient = gathered(steady(200, (t) => ({ ambient_c: t < 60 ? 30 : 12, iat_c: 20 })));
    expect(ambient.air).toEqual({ c: 12, source: 'ambient temperature' });
    const intake = gathered(steady(200, () => ({ iat_c: 20 })));
    expect(intake.air).toEqual({ c: 20, source: 'intake temperature on the move' });
    expect(gathered(steady(200, () => ({}))).air).toBeNull();
  });
  it('warms up by the heat put in, step by step while the engine runs', () => {
    const { warmUp, heatSource } = gathered(steady(30, (t) => ({ ect_c: 20 + Math.floor(t / 5) })));
    expect(heatSource).toBe('maf_gps');
    expect(warmUp).toEqual({ heat: [100, 200, 300, 400, 500, 600], ectC: [20, 21, 22, 23, 24, 25] });
    const stopped = gathered(steady(30, (t) => ({ rpm: t < 15 ? 2000 : 0 })));
    expect(stopped.warmUp.heat).toHaveLength(3);
    const cold = gathered(
      steady(400, (t) => ({ ect_c: Math.min(90, 30 + Math.floor(t / 5)), ambient_c: 15 })),
    );
    // 30 °C of warming in 150 s at 20 g/s, steps of five seconds.
    expect(cold.heatPerC).toBeCloseTo((150 * 20) / 30, 0);
    expect(gathered(steady(30, () => ({}))).heatPerC).toBeNull();
  });
  it('settles where it settles, by whole degrees', () => {
    const { plateauC, settledS } = gathered(
      steady(900, (t) => ({ ect_c: Math.round(90 + Math.sin(t / 40)) })),
    );
    expect(plateauC).toBeGreaterThan(88.9);
    expect(plateauC).toBeLessThan(91.1);
    expect([...settledS.keys()].every((c) => c >= 89 && c <= 91)).toBe(true);
    const s = [...settledS.values()].reduce((a, x) => a + x, 0);
    expect(s % 5).toBe(0);
    expect(s).toBeGreaterThan(300);
    expect(s).toBeLessThan(900);
    expect(gathered(steady(30, () => ({}))).plateauC).toBeNull();
    // Five minutes and more go by before it is settled: of twenty the most are.
    const long = gathered(steady(1200, (t) => ({ ect_c: Math.round(90 + Math.sin(t / 40)) })));
    expect([...long.settledS.values()].reduce((a, x) => a + x, 0)).toBeGreaterThan(700);
  });
});
