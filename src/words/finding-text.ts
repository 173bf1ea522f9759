/** What a finding measured and its limit, in a reader's units: page and sheet write them alike. */
import type { Unit } from '../core/signals.ts';
import type { Verdict } from './views.ts';
import type { Words } from './words.ts';

interface Measured {
  readonly id: string;
  readonly verdict: Verdict;
  readonly measured: {
    readonly value: number;
    readonly unit: Unit;
    readonly interval: readonly [number, number];
  } | null;
  readonly limit: { readonly value: number } | null;
}

export interface FindingText {
  readonly value: string;
  /** The value, and what it is of where the finding is about more than one reading. */
  readonly measured: string;
  readonly low: string;
  /** Without its unit, where the upper end says it. */
  readonly lowBare: string;
  readonly high: string;
  readonly limit: string | null;
}

const OF_TURBOCHARGER = new Set(['boost.above-hand-over', 'boost.intermittent']);

/** Id of a finding's title: with a turbocharger alone nothing changes over, and nothing engages. @param among all findings of the drive */
export function titleId(id: string, among: readonly { readonly id: string }[]): string {
  const alone = OF_TURBOCHARGER.has(id) && among.some((f) => f.id === 'boost.low-speed');
  return `finding.${alone ? 'turbocharger.' : ''}${id}`;
}

/**
 * What one number of a whole drive is: the highest reading, for the plateau itself lies below it; or the median of those in which the driving
 * asked the thermostat, which a reading that showed it open is not.
 */
function ofMany(id: string, verdict: Verdict): 'coolant.highest' | 'coolant.median' | null {
  if (id === 'coolant.climb') return 'coolant.highest';
  return id === 'coolant.too-cold' && verdict !== 'fault shown' ? 'coolant.median' : null;
}

/** Null where nothing was measured. */
export function findingText(
  words: Pick<Words, 'measures' | 'say'>,
  { id, verdict, measured, limit }: Measured,
): FindingText | null {
  if (!measured) return null;
  const { measures } = words;
  const { value, unit, interval } = measured;
  const difference = id === 'coolant.jumps' || id.startsWith('sensor.');
  // More decimals for what was averaged over many readings, and for shares of which a few per cent, or less, tell.
  const averaged = unit === 'kPa' || (unit === '%' && /^(?:boost|road)\./.test(id));
  const finer = id === 'boost.late' || (unit === '%' && id.startsWith('sensor.')) ? 2 : averaged ? 1 : 0;
  const show = (v: number) => measures.quantity(v, unit, difference, finer);
  const [low, high] = interval;
  const of = ofMany(id, verdict);
  return {
    value: show(value),
    measured: of === null ? show(value) : words.say({ id: of, args: { value: show(value) } }),
    low: show(low),
    lowBare: measures.bare(low, unit, difference, finer),
    high: show(high),
    limit: limit ? show(limit.value) : null,
  };
}
