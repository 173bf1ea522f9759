/**
 * Drives whose whole judgement is held fast: what was thought on the way, said, found and learned, as one hash and a few
 * readable words a case. A change that is meant to change them is looked at, and `npm run judged` writes them anew.
 */
import { createHash } from 'node:crypto';
import { Judge, learnBaseline } from '../../src/analysis/judge.ts';
import type { Judgement } from '../../src/analysis/types.ts';
import type { Profile } from '../../src/core/profile.ts';
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';
import { driveSamples } from '../analysis/vehicle.ts';
import { readDrive } from '../evaluate/coolant-drives.ts';
import { intermittent, scaleBoost, stuckAny } from '../evaluate/inject-boost.ts';
import { climb, doubledHeat, straight, stuck, stuckOpen } from '../evaluate/inject-coolant.ts';

/** What is held fast of one case. */
export interface Held {
  /** Findings that print a number with more than two decimals. */
  readonly unrounded: readonly string[];
  /** Findings whose verdict does not agree with what is printed beside it, or with what was said. */
  readonly contradicted: readonly string[];
  /** Findings other than *not shown*, with what was measured and when it was said, for people. */
  readonly found: readonly string[];
  /** Of all of it. */
  readonly hash: string;
}

const PETROL: Profile = { induction: 'naturally aspirated', fuel: 'petrol' };
const DIESEL: Profile = { induction: 'turbocharger', fuel: 'diesel' };
const TWIN: Profile = { induction: 'twin-charged', fuel: 'petrol' };

/** Last digits may differ between versions of the engine that runs this. */
const exact = (_key: string, value: unknown): unknown =>
  typeof value === 'number' && !Number.isInteger(value) ? Number(value.toPrecision(9)) : value;

/** A step of the coolant is 5 s; drives bring some 5 to 10 samples a second: every eighth step is looked at. */
const EVERY = 301;

/** One drive to be judged, and the drives that teach before it. */
export interface Case {
  readonly name: string;
  readonly profile: Profile;
  readonly samples: () => Iterable<Sample>;
  readonly teachers: () => readonly (readonly Sample[])[];
}

/** What judges: the product, or one in which something was changed. */
export interface Judging {
  readonly Judge: typeof Judge;
  readonly learnBaseline: typeof learnBaseline;
}

export function held(
  c: Case,
  { Judge: OneJudge, learnBaseline: learn }: Judging = { Judge, learnBaseline },
): Held {
  const hash = createHash('sha256');
  const teachers = c.teachers();
  const baseline = teachers.length === 0 ? null : learn(teachers, c.profile);
  const put = (x: unknown): unknown => hash.update(JSON.stringify(x, exact));
  put(baseline);
  const judge = new OneJudge(c.profile, baseline);
  let k = 0;
  for (const s of c.samples()) {
    for (const said of judge.push(s)) put(said);
    if (k++ % EVERY === 0) put(judge.view());
  }
  const judgement = judge.finish('');
  put(judge.expectedBands());
  put(judgement);
  const found = judgement.findings
    .filter((f) => f.verdict !== 'not shown')
    .map((f) => {
      const measured = f.measured == null ? '' : `, ${f.measured.value} ${f.measured.unit}`;
      return `${f.id}: ${f.verdict}${measured}${f.saidAtS === null ? '' : `, said at ${Math.round(f.saidAtS)} s`}`;
    });
  const long = (x: number): boolean => Math.abs(100 * x - Math.round(100 * x)) > 1e-6;
  const unrounded = judgement.findings
    .filter((f) =>
      [f.measured?.value, ...(f.measured?.interval ?? []), f.limit?.value].some(
        (x) => x !== undefined && long(x),
      ),
    )
    .map((f) => f.id);
  return { unrounded, contradicted: contradicted(judgement), found, hash: hash.digest('hex').slice(0, 16) };
}

/** What may be asked for while the coolant climbs. */
const FIRST: ReadonlySet<string> = new Set([
  'coolant.needs.climb-first',
  'coolant.needs.restless',
  'coolant.needs.frozen',
]);

