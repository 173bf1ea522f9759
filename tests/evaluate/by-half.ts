/**
 * What becomes of the judging when a constant that comes from one car is off by half: `npx tsx tests/evaluate/by-half.ts
 * [NAME…]` moves each down and up in a copy of the sources, one at a time, judges the open drives there with and without
 * faults, and prints the rows of docs/analysis.md ("What comes from one car"), a few minutes a row. Open drives must be there.
 */
import { execFileSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { median } from 'simple-statistics';
import ts from 'typescript';
import { learnBoost, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { seededRandom } from '../../src/core/random.ts';
import { clean, judgeBoost } from './boost.ts';
import { ALL_TRIPS, diesel } from './boost-drives.ts';
import { type CoolantOutcome, climbed, cold, halfOf, healthy, slow } from './coolant-cases.ts';
import { scaleBoost } from './inject-boost.ts';

type System = 'boost' | 'coolant';

interface OneCar {
  readonly name: string;
  readonly file: string;
  readonly system: System;
  /** Numbers of the constant that are moved: those of this property, those of this place in their list, or all. */
  readonly property?: string;
  readonly place?: number;
  /** Rows of the table from this one on. */
  readonly fromRow?: number;
}

export const ONE_CAR: readonly OneCar[] = [
  { name: 'NOISE', file: 'boost/noise.ts', system: 'boost', property: 'pull' },
  { name: 'NOISE', file: 'boost/noise.ts', system: 'boost', property: 'point' },
  { name: 'NOISE', file: 'boost/noise.ts', system: 'boost', property: 'run' },
  { name: 'TURBO_LAG', file: 'boost/stretches.ts', system: 'boost', place: 1 },
  { name: 'UNSETTLED', file: 'boost/noise.ts', system: 'boost' },
  { name: 'CARRY_SD', file: 'boost/expectation.ts', system: 'boost' },
  { name: 'AIR_RUN_SD', file: 'boost/noise.ts', system: 'boost' },
  { name: 'AIR_LIMIT', file: 'boost/air.ts', system: 'boost' },
  { name: 'SENSOR_FLOOR_PCT', file: 'boost/points.ts', system: 'boost' },
  { name: 'ENVELOPE', file: 'coolant/envelope.ts', system: 'coolant', property: 'allowC', fromRow: 3 },
  { name: 'STEEP_C', file: 'coolant/envelope.ts', system: 'coolant' },
  { name: 'YARDSTICK_AGE_S', file: 'coolant/envelope.ts', system: 'coolant' },
  { name: 'HILL_MORE_C', file: 'coolant/climb.ts', system: 'coolant' },
  { name: 'UNSEEN_HEAT', file: 'coolant/envelope.ts', system: 'coolant' },
  { name: 'LEVEL_WITHIN_C', file: 'coolant/climb.ts', system: 'coolant' },
  { name: 'LEVEL_SHORT_C', file: 'coolant/climb.ts', system: 'coolant' },
  { name: 'LEVEL_C_PER_MIN', file: 'coolant/climb.ts', system: 'coolant' },
  { name: 'HELD_AGO_S', file: 'coolant/climb.ts', system: 'coolant' },
  { name: 'LATE_C', file: 'coolant/climb.ts', system: 'coolant' },
  { name: 'LATE_RISE_C', file: 'coolant/climb.ts', system: 'coolant' },
  { name: 'COOL_AIR_C', file: 'coolant/plateau.ts', system: 'coolant' },
  { name: 'SCATTER', file: 'coolant/warm-up-meter.ts', system: 'coolant' },
  { name: 'FURTHER_C', file: 'coolant/warm-up-meter.ts', system: 'coolant' },
  { name: 'PLATEAU_SPREAD_C', file: 'coolant/baseline.ts', system: 'coolant' },
];

const ROOT = resolve(import.meta.dirname, '../..');
const pathOf = ({ file }: OneCar): string => join('src/analysis', file);
export const sourceOf = (constant: OneCar): string => readFileSync(join(ROOT, pathOf(constant)), 'utf8');

/** The text of the module with the constant's numbers times `factor`. */
export function moved(source: string, constant: OneCar, factor: number): string {
  const file = ts.createSourceFile('x.ts', source, ts.ScriptTarget.Latest, true);
  const declared = file.statements
    .flatMap((s) => (ts.isVariableStatement(s) ? [...s.declarationList.declarations] : []))
    .find((d) => d.name.getText() === constant.name);
  if (!declared?.initializer) throw new Error(`no ${constant.name} in ${constant.file}`);
  const numbers: ts.NumericLiteral[] = [];
  const counts = (n: ts.NumericLiteral): boolean => {
    const { parent } = n;
    if (constant.property !== undefined)
      return ts.isPropertyAssignment(parent) && parent.name.getText() === constant.property;
    return (
      constant.place === undefined ||
      (ts.isArrayLiteralExpression(parent) && parent.elements.indexOf(n) === constant.place)
    );
  };
  const walk = (node: ts.Node): void => {
    if (ts.isNumericLiteral(node) && counts(node)) numbers.push(node);
    ts.forEachChild(node, walk);
  };
  walk(declared.initializer);
  const some = numbers.slice(constant.fromRow ?? 0);
  if (some.length === 0) throw new Error(`nothing to move in ${constant.name}`);
  return some.reduceRight((text, n) => {
    const value = Number(n.text) * factor;
    return text.slice(0, n.getStart()) + String(Number(value.toPrecision(6))) + text.slice(n.end);
  }, source);
}

const DIESEL = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });
const TAUGHT = 5;

