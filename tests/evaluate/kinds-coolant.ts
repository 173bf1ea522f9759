/**
 * Coolant judged against other cars of the kind: `npx tsx tests/evaluate/kinds-coolant.ts [even|odd] [-n cars]` prints the
 * table of docs/analysis.md. The cars are simulated ones whose readings are changed to differ in where they settle, from
 * where the fan turns them around, and in heat. Numbers may be chosen on even cars; odd cars report.
 */
import { fileURLToPath } from 'node:url';
import { median } from 'simple-statistics';
import {
  type CoolantBaseline,
  type CoolantLesson,
  learnCoolant,
  mergeCoolant,
} from '../../src/analysis/coolant/baseline.ts';
import { CoolantDetector } from '../../src/analysis/coolant/detector.ts';
import { fanOf, learnCoolantKind, plateauOf, withCoolantKind } from '../../src/analysis/coolant/kind.ts';
import { expectedHeat } from '../../src/analysis/coolant/warm-up-meter.ts';
import type { CleanSample, Finding } from '../../src/analysis/types.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import type { Route, RouteLeg } from '../../src/sim/vehicle/routes.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';
import { clean } from './boost.ts';
import { stuckOpen } from './inject-coolant.ts';

const VEHICLE = 'turbo-diesel';
const PROFILE = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });
const SIGNALS = ['ambient_c', 'ect_c', 'iat_c', 'maf_gps', 'map_kpa', 'pedal_d_pct', 'rpm', 'speed_kmh'];
/** Standard deviations between cars at spread 1 (invented; what is common in the trade, no source). */
const PLATEAU_C = 1.2;
const FAN_C = 1.5;
const HEAT = 0.06;
const SPREADS = [1 / 3, 1, 3] as const;
const TEACHERS = [1, 3, 10, 30] as const;
/** The other cars only teach: it takes long enough. */
const JUDGED_EVERY = 2;

/** Cold start, a quarter of an hour on the move, a stand with the engine turning until the fan has cut in. */
function routeOf(seed: number): Route {
  const r = seededRandom(`kinds coolant/${seed}`);
  const drive = (): RouteLeg => ({
    do: 'drive',
    kmh: Math.round(r.between(45, 105)),
    s: Math.round(r.between(60, 160)),
    gradePct: r.between(-1, 1.5),
  });
  const legs: RouteLeg[] = [
    { do: 'key-on', s: 3 },
    { do: 'start', s: 10 },
    { do: 'drive', kmh: 40, s: 40 },
    ...Array.from({ length: 9 }, drive),
    { do: 'drive', kmh: 80, s: 150 },
    { do: 'idle', s: 20 },
    { do: 'rev', rpm: 3500, s: 280 },
    { do: 'idle', s: 90 },
  ];
  return { name: 'kinds', description: '', startC: 15, altitudeM: 120, legs };
}

function simulated(seed: number, fanDead: boolean): Sample[] {
  const ambientC = seededRandom(`kinds coolant drive/${seed}`).between(3, 30);
  const vehicle = createVehicle({
    vehicle: VEHICLE,
    route: routeOf(seed),
    ambientC,
    seed,
    faults: fanDead ? [{ name: 'fan-dead' }] : [],
  });
  const out: Sample[] = [];
  while (vehicle.timeS < vehicle.route.lengthS) {
    vehicle.advance(0.5);
    const tUs = Math.round(vehicle.timeS * 1e6);
    if (!vehicle.ignition) continue;
    for (const signal of SIGNALS) {
      const value = vehicle.signal(signal);
      if (value !== null) out.push({ signal, tUs, sentUs: tUs, value });
    }
  }
  return out;
}

interface Member {
  readonly taught: readonly (readonly Sample[])[];
  readonly judged: readonly Sample[];
  readonly fanDead: readonly Sample[];
  /** Where its thermostat holds it once it does not close, °C. */
  readonly openC: number;
  /** Standard normal. */
  readonly plateau: number;
  readonly fan: number;
  readonly heat: number;
}