/** Of these a fault lies below its limit, of the others above it; what is measured as air (%) does so everywhere. */
const LOW: ReadonlySet<string> = new Set([
  ...[
    'boost.low-speed',
    'boost.clutch-band',
    'boost.hand-over-dip',
    'boost.above-hand-over',
    'coolant.too-cold',
  ],
]);

/** The rule of these holds the reading as it is shown, at its limit or beyond; of the others the whole interval lies beyond. */
const HELD_AS_SHOWN: ReadonlySet<string> = new Set([
  ...['coolant.climb', 'coolant.too-cold', 'coolant.jumps', 'coolant.fan'],
]);

function contradicted({ findings, spoken }: Judgement): string[] {
  const climbs = findings.some((f) => f.id === 'coolant.climb' && f.verdict === 'fault shown');
  // A sensor may be off either way, and a voltage.
  const judged = findings.filter((f) => f.system === 'boost' || f.system === 'coolant' || f.system === 'fan');
  return judged.flatMap((f) => {
    const { verdict, measured, limit } = f;
    const [low, high] = measured?.interval ?? [0, 0];
    const beyond =
      limit === null ||
      measured == null ||
      (LOW.has(f.id) && measured.unit !== '%' ? high < limit.value : low > limit.value) ||
      (HELD_AS_SHOWN.has(f.id) && (LOW.has(f.id) ? high : low) === limit.value);
    const across = limit !== null && low < limit.value && limit.value < high;
    const said = spoken.some((s) => s.finding === f.id);
    const sentOut = climbs && (f.system === 'coolant' || f.system === 'fan') && verdict === 'not shown';
    return [
      ...(verdict !== 'not shown' && across ? [`${f.id}: ${verdict}, its interval across its limit`] : []),
      ...(verdict === 'fault shown' && !beyond ? [`${f.id}: a fault, not beyond its limit`] : []),
      ...(verdict === 'shown good' && said ? [`${f.id}: shown good, and was spoken of as a fault`] : []),
      ...(sentOut && !FIRST.has(f.needs?.id ?? '') ? [`${f.id}: drive on while it climbs`] : []),
    ];
  });
}

/** Simulated cars: route and fault. */
const SIMULATED: readonly (readonly [vehicle: string, route: string, fault: string])[] = [
  ['twin-charged', 'road-test', ''],
  ['twin-charged', 'road-test', 'clutch-never-closes'],
  ['twin-charged', 'road-test', 'boost-leak'],
  ['twin-charged', 'warm-road-test', 'clutch-sometimes'],
  ['twin-charged', 'road-test', 'clutch-closes-late'],
  ['twin-charged', 'static-check', 'fan-dead'],
  ['twin-charged', 'road-test', 'air-in-system'],
  ['turbo-diesel', 'hill', 'pump-fading'],
  ['turbo-diesel', 'town', 'thermostat-open'],
  ['twin-charged', 'town', 'fan-dead'],
];

const alone = (): readonly (readonly Sample[])[] => [];

export const simulated = (): Case[] => [
  ...SIMULATED.map(([vehicle, route, fault]) => ({
    name: `${vehicle}, ${route}, ${fault || 'healthy'}`,
    profile: vehicle === 'turbo-diesel' ? DIESEL : TWIN,
    samples: () => driveSamples({ vehicle, route, seed: 3, hz: 4, ...(fault === '' ? {} : { fault }) }),
    teachers: alone,
  })),
  ...[0, 600].map((fromS) => ({
    name: `turbo-diesel, hills with a receiver, ${fromS === 0 ? 'healthy' : `no circulation from ${fromS} s`}`,
    profile: DIESEL,
    samples: () => hills(fromS),
    teachers: alone,
  })),
];

