/** What a sheet draws of a drive, and the conditions that it was driven in. */
import { signalDef } from '../core/signals.ts';
import type { Conditions } from '../sheet/types.ts';
import type { SampleTable } from '../signal/table.ts';
import { type Points, thinned } from '../signal/thin.ts';
import type { RunTrail } from './api.ts';

/** Enough that one engagement of a two-hour run keeps its samples. */
const POINTS = 20_000;
const DRAWN = ['rpm', 'speed_kmh', 'ect_c', 'voltage_v'] as const;
/** Speed is not integrated across holes longer than this. */
const DISTANCE_HOLE_S = 5;
/** Air outside does not change by so much between readings so near; compressed air and a bad contact do. Chosen by hand. */
const AIR_LEAP_C = 15;
const AIR_LEAP_S = 3;
/** Nor does coolant leave its neighbours by so much, and come back, between readings so near. Chosen by hand. */
const COOLANT_LEAP_C = 10;
const COOLANT_LEAP_S = 15;

/** Boost over the barometric pressure, and the demand, that the judge knew. */
export function seriesOf(
  table: SampleTable,
  { baro, demand }: Pick<RunTrail, 'baro' | 'demand'>,
): Record<string, Points> {
  const out: Record<string, Points> = {};
  for (const name of DRAWN) {
    const series = plausible(table, name);
    if (series.t.length > 1) out[name] = thinned(series, POINTS);
  }
  const asked = demand === null ? null : plausible(table, demand);
  if (asked && asked.t.length > 1) out.demand_pct = thinned(asked, POINTS);
  const map = plausible(table, 'map_kpa');
  if (map.t.length < 2 || baro.length === 0) return out;
  let k = 0;
  const boost = map.v.map((v, i) => {
    while (k + 1 < baro.length && baro[k + 1]!.fromS <= map.t[i]!) k++;
    return v - baro[k]!.kpa;
  });
  out.boost_kpa = thinned({ t: map.t, v: boost }, POINTS);
  return out;
}

/** Without what no engine gives: a torn byte must not stretch a chart. */
function plausible(table: SampleTable, name: string): Points {
  const { tS, value } = table.series(name);
  const def = signalDef(name);
  const [low, high] = def.plausible;
  const t: number[] = [];
  const v: number[] = [];
  for (const [i, x] of value.entries())
    if (x >= low && x <= high && !def.endStops?.includes(x)) {
      t.push(tS[i]!);
      v.push(x);
    }
  return { t, v };
}

export function conditionsOf(table: SampleTable, baroKpa: number | null): Conditions {
  const speed = plausible(table, 'speed_kmh');
  const read = plausible(table, 'ect_c');
  const ect = withoutLone(read);
  const highest = ect.v.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  const lone = read.v.filter((v) => v > highest);
  const intake = plausible(table, 'iat_c');
  let km = 0;
  for (let i = 1; i < speed.t.length; i++) {
    const dtS = speed.t[i]! - speed.t[i - 1]!;
    if (dtS <= DISTANCE_HOLE_S) km += (((speed.v[i]! + speed.v[i - 1]!) / 2) * dtS) / 3600;
  }
  return {
    distanceKm: speed.t.length > 1 ? km : null,
    topSpeedKmh: speed.t.length > 0 ? speed.v.reduce((a, b) => Math.max(a, b)) : null,
    coolantC: ect.t.length > 0 ? { start: ect.v[0]!, highest } : null,
    coolantLone:
      ect.t.length > 0 && lone.length > 0
        ? { n: lone.length, highestC: lone.reduce((a, b) => Math.max(a, b)) }
        : null,
    ambientC: rangeOf(plausible(table, 'ambient_c')),
    intakeC: rangeOf(intake),
    intakeLeapC: leapOf(intake),
    baroKpa: rangeOf(plausible(table, 'baro_kpa')) ?? (baroKpa === null ? null : [baroKpa, baroKpa]),
    samples: table.length,
  };
}

/** Without readings that stand alone above or below both neighbours: a bad contact is no temperature that was reached. */
function withoutLone({ t, v }: Points): Points {
  const leap = (i: number, k: number) =>
    Math.abs((t[k] ?? Number.POSITIVE_INFINITY) - t[i]!) <= COOLANT_LEAP_S ? v[i]! - v[k]! : 0;
  const kept = [...v.keys()].filter((i) => {
    const [before, after] = [leap(i, i - 1), leap(i, i + 1)];
    return Math.min(Math.abs(before), Math.abs(after)) < COOLANT_LEAP_C || before * after < 0;
  });
  return { t: kept.map((i) => t[i]!), v: kept.map((i) => v[i]!) };
}

function leapOf({ t, v }: Points): number | null {
  let most = 0;
  for (let i = 1; i < v.length; i++)
    if (t[i]! - t[i - 1]! <= AIR_LEAP_S) most = Math.max(most, Math.abs(v[i]! - v[i - 1]!));
  return most >= AIR_LEAP_C ? most : null;
}

function rangeOf({ v }: Points): [number, number] | null {
  return v.length === 0 ? null : [v.reduce((a, b) => Math.min(a, b)), v.reduce((a, b) => Math.max(a, b))];
}
