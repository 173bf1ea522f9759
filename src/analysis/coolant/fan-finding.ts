/** Whether the fan turned the coolant around where the drive called for it. */

import { tenth } from '../../core/rounded.ts';
import type { Says } from '../../core/says.ts';
import type { Finding } from '../types.ts';
import { ABOVE_TURNED_C } from './climb.ts';
import { type CoolantFacts, plain, rangeSays, readingBeyond } from './facts.ts';
import * as fan from './fan.ts';
import { fanOf } from './kind.ts';
import { say } from './says.ts';

/** The fan is a subject of its own: most drives never need it, and no other verdict waits for it. */
export function fanFinding(f: CoolantFacts): Finding {
  const { seenFromS, seenAtS, askedAtS, missing } = f.fan;
  const base: Finding = {
    ...plain(f, {
      id: 'coolant.fan',
      rule: say('coolant.rule.fan', {
        aboveC: fan.ABOVE_C,
        backC: fan.FAN_BACK_C,
        beyondC: fan.BEYOND_C,
        beyondS: fan.BEYOND_S,
        dueC: fan.DUE_C,
      }),
    }),
    system: 'fan',
  };
  if (missing) {
    const limitC = missing.on.value + fan.BEYOND_C;
    return {
      ...base,
      verdict: 'fault shown',
      pointsTo: say('coolant.points.fan-wiring'),
      saidAtS: missing.saidAtS,
      fromS: missing.fromS,
      toS: missing.saidAtS,
      measured: readingBeyond(missing.ectC, limitC, 'above'),
      limit: {
        value: tenth(limitC),
        unit: 'degC',
        source: missing.on.source,
      },
      evidence: [
        {
          fromS: missing.fromS,
          toS: missing.saidAtS,
          text: noFanSays(missing),
        },
      ],
    };
  }
  if (seenAtS !== null) {
    const fromS = seenFromS ?? seenAtS;
    const over = { fromS, toS: seenAtS };
    // What cools a coolant that has climbed may still do too little.
    return f.climb.climbs.some((c) => c.fromS <= seenAtS && c.toS >= fromS)
      ? {
          ...base,
          ...over,
          evidence: [{ ...over, text: say('coolant.seen.fan-climbed') }],
          needs: say('coolant.needs.climb-first'),
        }
      : {
          ...base,
          ...over,
          verdict: 'shown good',
          evidence: [{ ...over, text: say('coolant.seen.fan') }],
        };
  }
  const kind = fanOf(f.baseline?.kind);
  return {
    ...base,
    fromS: askedAtS,
    toS: askedAtS,
    evidence:
      askedAtS === null || kind === null
        ? []
        : [{ fromS: askedAtS, toS: askedAtS, text: say('coolant.seen.fan-kind', rangeSays(kind)) }],
    needs: fanNeeds(f),
  };
}

function fanNeeds({ fan: { askedAtS, askedC, dueC, dueBack }, baseline }: CoolantFacts): Says {
  const turned = baseline?.fansC ?? [];
  const ownC = Math.max(...turned);
  if (turned.length > 0 && !dueBack && (askedC ?? 0) > ownC + ABOVE_TURNED_C)
    return say('coolant.needs.fan-above-own', { highC: askedC ?? 0, ownC });
  if (dueC !== null)
    return say(dueBack ? 'coolant.needs.fan-hot-back' : 'coolant.needs.fan-hot', { highC: dueC });
  return say(askedAtS === null ? 'coolant.needs.fan' : 'coolant.needs.fan-asked');
}

function noFanSays({ ectC, on: { value, cars } }: fan.FanMissing): Says {
  return cars === undefined
    ? say('coolant.seen.no-fan', { ectC, onC: value })
    : say('coolant.seen.no-fan-kind', { ectC, cars, highC: value });
}
