/** A fleet of simulated drives, each drawn from its seed: car, route, fault, weather, height, link speed, sensors. */

import { Judge } from '../../src/analysis/judge.ts';
import type { Profile } from '../../src/core/profile.ts';
import { type Random, seededRandom } from '../../src/core/random.ts';
import { createVehicle, ROUTES, VEHICLES } from '../../src/sim/vehicle/vehicle.ts';
import { english } from '../../src/words/spelled.ts';

const WANTED = [
  ...['ambient_c', 'baro_kpa', 'ect_c', 'iat_c', 'load_pct', 'maf_gps', 'map_kpa', 'pedal_d_pct', 'rpm'],
  ...['speed_kmh', 'voltage_v'],
];
/** Faults of the cooling, and the pattern of ANALYSIS section 4 that a finding should name. */
export const COOLING_FAULTS: Readonly<Record<string, string>> = {
  healthy: 'none',
  'no-circulation': 'no circulation',
  'thermostat-shut': 'no circulation',
  'pump-fading': 'flow',
  'fan-dead': 'fan or airflow',
  'thermostat-open': 'thermostat open',
  'air-in-system': 'air',
  'coolant-sensor-spikes': 'sensor',
};
const FAULTS = Object.keys(COOLING_FAULTS);

export interface FleetDrive {
  readonly seed: number;
  readonly vehicle: string;
  readonly route: string;
  readonly fault: string;
  readonly ambientC: number;
  readonly hz: number;
  readonly hours: number;
  readonly highestC: number;
  /** The drive asked of the faulty part what it cannot do; told from the simulated truth. True for a healthy car. */
  readonly exercised: boolean;
  readonly coolant: string;
  readonly boost: string;
  readonly cause: string;
  readonly saidAtS: number | null;
  readonly alarms: readonly string[];
}

/** The thermostat of every simulated car is shut below this, and a fan is called for from here on, °C. */
const WARM_C = 86;
const FAN_C = 97;
/** Driven warm for this long a part has been asked. */
const ASKED_S = 300;

/**
 * Whether the truth asked for the part: a fan by coolant at its temperature; an open thermostat by driving for ten
 * minutes; a shut one, no circulation and a failing pump by an engine hot for minutes; bubbles and spikes by driving.
 */
function exercisedBy(
  fault: string,
  t: { fanS: number; hotS: number; drivenS: number; lateHotS: number },
): boolean {
  if (fault === 'fan-dead') return t.fanS >= 30;
  if (fault === 'thermostat-open') return t.drivenS >= 2 * ASKED_S;
  if (fault === 'pump-fading') return t.lateHotS >= ASKED_S;
  if (fault === 'thermostat-shut' || fault === 'no-circulation') return t.hotS >= 60;
  return fault === 'healthy' || t.drivenS >= ASKED_S;
}

/** Every third drive is healthy; the others go through the faults in turn. */
export function fleetDrive(seed: number): FleetDrive {
  const random = seededRandom(`fleet/${seed}`);
  const fault = seed % 3 === 0 ? 'healthy' : FAULTS[1 + (seed % (FAULTS.length - 1))]!;
  const car = pick(random, VEHICLES);
  const routes = ROUTES.filter((r) => r.name !== 'short');
  // Every other drive is long enough for a verdict.
  const route =
    Math.floor(seed / 3) % 2 === 0 ? ROUTES.find((r) => r.name === 'proving-drive')! : pick(random, routes);
  const ambientC = Math.round(random.between(-15, 36));
  // Height: 0 to 1500 m in the standard atmosphere (ISO 2533: 11.3 kPa less for the first thousand metres).
  const baroKpa = 101.3 * (1 - 2.2558e-5 * random.between(0, 1500)) ** 5.2559;
  const hz = Math.round(30 ** random.next() * 10) / 10;
  const noiseC = random.next() < 0.5 ? 0 : random.between(0.2, 0.8);
  const stepC = pick(random, [1, 1, 0.75]);
  const vehicle = createVehicle({
    vehicle: car.name,
    route: route.name,
    seed,
    ambientC,
    baroKpa,
    faults: fault === 'healthy' ? [] : [{ name: fault }],
  });
  const profile: Profile = { induction: car.induction, fuel: car.fuel };
  const judge = new Judge(profile, null);
  const names = WANTED.filter((s) => vehicle.supported.includes(s));
  let highestC = 0;
  const truth = { fanS: 0, hotS: 0, drivenS: 0, lateHotS: 0 };
  for (let k = 0; vehicle.timeS < route.lengthS; k++) {
    vehicle.advance(1 / hz);
    const { coolantC, running, vehicleMps } = vehicle.truth;
    if (running && coolantC >= FAN_C && vehicleMps < 2) truth.fanS += 1 / hz;
    if (running && coolantC >= WARM_C) truth.hotS += 1 / hz;
    // The pump has lost its flow by then.
    if (running && coolantC >= WARM_C && vehicle.timeS > 720) truth.lateHotS += 1 / hz;
    if (running && vehicleMps > 2) truth.drivenS += 1 / hz;
    const signal = names[k % names.length]!;
    const read = vehicle.ignition ? vehicle.signal(signal) : null;
    if (read === null) continue;
    const noisy = signal === 'ect_c' && noiseC > 0 ? read + noiseC * random.normal() : read;
    const value = signal === 'ect_c' ? Math.round(noisy / stepC) * stepC : read;
    if (signal === 'ect_c') highestC = Math.max(highestC, value);
    const tUs = Math.round(vehicle.timeS * 1e6);
    judge.push({ signal, tUs, sentUs: tUs, value });
  }
  const j = judge.finish('');
  const faults = j.findings.filter((f) => f.verdict === 'fault shown');
  const own = faults.filter((f) => f.system === 'coolant').sort((a, b) => a.saidAtS! - b.saidAtS!);
  return {
    seed,
    vehicle: car.name,
    route: route.name,
    fault,
    ambientC,
    hz,
    hours: route.lengthS / 3600,
    highestC,
    exercised: exercisedBy(fault, truth),
    coolant: j.systems.coolant.verdict,
    boost: j.systems.boost.verdict,
    cause: own[0]
      ? causeOf(own[0].id, own[0].pointsTo ? english.say(own[0].pointsTo) : '')
      : faults.some((f) => f.id === 'sensor.ect_c')
        ? 'sensor'
        : 'none',
    saidAtS: own[0]?.saidAtS ?? null,
    alarms: faults.map((f) => f.id),
  };
}

export function causeOf(id: string, pointsTo: string): string {
  if (id === 'coolant.too-cold' || id === 'coolant.warm-up') return 'thermostat open';
  if (id === 'coolant.jumps') return 'air';
  if (/^fan/.test(pointsTo)) return 'fan or airflow';
  return /^coolant flow/.test(pointsTo) ? 'flow' : 'no circulation';
}

function pick<T>(random: Random, list: readonly T[]): T {
  return list[Math.floor(random.next() * list.length)]!;
}
