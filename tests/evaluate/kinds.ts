/**
 * Boost and air judged against other cars of the kind: `npx tsx tests/evaluate/kinds.ts [even|odd] [-n cars]` prints the
 * table of docs/analysis.md. No open set holds several cars of a kind, so the cars are simulated ones that differ in boost level,
 * its slope over engine speed, MAP sensor, air mass meter and lag. Numbers may be chosen on even cars; odd cars report.
 */
import { fileURLToPath } from 'node:url';
import { median } from 'simple-statistics';
import { learnKind, ofKindAlone, withKind } from '../../src/analysis/boost/kind.ts';
import { type BoostBaseline, learnBoost, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { AIR_RUN_SD } from '../../src/analysis/boost/noise.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import { CARS } from '../../src/sim/vehicle/cars.ts';
import { clean, judgeBoost, type Outcome } from './boost.ts';
import { simulate, thinned } from './boost-sim.ts';

const VEHICLE = 'turbo-diesel';
const PROFILE = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });
const HZ = 5;
/** Standard deviations between cars at spread 1 (invented; what is common in the trade, no source). */
const LEVEL = 0.04;
const SLOPE = 0.02;
const SENSOR_KPA = 1;
const METER = 0.02;
const LAG = 0.15;
const SPREADS = [1 / 3, 1, 3] as const;
const TEACHERS = [1, 3, 10, 30] as const;
/** The other cars only teach: it takes long enough. */
const JUDGED_EVERY = 2;
/** What is done to a drive: the share of the boost that is left, and of the air that the meter tells. */
const DONE = {
  healthy: [1, 1],
  weak: [0.8, 1],
  weaker: [0.6, 1],
  air5: [1, 1.05],
  air10: [1, 1.1],
} as const;
type Done = keyof typeof DONE;
const ALL = Object.keys(DONE) as Done[];

/** One car of the kind, its drives as a middling car would have driven them. */
interface Member {
  readonly taught: readonly (readonly Sample[])[];
  readonly judged: readonly Sample[];
  /** Standard normal. */
  readonly level: number;
  readonly slope: number;
  readonly sensor: number;
  readonly meter: number;
}

export function memberOf(seed: number): Member {
  const random = seededRandom(`kind/${seed}`);
  const car = CARS[VEHICLE]!;
  const lag = Math.exp(LAG * random.normal());
  const own = { ...car, turbo: { ...car.turbo!, inertia: car.turbo!.inertia * lag } };
  const drive = (k: number): Sample[] =>
    thinned(simulate(own, 'warm-road-test', 'healthy', 10_000 * k + seed), HZ, seed + k);
  const [level, slope, sensor] = [random.normal(), random.normal(), random.normal()];
  const meter = random.normal();
  const taught = [1, 2, 3].map((k) => quiet(drive(k)));
  return { taught, judged: quiet(drive(4)), level, slope, sensor, meter };
}

/** What the control unit asks for would be better than any kind. */
const quiet = (samples: readonly Sample[]): Sample[] => samples.filter((s) => s.signal !== 'boost_cmd_kpa');

/** As this car gives it, with a share of the boost left: gauge pressure by its level, air mass with the pressure. */
export function asOf(m: Member, drive: readonly Sample[], spread: number, left: number, air = 1): Sample[] {
  const meter = air * (1 + spread * METER * m.meter);
  let [rpm, baro, factor] = [0, 98, 1];
  return drive.map((s) => {
    if (s.signal === 'rpm') rpm = s.value;
    if (s.signal === 'baro_kpa') baro = s.value;
    if (s.signal === 'map_kpa') {
      const high = Math.max(-1, Math.min(1, (rpm - 2500) / 1500));
      const gauge = Math.max(0, s.value - baro);
      const scaled = left * (1 + spread * (LEVEL * m.level + SLOPE * m.slope * high)) * gauge;
      factor = (s.value - gauge + scaled) / s.value;
      return { ...s, value: Math.round(s.value - gauge + scaled + spread * SENSOR_KPA * m.sensor) };
    }
    return s.signal === 'maf_gps' ? { ...s, value: s.value * factor * meter } : s;
  });
}