/** Hills and flat by turns under a satellite receiver; no circulation from then on, never where that is 0. */
function* hills(faultFromS: number): Generator<Sample> {
  const drive = (kmh: number, s: number, gradePct: number) => ({ do: 'drive', kmh, s, gradePct }) as const;
  const car = createVehicle({
    vehicle: 'turbo-diesel',
    route: {
      name: 'hills',
      description: '',
      startC: 78,
      altitudeM: 400,
      legs: [
        ...([{ do: 'key-on', s: 3 }, { do: 'start', s: 10 }, drive(60, 290, 0)] as const),
        ...([drive(60, 150, 7), { do: 'idle', s: 30 }, drive(80, 200, 0.3), drive(45, 160, 9)] as const),
        drive(100, 300, 0),
      ],
    },
    faults: faultFromS === 0 ? [] : [{ name: 'no-circulation', value: faultFromS }],
    ambientC: 18,
    seed: 3,
  });
  const random = seededRandom('hills');
  const signals = ['ambient_c', 'ect_c', 'iat_c', 'maf_gps', 'map_kpa', 'pedal_d_pct', 'rpm', 'speed_kmh'];
  for (let k = 1; k < 2 * car.route.lengthS; k++) {
    car.advance(0.5);
    if (!car.ignition) continue;
    const tUs = k * 500_000;
    const sample = (signal: string, value: number): Sample => ({ signal, tUs, sentUs: tUs, value });
    for (const signal of signals) {
      const value = car.signal(signal);
      if (value !== null) yield sample(signal, value);
    }
    const { heightM } = car.road;
    if (k % 2 === 1) continue;
    yield sample('gnss_height_error_m', 6);
    yield sample('gnss_height_m', heightM + random.normal());
    yield sample('gnss_speed_kmh', (car.signal('speed_kmh') ?? 0) * 0.97);
  }
}

type Put = (samples: readonly Sample[], seed: string) => readonly Sample[];
const same: Put = (s) => s;

/** Open drives with what is put into them, and the drives that teach. */
const OPEN: readonly (readonly [name: string, what: string, put: Put, teachers: readonly string[]])[] = [
  ['trip-60', 'healthy', same, ['trip-36', 'trip-24']],
  ['trip-36', 'boost × 0.8 above 2000 rpm', (s) => scaleBoost(s, 0.8, 'above 2000'), ['trip-60', 'trip-24']],
  ['trip-14', 'boost gone in pulls', (s, seed) => intermittent(s, 0, 0.5, seed).samples, ['trip-24']],
  ['trip-33', 'signals stuck', (s, seed) => stuckAny(s, 20, seed), ['trip-36', 'trip-60']],
  ['trip-45', '+25 °C in 3 min', (s) => straight(25, 180)(s, 1900), []],
  ['trip-77', 'thermostat open', (s) => stuckOpen(72, 2)(s), ['trip-14']],
  ['trip-19', 'warm-up with twice the heat', doubledHeat, ['trip-14', 'trip-36', 'trip-60']],
  // Healthy: stuck for three minutes on its way up.
  ['trip-52', 'coolant stuck', (s) => stuck(s, seededRandom('stuck valuestrip-52')), []],
  ['trip-03', 'coolant stuck below its plateau', (s) => stuck(s, seededRandom('x6trip-03')), []],
  ['petrol-11', 'healthy', same, ['petrol-29']],
  ['petrol-38', '+15 °C, τ 60 s', (s) => climb(15, 60)(s, 1500), ['petrol-11', 'petrol-29']],
  ['petrol-29', 'every third sample by chance', thinned, []],
  ['petrol-13', 'sags once settled', sagging, []],
];

/** From 25 minutes on the reading wanders about 79 °C. */
function sagging(samples: readonly Sample[]): readonly Sample[] {
  const value = (s: Sample): number => Math.min(s.value, 79 + (Math.floor(s.tUs / 40e6) % 2));
  return samples.map((s) => (s.signal === 'ect_c' && s.tUs > 1500e6 ? { ...s, value: value(s) } : s));
}

function thinned(samples: readonly Sample[], seed: string): readonly Sample[] {
  const random = seededRandom(seed);
  return samples.filter(() => random.next() < 1 / 3);
}

export const open = (): Case[] =>
  OPEN.map(([name, what, put, teachers]) => ({
    name: `${name}, ${what}`,
    profile: name.startsWith('trip') ? DIESEL : PETROL,
    samples: () => put(readDrive(name), name),
    teachers: () => teachers.map(readDrive),
  }));
