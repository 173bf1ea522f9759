/**
 * Which boost fault the detector names on simulated cars drawn from a seed, on roads with hills: `npx tsx
 * tests/evaluate/boost-sim.ts [even|odd] [-n seeds] [-v]`. Numbers in the detector may be chosen on even seeds; the
 * evaluation reports odd ones from 101 on.
 */

import { fileURLToPath } from 'node:url';
import { learnBoost, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import type { Finding } from '../../src/analysis/types.ts';
import { type Profile, profileSchema } from '../../src/core/profile.ts';
import { type Random, seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import type { Car } from '../../src/sim/vehicle/cars.ts';
import { createVehicle, type VehicleOptions } from '../../src/sim/vehicle/vehicle.ts';
import { clean, judgeBoost, type Outcome, plainFault, plainLesson } from './boost.ts';
import { drawnCar, drawnDay, drawnPulls } from './drawn-car.ts';

const SIGNALS: readonly string[] = [
  'map_kpa',
  'rpm',
  'speed_kmh',
  'pedal_d_pct',
  'boost_act_kpa',
  'boost_cmd_kpa',
  'maf_gps',
  'baro_kpa',
  'ect_c',
  'ambient_c',
];
/** Read at times of its own, so that the others come when they came before it was asked for. */
const AIR = 'ambient_c';
const SLOW = ['baro_kpa', 'ect_c', AIR];
const FAST_HZ = 20;
/** The fleet's drives are read so often, and thinned to as often as the open diesel's. */
const HZ = 5;
export const RATES = [HZ, 1] as const;

export type Knowledge = 'baseline' | 'one drive' | 'commanded' | 'induction only';

export const KNOWN: readonly Knowledge[] = ['baseline', 'one drive', 'commanded', 'induction only'];

interface Asked {
  readonly vehicle: string;
  readonly profile: Profile;
  /** Fault of the simulated car, and the cause that a finding should point to. */
  readonly faults: readonly (readonly [fault: string, cause: string])[];
}

const CARS: readonly Asked[] = [
  {
    vehicle: 'twin-charged',
    profile: profileSchema.parse({ induction: 'twin-charged', fuel: 'petrol' }),
    faults: [
      ['healthy', 'none'],
      ['clutch-never-closes', 'clutch does not close'],
      ['clutch-circuit-open', 'clutch does not close'],
      ['clutch-closes-late', 'late'],
      ['clutch-slips', 'slip'],
      ['clutch-sometimes', 'intermittent'],
      ['clutch-never-opens', 'clutch does not open'],
      ['boost-leak', 'leak'],
      ['weak-turbo', 'turbocharger'],
      ['map-frozen', 'sensor'],
    ],
  },
  {
    vehicle: 'turbo-diesel',
    profile: profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' }),
    faults: [
      ['healthy', 'none'],
      ['boost-leak', 'leak'],
      ['weak-turbo', 'turbocharger'],
      ['map-frozen', 'sensor'],
    ],
  },
];

/** One simulated drive, every signal at its own times, `hz` a second. */
export function simulate(
  vehicle: string | Car,
  route: VehicleOptions['route'] & {},
  fault: string,
  seed: number,
  more: VehicleOptions & { readonly hz?: number } = {},
): Sample[] {
  const v = createVehicle({
    ...{ ...more, vehicle, route, seed },
    faults: fault === 'healthy' ? [] : [{ name: fault }],
  });
  const random = seededRandom(`poll/${seed}`);
  const air = seededRandom(`poll air/${seed}`);
  const names = SIGNALS.filter((s) => v.supported.includes(s));
  const every = names.map((s) => (SLOW.includes(s) ? 1 : 1 / (more.hz ?? FAST_HZ)));
  const drawn = (signal: string): Random => (signal === AIR ? air : random);
  const due = names.map((s, i) => drawn(s).next() * every[i]!);
  const out: Sample[] = [];
  while (v.timeS < v.route.lengthS) {
    v.advance(0.025);
    if (!v.ignition) continue;
    names.forEach((signal, i) => {
      if (v.timeS < due[i]!) return;
      due[i] = v.timeS + every[i]! * drawn(signal).between(0.7, 1);
      const value = v.signal(signal);
      const tUs = Math.round(v.timeS * 1e6) + i;
      if (value !== null) out.push({ signal, tUs, sentUs: tUs, value });
    });
  }
  return out;
}

/** The road test as the page guides it, by the car of `carSeed` on the day of `seed`, each time with its own scatter. */
function guidedDrive(vehicle: string, carSeed: number, seed: number, time: number): Sample[] {
  const day = drawnDay(drawnCar(vehicle, carSeed), carSeed, seed);
  const road = simulate(day.car, 'road-test', 'healthy', 100_000 * time + carSeed, {
    ...day.options,
    hz: HZ,
  });
  return road.flatMap((s) => {
    if (s.signal === 'boost_cmd_kpa') return [];
    return [s.signal === 'maf_gps' ? { ...s, value: s.value * day.meter } : s];
  });
}

/** A sound car's road test against those that taught: all on one day, or each on its own. */
export interface GuidedCase {
  readonly vehicle: string;
  readonly seed: number;
  readonly taught: number;
  readonly oneDay: boolean;
  /** The whole system, and its findings. */
  readonly good: boolean;
  readonly goodIds: readonly string[];
  readonly faults: readonly string[];
  readonly spoken: readonly string[];
}

export function guidedCases(seed: number): GuidedCase[] {
  return CARS.flatMap(({ vehicle, profile }) =>
    [true, false].flatMap((oneDay) => {
      const [own, ...others] = [0, 1, 2, 3].map((k) => clean(guidedDrive(vehicle, seed, oneDay ? 0 : k, k)));
      const lessons = others.map((d) => learnBoost(d, profile));
      return [1, 3].map((taught): GuidedCase => {
        const o = judgeBoost(own!, profile, mergeLessons(lessons.slice(0, taught)));
        const { good: goodIds, faults, spoken } = o;
        return { vehicle, seed, taught, oneDay, good: o.systemGood, goodIds, faults, spoken };
      });
    }),
  );
}

/** A drive of the car of `carSeed`, on a day and a road of `seed`, read five times a second. */
export function drawnDrive(vehicle: string, carSeed: number, fault: string, seed: number): Sample[] {
  const day = drawnDay(drawnCar(vehicle, carSeed), carSeed, seed);
  const road = drawnPulls(`${vehicle}/${carSeed}/${seed}`);
  return simulate(day.car, road, fault, 100_000 * seed + carSeed, { ...day.options, hz: HZ }).map((s) =>
    s.signal === 'maf_gps' ? { ...s, value: s.value * day.meter } : s,
  );
}

/** The same drive as a slower link would have brought it: each signal thinned, at its own phase. */
export function thinned(samples: readonly Sample[], hz: number, seed: number): Sample[] {
  const random = seededRandom(`thin/${seed}`);
  const due = new Map(SIGNALS.filter((s) => s !== AIR).map((s) => [s, (random.next() * 1e6) / hz]));
  return samples.filter((s) => {
    if (SLOW.includes(s.signal)) return true;
    if (s.tUs < due.get(s.signal)!) return false;
    due.set(s.signal, s.tUs + (1e6 / hz) * random.between(0.92, 1.02));
    return true;
  });
}

/** What a hint names, by its sentence; several causes where they are not told apart. */
const NAMED: Readonly<Record<string, string>> = {
  clutch: 'clutch does not close',
  'clutch-or-late': 'clutch does not close or late',
  slip: 'slip',
  'slip-or-late': 'slip or late',
  'slip-or-leak': 'slip or leak',
  'slip-late-or-leak': 'slip, late or leak',
  'leak-air': 'leak',
  'leak-everywhere': 'leak',
  turbo: 'turbocharger',
  'turbo-slow': 'turbocharger',
  'turbo-or-leak': 'turbocharger or leak',
  'turbo-slow-or-leak': 'turbocharger or leak',
};

/** The causes that the findings name, the most specific first. */
export function causeOf(findings: readonly Finding[]): string {
  const fault = new Map(findings.filter((f) => f.verdict === 'fault shown').map((f) => [f.id, f]));
  if (fault.has('sensor.map_kpa')) return 'sensor';
  if (fault.has('boost.intermittent')) return 'intermittent';
  if (fault.has('boost.clutch-open')) return 'clutch does not open';
  if (fault.has('boost.leak')) return 'leak';
  const told =
    fault.get('boost.clutch-band') ?? fault.get('boost.low-speed') ?? fault.get('boost.above-hand-over');
  if (told) return NAMED[told.pointsTo!.id.replace('boost.points.', '')]!;
  if (fault.has('boost.late')) return 'late';
  return fault.size > 0 ? [...fault.keys()].join(' ') : 'none';
}

/** What one drive was told of, by what was known of the car. */
export interface ConfusionCase {
  readonly vehicle: string;
  readonly seed: number;
  readonly fault: string;
  /** What a finding should point to, and what it points to. */
  readonly cause: string;
  readonly named: string;
  readonly knowledge: Knowledge;
  readonly hz: number;
  readonly good: boolean;
  /** Boost faults said on the way, whether they stand at the end or not. */
  readonly spoken: readonly string[];
  readonly faults: readonly string[];
  /** The plain rule of the open drives, with the same three drives that teach; null without these. */
  readonly plain: boolean | null;
}

/** Every fault on every car of these seeds, beside its three healthy drives that teach. */
export function boostConfusion(
  seeds: readonly number[],
  each: (c: ConfusionCase, o: Outcome) => void = () => {},
): ConfusionCase[] {
  const out: ConfusionCase[] = [];
  for (const { vehicle, profile, faults } of CARS)
    for (const seed of seeds) {
      const taught = [1, 2, 3].map((k) => drawnDrive(vehicle, seed, 'healthy', k));
      for (const [fault, cause] of faults) {
        const full = drawnDrive(vehicle, seed, fault, 0);
        for (const hz of RATES) {
          const at = (d: Sample[], k: number): Sample[] => (hz === HZ ? d : thinned(d, hz, 4 * seed + k));
          const drive = at(full, 0);
          const others = taught.map((d, k) => at(d, k + 1));
          const lessons = others.map((d) => learnBoost(clean(d), profile));
          const known = {
            baseline: mergeLessons(lessons),
            'one drive': mergeLessons(lessons.slice(0, 1)),
            commanded: null,
            'induction only': null,
          };
          for (const knowledge of KNOWN) {
            const own = clean(
              knowledge === 'commanded' ? drive : drive.filter((s) => s.signal !== 'boost_cmd_kpa'),
            );
            const o = judgeBoost(own, profile, known[knowledge]);
            const c: ConfusionCase = {
              ...{ vehicle, seed, fault, cause, knowledge, hz },
              named: causeOf(o.findings),
              good: o.systemGood,
              spoken: o.spoken,
              faults: o.faults,
              plain: knowledge === 'baseline' ? plainFault(drive, others.map(plainLesson)) : null,
            };
            out.push(c);
            each(c, o);
          }
        }
      }
    }
  return out;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const odd = process.argv.includes('odd') ? 1 : 0;
  const at = process.argv.indexOf('-n');
  const n = at < 0 ? 4 : Number(process.argv[at + 1]);
  const rows = new Map<string, string[]>();
  for (const seed of Array.from({ length: n }, (_, i) => 2 * i + 2 - odd))
    boostConfusion([seed], (c) => {
      const key = `${c.vehicle} ${c.fault} (${c.hz} Hz, ${c.knowledge})`;
      rows.set(key, [...(rows.get(key) ?? []), c.good ? `${c.named}, good` : c.named]);
      const wrong = c.named !== c.cause || (c.fault !== 'healthy' && c.good);
      if (wrong && process.argv.includes('-v'))
        console.log(`${key}, seed ${seed}: ${c.named}${c.good ? ', shown good' : ''}; ${c.faults.join(' ')}`);
    });
  for (const [key, named] of rows) {
    const counts = [...new Set(named)].map((x) => [x, named.filter((y) => y === x).length] as const);
    console.log(
      `${key}: ${counts
        .sort((a, b) => b[1] - a[1])
        .map(([x, k]) => `${x} ${k}`)
        .join(' | ')}`,
    );
  }
}
