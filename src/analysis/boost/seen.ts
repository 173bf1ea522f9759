/** The pulls that stand as evidence behind a finding, and their sentences. */

import { tenth } from '../../core/rounded.ts';
import type { Says } from '../../core/says.ts';
import type { Evidence } from '../types.ts';
import type { BoostCase } from './case.ts';
import type { RegionEvidence } from './evidence.ts';
import { LEAST_FULL_PCT } from './expectation.ts';
import { GEAR_AT_RPM } from './gears.ts';
import { looksGone } from './intermittent.ts';
import { say } from './says.ts';
import { type Estimate, inWindow } from './scan.ts';
import type { Witness } from './witness.ts';

/** A bound of what is listed. Chosen by hand, not measured. */
const MAX_EVIDENCE = 12;
/** Shorter than this a pull only brushed a region. Chosen by hand, not measured. */
const MOMENT_US = 400_000;

/**
 * The clearest misses, those that deviate most where the estimate was taken, and the newest pulls, in order of time. A
 * moment at the edge of a region weighs next to nothing and, shown beside whole pulls, would read as if it did.
 */
export function chosen(all: readonly Witness[], e: Estimate | null): readonly Witness[] {
  const told = e === null ? all : all.filter((w) => !tellsNothing(w));
  const lasting = told.filter((w) => w.held === false || w.toUs - w.fromUs >= MOMENT_US);
  const witnesses = lasting.length > 0 ? lasting : told;
  if (witnesses.length <= MAX_EVIDENCE) return witnesses;
  const rank = (w: Witness): number =>
    w.held === false || (e === null && looksGone(w))
      ? Number.NEGATIVE_INFINITY
      : e === null
        ? 0
        : towards(w, e);
  const clearest = witnesses
    .map((w) => ({ w, rank: rank(w) }))
    .filter((r) => r.rank < 0)
    .sort((a, b) => (a.rank === b.rank ? 0 : a.rank - b.rank))
    .slice(0, MAX_EVIDENCE / 2)
    .map((r) => r.w);
  const rest = witnesses.filter((w) => !clearest.includes(w)).slice(clearest.length - MAX_EVIDENCE);
  return [...clearest, ...rest].sort((a, b) => a.fromUs - b.fromUs);
}

/** Above the least of any healthy engine, and nothing else is known of it: beside an estimate it would read as boost enough. */
const tellsNothing = (w: Witness): boolean =>
  w.deviation === null && w.held !== false && w.expectedKpa !== null && w.boostKpa >= w.expectedKpa;

/** How far a pull deviates inside the window, the further the lower where it does so as the estimate does; 0 outside of it. */
function towards(w: Witness, e: Estimate): number {
  let [weight, deviation] = [0, 0];
  for (const p of w.patches)
    if (inWindow(p.at, e)) {
      weight += p.w;
      deviation += p.deviation;
    }
  return weight === 0 ? 0 : -Math.sign(e.deviation) * (deviation / weight);
}

/** The pulls of the region, or of all where only together they show the shortfall. */
export const pullsBehind = (c: BoostCase, r: RegionEvidence): readonly Witness[] =>
  r.shortfall === r.shared ? c.regions.flatMap((o) => o.all) : r.all;

/** The window in which the shortfall was found, as far as it was driven; the times are those of the clearest pull in it. */
export function surestAt(all: readonly Witness[], e: Estimate): Evidence[] {
  const inside = all.filter((w) => w.patches.some((p) => inWindow(p.at, e)));
  const [clearest] = inside.toSorted((a, b) => towards(a, e) - towards(b, e));
  if (clearest === undefined) return [];
  const text = say('boost.seen.surest', {
    fromRpm: Math.max(e.fromRpm, Math.min(...inside.map((w) => w.rpm[0]))),
    toRpm: Math.min(e.toRpm, Math.max(...inside.map((w) => w.rpm[1]))),
    fromDemandPct: e.fromDemandPct,
    byKpa: e.deviation * e.expectedKpa,
    expectedKpa: e.expectedKpa,
    deviation: e.deviation,
    pulls: e.pulls,
  });
  return [{ fromS: tenth(clearest.fromUs / 1e6), toS: tenth(clearest.toUs / 1e6), text }];
}

export function evidenceOf(w: Witness): Evidence {
  return { fromS: tenth(w.fromUs / 1e6), toS: tenth(w.toUs / 1e6), text: pullSays(w) };
}

function pullSays(w: Witness): Says {
  const { boostKpa, expectedKpa, leastKpa, deviation, ratio } = w;
  const [fromRpm, toRpm] = w.rpm;
  const range =
    ratio === null
      ? say('boost.seen.range', { fromRpm, toRpm })
      : say('boost.seen.range-in-gear', { fromRpm, toRpm, kmh: GEAR_AT_RPM / ratio, atRpm: GEAR_AT_RPM });
  if (deviation === null && expectedKpa !== null && leastKpa !== null) {
    const [lowKpa, highKpa] = leastKpa;
    if (lowKpa === highKpa) return say('boost.seen.pull-due', { range, boostKpa, leastKpa: lowKpa });
    const due = { lowKpa, highKpa, highFromPct: LEAST_FULL_PCT, leastKpa: expectedKpa };
    return say('boost.seen.pull-due-by-demand', { range, boostKpa, ...due });
  }
  if (expectedKpa === null || deviation === null) return say('boost.seen.pull', { range, boostKpa });
  return say('boost.seen.pull-expected', { range, boostKpa, expectedKpa, deviation });
}
