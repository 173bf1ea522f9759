/** A run as columns for drawing: at most about `points` values a signal, every minimum and maximum kept. */
import type { SampleTable } from '../signal/table.ts';
import type { SeriesView } from './api.ts';

export function seriesOf(table: SampleTable, points: number): SeriesView {
  const view: Record<string, { t: number[]; v: number[] }> = {};
  for (const name of table.names) {
    const { tS, value } = table.series(name);
    view[name] = thinned(tS, value, points);
  }
  return view;
}

/** Buckets of equal count; each gives its lowest and highest value in the order in which they came. */
function thinned(tS: Float64Array, value: Float64Array, points: number): { t: number[]; v: number[] } {
  if (tS.length <= points) return { t: [...tS], v: [...value] };
  const t: number[] = [];
  const v: number[] = [];
  const buckets = Math.max(1, Math.floor(points / 2));
  for (let b = 0; b < buckets; b++) {
    const from = Math.floor((b * tS.length) / buckets);
    const to = Math.floor(((b + 1) * tS.length) / buckets);
    let low = from;
    let high = from;
    for (let i = from + 1; i < to; i++) {
      if (value[i]! < value[low]!) low = i;
      if (value[i]! > value[high]!) high = i;
    }
    for (const i of low === high ? [low] : [Math.min(low, high), Math.max(low, high)]) {
      t.push(tS[i]!);
      v.push(value[i]!);
    }
  }
  return { t, v };
}
