/** Each fault moves the measures it must, leaves the others alone, and sets the codes a car would set. */
import { describe, expect, it } from 'vitest';
import { createVehicle, FAULTS } from '../../../src/sim/vehicle/vehicle.ts';
import { drive, mean, type Row } from './drive.ts';

/** What a technician would take from the readings of a run. */
const MEASURES = {
  /** Mean boost missing, kPa, at high demand in the clutch band, from 1 s after the tip-in. */
  bandShortfall: (rows: Row[]) => shortfall(rows, 1100, 2200),
  /** The same above the hand-over, from 2 s after. */
  aboveShortfall: (rows: Row[]) => shortfall(rows, 3700, 6000),
  /** Pressure before the throttle over ambient at light demand, kPa. */
  lightBoost: (rows: Row[]) =>
    mean(
      rows
        .filter((r) => r.read.rpm! > 1800 && r.truth.pedal < 0.2 && r.truth.pedal > 0.05 && quiet(r))
        .map((r) => r.read.boost_act_kpa! - r.read.baro_kpa!),
    ),
  /** Spread of the manifold reading after 300 s, kPa. */
  mapSpan: (rows: Row[]) => {
    const late = rows.filter((r) => r.tS > 300).map((r) => r.read.map_kpa!);
    return Math.max(...late) - Math.min(...late);
  },
  maxCoolant: (rows: Row[]) => Math.max(...running(rows).map((r) => r.truth.coolantC)),
  coolantAt600s: (rows: Row[]) => rows.find((r) => r.tS >= 600)!.truth.coolantC,
  /** Steps of the coolant reading over 4 °C within half a second. */
  coolantJumps: (rows: Row[]) =>
    rows.filter((r, i) => i > 5 && Math.abs(r.read.ect_c! - rows[i - 5]!.read.ect_c!) > 4).length,
  meanVolts: (rows: Row[]) => mean(running(rows).map((r) => r.read.voltage_v!)),
} as const;
type Measure = keyof typeof MEASURES;

/** Change that is mere scatter: the driver meets slightly other speeds when the engine pulls differently. */
const SCATTER: Record<Measure, number> = {
  bandShortfall: 6,
  aboveShortfall: 6,
  lightBoost: 2.5,
  mapSpan: 30,
  maxCoolant: 4.5,
  coolantAt600s: 3,
  coolantJumps: 3,
  meanVolts: 0.15,
};

function running(rows: Row[]): Row[] {
  return rows.filter((r) => r.truth.running && r.truth.runTimeS > 5);
}
/** Not within the seconds after a pull, in which pressure is still trapped. */
let lastPullS = -99;
function quiet(r: Row): boolean {
  if (r.truth.pedal > 0.3 || r.truth.chargeTargetPa > r.truth.baroPa * 1.02) lastPullS = r.tS;
  if (r.tS < lastPullS) lastPullS = -99;
  return r.tS - lastPullS > 6;
}
function shortfall(rows: Row[], fromRpm: number, toRpm: number): number {
  const out: number[] = [];
  let sinceS: number | null = null;
  for (const r of rows) {
    if (r.truth.pedal < 0.8) sinceS = null;
    else sinceS ??= r.tS;
    const settled = sinceS !== null && r.tS - sinceS > (fromRpm > 3000 ? 2 : 1);
    if (settled && r.read.rpm! > fromRpm && r.read.rpm! < toRpm)
      out.push(r.read.boost_cmd_kpa! - r.read.boost_act_kpa!);
  }
  return mean(out);
}
function measure(rows: Row[]): Record<Measure, number> {
  const out = {} as Record<Measure, number>;
  for (const name of Object.keys(MEASURES) as Measure[]) {
    lastPullS = -99;
    out[name] = MEASURES[name](rows);
  }
  return out;
}

interface Expectation {
  readonly fault: string;
  readonly value?: number;
  /** Measures that must change by at least this much, with sign. */
  readonly moves: Partial<Record<Measure, number>>;
  /** Measures that may change besides. */
  readonly may?: readonly Measure[];
  readonly codes: readonly string[];
  readonly stored?: boolean;
}
const EXPECTED: readonly Expectation[] = [
  { fault: 'clutch-never-closes', moves: { bandShortfall: 60 }, codes: ['P1F42'] },
  { fault: 'clutch-circuit-open', moves: { bandShortfall: 60 }, codes: ['P1F42', 'P1F43'] },
  { fault: 'clutch-closes-late', value: 2, moves: { bandShortfall: 8 }, codes: [] },
  { fault: 'clutch-slips', value: 0.5, moves: { bandShortfall: 25 }, codes: [] },
  { fault: 'clutch-sometimes', value: 0.5, moves: { bandShortfall: 12 }, codes: ['P1F42'] },
  { fault: 'clutch-never-opens', moves: { lightBoost: 4 }, may: ['coolantAt600s'], codes: ['P1F41'] },
  {
    fault: 'boost-leak',
    value: 16,
    moves: { bandShortfall: 30, aboveShortfall: 6 },
    may: ['mapSpan'],
    codes: [],
  },
  { fault: 'weak-turbo', moves: { aboveShortfall: 20 }, may: ['mapSpan'], codes: ['P0299'] },
  { fault: 'map-frozen', moves: { mapSpan: -150 }, codes: ['P0106'] },
  {
    fault: 'no-circulation',
    moves: { maxCoolant: 20, coolantAt600s: 15 },
    may: ['meanVolts', 'mapSpan'],
    codes: ['P0217'],
  },
  {
    fault: 'pump-fading',
    moves: { maxCoolant: 15 },
    may: ['coolantAt600s', 'meanVolts', 'mapSpan'],
    codes: ['P0217'],
  },
  {
    fault: 'thermostat-shut',
    moves: { maxCoolant: 20, coolantAt600s: 15 },
    may: ['meanVolts', 'mapSpan'],
    codes: ['P0217'],
  },
  { fault: 'thermostat-open', moves: { coolantAt600s: -15, maxCoolant: -15 }, codes: ['P0128'] },
  { fault: 'air-in-system', moves: { coolantJumps: 20 }, may: ['maxCoolant', 'coolantAt600s'], codes: [] },
  { fault: 'coolant-sensor-spikes', moves: { coolantJumps: 20 }, codes: ['P0119'] },
  { fault: 'no-charging', moves: { meanVolts: -1.4 }, codes: ['P0562'] },
];

