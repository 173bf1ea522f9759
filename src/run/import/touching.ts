/** Two drives set one behind the other in a table: the coolant of the second is colder than that of the first can have become. */
import { JUMP_S } from '../../signal/parts.ts';
import { SampleTable } from '../../signal/table.ts';

/** A coolant that fell by so much, quicker than by so much a minute, at a stand: no engine cools so (common practice, no source). */
const FALL_C = 25;
const FALL_C_PER_MIN = 3;
/** It stays there for so long, within so much: a bad contact comes back (chosen by hand, not measured). */
const STAYS_S = 60;
const STAYS_WITHIN_C = 15;
const FEWEST_STAYING = 5;
/** A vehicle that stands, km/h: a drive begins and ends so (common practice, no source). */
const STANDS_KMH = 5;

interface Values {
  readonly tS: ArrayLike<number>;
  readonly value: ArrayLike<number>;
}

/** @param table in order of time @returns the same where it is one drive; else each later one begins an hour later, and how many there are */
export function setDrivesApart(table: SampleTable): { readonly table: SampleTable; readonly more: number } {
  const starts = startsOf(table);
  if (starts.length === 0) return { table, more: 0 };
  const out = new SampleTable();
  let passed = 0;
  for (let i = 0; i < table.length; i++) {
    if (i === starts[passed]) passed++;
    const s = table.at(i);
    const byUs = passed * JUMP_S * 1e6;
    out.push({ ...s, tUs: s.tUs + byUs, sentUs: s.sentUs + byUs });
  }
  return { table: out, more: starts.length };
}

/** Places at which another drive begins. */
function startsOf(table: SampleTable): number[] {
  if (!table.names.includes('ect_c') || !table.names.includes('speed_kmh')) return [];
  const ect = table.series('ect_c');
  const speed = table.series('speed_kmh');
  const starts: number[] = [];
  for (let i = FEWEST_STAYING; i + FEWEST_STAYING <= ect.value.length; i++) {
    const [fromS, toS] = [ect.tS[i - 1]!, ect.tS[i]!];
    const fall = ect.value[i - 1]! - ect.value[i]!;
    if (fall < FALL_C || fall < (FALL_C_PER_MIN * (toS - fromS)) / 60) continue;
    if (!stays(ect, i, 1) || !stays(ect, i - 1, -1)) continue;
    if (!stands(speed, fromS) || !stands(speed, toS)) continue;
    starts.push(widestGap(table, fromS, toS));
  }
  return starts;
}

/** Whether the readings from one on, onward or back, stay about where it is. */
function stays({ tS, value }: Values, from: number, step: 1 | -1): boolean {
  let k = from;
  for (; k >= 0 && k < tS.length && Math.abs(tS[k]! - tS[from]!) <= STAYS_S; k += step)
    if (Math.abs(value[k]! - value[from]!) > STAYS_WITHIN_C) return false;
  return Math.abs(k - from) >= FEWEST_STAYING;
}

/** Whether the vehicle stood when it was read next to a time. */
function stands({ tS, value }: Values, atS: number): boolean {
  let [low, high] = [0, tS.length];
  while (low < high) {
    const mid = (low + high) >> 1;
    if (tS[mid]! < atS) low = mid + 1;
    else high = mid;
  }
  const before = low > 0 && (low === tS.length || atS - tS[low - 1]! < tS[low]! - atS) ? low - 1 : low;
  return value.length > 0 && value[before]! < STANDS_KMH;
}

/** Of the places between two times, the one behind the longest pause. */
function widestGap(table: SampleTable, fromS: number, toS: number): number {
  let [at, gapUs] = [1, -1];
  for (let i = 1; i < table.length; i++) {
    if (table.tUs(i - 1) < fromS * 1e6 - 1 || table.tUs(i) > toS * 1e6 + 1) continue;
    const own = table.tUs(i) - table.tUs(i - 1);
    if (own > gapUs) [at, gapUs] = [i, own];
  }
  return at;
}
