/** All that is known of a run's boost when its findings are made. */

import type { Profile } from '../../core/profile.ts';
import type { Evidence } from '../types.ts';
import type { ClutchWatch } from './clutch.ts';
import type { RegionEvidence } from './evidence.ts';
import type { InductionWatch } from './induction.ts';
import type { BoostBaseline } from './lesson.ts';
import { say } from './says.ts';

/**
 * Short by more than this is as good as none: what is left is the turbocharger's, near the top of the band (simulated car,
 * even seeds 54 to 62: a clutch that never closes 82 to 88 %, slips to 27 %, leaks to 41 %).
 */
const NONE_SHARE = -0.65;
export const PRACTICE = say('boost.source.default');

/** All that a report needs to know of a run so far. */
export interface BoostCase {
  readonly profile: Profile;
  readonly baseline: BoostBaseline | null;
  readonly regions: readonly RegionEvidence[];
  /** Null when no clutch closes anything. */
  readonly clutch: ClutchWatch | null;
  /** Null when the profile says how the engine is charged. */
  readonly induction: InductionWatch | null;
  /** Boost high up against that below, where one machine makes both and both were driven. */
  readonly shape: Evidence | null;
  readonly signals: ReadonlySet<string>;
  readonly demandName: string | null;
  readonly saidAtS: (id: string) => number | null;
}

/** As good as no boost at all. */
export function isDead(r: RegionEvidence): boolean {
  return r.absent || (r.estimate?.deviation ?? 0) <= NONE_SHARE;
}

/**
 * And for longer than a clutch takes that closes late: pulls that were over before do not say that it stays open, least of all
 * where others brought boost late.
 */
export const staysDead = (r: RegionEvidence): boolean => isDead(r) && r.goneForLong;

/** The clutch closes late, and then brings boost: what the pulls miss before is that, not a slip nor comings and goings. */
export function comesLate(c: BoostCase): boolean {
  return c.clutch?.late === true && !c.regions.some((r) => r.region.key === 'low' && staysDead(r));
}

/** A clutch that closes late, or a turbocharger that does not take over from it, leaves holes in its band: boost does not come and go then. */
export function missesElsewhere(c: BoostCase): boolean {
  const turbo = c.regions.some((r) => r.region.key === 'high' && r.short && !r.intermittent);
  return comesLate(c) || (c.clutch !== null && turbo);
}

/** Nothing misses anywhere; the changeover is judged by what is on either side of it. */
export const allGood = (c: BoostCase): boolean =>
  c.regions.every((r) => r.region.key === 'middle' || r.good !== null);
