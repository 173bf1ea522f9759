/** One signal of a run that is laid over another: where nothing came the line breaks, as in the strips of one run. */
import uPlot from 'uplot';
import type { SeriesView } from '../src/desk/api.ts';
import { Columns } from './columns.ts';

const NEAR_S = 5;

export interface Series {
  readonly t: readonly number[];
  readonly v: readonly (number | null)[];
}

/** Pressure above the newest barometric one, kPa. Without the air's own pressure there is no boost to draw, only a guess. */
export function boostOf({ map_kpa: map, baro_kpa: baro }: SeriesView): Series | null {
  const air = columnsOf(baro);
  const first = baro?.v.find((v) => v !== null) ?? null;
  if (!map || first === null) return null;
  const boost = map.v.map((v, i) => (v === null ? null : v - (air.at(map.t[i]!)?.v ?? first)));
  return { t: map.t, v: boost };
}

/** The same with a hole wherever nothing came for longer than a line is drawn across. */
export function withHoles(series: Series): Series {
  const gapS = columnsOf(series).gapS();
  const [t, v]: [number[], (number | null)[]] = [[], []];
  let last = Number.POSITIVE_INFINITY;
  series.t.forEach((at, i) => {
    if (at - last > gapS) {
      t.push((last + at) / 2);
      v.push(null);
    }
    t.push(at);
    v.push(series.v[i] ?? null);
    last = at;
  });
  return { t, v };
}

/** A hole in one run reaches over the times of the other's readings: uPlot's NULL_EXPAND, for the one series of a table. */
const HOLES: uPlot.JoinNullMode[] = [0, 2];

/** Both on one time axis, the second moved to the right by `shiftS`. */
export function overlaid(before: Series | null, after: Series | null, shiftS: number): uPlot.AlignedData {
  const table = (s: Series | null, shift: number): uPlot.AlignedData => {
    const { t, v } = withHoles(s ?? { t: [], v: [] });
    return [t.map((at) => at + shift), [...v]];
  };
  return uPlot.join([table(before, 0), table(after, shiftS)], [HOLES, HOLES]);
}

/** The reading nearest to a time; null where none is near. */
export function nearest({ t, v }: Series, at: number): number | null {
  let low = 0;
  let high = t.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (t[middle]! < at) low = middle + 1;
    else high = middle;
  }
  const k = low > 0 && at - t[low - 1]! < t[low]! - at ? low - 1 : low;
  return t.length > 0 && Math.abs(t[k]! - at) <= NEAR_S ? (v[k] ?? null) : null;
}

function columnsOf(series: Series | undefined): Columns {
  const columns = new Columns();
  series?.t.forEach((t, i) => {
    columns.push(t, series.v[i] ?? null);
  });
  return columns;
}
