/** Whether boost comes and goes from pull to pull. */

import type { Finding } from '../types.ts';
import { type BoostCase, comesLate, missesElsewhere } from './case.ts';
import { faultShown, finding, MISSING_ELSEWHERE } from './finding.ts';
import { GONE_SHARE, looksGone, SURELY_SHARE, TIMES_LIKELIER } from './intermittent.ts';
import { needs } from './needs.ts';
import { askedRpm } from './regions.ts';
import { say } from './says.ts';

/** Pulls that came, none missing, before boost is said to come at each. Chosen by hand, not measured. */
const HELD_PULLS = 6;

export function intermittentFinding(c: BoostCase): Finding {
  const id = 'boost.intermittent';
  const where = c.regions.filter((r) => r.intermittent);
  const witnesses = where.flatMap((r) => r.all.filter((w) => w.held !== null || looksGone(w)));
  const base = {
    ...finding(c, id, witnesses),
    aside: true,
    rule: say('boost.rule.intermittent', {
      gone: GONE_SHARE,
      surely: SURELY_SHARE,
      times: TIMES_LIKELIER,
      pulls: HELD_PULLS,
    }),
  };
  if (where.length > 0 && missesElsewhere(c)) return { ...base, needs: MISSING_ELSEWHERE };
  if (where.length > 0)
    return {
      ...base,
      ...faultShown(
        c,
        id,
        where[0]?.region.id === 'boost.clutch-band' ? say('boost.points.contact') : say('boost.points.hangs'),
      ),
    };
  // Counted in the region that has the most.
  const most = c.regions.reduce((a, r) => (r.held > a.held ? r : a));
  if (c.demandName === null) return { ...base, needs: needs(c, most) };
  const leftOut = c.regions.find((r) => r.unknown?.why === 'left-out-short');
  if (leftOut !== undefined) return { ...base, needs: needs(c, leftOut) };
  if (c.regions.some((r) => r.missed > 0) || comesLate(c)) return { ...base, needs: MISSING_ELSEWHERE };
  // One that looks gone and is no witness for it is none for the contrary either.
  const open = c.regions.find((r) => r.region.key !== 'middle' && r.all.some(looksGone));
  if (open !== undefined) return { ...base, needs: needs(c, open) };
  if (most.held >= HELD_PULLS) return { ...base, verdict: 'shown good' };
  const pulls = HELD_PULLS - most.held;
  return { ...base, needs: say('boost.need.full-pulls', { pulls, ...askedRpm(most.region) }) };
}