function memberOf(seed: number, at: number): Member {
  const random = seededRandom(`kinds coolant car/${seed}`);
  const of = (k: number, fanDead = false): Sample[] => simulated(10_000 * k + seed, fanDead);
  const isJudged = at % JUDGED_EVERY === 0;
  return {
    taught: [1, 2, 3].map((k) => of(k)),
    judged: isJudged ? of(4) : [],
    fanDead: isJudged ? of(4, true) : [],
    openC: random.between(79, 83),
    plateau: random.normal(),
    fan: random.normal(),
    heat: random.normal(),
  };
}

/** As this car gives it; `times` more heat than it would take. */
function asOf(m: Member, drive: readonly Sample[], spread: number, times = 1): Sample[] {
  const between = (x: number, from: number, to: number): number =>
    Math.max(0, Math.min(1, (x - from) / (to - from)));
  return drive.map((s) => {
    if (s.signal === 'ect_c') {
      const plateau = spread * PLATEAU_C * m.plateau * between(s.value, 60, 80);
      const fan = spread * FAN_C * m.fan * between(s.value, 92, 97);
      return { ...s, value: Math.round(s.value + plateau + fan) };
    }
    const heat = times * Math.exp(spread * HEAT * m.heat);
    return s.signal === 'maf_gps' ? { ...s, value: s.value * heat } : s;
  });
}

function judged(samples: readonly CleanSample[], baseline: CoolantBaseline | null): readonly Finding[] {
  const detector = new CoolantDetector({ profile: PROFILE, baseline });
  for (const s of samples) detector.step(s);
  return detector.finish(samples.at(-1)!.tUs);
}

interface Tally {
  good: number;
  accused: number;
  doubled: number;
  open: number;
  fan: number;
  /** Of the faults, with the cooling shown good. */
  readonly missed: { doubled: number; open: number; fan: number };
}

interface Off {
  readonly off: number;
  readonly half: number;
}

interface CoolantRow extends Tally {
  readonly spread: number;
  readonly knowledge: string;
  readonly cars: number;
  readonly plateau: readonly Off[];
  readonly warmUp: readonly Off[];
  readonly turned: readonly Off[];
}

function coolantRows(seeds: readonly number[], spread: number, members: readonly Member[]): CoolantRow[] {
  const lessons = (m: Member, faulty: boolean): CoolantBaseline =>
    mergeCoolant(
      m.taught.map((drive) => {
        const lesson = learnCoolant(clean(asOf(m, drive, spread, faulty ? 2 : 1)), PROFILE);
        // As an open thermostat and a late fan would teach.
        const off = (c: number | null, by: number): number | null => (c === null ? null : c + by);
        return faulty
          ? { ...lesson, plateauC: off(lesson.plateauC, -12), fanC: off(lesson.fanC, 10) }
          : lesson;
      }),
    );
  const healthy = members.map((m) => lessons(m, false));
  const bad = members.map((m) => lessons(m, true));
  const kindOf = (at: number, n: number, wrong = 0) => {
    const random = seededRandom(`teachers/${seeds[at]}/${n}`);
    const others = members.flatMap((_, k) => (k === at ? [] : [{ k, order: random.next() }]));
    const drawn = others.sort((a, b) => a.order - b.order).slice(0, n);
    return learnCoolantKind(drawn.map(({ k }, i) => (i < wrong ? bad : healthy)[k]!));
  };
  const knowledge: [string, (at: number) => CoolantBaseline | null][] = [
    ['nothing', () => null],
    ...TEACHERS.map((n): [string, (at: number) => CoolantBaseline | null] => [
      `${n} of the kind`,
      (at) => withCoolantKind(null, kindOf(at, n)),
    ]),
    ['10 of the kind, one faulty', (at) => withCoolantKind(null, kindOf(at, 10, 1))],
    ['own drives and 10 of the kind', (at) => withCoolantKind(healthy[at]!, kindOf(at, 10))],
    ['own drives', (at) => healthy[at]!],
  ];
  return knowledge.map(([name, of]) => {
    const t: Tally = {
      ...{ good: 0, accused: 0, doubled: 0, open: 0, fan: 0 },
      missed: { doubled: 0, open: 0, fan: 0 },
    };
    const offs = { plateau: [] as Off[], warmUp: [] as Off[], turned: [] as Off[] };
    members.forEach((m, at) => {
      if (at % JUDGED_EVERY > 0) return;
      const baseline = of(at);
      const found = (drive: readonly Sample[], times = 1): readonly Finding[] =>
        judged([...clean(asOf(m, drive, spread, times))], baseline);
      const faults = (f: readonly Finding[]): boolean => f.some((x) => x.verdict === 'fault shown');
      const isGood = (f: readonly Finding[]): boolean =>
        f.every(
          (x) => x.system === 'fan' || x.verdict === 'shown good' || (x.aside && x.verdict === 'not shown'),
        );
      const sound = found(m.judged);
      if (isGood(sound)) t.good++;
      if (faults(sound)) {
        t.accused++;
        console.error(
          `accused: car ${seeds[at]}, ×${spread}, ${name}: ${sound.filter((f) => f.verdict === 'fault shown').map((f) => f.id)}`,
        );
      }
      const tries = {
        doubled: found(m.judged, 2),
        open: found(stuckOpen(m.openC, 0)(m.judged)),
        fan: found(m.fanDead),
      };
      for (const what of ['doubled', 'open', 'fan'] as const) {
        if (faults(tries[what])) t[what]++;
        if (isGood(tries[what])) t.missed[what]++;
      }
      offsOf(learnCoolant(clean(asOf(m, m.judged, spread)), PROFILE), baseline, offs);
    });
    return { spread, knowledge: name, cars: Math.ceil(members.length / JUDGED_EVERY), ...t, ...offs };
  });
}

