/** Whether the reading swung as bubbles of air make it. */

import type { Finding } from '../types.ts';
import { NEED_SETTLED_S } from './climb-finding.ts';
import { type CoolantFacts, type Draft, plain, readingBeyond } from './facts.ts';
import * as jumps from './jumps.ts';
import { say } from './says.ts';

/** Bubbles pass in seconds: slower readings cannot show their absence. Chosen by hand, not measured. */
export const QUICK_S = 2.5;
/** Less is not asked for: a minute more. Not known how chosen. */
const LEAST_MORE_S = 60;

export function jumpsFinding(f: CoolantFacts): Finding {
  const draft: Draft = {
    id: 'coolant.jumps',
    rule: say('coolant.rule.jumps', {
      swings: jumps.SWINGS,
      swingC: jumps.SWING_C,
      mostS: jumps.SWING_MOST_S,
      duringS: jumps.DURING_S,
      everyS: QUICK_S,
    }),
  };
  const j = f.jumps.found;
  if (j)
    return {
      ...plain(f, draft),
      verdict: 'fault shown',
      pointsTo: say('coolant.points.air'),
      saidAtS: j.saidAtS,
      fromS: j.fromS,
      toS: j.toS,
      measured: readingBeyond(j.largestC, jumps.SWING_C, 'above'),
      limit: {
        value: jumps.SWING_C,
        unit: 'degC',
        source: say('coolant.source.heat-capacity'),
      },
      evidence: [
        {
          fromS: j.fromS,
          toS: j.toS,
          text: say('coolant.seen.jumps', { swings: j.swings, largestC: j.largestC }),
        },
      ],
      needs: null,
    };
  const quick = f.jumps.everyS <= QUICK_S;
  const good = quick && f.plateau.settled && f.settled.settledS >= NEED_SETTLED_S;
  return {
    ...plain(f, draft),
    aside: !quick,
    verdict: good ? 'shown good' : 'not shown',
    needs: good
      ? null
      : quick
        ? say('coolant.needs.more', { moreS: Math.max(LEAST_MORE_S, NEED_SETTLED_S - f.settled.settledS) })
        : say('coolant.needs.quicker', { everyS: QUICK_S }),
  };
}
