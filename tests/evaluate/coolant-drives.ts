/** Reads the open drives as samples; they lie outside the repository (HANDBACK_SHARED). */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { gunzipSync } from 'node:zlib';
import type { Sample } from '../../src/core/signals.ts';
import { readingsOf } from '../../src/run/import/readings.ts';
import { SampleTable } from '../../src/signal/table.ts';

const SHARED = process.env.HANDBACK_SHARED ?? resolve(import.meta.dirname, '../../../shared');
const FOLDERS = ['drives', 'more-drives'];

const FILES: ReadonlyMap<string, string> = new Map(
  FOLDERS.filter((folder) => existsSync(join(SHARED, folder))).flatMap((folder) =>
    readdirSync(join(SHARED, folder))
      .filter((file) => file.endsWith('.csv.gz'))
      .map((file): [string, string] => [file.replace('.csv.gz', ''), join(SHARED, folder, file)]),
  ),
);

/** Halves of the first folder, for what was chosen before there were more drives. */
export const TUNE = [
  ...['05', '14', '20', '33', '48', '57', '76'].map((n) => `trip-${n}`),
  ...['02', '04', '13', '21', '29', '38', '49'].map((n) => `petrol-${n}`),
];
export const REPORT = [
  ...['09', '16', '26', '49', '59', '60', '77'].map((n) => `trip-${n}`),
  ...['03', '11', '19', '24', '35', '41', '50', '51'].map((n) => `petrol-${n}`),
];

export type Half = 'A' | 'B';

/**
 * All open drives in two halves, split by trip: by the air of the drive (the diesel) or by name (the petrol car), every
 * other one, so that both halves have every season.
 */
export function halves(airC: (name: string) => number): Readonly<Record<Half, readonly string[]>> {
  const out: Record<Half, string[]> = { A: [], B: [] };
  for (const car of ['trip', 'petrol']) {
    const names = [...FILES.keys()].filter((n) => n.startsWith(car)).sort();
    const air = new Map(names.map((n) => [n, airC(n)]));
    names.sort((a, b) => air.get(a)! - air.get(b)! || (a < b ? -1 : 1));
    names.forEach((name, k) => {
      out[k % 2 === 0 ? 'A' : 'B'].push(name);
    });
  }
  return out;
}

export const isThere = (name: string): boolean => FILES.has(name);

/** The readings of a drive, as a table from elsewhere is taken in: of the petrol car's values most are carried forward. */
export function readDrive(name: string): Sample[] {
  const table = new SampleTable();
  const text = gunzipSync(readFileSync(FILES.get(name)!)).toString('utf8');
  for (const line of text.split('\n').slice(1)) {
    if (line === '') continue;
    const [t = '', signal = '', value = ''] = line.split(',');
    const tUs = Math.round(Number(t) * 1e6);
    table.push({ signal, tUs, sentUs: tUs, value: Number(value) });
  }
  return [...readingsOf(table).table];
}
