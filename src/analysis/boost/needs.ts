/** What is to be driven next where boost is not shown yet. */

import type { Says } from '../../core/says.ts';
import { Z95 } from '../spread.ts';
import { type BoostCase, missesElsewhere } from './case.ts';
import { GOOD_FROM_PCT, GOOD_LOSS_PCT } from './cells.ts';
import { type Lacks, lacksOf, type RegionEvidence } from './evidence.ts';
import { MISSING_ELSEWHERE } from './finding.ts';
import { OTHER_DRIVES, ofKind, sourceOf } from './held-against.ts';
import { demandSignals, MAX_GAP_US } from './points.ts';
import { askedRpm, hasClutch } from './regions.ts';
import { say } from './says.ts';
import { type Estimate, isFar } from './scan.ts';
import { GOOD_FROM_C } from './witness.ts';

/**
 * A pull asked for: demand, %, how long, and how many for a comparison on one day. Chosen by hand, not measured.
 */
const DRIVE_PCT = 70;
export const PULL_HELD_S = 3;
const ONE_DAY_PULLS = 5;
/** After a baseline. Chosen by hand, not measured. */
export const TAUGHT_PULLS = 3;

export function firstNeeds(c: BoostCase): Says | null {
  const open = c.regions.find((r) => r.good === null && r.region.key !== 'middle');
  return open === undefined ? null : needs(c, open);
}

export function needs(c: BoostCase, r: RegionEvidence): Says {
  if (!c.signals.has('map_kpa')) return say('boost.need.map');
  if (!c.signals.has('rpm')) return say('boost.need.rpm');
  if (c.demandName === null)
    return demandSignals(c.profile).some((s) => c.signals.has(s))
      ? say('boost.need.demand-quicker', { everyS: MAX_GAP_US / 1e6 })
      : say('boost.need.demand');
  if (r.intermittent) return missesElsewhere(c) ? MISSING_ELSEWHERE : say('boost.need.repair-first');
  const { fromRpm: from, toRpm: to } = askedRpm(r.region);
  const asked = { fromDemandPct: DRIVE_PCT, holdS: PULL_HELD_S, warmC: GOOD_FROM_C };
  const taught =
    c.baseline !== null || c.profile.expectedBoost !== undefined || c.signals.has('boost_cmd_kpa');
  if (r.estimate === null && !taught) {
    const { pulls, at } = toTeach(r);
    if (pulls === 0) return say('boost.need.baseline');
    return say(hasClutch(c.profile) ? 'boost.need.baseline-engagements' : 'boost.need.baseline-pulls', {
      ...asked,
      pulls,
      ...(at ?? { fromRpm: from, toRpm: to }),
    });
  }
  const { lacks, unknown } = r;
  if (unknown !== null && taught) {
    const { fromRpm, toRpm, why } = unknown;
    const where = { fromRpm, toRpm, fromDemandPct: GOOD_FROM_PCT };
    return why === 'untaught'
      ? say('boost.need.untaught', where)
      : say('boost.need.left-out', { ...where, holdS: PULL_HELD_S });
  }
  const { odd } = r;
  if (odd !== null && odd.expectedKpa !== null)
    return say('boost.need.again', {
      atS: odd.fromUs / 1e6,
      fromRpm: odd.rpm[0],
      toRpm: odd.rpm[1],
      boostKpa: odd.boostKpa,
      expectedKpa: odd.expectedKpa,
    });
  const warmth = warmthNeeds(c, r);
  if (warmth !== null) return warmth;
  // The speeds that block: no pull went there, or where the fewest more settle it.
  const { toGo } = r;
  const at = lacks.through[0] ?? toGo ?? { fromRpm: from, toRpm: to };
  const how = { ...asked, fromRpm: at.fromRpm, toRpm: at.toRpm };
  if (lacks.pulls > 0 || !lacks.warm || lacks.through.length > 0)
    return say('boost.need.pulls', { ...how, pulls: Math.max(1, lacks.pulls) });
  const more = toGo?.pulls ?? null;
  if (r.estimate !== null && sourceOf(r.all) === 'kind' && more === null)
    return say('boost.need.own-baseline', { ...how, pulls: TAUGHT_PULLS, ...ofKind(r.all, r.estimate) });
  if (more === null && toGo?.lifted && OTHER_DRIVES.has(sourceOf(r.all)))
    return say('boost.need.above', { fromRpm: at.fromRpm, toRpm: at.toRpm, fromDemandPct: GOOD_FROM_PCT });
  if (more === null) return say('boost.need.one-day', { ...how, pulls: ONE_DAY_PULLS });
  return say('boost.need.pulls', { ...how, pulls: more });
}

/** Pulls still to be driven before a baseline could tell of this drive, and the speeds that none went through yet. */
function toTeach({ driven, region }: RegionEvidence): { pulls: number; at: Lacks['through'][number] | null } {
  const { pulls, warm, through } = lacksOf(driven, region);
  const more = Math.max(pulls, TAUGHT_PULLS - driven.length);
  const [at = null] = through;
  return { pulls: more > 0 ? more : warm && at === null ? 0 : 1, at };
}

/** Where no number of pulls settles it, and they would if warmth moved no boost; null elsewhere. */
function warmthNeeds(c: BoostCase, r: RegionEvidence): Says | null {
  const e = r.estimate;
  if (e === null) return null;
  const settled = (variance: number, warmth: Pick<Estimate, 'warmVariance' | 'warmUnread'>): boolean =>
    Z95 * Math.sqrt(variance) - e.deviation < GOOD_LOSS_PCT / 100 ||
    isFar({ ...e, ...warmth, se: Math.sqrt(variance) });
  if (settled(e.runVariance, e)) return null;
  if (!settled(e.runVariance - e.warmVariance, { warmVariance: 0, warmUnread: 0 })) return null;
  const airC = r.all.findLast((w) => w.airC !== null)?.airC ?? null;
  const { runs, kind, airC: own } = c.baseline!;
  const [taughtC, unread] = runs === 0 && kind ? kind.airC : own;
  return airC === null || unread > 0
    ? say('boost.need.air-unread')
    : say('boost.need.like-air', { airC, taughtC });
}
