/** What the boost of a region was held against: whose drives, how many other cars, how sure. */

import { tenth } from '../../core/rounded.ts';
import type { Says } from '../../core/says.ts';
import { Z_BOTH } from '../spread.ts';
import type { Evidence } from '../types.ts';
import { type BoostCase, PRACTICE } from './case.ts';
import { say } from './says.ts';
import type { Estimate } from './scan.ts';
import type { Witness } from './witness.ts';

/** An estimate rests on the pulls with an expectation; absence alone on the least of any healthy engine. */
export function sourceOf(witnesses: readonly Witness[]): Witness['source'] | null {
  return witnesses.findLast((w) => w.deviation !== null)?.source ?? null;
}

export const OTHER_DRIVES: ReadonlySet<Witness['source'] | null> = new Set([
  'baseline run',
  'kind',
  'baseline run and kind',
] as const);

export function sourceSays(c: BoostCase, witnesses: readonly Witness[], e: Estimate): Says {
  const source = sourceOf(witnesses);
  if (source === 'profile')
    return say('boost.source.profile', { from: c.profile.expectedBoost?.source ?? 'entered' });
  if (source === 'commanded boost') return say('boost.source.commanded');
  if (source === 'baseline run') return say('boost.source.baseline');
  if (source === 'kind') return say('boost.source.kind', ofKind(witnesses, e));
  if (source === 'baseline run and kind') return say('boost.source.baseline-and-kind', ofKind(witnesses, e));
  return PRACTICE;
}

/** Other cars of the kind that the pulls were held against, in the mean over their samples, rounded down; 0 without. */
export function carsOf(witnesses: readonly Witness[]): number {
  const known = witnesses.filter((w) => w.deviation !== null && w.cars > 0);
  const n = known.reduce((a, w) => a + w.n, 0);
  return n === 0 ? 0 : Math.max(1, Math.floor(known.reduce((a, w) => a + w.n * w.cars, 0) / n));
}

/** How many they are, and by how much what is expected may be off, however many pulls are driven (95 %, share). */
export const ofKind = (witnesses: readonly Witness[], e: Estimate): { cars: number; within: number } => ({
  cars: carsOf(witnesses),
  within: Z_BOTH * Math.sqrt(e.runVariance),
});

/** Said before the pulls: another car's boost is no limit to hold a small loss against. */
export function heldAgainst(witnesses: readonly Witness[], e: Estimate): Evidence[] {
  const source = sourceOf(witnesses);
  if (source !== 'kind' && source !== 'baseline run and kind') return [];
  const id = source === 'kind' ? 'boost.seen.kind' : 'boost.seen.baseline-and-kind';
  const over = { fromS: witnesses[0]!.fromUs / 1e6, toS: witnesses.at(-1)!.toUs / 1e6 };
  return [{ fromS: tenth(over.fromS), toS: tenth(over.toS), text: say(id, ofKind(witnesses, e)) }];
}