const healthy = measure(drive({ route: 'road-test', seed: 3 }).rows);

describe.each(EXPECTED)('$fault', ({ fault, value, moves, may, codes }) => {
  const { vehicle, rows } = drive({
    route: 'road-test',
    seed: 3,
    faults: [{ name: fault, ...(value === undefined ? {} : { value }) }],
  });
  const found = measure(rows);

  it('moves what it must', () => {
    for (const [name, by] of Object.entries(moves) as [Measure, number][]) {
      const change = found[name] - healthy[name];
      expect(Math.sign(change), `${name} ${healthy[name]} → ${found[name]}`).toBe(Math.sign(by));
      expect(Math.abs(change), `${name} ${healthy[name]} → ${found[name]}`).toBeGreaterThan(Math.abs(by));
    }
  });

  it('leaves the rest alone', () => {
    for (const name of Object.keys(MEASURES) as Measure[]) {
      if (name in moves || may?.includes(name)) continue;
      expect(Math.abs(found[name] - healthy[name]), `${name} ${healthy[name]} → ${found[name]}`).toBeLessThan(
        SCATTER[name],
      );
    }
  });

  it('sets its codes, with a freeze frame of what was offered', () => {
    const set = vehicle.codes.map((c) => c.code);
    for (const code of codes) expect(set).toContain(code);
    for (const { freeze } of vehicle.codes)
      expect(Object.keys(freeze ?? {}).sort()).toEqual([...vehicle.supported].sort());
    expect(vehicle.mil).toBe(vehicle.codes.some((c) => c.state === 'stored'));
  });
});

describe('fan-dead', () => {
  it('overheats standing in the yard, where a healthy car holds by its fan', () => {
    const healthyRun = drive({ route: 'static-check', seed: 3 });
    const dead = drive({ route: 'static-check', seed: 3, faults: [{ name: 'fan-dead' }] });
    const highest = (rows: Row[]): number => Math.max(...rows.map((r) => r.truth.coolantC));
    expect(highest(healthyRun.rows)).toBeLessThan(101);
    expect(healthyRun.rows.some((r) => r.truth.fan > 0.4)).toBe(true);
    expect(highest(dead.rows)).toBeGreaterThan(106);
    expect(healthyRun.vehicle.codes).toEqual([]);
    expect(dead.vehicle.codes.map((c) => c.code)).toContain('P0480');
  });
});

it('tests every fault that can be asked for', () => {
  expect([...EXPECTED.map((e) => e.fault), 'fan-dead'].sort()).toEqual(FAULTS.map((f) => f.name).sort());
});

describe('codes over time', () => {
  it('come pending first, stored when the failure comes back, and the lamp with the stored one', () => {
    const vehicle = createVehicle({ route: 'road-test', seed: 3, faults: [{ name: 'clutch-never-closes' }] });
    const seen: string[] = [];
    while (vehicle.timeS < vehicle.route.lengthS) {
      vehicle.advance(0.5);
      const state = vehicle.codes.find((c) => c.code === 'P1F42')?.state ?? 'none';
      if (seen.at(-1) !== state) {
        seen.push(state);
        expect(vehicle.mil).toBe(state === 'stored');
      }
    }
    expect(seen).toEqual(['none', 'pending', 'stored']);
  });

  it('clear only with the engine off; a permanent code and an incomplete readiness stay behind', () => {
    const vehicle = createVehicle({ route: 'road-test', seed: 3, faults: [{ name: 'clutch-never-closes' }] });
    vehicle.advance(vehicle.route.lengthS - 60);
    expect(vehicle.signal('rpm')).toBeGreaterThan(500);
    expect(vehicle.clearCodes()).toBe(false);
    expect(vehicle.mil).toBe(true);
    expect(vehicle.monitors.every((m) => m.complete)).toBe(true);
    vehicle.advance(70);
    expect(vehicle.clearCodes()).toBe(true);
    expect(vehicle.mil).toBe(false);
    expect(vehicle.codes.map((c) => [c.code, c.state, c.permanent])).toEqual([['P1F42', 'cleared', true]]);
    expect(vehicle.monitors.some((m) => !m.complete)).toBe(true);
    expect(vehicle.sinceClear).toEqual({ warmUps: 0, distanceKm: 0, minutes: 0 });
  });
});
