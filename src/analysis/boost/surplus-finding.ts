/** Whether there is more boost than the engine is to get. */

import { CONFIDENCE, Z_FAULT } from '../spread.ts';
import type { Finding } from '../types.ts';
import { allGood, type BoostCase } from './case.ts';
import { type RegionEvidence, SURPLUS_LIMITS, surplusLimit } from './evidence.ts';
import { faultShown, finding } from './finding.ts';
import { OTHER_DRIVES, sourceOf } from './held-against.ts';
import { firstNeeds } from './needs.ts';
import { say } from './says.ts';
import type { Witness } from './witness.ts';

export function surplusFinding(c: BoostCase): Finding {
  const id = 'boost.surplus';
  const where = c.regions.filter((r) => r.surplus && r.region.key !== 'middle');
  const witnesses = where.flatMap((r) => r.witnesses);
  const base = {
    ...(where[0] === undefined ? finding(c, id, witnesses) : tooMuch(c, id, witnesses, where[0])),
    aside: true,
    rule: say('boost.rule.surplus', { confidence: CONFIDENCE, z: Z_FAULT, limits: SURPLUS_LIMITS }),
  };
  if (where.length > 0) {
    // A car that was weak before its repair makes a weak teacher.
    const taught = OTHER_DRIVES.has(sourceOf(witnesses));
    const pointsTo = say(taught ? 'boost.points.control-or-teacher' : 'boost.points.control');
    return { ...base, ...faultShown(c, id, pointsTo) };
  }
  if (allGood(c)) return { ...base, verdict: 'shown good' };
  return { ...base, needs: firstNeeds(c) };
}

/** Held against the limit that a surplus must exceed. */
export const tooMuch = (
  c: BoostCase,
  id: string,
  witnesses: readonly Witness[],
  { estimate }: RegionEvidence,
): Finding => finding(c, id, witnesses, estimate, estimate === null ? 0 : surplusLimit(estimate));
