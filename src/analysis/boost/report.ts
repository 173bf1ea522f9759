/** Boost findings with their evidence: which region, which pulls, which limit, what to do. */

import { inTurn, isSays } from '../../core/says.ts';
import type { Finding } from '../types.ts';
import type { BoostCase } from './case.ts';
import { clutchOpenFinding, lateFinding } from './clutch-finding.ts';
import type { RegionEvidence } from './evidence.ts';
import type { InductionWatch } from './induction.ts';
import { intermittentFinding } from './intermittent-finding.ts';
import { leakFinding } from './leak-finding.ts';
import { regionFinding, sharedLoss } from './region-finding.ts';
import { say } from './says.ts';
import { surplusFinding } from './surplus-finding.ts';

export function boostFindings(c: BoostCase): Finding[] {
  if (c.regions.length === 0) return [];
  const low = c.regions.find((r) => r.region.key === 'low');
  const high = c.regions.find((r) => r.region.key === 'high');
  const both = (f: (r: RegionEvidence) => boolean): boolean =>
    low !== undefined && high !== undefined && f(low) && f(high);
  const everywhere = both((r) => r.short && !r.absent && !r.intermittent) || sharedLoss(c);
  const out: Finding[] = [];
  for (const r of c.regions) out.push(regionFinding(c, r, everywhere));
  out.push(intermittentFinding(c), leakFinding(c, everywhere), surplusFinding(c));
  if (c.clutch !== null) out.push(lateFinding(c, c.clutch), clutchOpenFinding(c, c.clutch));
  const told = takenBack(c, out);
  return c.induction === null ? told : told.map((f) => guessed(f, c.induction!));
}

/** What was spoken of as a fault and is none any more is not good either: the technician heard it. */
function takenBack(c: BoostCase, findings: readonly Finding[]): Finding[] {
  const elsewhere = findings.some((f) => f.verdict === 'fault shown');
  return findings.map((f) => {
    const atS = c.saidAtS(f.id);
    if (atS === null || f.verdict === 'fault shown') return f;
    if (elsewhere && f.verdict === 'not shown')
      return isSays(f.needs) ? { ...f, needs: say('boost.need.told-otherwise', { atS, needs: f.needs }) } : f;
    const evidence = f.evidence.filter(({ text }) => text.id !== 'boost.good-range');
    return {
      ...f,
      ...{ verdict: 'not shown', aside: false, evidence },
      needs: say('boost.need.taken-back', { atS }),
    };
  });
}

/** A finding on a car whose profile does not say how it is charged names the guess that it rests on. */
function guessed(f: Finding, induction: InductionWatch): Finding {
  const guess = induction.guess();
  const judged = guess === null ? say('boost.rule.no-induction') : say('boost.rule.guessed', { guess });
  const rule = isSays(f.rule) ? inTurn([f.rule, judged]) : judged;
  if (f.verdict !== 'not shown') return { ...f, rule };
  const enter = guess === null ? say('boost.need.induction') : say('boost.need.induction-guessed', { guess });
  return { ...f, rule, needs: isSays(f.needs) ? inTurn([enter, f.needs]) : enter };
}
