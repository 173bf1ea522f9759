/** Whether air gets lost between meter and engine: by the air that comes with the boost, or by boost missing everywhere. */

import { tenth } from '../../core/rounded.ts';
import type { Says } from '../../core/says.ts';
import { CONFIDENCE, Z_FAULT, Z95 } from '../spread.ts';
import type { Finding } from '../types.ts';
import { type AirExcess, airExcess, airIsLost } from './air.ts';
import { allGood, type BoostCase } from './case.ts';
import type { RegionEvidence } from './evidence.ts';
import { around, faultShown, finding } from './finding.ts';
import { firstNeeds } from './needs.ts';
import { say } from './says.ts';

/** What a leak takes from the boost is measured as air, at least this share of it (simulated leaks: 0.6 to 0.9; weak chargers: up to 0.06; even seeds). */
const AIR_OF_MISSING = 0.2;

/** Whether air gets lost between meter and engine; null when it cannot be told. */
export function airLost(regions: readonly RegionEvidence[]): boolean | null {
  const witnesses = regions.flatMap((r) => r.witnesses);
  const air = airExcess(witnesses);
  if (air === null || witnesses.length < 2) return null;
  // Infinite where nothing is known.
  const least = Math.min(...regions.flatMap((r) => r.estimate?.deviation ?? []));
  const limit = Math.max(air.limit, -AIR_OF_MISSING * least);
  if (air.share - Z95 * air.se > limit) return true;
  return air.share + Z95 * air.se < limit ? false : null;
}

/** Air mass and pressure contradict each other beyond doubt, alike in two regions at least, and pressure is not high. */
function airContradicts(c: BoostCase): boolean {
  const air = airExcess(c.regions.flatMap((r) => r.witnesses));
  if (air === null || !airIsLost(air)) return false;
  const known = c.regions.flatMap((r) => r.estimate ?? []);
  // Each as surely as it is known: on which side of none they lie together.
  const deviation = known.reduce((a, e) => a + e.deviation / e.se ** 2, 0);
  const own = c.regions.flatMap((r) => airExcess(r.witnesses) ?? []);
  // One region alone may have its own cause; seen in all, it is what they share.
  const alike = (o: AirExcess): boolean => o.share > Z95 * o.se && o.share + Z95 * o.se > air.share;
  return deviation < 0 && own.length > 1 && own.every(alike);
}

export function leakFinding(c: BoostCase, everywhere: boolean): Finding {
  const id = 'boost.leak';
  const witnesses = c.regions.flatMap((r) => r.witnesses);
  const base = {
    ...finding(c, id, witnesses),
    aside: true,
    rule: say('boost.rule.leak', { confidence: CONFIDENCE, z: Z_FAULT }),
  };
  const lost = airLost(c.regions);
  const two = c.profile.induction === 'twin-charged';
  const shown = (pointsTo: Says): Finding => ({
    ...base,
    ...measuredAir(airExcess(witnesses)),
    ...faultShown(c, id, pointsTo),
  });
  if (everywhere && (lost === true || (lost === null && two))) return shown(say('boost.points.leak'));
  if (airContradicts(c)) return shown(say('boost.points.leak-or-sensor'));
  if (allGood(c)) return { ...base, verdict: 'shown good' };
  return { ...base, needs: everywhere ? say('boost.need.press-test') : firstNeeds(c) };
}

export function measuredAir(air: AirExcess | null): Pick<Finding, 'measured' | 'limit'> {
  if (air === null) return { measured: null, limit: null };
  return {
    measured: {
      value: tenth(100 * air.share),
      unit: '%',
      interval: around({ mean: air.share, se: air.se }, (share) => tenth(100 * share)),
    },
    limit: {
      value: tenth(100 * air.limit),
      unit: '%',
      source:
        air.cars > 0
          ? say('boost.source.air-kind', { cars: air.cars, within: air.within })
          : say('boost.source.air'),
    },
  };
}
