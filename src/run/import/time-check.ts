/** Whether a table's times can be seconds: a drive sampled every quarter of an hour is milliseconds, one in which cars leap is minutes, one whose fractions never reach .60 minutes and seconds. */

import { median } from 'simple-statistics';
import { saying } from '../../core/error-says.ts';
import type { Says } from '../../core/says.ts';
import type { SampleTable } from '../../signal/table.ts';

/** Units a time column may be in by mistake, and how many seconds one of them lasts. */
const OTHER: readonly (readonly [unit: string, seconds: number])[] = [
  ['ms', 1e-3],
  ['min', 60],
  ['us', 1e-6],
  ['h', 3600],
];

/** A signal read less often than this on a drive cannot be judged by anything here (common practice, no source). */
const SLOWEST_S = 15;
/** No adapter reads one signal more often than this (common practice, no source). */
const QUICKEST_S = 0.001;
/**
 * Quicker than this, as a median of the steps that can be told from standing still, nothing moves: 60 km/h in a second
 * is 1.7 g, a free engine gains 15,000 rpm in a second at most (common practice, no source).
 */
const RATES: readonly { readonly signal: string; readonly step: number; readonly perS: number }[] = [
  { signal: 'speed_kmh', step: 3, perS: 60 },
  { signal: 'rpm', step: 100, perS: 15_000 },
];
const FEWEST_MOVES = 5;
const FEWEST_STEPS = 30;
/** A bound on what is kept, far more than a median needs. Chosen by hand, not measured. */
const STEPS_KEPT = 50_000;

/** What a time column without a stated unit was taken for: its header's minutes, else seconds. */
export type TimeTaken = 's' | 'min';

/**
 * Minutes and seconds written m.ss: a step into the next minute seems longer by so many hundredths, give or take so many;
 * and of one signal so many different seconds were read, so that it is no round of readings once a second. By definition
 * the first; the others chosen by hand, not measured.
 */
const CARRY = 40;
const CARRY_WITHIN = 2;
const FEWEST_CARRIES = 2;
const FEWEST_SECONDS = 10;

interface TimeTraits {
  /** Time between readings of one signal, as a median over all signals. */
  readonly step: number | null;
  /** Changes per unit of time that can be told from standing still, of each signal of RATES. */
  readonly rates: readonly (readonly number[])[];
}

interface TimeDoubt {
  readonly unit: TimeTaken;
  readonly likely: readonly string[];
  /** How long a unit of the first of them lasts, of what was taken for a second. */
  readonly seconds: number;
  readonly why: Says;
}

/** @returns null when the times can be as taken, else what would fit better (none: nothing does) and why */
export function timeDoubt(table: SampleTable, taken: TimeTaken): TimeDoubt | null {
  const unitS = taken === 'min' ? 60 : 1;
  if (isDotted(table, unitS))
    return { unit: taken, likely: ['m.ss'], seconds: 100 / unitS, why: saying('unit.dotted') };
  const traits = timeTraits(table);
  const why = against(traits, 1);
  if (why === null) return null;
  const fitting = OTHER.filter(([, seconds]) => against(traits, seconds) === null);
  return { unit: 's', likely: fitting.map(([unit]) => unit), seconds: fitting[0]?.[1] ?? 1, why };
}

/** Why the times cannot be in units of so many seconds; null when they can. */
function against({ step, rates }: TimeTraits, seconds: number): Says | null {
  if (step !== null && step * seconds > SLOWEST_S) return saying('unit.every', { s: step * seconds });
  if (step !== null && step * seconds < QUICKEST_S)
    return saying('unit.every-ms', { ms: step * seconds * 1000 });
  for (const [k, { signal, perS }] of RATES.entries()) {
    const list = rates[k]!;
    if (list.length < FEWEST_MOVES) continue;
    const rate = median([...list]) / seconds;
    if (rate > perS) return saying('unit.change', { signal, n: rate });
  }
  return null;
}

/** Whether the times were written m.ss: no fraction reaches .60, and from .59 the next step leads to .00. */
function isDotted(table: SampleTable, unitS: number): boolean {
  const last = new Map<string, number>();
  const seconds = new Map<string, Set<number>>();
  const steps: number[] = [];
  const carries: number[] = [];
  for (const { signal, tUs } of table) {
    // Of what was written, hundredths.
    const at = Math.round(tUs / unitS / 10) / 1000;
    const second = at % 100;
    if (second >= 60 || second < 0) return false;
    const before = last.get(signal);
    last.set(signal, at);
    seconds.set(signal, (seconds.get(signal) ?? new Set()).add(Math.floor(second)));
    if (before === undefined || at <= before) continue;
    if (steps.length >= STEPS_KEPT) continue;
    const minutes = Math.floor(at / 100) - Math.floor(before / 100);
    if (minutes <= 1) (minutes === 0 ? steps : carries).push(at - before);
  }
  if (steps.length < FEWEST_STEPS || carries.length < FEWEST_CARRIES) return false;
  if (Math.max(...[...seconds.values()].map((s) => s.size)) < FEWEST_SECONDS) return false;
  return Math.abs(median(carries) - median(steps) - CARRY) <= CARRY_WITHIN;
}

function timeTraits(table: SampleTable): TimeTraits {
  const last = new Map<string, { tS: number; value: number }>();
  const steps: number[] = [];
  const rates = RATES.map((): number[] => []);
  const of = new Map(RATES.map((r, k) => [r.signal, k]));
  for (const { signal, tUs, value } of table) {
    const tS = tUs / 1e6;
    const before = last.get(signal);
    last.set(signal, { tS, value });
    if (!before || tS <= before.tS) continue;
    if (steps.length < STEPS_KEPT) steps.push(tS - before.tS);
    const k = of.get(signal);
    if (k === undefined) continue;
    const moved = Math.abs(value - before.value);
    // One count of the sensor is told at any pace.
    if (moved > RATES[k]!.step) rates[k]!.push(moved / (tS - before.tS));
  }
  return { step: steps.length < FEWEST_STEPS ? null : median(steps), rates };
}