/** What is judged, with how much boost left and whose fault it is; `meter` is an air meter that tells 4 % more. */
const BOOST_CASES = {
  healthy: (s) => s,
  'meter +4 %': (s) => s.map((x) => (x.signal === 'maf_gps' ? { ...x, value: x.value * 1.04 } : x)),
  '×0.9': (s) => scaleBoost(s, 0.9, 'everywhere'),
  '×0.8': (s) => scaleBoost(s, 0.8, 'everywhere'),
  '×0.7 from 2,500 rpm': (s) => scaleBoost(s, 0.7, 'above 2500'),
  'leak ×0.9': (s) => scaleBoost(s, 0.9, 'everywhere', 'leak'),
  absent: (s) => scaleBoost(s, 0, 'everywhere'),
} satisfies Record<string, (s: ReturnType<typeof diesel>) => ReturnType<typeof diesel>>;

interface Tally {
  n: number;
  faults: number;
  good: number;
}

/** Every KIT trip; five others teach, drawn by a seed that no constant was chosen on. */
function boost(): Record<string, Tally> {
  const lessons = new Map(ALL_TRIPS.map((n) => [n, learnBoost(clean(diesel(n)), DIESEL)]));
  const out: Record<string, Tally> = {};
  for (const name of ALL_TRIPS) {
    const random = seededRandom(`by half/${name}`);
    const by = ALL_TRIPS.filter((n) => n !== name)
      .map((n) => ({ n, at: random.next() }))
      .sort((a, b) => a.at - b.at)
      .slice(0, TAUGHT);
    const baseline = mergeLessons(by.map(({ n }) => lessons.get(n)!));
    for (const [label, put] of Object.entries(BOOST_CASES)) {
      const tally = out[label] ?? { n: 0, faults: 0, good: 0 };
      out[label] = tally;
      const o = judgeBoost(clean(put(diesel(name))), DIESEL, baseline);
      tally.n++;
      if (o.faults.length > 0) tally.faults++;
      if (o.systemGood) tally.good++;
    }
  }
  return out;
}

interface CoolantTally {
  readonly healthy: Tally;
  readonly slow: Tally;
  readonly cold: Tally;
  /** Seconds until a climb of 1 °C a minute is said, the middle one, and how many of how many are. */
  readonly climb: { readonly middleS: number; readonly told: number; readonly n: number };
}

const OPEN = ['76 °C, flat', '80 °C, sags 3 °C per 10 km/h'] as const;

