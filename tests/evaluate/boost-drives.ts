/** All open diesel drives, read once, in two halves: chosen on one, reported on the other, then swapped. */
import { existsSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { gunzipSync } from 'node:zlib';
import type { Sample } from '../../src/core/signals.ts';

const SHARED = process.env.HANDBACK_SHARED ?? resolve(import.meta.dirname, '../../../shared');

/** Trips by season, those with many pulls first: every other one is of the other half (NOTICE.md and README.md beside the drives). */
const SUMMER = [
  ...['24', '52', '60', '03', '50', '54', '45', '05', '14', '11', '26', '49'],
  ...['07', '08', '16', '34', '55', '64', '72', '77'],
];
const WINTER = [
  ...['36', '76', '44', '29', '20', '33', '39', '32', '47', '09', '57', '48', '21', '66', '67'],
  ...['06', '18', '19', '27', '30', '38', '42', '51', '59', '68'],
];
const split = (k: number): string[] =>
  [...SUMMER.filter((_, i) => i % 2 === k), ...WINTER.filter((_, i) => i % 2 === k)].map((n) => `trip-${n}`);
export const HALVES = { A: split(0), B: split(1) } as const;
export type Half = keyof typeof HALVES;
export const ALL_TRIPS: readonly string[] = [...HALVES.A, ...HALVES.B].sort();

const read = new Map<string, Sample[]>();

export function diesel(name: string): readonly Sample[] {
  const samples = read.get(name) ?? parse(name);
  read.set(name, samples);
  return samples;
}

function parse(name: string): Sample[] {
  const path = ['drives', 'more-drives'].map((d) => join(SHARED, d, `${name}.csv.gz`)).find(existsSync);
  if (path === undefined) throw new Error(`${name}: no such drive under ${SHARED}`);
  return gunzipSync(readFileSync(path))
    .toString('utf8')
    .split('\n')
    .slice(1)
    .flatMap((line) => {
      const [t, signal, value] = line.split(',');
      if (t === undefined || signal === undefined || value === undefined) return [];
      const tUs = Math.round(Number(t) * 1e6);
      return [{ signal, tUs, sentUs: tUs, value: Number(value) }];
    });
}
