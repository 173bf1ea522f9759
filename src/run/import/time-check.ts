/** Whether a table's times can be seconds: a drive sampled every quarter of an hour is milliseconds, one in which cars leap is minutes. */

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

interface TimeTraits {
  /** Time between readings of one signal, as a median over all signals. */
  readonly step: number | null;
  /** Changes per unit of time that can be told from standing still, of each signal of RATES. */
  readonly rates: readonly (readonly number[])[];
}

/** @returns null when the times can be seconds, else what would fit better (none: nothing does) and why */
export function timeDoubt(
  table: SampleTable,
): { readonly likely: readonly string[]; readonly seconds: number; readonly why: Says } | null {
  const traits = timeTraits(table);
  const why = against(traits, 1);
  if (why === null) return null;
  const fitting = OTHER.filter(([, seconds]) => against(traits, seconds) === null);
  return { likely: fitting.map(([unit]) => unit), seconds: fitting[0]?.[1] ?? 1, why };
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
    if (steps.length < 50_000) steps.push(tS - before.tS);
    const k = of.get(signal);
    if (k === undefined) continue;
    const moved = Math.abs(value - before.value);
    // One count of the sensor is told at any pace.
    if (moved > RATES[k]!.step) rates[k]!.push(moved / (tS - before.tS));
  }
  return { step: steps.length < FEWEST_STEPS ? null : median(steps), rates };
}