/** Every open drive; seven others of its car teach, and for healthy drives none as well. */
function coolant(): CoolantTally {
  const tallies = {
    healthy: { n: 0, faults: 0, good: 0 },
    slow: { n: 0, faults: 0, good: 0 },
    cold: { n: 0, faults: 0, good: 0 },
  };
  const add = (tally: Tally, o: CoolantOutcome | null): void => {
    if (o === null) return;
    tally.n++;
    // A slow warm-up has a verdict of its own; the rest may be good beside it.
    const faulty = tally === tallies.slow ? o.warmUp === 'fault shown' : o.verdict === 'fault';
    const good = tally === tallies.slow ? o.warmUp === 'shown good' : o.verdict === 'good';
    if (faulty) tally.faults++;
    if (good) tally.good++;
  };
  const delays: number[] = [];
  for (const name of [...halfOf('A'), ...halfOf('B')]) {
    const how = { taught: 7, road: null };
    for (const taught of [0, 7]) add(tallies.healthy, healthy(name, { taught, road: null }));
    for (const label of OPEN) add(tallies.cold, cold(name, label, how));
    add(tallies.slow, slow(name, how));
    const o = climbed(name, 'ramp 1 °C/min', 0, how);
    if (o !== null) delays.push(o.delayS ?? Number.POSITIVE_INFINITY);
  }
  const told = delays.filter(Number.isFinite).length;
  return { ...tallies, climb: { middleS: median(delays), told, n: delays.length } };
}

const ofN = (k: number, n: number): string => `${k} of ${n}`;

function cellsOf(system: System, result: unknown): string[] {
  if (system === 'boost') {
    const t = result as Record<string, Tally>;
    const found = (label: string) => ofN(t[label]!.faults, t[label]!.n);
    const good = (label: string) => ofN(t[label]!.good, t[label]!.n);
    return [
      ...[found('healthy'), good('healthy'), found('meter +4 %')],
      ...['×0.9', '×0.8', '×0.7 from 2,500 rpm', 'leak ×0.9', 'absent'].map(found),
      ...['×0.9', '×0.8', '×0.7 from 2,500 rpm', 'leak ×0.9'].map(good),
    ];
  }
  const t = result as CoolantTally;
  return [
    ...[ofN(t.healthy.faults, t.healthy.n), ofN(t.healthy.good, t.healthy.n)],
    `${Math.round(t.climb.middleS)} s, ${ofN(t.climb.told, t.climb.n)}`,
    ofN(t.cold.faults, t.cold.n),
    ofN(t.cold.good, t.cold.n),
    ofN(t.slow.faults, t.slow.n),
    ofN(t.slow.good, t.slow.n),
  ];
}

/** Judges in a copy of the sources in which one constant, or none, is moved. */
function measured(system: System, constant: OneCar | null, factor: number): string[] {
  const copy = mkdtempSync(join(tmpdir(), 'by-half-'));
  try {
    for (const part of ['src', 'tests', 'package.json', 'tsconfig.json'])
      cpSync(join(ROOT, part), join(copy, part), { recursive: true });
    symlinkSync(join(ROOT, 'node_modules'), join(copy, 'node_modules'));
    if (constant !== null) {
      const path = join(copy, pathOf(constant));
      writeFileSync(path, moved(readFileSync(path, 'utf8'), constant, factor));
    }
    const out = execFileSync(
      join(ROOT, 'node_modules/.bin/tsx'),
      ['tests/evaluate/by-half.ts', '--judge', system],
      {
        cwd: copy,
        env: { ...process.env, HANDBACK_SHARED: process.env.HANDBACK_SHARED ?? resolve(ROOT, '../shared') },
        encoding: 'utf8',
        maxBuffer: 1 << 24,
      },
    );
    return cellsOf(system, JSON.parse(out));
  } finally {
    rmSync(copy, { recursive: true, force: true });
  }
}

export const titleOf = (c: OneCar): string =>
  `\`${c.name}\`${c.property === undefined ? '' : ` ${c.property}`}`;

function main(names: readonly string[]): void {
  const own = ONE_CAR.filter(
    (c) => names.length === 0 || names.includes(c.name) || names.includes(c.property ?? ''),
  );
  for (const system of ['boost', 'coolant'] as const) {
    const constants = own.filter((c) => c.system === system);
    const row = (title: string, cells: readonly string[]) =>
      console.log(`| ${[title, ...cells].join(' | ')} |`);
    if (names.length === 0 || names.includes(system))
      row(`${system}, as it ships`, measured(system, null, 1));
    for (const c of constants)
      for (const factor of [0.5, 1.5]) row(`${titleOf(c)} × ${factor}`, measured(system, c, factor));
  }
}

if (process.argv[1]?.endsWith('by-half.ts')) {
  const [first, system] = process.argv.slice(2);
  if (first === '--judge') console.log(JSON.stringify(system === 'boost' ? boost() : coolant()));
  else main(process.argv.slice(2));
}
