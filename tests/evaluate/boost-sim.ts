/**
 * Which boost fault the detector names on the simulated cars: `npx tsx tests/evaluate/boost-sim.ts [even|odd] [-n seeds] [-v]`.
 * Numbers in the detector may be chosen on even seeds; odd seeds report.
 */

import { fileURLToPath } from 'node:url';
import { type BoostBaseline, learnBoost, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import type { Finding } from '../../src/analysis/types.ts';
import { type Profile, profileSchema } from '../../src/core/profile.ts';
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import type { Car } from '../../src/sim/vehicle/cars.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';
import { english } from '../../src/words/spelled.ts';
import { clean, judgeBoost, type Outcome } from './boost.ts';

const SIGNALS = [
  'map_kpa',
  'rpm',
  'speed_kmh',
  'pedal_d_pct',
  'boost_act_kpa',
  'boost_cmd_kpa',
  'maf_gps',
  'baro_kpa',
  'ect_c',
];
const SLOW = ['baro_kpa', 'ect_c'];
const FAST_HZ = 20;

export type Knowledge = 'baseline' | 'commanded' | 'induction only';

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

/** One simulated drive, every signal at its own times, 20 a second. */
export function simulate(vehicle: string | Car, route: string, fault: string, seed: number): Sample[] {
  const v = createVehicle({ vehicle, route, faults: fault === 'healthy' ? [] : [{ name: fault }], seed });
  const random = seededRandom(`poll/${seed}`);
  const names = SIGNALS.filter((s) => v.supported.includes(s));
  const every = names.map((s) => (SLOW.includes(s) ? 1 : 1 / FAST_HZ));
  const due = names.map((_, i) => random.next() * every[i]!);
  const out: Sample[] = [];
  while (v.timeS < v.route.lengthS) {
    v.advance(0.025);
    if (!v.ignition) continue;
    names.forEach((signal, i) => {
      if (v.timeS < due[i]!) return;
      due[i] = v.timeS + every[i]! * random.between(0.7, 1);
      const value = v.signal(signal);
      const tUs = Math.round(v.timeS * 1e6) + i;
      if (value !== null) out.push({ signal, tUs, sentUs: tUs, value });
    });
  }
  return out;
}

/** The same drive as a slower link would have brought it: each signal thinned, at its own phase. */
export function thinned(samples: readonly Sample[], hz: number, seed: number): Sample[] {
  const random = seededRandom(`thin/${seed}`);
  const due = new Map(SIGNALS.map((s) => [s, (random.next() * 1e6) / hz]));
  return samples.filter((s) => {
    if (SLOW.includes(s.signal)) return true;
    if (s.tUs < due.get(s.signal)!) return false;
    due.set(s.signal, s.tUs + (1e6 / hz) * random.between(0.92, 1.02));
    return true;
  });
}

/** The one cause that the findings name, the most specific first. */
export function causeOf(findings: readonly Finding[]): string {
  const fault = new Map(findings.filter((f) => f.verdict === 'fault shown').map((f) => [f.id, f]));
  if (fault.has('sensor.map_kpa')) return 'sensor';
  if (fault.has('boost.intermittent')) return 'intermittent';
  if (fault.has('boost.clutch-open')) return 'clutch does not open';
  if (fault.has('boost.leak')) return 'leak';
  const band = fault.get('boost.clutch-band');
  const high = fault.get('boost.above-hand-over');
  const told = (band ?? fault.get('boost.low-speed') ?? high)?.pointsTo;
  const text = told ? english.say(told) : '';
  if (/^leak/.test(text)) return 'leak';
  if (band) return !/slip/.test(text) ? 'clutch does not close' : /leak/.test(text) ? 'slip or leak' : 'slip';
  if (high || fault.has('boost.low-speed')) return 'turbocharger';
  if (fault.has('boost.late')) return 'late';
  return fault.size > 0 ? [...fault.keys()].join(' ') : 'none';
}

/** `named` counts drives by cause named; `good` those whose boost was shown good. */
export interface ConfusionRow {
  readonly vehicle: string;
  readonly fault: string;
  readonly cause: string;
  readonly knowledge: Knowledge;
  readonly hz: number;
  readonly route: string;
  readonly drives: number;
  readonly named: ReadonlyMap<string, number>;
  readonly good: number;
}

interface ConfusionOptions {
  readonly seeds: readonly number[];
  readonly routes?: readonly string[];
  readonly rates?: readonly number[];
  readonly knowledge?: readonly Knowledge[];
  /** For those who keep drives between calls. */
  readonly driveOf?: typeof simulate;
  readonly each?: (row: string, seed: number, outcome: Outcome, cause: string) => void;
}

export function boostConfusion(options: ConfusionOptions): ConfusionRow[] {
  const { seeds, routes = ['road-test'], rates = [5], driveOf = simulate } = options;
  const knowledge = options.knowledge ?? (['baseline', 'commanded', 'induction only'] as const);
  const rows: ConfusionRow[] = [];
  for (const { vehicle, profile, faults } of CARS) {
    const baselines = new Map<number, BoostBaseline>(
      rates.map((hz) => [
        hz,
        mergeLessons(
          [1001, 1002, 1003].map((seed) =>
            learnBoost(clean(thinned(driveOf(vehicle, 'road-test', 'healthy', seed), hz, seed)), profile),
          ),
        ),
      ]),
    );
    for (const route of routes)
      for (const [fault, cause] of faults) {
        const tally = new Map<string, { named: Map<string, number>; good: number }>();
        for (const seed of seeds) {
          const full = driveOf(vehicle, route, fault, seed);
          for (const hz of rates) {
            const drive = clean(hz === FAST_HZ ? full : thinned(full, hz, seed));
            const quiet = drive.filter((s) => s.signal !== 'boost_cmd_kpa');
            for (const k of knowledge) {
              const o = judgeBoost(
                k === 'commanded' ? drive : quiet,
                profile,
                k === 'baseline' ? baselines.get(hz)! : null,
              );
              const key = `${hz}/${k}`;
              const t = tally.get(key) ?? { named: new Map<string, number>(), good: 0 };
              tally.set(key, t);
              const said = causeOf(o.findings);
              t.named.set(said, (t.named.get(said) ?? 0) + 1);
              if (o.systemGood) t.good++;
              options.each?.(`${vehicle} ${route} ${fault} ${key}`, seed, o, said);
            }
          }
        }
        for (const hz of rates)
          for (const k of knowledge) {
            const t = tally.get(`${hz}/${k}`)!;
            rows.push({ vehicle, fault, cause, knowledge: k, hz, route, drives: seeds.length, ...t });
          }
      }
  }
  return rows;
}

export function rowText(r: ConfusionRow): string {
  const named = [...r.named].sort((a, b) => b[1] - a[1]).map(([cause, n]) => `${cause} ${n}`);
  return `${r.vehicle} ${r.fault} (${r.route}, ${r.hz} Hz, ${r.knowledge}): ${r.named.get(r.cause) ?? 0}/${r.drives} ${r.cause} | ${named.join(', ')}${r.good > 0 ? ` | shown good ${r.good}` : ''}`;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const odd = process.argv.includes('odd') ? 1 : 0;
  const at = process.argv.indexOf('-n');
  const n = at < 0 ? 4 : Number(process.argv[at + 1]);
  const seeds = Array.from({ length: n }, (_, i) => 2 * i + 2 - odd);
  for (const r of boostConfusion({ seeds, rates: [1, 5, 20], routes: ['road-test', 'hill'] }))
    console.log(rowText(r));
}