interface KindRow {
  readonly spread: number;
  readonly knowledge: string;
  /** Cars whose drive was judged whole, and what was said of them by share of boost left. */
  readonly cars: number;
  readonly good: Readonly<Record<Done, number>>;
  /** Of the healthy ones, from 2,000 rpm on alone. */
  readonly goodHigh: number;
  readonly accused: Readonly<Record<Done, number>>;
  /** Air of healthy cars by 500 rpm: within the 95 % interval of the kind, and all that had one; null without a kind alone. */
  readonly air: { readonly covered: number; readonly all: number; readonly withinPct: number } | null;
  /** Regions of healthy cars whose deviation lay within the 95 % interval, and all that had one. */
  readonly covered: number;
  readonly regions: number;
  /** Of what is expected, half the 95 % interval, middle of all regions, %. */
  readonly withinPct: number;
}

export function kindRows(seeds: readonly number[], spread: number, members = seeds.map(memberOf)): KindRow[] {
  const learned = (m: Member, left: number): BoostBaseline =>
    mergeLessons(m.taught.map((drive) => learnBoost(clean(asOf(m, drive, spread, left)), PROFILE)));
  const healthy = members.map((m) => learned(m, 1));
  const faulty = members.map((m) => learned(m, 0.6));
  /** Of the others, drawn anew for each car; the first so many of them faulty. */
  const kindOf = (at: number, n: number, bad = 0) => {
    const random = seededRandom(`teachers/${seeds[at]}/${n}`);
    const others = members.flatMap((_, k) => (k === at ? [] : [{ k, order: random.next() }]));
    const drawn = others.sort((a, b) => a.order - b.order).slice(0, n);
    return learnKind(drawn.map(({ k }, i) => (i < bad ? faulty : healthy)[k]!));
  };
  const knowledge: [string, (at: number) => BoostBaseline | null][] = [
    ['nothing', () => null],
    ...TEACHERS.map((n): [string, (at: number) => BoostBaseline | null] => [
      `${n} of the kind`,
      (at) => withKind(null, kindOf(at, n)),
    ]),
    ['10 of the kind, one faulty', (at) => withKind(null, kindOf(at, 10, 1))],
    ['own drives and 10 of the kind', (at) => withKind(healthy[at]!, kindOf(at, 10))],
    ['own drives', (at) => healthy[at]!],
  ];
  return knowledge.map(([name, of]) => {
    const none = { healthy: 0, weak: 0, weaker: 0, air5: 0, air10: 0 };
    const [good, accused] = [{ ...none }, { ...none }];
    const airs: { off: number; half: number }[] = [];
    let [covered, goodHigh] = [0, 0];
    const within: number[] = [];
    members.forEach((m, at) => {
      if (at % JUDGED_EVERY > 0) return;
      const baseline = of(at);
      airs.push(...airDeviations(m, spread, baseline));
      for (const done of ALL) {
        const [left, air] = DONE[done];
        const drive = clean(asOf(m, m.judged, spread, left, air));
        const outcome = judgeBoost(drive, PROFILE, baseline);
        if (outcome.systemGood) good[done]++;
        if (outcome.faults.length > 0) accused[done]++;
        if (done !== 'healthy') continue;
        if (outcome.good.includes('boost.above-hand-over')) goodHigh++;
        for (const { off, half, share } of deviations(outcome)) {
          if (Math.abs(off) <= half) covered++;
          within.push(share);
        }
      }
    });
    within.sort((a, b) => a - b);
    const withinPct = within.length === 0 ? 0 : 100 * within[within.length >> 1]!;
    return {
      spread,
      knowledge: name,
      cars: Math.ceil(members.length / JUDGED_EVERY),
      good,
      goodHigh,
      accused,
      air:
        airs.length === 0
          ? null
          : {
              covered: airs.filter((a) => Math.abs(a.off) <= a.half).length,
              all: airs.length,
              withinPct: 100 * median(airs.map((a) => a.half)),
            },
      covered,
      regions: within.length,
      withinPct,
    };
  });
}

