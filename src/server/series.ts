/** A run as columns for drawing: at most about `points` values a signal, every minimum and maximum kept. */
import type { SampleTable } from '../signal/table.ts';
import { thinned } from '../signal/thin.ts';
import type { SeriesView } from './api.ts';

export function seriesOf(table: SampleTable, points: number): SeriesView {
  const view: Record<string, { t: number[]; v: number[] }> = {};
  for (const name of table.names) {
    const { tS, value } = table.series(name);
    view[name] = thinned(tS, value, points);
  }
  return view;
}
