/**
 * What the spacing of a signal's values says of its unit. Control units answer in whole steps of the catalogue's unit
 * (SAE J1979, from memory: 1 °C, 1 kPa, 1 km/h). Converted values keep that grid: °F then moves in steps of 1.8, psi
 * in steps of 0.145. A grid found under a conversion and not without it is next to proof.
 */

import { sampleCorrelation } from 'simple-statistics';

export type Convert = (value: number) => number;

/** Chance of a grid appearing by luck below which it is believed: one in ten thousand (common practice, no source). */
const LUCK = 1e-4;
/** Fewer distinct values show no spacing (common practice, no source). */
const FEWEST_VALUES = 6;
/** So many of the distinct values must lie on the grid: a few may be averaged or damaged. */
const GRID_SHARE = 0.97;
/** A half step this wide leaves nothing between the grid's points to be missed. */
const WIDEST = 0.4;
const MOST_DECIMALS = 6;

/** Times each value was read. */
export type Counts = ReadonlyMap<number, number>;

/** True when the values lie on whole numbers of the converted unit, closer than luck allows. */
export function onGrid(counts: Counts, convert: Convert): boolean {
  const values = [...counts.keys()];
  if (values.length < FEWEST_VALUES) return false;
  const tolerance = halfStep(values, convert);
  if (tolerance > WIDEST) return false;
  const hits = values.filter((v) => {
    const w = convert(v);
    return Math.abs(w - Math.round(w)) <= tolerance;
  }).length;
  return hits >= GRID_SHARE * values.length && values.length * Math.log(2 * tolerance) < Math.log(LUCK);
}

/** True when every value is a whole number. */
export const whole = (counts: Counts): boolean => [...counts.keys()].every((v) => Number.isInteger(v));

/** The rounding of the values as written, in the converted unit: half of the last decimal. */
function halfStep(values: readonly number[], convert: Convert): number {
  let decimals = 0;
  for (const v of values) decimals = Math.max(decimals, decimalsOf(v));
  const half = decimals >= MOST_DECIMALS ? 0 : 0.5 * 10 ** -decimals;
  return Math.abs(convert(half) - convert(0)) + 1e-4;
}

function decimalsOf(value: number): number {
  for (let d = 0; d < MOST_DECIMALS; d++) {
    const scaled = value * 10 ** d;
    if (Math.abs(scaled - Math.round(scaled)) < 1e-6 * Math.max(1, Math.abs(scaled))) return d;
  }
  return MOST_DECIMALS;
}

/** Readings of a value and its four neighbours together; rarer values show no pattern (common practice, no source). */
const BEAT_READINGS = 40;
/** Fewer values in a row show no pattern. */
const BEAT_VALUES = 18;
/**
 * Significance of the correlation with the pattern (Fisher's z times the root of n − 3) from which it is believed. Chosen
 * on one half of the open drives, every second file by name; docs/tables.md reports it on the other.
 */
const BEAT_Z = 2.9;

/**
 * Whole numbers that were rounded from whole numbers of a finer unit beat: whole mph take one or two whole km/h in a
 * fixed order, and the twofold ones are read about twice as often. True when the counts follow that order.
 * @param finer how many of the finer unit make one of the unit of the values (> 1)
 */
export function beats(counts: Counts, finer: number): boolean {
  const top = Math.ceil(Math.max(0, ...counts.keys()));
  if (top > 1000 || [...counts.keys()].some((v) => !Number.isInteger(v))) return false;
  const seen = Array.from({ length: top + 1 }, (_, v) => counts.get(v) ?? 0);
  const expected = new Array<number>(top + 3).fill(0);
  for (let k = 0; k < (top + 3) * finer; k++) {
    const v = Math.round(k / finer);
    if (v < expected.length) expected[v]!++;
  }
  const read: number[] = [];
  const finerPer: number[] = [];
  // From 6 on, so that a stop and what is below the sensor's first reading play no part.
  for (let v = 6; v <= top - 2; v++) {
    const around = sum(seen, v - 2, v + 2);
    if (around < BEAT_READINGS) continue;
    read.push(seen[v]! / around);
    finerPer.push(expected[v]! / sum(expected, v - 2, v + 2));
  }
  return (
    read.length >= BEAT_VALUES &&
    Math.atanh(sampleCorrelation(read, finerPer)) * Math.sqrt(read.length - 3) >= BEAT_Z
  );
}

function sum(list: readonly number[], from: number, to: number): number {
  let total = 0;
  for (let i = from; i <= to; i++) total += list[i] ?? 0;
  return total;
}
