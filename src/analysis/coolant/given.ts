/** What a drive has given of what the climb test and the plateau want of it. */

import type { Given } from '../given.ts';
import { say as sayLeg } from '../leg-says.ts';
import { NEED_MOVING_S, NEED_SETTLED_S, NEED_WATCHED_S } from './climb-finding.ts';
import type { CoolantFacts } from './facts.ts';
import { NEED_ASKED_S } from './too-cold-finding.ts';

/** What the climb test and the plateau have of driving with the coolant settled. A fault ends it, and does not make it driven. */
export function settledGiven(f: CoolantFacts): Given {
  const s = f.settled;
  const over = { fromS: s.fromS, toS: s.settledS > 0 ? s.toS : null };
  if (f.plateau.learnedC === null)
    return { share: 0, left: s.settledS > 0 ? sayLeg('leg.left.settling') : null, ...over };
  const moreS = Math.max(
    NEED_SETTLED_S - s.settledS,
    NEED_WATCHED_S - s.watchedS,
    NEED_MOVING_S - s.movingS,
    NEED_ASKED_S - s.askedS,
  );
  if (moreS <= 0) return { share: 1, left: null, ...over };
  return { share: 1 - moreS / NEED_SETTLED_S, left: sayLeg('leg.left.more', { moreS }), ...over };
}
