/** What every boost finding is made from: its pulls, what they measured, the limit, who says so. */

import { tenth } from '../../core/rounded.ts';
import type { Says } from '../../core/says.ts';
import { BLANK } from '../blank.ts';
import { CONFIDENCE, Z_FAULT, Z95 } from '../spread.ts';
import type { Finding } from '../types.ts';
import { AIR_LIMIT } from './air.ts';
import type { BoostCase } from './case.ts';
import { GOOD_LOSS_PCT } from './cells.ts';
import { CARRY_RPM, CARRY_SD } from './expectation.ts';
import { heldAgainst, sourceSays } from './held-against.ts';
import { SLOW_RPM } from './noise.ts';
import { say } from './says.ts';
import {
  BORNE_OUT_SAMPLES,
  type Estimate,
  LEAST_SAMPLES,
  LONE_PULL_S,
  LONE_PULLS,
  PAID_LOOKS,
  SPOOLING_PULLS,
  SPOOLING_TO_RPM,
} from './scan.ts';
import { chosen, evidenceOf } from './seen.ts';
import type { Witness } from './witness.ts';

/** Share on either side of a bound of `Z95` standard errors. By definition of `Z95`. */
const SIDE = 0.95;
export const RULE = say('boost.rule.region', {
  confidence: CONFIDENCE,
  side: SIDE,
  z: Z_FAULT,
  looks: PAID_LOOKS,
  samples: LEAST_SAMPLES,
  lastingS: LONE_PULL_S,
  pulls: LONE_PULLS,
  spoolingRpm: SPOOLING_TO_RPM,
  slowRpm: SLOW_RPM,
  spoolingPulls: SPOOLING_PULLS,
  borneOut: BORNE_OUT_SAMPLES,
  air: AIR_LIMIT,
  goodLoss: GOOD_LOSS_PCT / 100,
  carryRpm: CARRY_RPM,
  carry: CARRY_SD,
});
export const MISSING_ELSEWHERE = say('boost.need.elsewhere');

/** @param limit as a share of the expected boost, as it is applied to `e` */
export function finding(
  c: BoostCase,
  id: string,
  witnesses: readonly Witness[],
  e: Estimate | null = null,
  limit = e === null ? 0 : -e.limit,
): Finding {
  const used = new Set([
    ...['map_kpa', 'rpm', 'speed_kmh', 'baro_kpa', 'ect_c', c.demandName],
    ...(witnesses.some((w) => w.air !== null) ? ['maf_gps'] : []),
    ...(witnesses.some((w) => w.source === 'commanded boost') ? ['boost_cmd_kpa'] : []),
  ]);
  return {
    id,
    system: 'boost',
    verdict: 'not shown',
    ...BLANK,
    fromS: witnesses.length === 0 ? null : Math.min(...witnesses.map((w) => w.fromUs)) / 1e6,
    toS: witnesses.length === 0 ? null : Math.max(...witnesses.map((w) => w.toUs)) / 1e6,
    measured: e === null ? null : measuredKpa(e),
    limit:
      e === null
        ? null
        : { value: tenth(limit * e.expectedKpa), unit: 'kPa', source: sourceSays(c, witnesses, e) },
    evidence: [...(e === null ? [] : heldAgainst(witnesses, e)), ...chosen(witnesses, e).map(evidenceOf)],
    rule: RULE,
    signals: [...c.signals].filter((s) => used.has(s)).sort(),
  };
}

/** What is said of a fault, over a finding that shows none. */
export const faultShown = (c: BoostCase, id: string, pointsTo: Says) =>
  ({ verdict: 'fault shown', saidAtS: c.saidAtS(id), pointsTo }) as const;

export function measuredKpa(e: Estimate): Finding['measured'] {
  const kpa = (deviation: number): number => tenth(deviation * e.expectedKpa);
  const interval: [number, number] = [kpa(e.deviation - Z95 * e.se), kpa(e.deviation + Z95 * e.se)];
  return { value: kpa(e.deviation), unit: 'kPa', interval };
}

export function around(e: { mean: number; se: number }, round: (x: number) => number): [number, number] {
  return [round(e.mean - Z95 * e.se), round(e.mean + Z95 * e.se)];
}
