/** Whether boost came in a region, and what it points to where it did not. */

import { tenth } from '../../core/rounded.ts';
import { inTurn, type Says } from '../../core/says.ts';
import { Z95 } from '../spread.ts';
import type { Finding } from '../types.ts';
import { airExcess } from './air.ts';
import { type BoostCase, comesLate, isDead, staysDead } from './case.ts';
import { excludedBy, GOOD_LOSS_PCT } from './cells.ts';
import type { RegionEvidence } from './evidence.ts';
import { faultShown, finding, MISSING_ELSEWHERE, measuredKpa, RULE } from './finding.ts';
import { carsOf, sourceSays } from './held-against.ts';
import { airLost, measuredAir } from './leak-finding.ts';
import { needs } from './needs.ts';
import { hasClutch } from './regions.ts';
import { say } from './says.ts';
import { pullsBehind, surestAt } from './seen.ts';

/**
 * Between a leak's shortfall at the changeover and a slip's, as shares of the one in the clutch band (simulated car, even
 * seeds: 0.3 to 0.8, and 0 to 0.5, once 1): told apart where its whole interval lies to one side, else both are named.
 */
const MIDDLE_TO_LOW = 0.35;
/** At the changeover any pull may miss for a moment: only the mean over the region counts, against a wider limit (chosen on the simulated car, even seeds: healthy ones to −5.5 ± 3.6 %). */
const DIP_LIMIT = 0.12;

export function regionFinding(c: BoostCase, r: RegionEvidence, everywhere: boolean): Finding {
  const id = r.region.id;
  const neighbours = c.regions.filter((o) => o !== r);
  const dip = r.region.key === 'middle';
  // A dip at the changeover is one only between two regions that are not short themselves.
  const explained = dip
    ? neighbours.some((o) => o.short || o.missed > 0 || o.estimate === null)
    : r.region.key === 'low' && comesLate(c);
  // Where boost comes and goes its mean means nothing.
  const shown = dip ? dips(r) : r.short || r.absent;
  const fault = !explained && !r.intermittent && (shown || r.leaks);
  const base = {
    ...(dip ? finding(c, id, r.all, r.estimate, -dipLimit(r)) : finding(c, id, r.all, r.basis)),
    // Where boost comes and goes nothing is ruled out.
    excluded: r.intermittent ? [] : excludedBy(r.scan, r.judged),
    ...(dip ? { aside: true, rule: inTurn([RULE, say('boost.rule.dip', { limit: DIP_LIMIT })]) } : {}),
  };
  if (fault)
    return {
      ...base,
      ...(shown ? {} : measuredAir(airExcess(r.witnesses))),
      evidence: [
        ...(shown && r.shortfall !== null ? surestAt(pullsBehind(c, r), r.shortfall) : []),
        ...base.evidence,
      ],
      ...faultShown(c, id, hint(c, r, everywhere)),
    };
  if (shown && explained) return { ...base, verdict: 'not shown', needs: MISSING_ELSEWHERE };
  const { good } = r;
  if (good !== null) {
    const { fromRpm, toRpm, fromDemandPct, toDemandPct, lossPct, weakest } = good;
    const source = sourceSays(c, r.all, weakest);
    const loss = lossPct / 100;
    const text = say('boost.good-range', { fromRpm, toRpm, fromDemandPct, toDemandPct, loss });
    const over = { fromS: base.fromS ?? 0, toS: base.toS ?? 0, text };
    return {
      ...base,
      // The claim rests on the cell that rules out least, not on the mean over all.
      measured: measuredKpa(weakest),
      limit: { value: tenth(-(GOOD_LOSS_PCT / 100) * weakest.expectedKpa), unit: 'kPa', source },
      verdict: 'shown good',
      evidence: [over, ...base.evidence],
    };
  }
  // With nothing to hold it against, the drive itself still tells how level the boost was.
  const seen = r.region.key === 'high' && r.estimate === null && c.shape !== null ? [c.shape] : [];
  return { ...base, verdict: 'not shown', evidence: [...seen, ...base.evidence], needs: needs(c, r) };
}

/** As a share of the expected boost; wider by as much as cars of a kind differ. */
const dipLimit = (r: RegionEvidence): number =>
  r.estimate !== null && carsOf(r.all) > 0 ? Math.max(DIP_LIMIT, r.estimate.limit) : DIP_LIMIT;

function dips(r: RegionEvidence): boolean {
  const e = r.estimate;
  return r.absent || (e?.carried === true && e.deviation + Z95 * e.se < -dipLimit(r));
}

function hint(c: BoostCase, r: RegionEvidence, everywhere: boolean): Says {
  const air = airLost(everywhere ? c.regions : [r]);
  if (air === true) return say('boost.points.leak-air');
  if (everywhere && c.profile.induction === 'twin-charged') return say('boost.points.leak-everywhere');
  const late = c.clutch?.mayBeLate === true;
  if (r.region.id === 'boost.clutch-band' && hasClutch(c.profile)) {
    if (isDead(r)) return late && !staysDead(r) ? say('boost.points.clutch-or-late') : r.region.pointsTo;
    if (r.estimate === null) return r.region.pointsTo;
    if (air === false || besideBand(c) === 'alone')
      return say(late ? 'boost.points.slip-or-late' : 'boost.points.slip');
    const middle = c.regions.find((o) => o.region.key === 'middle')?.region;
    if (middle === undefined) return say('boost.points.slip-or-leak-alone');
    const { fromRpm, toRpm } = middle;
    return say(late ? 'boost.points.slip-late-or-leak' : 'boost.points.slip-or-leak', { fromRpm, toRpm });
  }
  if (air === null && mayLeak(c, r))
    return say(r.region.key === 'low' ? 'boost.points.turbo-slow-or-leak' : 'boost.points.turbo-or-leak');
  return r.region.pointsTo;
}

/**
 * Where no air mass tells a leak from a turbocharger both are named; on a twin-charged car the clutch band tells, where a leak
 * takes no less of the boost than above (simulated car).
 */
function mayLeak(c: BoostCase, r: RegionEvidence): boolean {
  if (r.region.id === 'boost.clutch-band' || r.region.key === 'middle') return false;
  if (c.profile.induction !== 'twin-charged') return true;
  const low = c.regions.find((o) => o.region.key === 'low')?.estimate;
  return !low || !r.estimate || low.deviation - Z95 * low.se < r.estimate.deviation;
}

/**
 * Twin-charged: a leak takes boost at the changeover as well, where the turbocharger already helps; a clutch that slips
 * or stays open does so in its band alone, and a weak turbocharger leaves the band alone (simulated car).
 */
export function sharedLoss(c: BoostCase): boolean {
  const low = c.regions.find((r) => r.region.key === 'low');
  if (low?.short !== true || isDead(low) || low.intermittent || low.contradicted) return false;
  return besideBand(c) === 'shared';
}

/** Whether the changeover misses boost as the clutch band does; null when it cannot be told. */
function besideBand(c: BoostCase): 'shared' | 'alone' | null {
  const low = c.regions.find((r) => r.region.key === 'low')?.estimate;
  const middle = c.regions.find((r) => r.region.key === 'middle')?.estimate;
  if (!low || !middle || low.deviation >= 0) return null;
  const between = MIDDLE_TO_LOW * low.deviation;
  if (middle.deviation + Z95 * middle.se < between) return 'shared';
  return middle.deviation - Z95 * middle.se > between ? 'alone' : null;
}
