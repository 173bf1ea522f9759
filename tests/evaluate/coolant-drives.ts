/** Reads the open drives as samples; they lie outside the repository (HANDBACK_SHARED). */
import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { gunzipSync } from 'node:zlib';
import type { Sample } from '../../src/core/signals.ts';

const SHARED = process.env.HANDBACK_SHARED ?? resolve(import.meta.dirname, '../../../shared');

/** The half on which numbers were chosen, and the half that only reports. */
export const TUNE = [
  ...['05', '14', '20', '33', '48', '57', '76'].map((n) => `trip-${n}`),
  ...['02', '04', '13', '21', '29', '38', '49'].map((n) => `petrol-${n}`),
];
export const REPORT = [
  ...['09', '16', '26', '49', '59', '60', '77'].map((n) => `trip-${n}`),
  ...['03', '11', '19', '24', '35', '41', '50', '51'].map((n) => `petrol-${n}`),
];

export function readDrive(name: string): Sample[] {
  const text = gunzipSync(readFileSync(join(SHARED, 'drives', `${name}.csv.gz`))).toString('utf8');
  return text
    .split('\n')
    .slice(1)
    .filter((line) => line !== '')
    .map((line) => {
      const [t = '', signal = '', value = ''] = line.split(',');
      const tUs = Math.round(Number(t) * 1e6);
      return { signal, tUs, sentUs: tUs, value: Number(value) };
    });
}