/** Air index of the healthy drive by 500 rpm, off from the kind's, and half the 95 % interval, shares. */
function airDeviations(
  m: Member,
  spread: number,
  baseline: BoostBaseline | null,
): { off: number; half: number }[] {
  if (!baseline?.kind || !ofKindAlone(baseline)) return [];
  const own = mergeLessons([learnBoost(clean(asOf(m, m.judged, spread, 1)), PROFILE)]).air;
  return baseline.kind.air.flatMap((at, bin) => {
    const seen = own[bin];
    return at && seen ? [{ off: seen.mean / at[0] - 1, half: 1.96 * Math.hypot(at[2], AIR_RUN_SD) }] : [];
  });
}

/** The mean deviation of each region, kPa, and half its 95 % interval, also as a share of the boost. */
function deviations({ findings }: Outcome): { off: number; half: number; share: number }[] {
  return findings.flatMap((f) => {
    if (!['boost.low-speed', 'boost.above-hand-over'].includes(f.id) || f.measured?.unit !== 'kPa') return [];
    const [low, high] = f.measured.interval;
    const half = ((high - low) / 2 / 1.645) * 1.96;
    const expected = f.evidence.flatMap(({ text }) =>
      typeof text === 'object' && 'args' in text && 'expectedKpa' in text.args
        ? [Number(text.args.expectedKpa)]
        : [],
    );
    const mean = expected.reduce((a, x) => a + x, 0) / Math.max(1, expected.length);
    return mean > 0 ? [{ off: f.measured.value, half, share: half / mean }] : [];
  });
}

export function kindTable(rows: readonly KindRow[]): string {
  const lines = rows.map((r) => {
    const spread = r.spread === 1 ? '×1' : r.spread < 1 ? '×1/3' : '×3';
    const covered = r.regions === 0 ? '–' : `${((100 * r.covered) / r.regions).toFixed(0)} % of ${r.regions}`;
    const within = r.regions === 0 ? '–' : `±${r.withinPct.toFixed(0)} %`;
    const { good, accused, air } = r;
    const airs =
      air === null
        ? '– | –'
        : `±${air.withinPct.toFixed(0)} % | ${((100 * air.covered) / air.all).toFixed(0)} % of ${air.all}`;
    const found = (['weak', 'weaker', 'air5', 'air10'] as const).map((d) => accused[d]).join(' | ');
    const missed = (['weak', 'weaker', 'air5', 'air10'] as const).map((d) => good[d]).join(' / ');
    return `| ${spread} | ${r.knowledge} | ${good.healthy} | ${r.goodHigh} | ${accused.healthy} | ${found} | ${missed} | ${within} | ${covered} | ${airs} |`;
  });
  return [
    `Of ${rows[0]?.cars ?? 0} cars each:`,
    '',
    '| spread | judged against | healthy shown good | from 2,000 rpm | healthy accused | ×0.8 found | ×0.6 found | air +5 % found | +10 % found | of these called good | boost, 95 % interval | covers | air, 95 % interval | covers |',
    '|---|---|---|---|---|---|---|---|---|---|---|---|---|---|',
    ...lines,
  ].join('\n');
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const odd = process.argv.includes('odd') ? 1 : 0;
  const at = process.argv.indexOf('-n');
  const n = at < 0 ? 34 : Number(process.argv[at + 1]);
  const seeds = Array.from({ length: n }, (_, i) => 2 * i + 2 - odd);
  const members = seeds.map(memberOf);
  console.log(kindTable(SPREADS.flatMap((spread) => kindRows(seeds, spread, members))));
}