/** How far the healthy drive lies from what its kind lets expect, and half the 95 % interval: °C, of heat ln. */
function offsOf(
  own: CoolantLesson,
  baseline: CoolantBaseline | null,
  into: { readonly plateau: Off[]; readonly warmUp: Off[]; readonly turned: Off[] },
): void {
  const kind = baseline?.kind;
  if (!baseline || !kind) return;
  const [plateau, fan] = [plateauOf(kind), fanOf(kind)];
  if (plateau && own.plateauC !== null && baseline.drives === 0)
    into.plateau.push({ off: own.plateauC - plateau.valueC, half: plateau.withinC });
  if (fan && own.fanC !== null && baseline.drives === 0)
    into.turned.push({ off: own.fanC - fan.valueC, half: fan.withinC });
  if (!own.warmUp) return;
  const { airC, source, heatPerC } = own.warmUp;
  const e = expectedHeat(baseline.warmUps, airC, source, kind.warmUp[source] ?? null);
  if (e) into.warmUp.push({ off: Math.log(heatPerC) - e.ln, half: 1.96 * e.se });
}

export function coolantTable(rows: readonly CoolantRow[]): string {
  const covers = (offs: readonly Off[], unit: string, times: number, digits: number): string => {
    if (offs.length === 0) return '– | –';
    const inside = offs.filter((o) => Math.abs(o.off) <= o.half).length;
    const half = times * median(offs.map((o) => o.half));
    return `±${half.toFixed(digits)} ${unit} | ${((100 * inside) / offs.length).toFixed(0)} % of ${offs.length}`;
  };
  const lines = rows.map((r) => {
    const spread = r.spread === 1 ? '×1' : r.spread < 1 ? '×1/3' : '×3';
    const { doubled, open, fan } = r.missed;
    return `| ${spread} | ${r.knowledge} | ${r.good} | ${r.accused} | ${r.doubled} | ${r.open} | ${r.fan} | ${doubled} / ${open} / ${fan} | ${covers(r.plateau, '°C', 1, 1)} | ${covers(r.warmUp, '%', 100, 0)} | ${covers(r.turned, '°C', 1, 1)} |`;
  });
  return [
    `Of ${rows[0]?.cars ?? 0} cars each:`,
    '',
    '| spread | judged against | healthy shown good | healthy accused | doubled warm-up found | held at 79 to 83 °C found | fan dead found | of these called good | plateau, 95 % interval | covers | warm-up | covers | fan | covers |',
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
  console.log(coolantTable(SPREADS.flatMap((spread) => coolantRows(seeds, spread, members))));
}
