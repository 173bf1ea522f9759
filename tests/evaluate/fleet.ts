/**
 * A fleet of simulated drives for the cooling, each drawn from its seed: car, day, road with hills, link speed, sensors.
 * Numbers may be chosen on even seeds; the evaluation reports odd ones from 461 on: `npx tsx tests/evaluate/fleet.ts [even|odd] [-n seeds] [FAULT…]`.
 */
import { fileURLToPath } from 'node:url';
import { READING_C, STANDS_FROM_C } from '../../src/analysis/coolant/climb.ts';
import { QUICK_S } from '../../src/analysis/coolant/jumps-finding.ts';
import { Judge } from '../../src/analysis/judge.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import type { CleanSample, Finding } from '../../src/analysis/types.ts';
import type { Profile } from '../../src/core/profile.ts';
import { type Random, seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import { createVehicle, ROUTES, VEHICLES } from '../../src/sim/vehicle/vehicle.ts';
import { drawnCar, drawnDay, drawnProvingDrive } from './drawn-car.ts';
import { plainCoolant } from './plain-coolant.ts';

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
  readonly cause: string;
  readonly alarms: readonly string[];
  /** Faults said on the way, whether they stand at the end or not. */
  readonly spoken: readonly string[];
  /** What the plain rule says of the same drive. */
  readonly plain: boolean;
}

/** The thermostat of the simulated cars is shut below this, a drawn one's within 4 °C, °C. */
const WARM_C = 86;
/** Up to here a sound fan may still be off for all that anyone knows of an unknown car, the reading's uncertainty included, °C. */
const FAN_C = STANDS_FROM_C + READING_C;
/** Driven warm for this long a part has been asked. */
const ASKED_S = 300;

/**
 * Whether the truth asked for the part: a fan by coolant hotter than any lets it be at a stand; an open thermostat by driving
 * for ten minutes; a shut one, no circulation and a failing pump by an engine hot for minutes; bubbles and spikes by driving,
 * and bubbles by a reading often enough to see one pass.
 */
function exercisedBy(
  fault: string,
  t: { fanS: number; hotS: number; drivenS: number; lateHotS: number; everyS: number },
): boolean {
  if (fault === 'fan-dead') return t.fanS >= 30;
  if (fault === 'thermostat-open') return t.drivenS >= 2 * ASKED_S;
  if (fault === 'pump-fading') return t.lateHotS >= ASKED_S;
  if (fault === 'thermostat-shut' || fault === 'no-circulation') return t.hotS >= 60;
  if (fault === 'air-in-system' && t.everyS > QUICK_S) return false;
  return fault === 'healthy' || t.drivenS >= ASKED_S;
}

/** What a drive of the fleet gave, before anything judged it. */
export interface FleetSamples {
  readonly about: Pick<
    FleetDrive,
    'seed' | 'vehicle' | 'route' | 'fault' | 'ambientC' | 'hz' | 'hours' | 'highestC' | 'exercised'
  >;
  readonly profile: Pick<Profile, 'induction' | 'fuel'>;
  readonly samples: readonly Sample[];
}

/** Two drives in three are proving drives on a road of their own, long enough for a verdict; the third is any named one. */
export function fleetSamples(fault: string, seed: number): FleetSamples {
  const random = seededRandom(`fleet/${fault}/${seed}`);
  const { name } = pick(random, VEHICLES);
  const named = pick(
    random,
    ROUTES.filter((r) => r.name !== 'short'),
  );
  const route = Math.floor(seed / 2) % 3 < 2 ? drawnProvingDrive(`${fault}/${seed}`) : named.name;
  const day = drawnDay(drawnCar(name, `${fault}/${seed}`), `${fault}/${seed}`, 0, -15);
  const hz = Math.round(30 ** random.next() * 10) / 10;
  const noiseC = random.next() < 0.5 ? 0 : random.between(0.2, 0.8);
  const stepC = pick(random, [1, 1, 0.75]);
  const vehicle = createVehicle({
    ...day.options,
    vehicle: day.car,
    route,
    seed,
    faults: fault === 'healthy' ? [] : [{ name: fault }],
  });
  const names = WANTED.filter((s) => vehicle.supported.includes(s));
  const samples: Sample[] = [];
  let highestC = 0;
  const truth = { fanS: 0, hotS: 0, drivenS: 0, lateHotS: 0, everyS: names.length / hz };
  for (let k = 0; vehicle.timeS < vehicle.route.lengthS; k++) {
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
    samples.push({ signal, tUs, sentUs: tUs, value });
  }
  return {
    about: {
      ...{ seed, vehicle: name, route: vehicle.route.name, fault, ambientC: day.options.ambientC!, hz },
      hours: vehicle.route.lengthS / 3600,
      highestC,
      exercised: exercisedBy(fault, truth),
    },
    profile: { induction: day.car.induction, fuel: day.car.fuel },
    samples,
  };
}

export const fleetDrive = (fault: string, seed: number): FleetDrive => judgedDrive(fleetSamples(fault, seed));

export function judgedDrive({ about, profile, samples }: FleetSamples): FleetDrive {
  const judge = new Judge(profile, null);
  const front = new Plausibility();
  const clean: CleanSample[] = [];
  const spoken = new Set<string>();
  for (const sample of samples) {
    for (const { finding } of judge.push(sample))
      if (finding.verdict === 'fault shown') spoken.add(finding.id);
    clean.push(...front.push(sample));
  }
  const j = judge.finish('');
  const faults = j.findings.filter((f) => f.verdict === 'fault shown');
  const own = faults.filter((f) => f.system === 'coolant').sort((a, b) => a.saidAtS! - b.saidAtS!);
  const plain = plainCoolant([...clean, ...front.finish()]);
  return {
    ...about,
    coolant: j.systems.coolant.verdict,
    cause: own[0] ? causeOf(own[0]) : faults.some((f) => f.id === 'sensor.ect_c') ? 'sensor' : 'none',
    alarms: faults.map((f) => f.id),
    spoken: [...spoken],
    plain: plain.climbS !== null || plain.coldS !== null,
  };
}

/** By what a finding of the coolant points to; two that the drive did not tell apart stand with ", or" between. */
const CAUSES: Readonly<Record<string, string>> = {
  'coolant.points.fan': 'fan or airflow',
  'coolant.points.fan-or-flow': 'fan or airflow, or no circulation',
  'coolant.points.flow': 'flow',
  'coolant.points.flow-or-none': 'flow, or no circulation',
  'coolant.points.no-circulation': 'no circulation',
  'coolant.points.open': 'thermostat open',
  'coolant.points.open-or-sensor': 'thermostat open',
  'coolant.points.weeping': 'thermostat open',
  'coolant.points.air': 'air',
};

export const causeOf = ({ pointsTo }: Finding): string => CAUSES[pointsTo?.id ?? ''] ?? 'another';

function pick<T>(random: Random, list: readonly T[]): T {
  return list[Math.floor(random.next() * list.length)]!;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const odd = process.argv.includes('odd') ? 1 : 0;
  const at = process.argv.indexOf('-n');
  const n = at < 0 ? 4 : Number(process.argv[at + 1]);
  const asked = Object.keys(COOLING_FAULTS).filter((f) => process.argv.includes(f));
  for (const fault of asked.length > 0 ? asked : Object.keys(COOLING_FAULTS))
    for (let k = 1; k <= n; k++) console.log(JSON.stringify(fleetDrive(fault, 2 * k - odd)));
}
