/**
 * How many drives in the wrong units are recognised: every open drive written in every unit that tables use by
 * mistake. Constants were chosen on every second file by name; both halves are reported. `npx tsx tests/evaluate/units.ts`
 * prints the table of docs/tables.md.
 */
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { checkUnits } from '../../src/run/import/unit-check.ts';
import { openRecording } from '../../src/run/recording.ts';
import { SampleTable } from '../../src/signal/table.ts';
import { SHARED } from '../require.ts';

export interface Mistake {
  readonly name: string;
  /** Signal, or "time". */
  readonly of: string;
  /** A unit that must be among the likely ones. */
  readonly unit: string;
  readonly value?: (signal: string, value: number) => number;
  readonly time?: (us: number) => number;
}

const rounded = (decimals: number) => (x: number) => Math.round(x * 10 ** decimals) / 10 ** decimals;
const only = (of: string, convert: (v: number) => number) => (signal: string, v: number) =>
  signal === of ? convert(v) : v;
const fahrenheit = (v: number) => v * 1.8 + 32;
const PSI = 6.894757293168;
const AIR_KPA = 100;

function wrong(
  of: string,
  unit: string,
  convert: (v: number) => number,
  decimals: readonly number[],
): Mistake[] {
  return decimals.map((d) => ({
    name: `${of} in ${unit}, ${d === 0 ? 'whole numbers' : `${d} decimals`}`,
    of,
    unit,
    value: only(of, (v) => rounded(d)(convert(v))),
  }));
}

export const MISTAKES: readonly Mistake[] = [
  ...['ect_c', 'iat_c', 'ambient_c'].flatMap((of) => wrong(of, 'degF', fahrenheit, [1, 0])),
  ...wrong('ect_c', 'K', (v) => v + 273.15, [2]),
  ...wrong('map_kpa', 'psi', (v) => v / PSI, [2, 1, 0]),
  ...wrong('map_kpa', 'psi gauge', (v) => (v - AIR_KPA) / PSI, [1]),
  ...wrong('map_kpa', 'kPa gauge', (v) => v - AIR_KPA, [0]),
  ...wrong('map_kpa', 'bar', (v) => v / 100, [2]),
  ...wrong('map_kpa', 'hPa', (v) => v * 10, [0]),
  ...wrong('map_kpa', 'inHg', (v) => v / 3.386389, [1]),
  ...wrong('baro_kpa', 'psi', (v) => v / PSI, [1]),
  ...wrong('speed_kmh', 'mph', (v) => v / 1.609344, [2, 1, 0]),
  ...wrong('speed_kmh', 'm/s', (v) => v / 3.6, [2]),
  ...wrong('pedal_d_pct', 'fraction', (v) => v / 100, [3]),
  ...wrong('maf_gps', 'lb/min', (v) => v / 7.55987, [3]),
  ...wrong('maf_gps', 'kg/h', (v) => v * 3.6, [1]),
  {
    name: 'temperatures in degF, pressures in psi, speed in mph, one decimal',
    of: 'ect_c',
    unit: 'degF',
    value: (signal, v) => {
      if (signal.endsWith('_c')) return rounded(1)(fahrenheit(v));
      if (signal.endsWith('_kpa')) return rounded(1)(v / PSI);
      return signal === 'speed_kmh' ? rounded(1)(v / 1.609344) : v;
    },
  },
  { name: 'time in ms', of: 'time', unit: 'ms', time: (us) => us * 1000 },
  { name: 'time in min, 3 decimals', of: 'time', unit: 'min', time: (us) => 1000 * Math.round(us / 60_000) },
  {
    name: 'time in m.ss, whole seconds',
    of: 'time',
    unit: 'm.ss',
    time: (us) => 1e6 * Math.floor(us / 60e6) + 1e4 * (Math.floor(us / 1e6) % 60),
  },
  { name: 'time in h', of: 'time', unit: 'h', time: (us) => Math.round(us / 3600) },
];

/** The drive as a logger with the mistake would have written it. */
export function mistaken(table: SampleTable, { value, time }: Mistake): SampleTable {
  const out = new SampleTable();
  for (const s of table) {
    const tUs = time ? time(s.tUs) : s.tUs;
    out.push({ signal: s.signal, tUs, sentUs: tUs, value: value ? value(s.signal, s.value) : s.value });
  }
  return out;
}

export const openDrives = (): string[] =>
  ['drives', 'more-drives'].flatMap((folder) =>
    readdirSync(join(SHARED, folder))
      .filter((f) => f.endsWith('.csv.gz'))
      .map((f) => join(SHARED, folder, f)),
  );

export type Outcome = 'named' | 'refused' | 'remarked' | 'silent';

/** named: the right unit among the likely ones; refused: doubted, for another reason; remarked: said that it is not known. */
export function outcome(table: SampleTable, mistake: Mistake): Outcome {
  const { wrong: doubts, open } = checkUnits(table, new Set(table.names), 's');
  if (doubts.some((d) => d.of === mistake.of && d.likely.includes(mistake.unit))) return 'named';
  if (doubts.length > 0) return 'refused';
  return open.some((d) => d.of === mistake.of) ? 'remarked' : 'silent';
}

async function main(): Promise<void> {
  const files = openDrives().sort((a, b) => (a.split('/').at(-1)! < b.split('/').at(-1)! ? -1 : 1));
  const tally = new Map<string, Record<Outcome, number>[]>();
  const sound = [0, 0];
  const all = [0, 0];
  for (const [i, file] of files.entries()) {
    const { table } = await openRecording(file);
    const half = i % 2;
    all[half]!++;
    if (checkUnits(table, new Set(table.names), 's').wrong.length === 0) sound[half]!++;
    else console.error(`refused as it stands: ${file}`);
    for (const mistake of MISTAKES) {
      if (mistake.of !== 'time' && !table.names.includes(mistake.of)) continue;
      const halves =
        tally.get(mistake.name) ?? [0, 1].map(() => ({ named: 0, refused: 0, remarked: 0, silent: 0 }));
      tally.set(mistake.name, halves);
      const o = outcome(mistaken(table, mistake), mistake);
      halves[half]![o]++;
      if (o === 'silent' || o === 'remarked')
        console.error(`${mistake.name}: ${o} on ${file.split('/').at(-1)}`);
    }
  }
  console.log(
    '| values | chosen on: recognised | reported on: recognised | remarked | silent |\n|---|---|---|---|---|',
  );
  for (const [name, halves] of tally) {
    const seen = halves.map((h) => {
      const n = h.named + h.refused + h.remarked + h.silent;
      return `${h.named + h.refused} of ${n}${h.refused > 0 ? ` (${h.refused} by another signal)` : ''}`;
    });
    const [, reported] = halves;
    console.log(`| ${name} | ${seen.join(' | ')} | ${reported!.remarked} | ${reported!.silent} |`);
  }
  console.log(
    `| as they are: refused | ${[0, 1].map((h) => `${all[h]! - sound[h]!} of ${all[h]}`).join(' | ')} | | |`,
  );
}

if (process.argv[1]?.endsWith('units.ts')) await main();
