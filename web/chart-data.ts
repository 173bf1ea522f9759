/** What is seen of a run as figures: statistics of a stretch, a table for a spreadsheet, a picture in lines. Pure. */
import type { SeriesView } from '../src/desk/api.ts';

interface Stats {
  readonly n: number;
  readonly min: number;
  /** Of the samples, each counted once. */
  readonly mean: number;
  readonly max: number;
  /** Of the straight line with the least squares, a minute; null with fewer than two times. */
  readonly slopePerMin: number | null;
}

type Line = SeriesView[string];

/** Of the samples from `fromS` to `toS`; null when there are none. */
export function statsOf({ t, v }: Line, fromS: number, toS: number): Stats | null {
  let [n, min, max, sum, sumT] = [0, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, 0, 0];
  const each = (of: (tS: number, value: number) => void) => {
    for (const [i, tS] of t.entries()) {
      const value = v[i];
      if (tS >= fromS && tS <= toS && value !== null && value !== undefined) of(tS, value);
    }
  };
  each((tS, value) => {
    n++;
    sum += value;
    sumT += tS;
    min = Math.min(min, value);
    max = Math.max(max, value);
  });
  if (n === 0) return null;
  const [mean, meanT] = [sum / n, sumT / n];
  let [xy, xx] = [0, 0];
  each((tS, value) => {
    xy += (tS - meanT) * (value - mean);
    xx += (tS - meanT) ** 2;
  });
  return { n, min, mean, max, slopePerMin: xx > 0 ? (60 * xy) / xx : null };
}

/** One row for each time at which any signal came, in the catalogue's units; a field stays empty where none came (RFC 4180). */
export function csvOf(series: SeriesView, fromS: number, toS: number): string {
  const names = Object.keys(series).sort();
  const rows = new Map<number, string[]>();
  for (const [column, name] of names.entries())
    for (const [i, tS] of series[name]!.t.entries()) {
      const value = series[name]!.v[i];
      if (tS < fromS || tS > toS || value === null || value === undefined) continue;
      const row = rows.get(tS) ?? new Array<string>(names.length).fill('');
      row[column] = String(value);
      rows.set(tS, row);
    }
  const times = [...rows.keys()].sort((a, b) => a - b);
  return `${['time_s', ...names].join(',')}\r\n${times.map((tS) => `${[tS, ...rows.get(tS)!].join(',')}\r\n`).join('')}`;
}

/** An SVG path through pixels: `null` breaks it, `undefined` is no point. */
export function pathOf(xs: readonly number[], ys: readonly (number | null | undefined)[]): string {
  let path = '';
  let pen = 'M';
  for (const [i, y] of ys.entries()) {
    if (y === undefined) continue;
    if (y === null) pen = 'M';
    else {
      path += `${pen}${xs[i]!.toFixed(1)} ${y.toFixed(1)}`;
      pen = 'L';
    }
  }
  return path;
}
