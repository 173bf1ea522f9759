/** Whether the charger's clutch closes in time and opens at light demand. */

import { hundredth, tenth } from '../../core/rounded.ts';
import { CONFIDENCE, Z95 } from '../spread.ts';
import type { Finding } from '../types.ts';
import { type BoostCase, comesLate, PRACTICE } from './case.ts';
import {
  ACT_STRETCHES,
  type ClutchWatch,
  LATE_TIPS,
  LIGHT_LIMIT_KPA,
  LIGHT_MAP_KPA,
  MAP_STRETCHES,
  ONSET_LIMIT_S,
  ONSET_SHARE,
  PROMPT_TIPS,
  Z_CLUTCH,
} from './clutch.ts';
import { around, faultShown, finding, MISSING_ELSEWHERE } from './finding.ts';
import { ofKindAlone } from './kind.ts';
import { PULL_HELD_S } from './needs.ts';
import { say } from './says.ts';
import { tooMuch } from './surplus-finding.ts';

/**
 * Light demand asked for: how long, between which engine speeds, and the pulls after it. Chosen by hand, not
 * measured.
 */
export const LIGHT_ASK = { holdS: 30, fromRpm: 1500, toRpm: 3000, pulls: 2 } as const;

export function lateFinding(c: BoostCase, clutch: ClutchWatch): Finding {
  const id = 'boost.late';
  const o = clutch.onset;
  const base: Finding = {
    ...finding(c, id, []),
    fromS: o === null ? null : tenth(clutch.onsets[0]!.fromUs / 1e6),
    toS: o === null ? null : tenth(clutch.onsets.at(-1)!.toUs / 1e6),
    measured: o === null ? null : { value: hundredth(o.mean), unit: 's', interval: around(o, hundredth) },
    limit: { value: ONSET_LIMIT_S, unit: 's', source: PRACTICE },
    evidence: clutch.evidence(clutch.onsets, (v) => say('boost.seen.onset', { afterS: v.value })),
    rule: say('boost.rule.late', {
      share: ONSET_SHARE,
      confidence: CONFIDENCE,
      goodTips: PROMPT_TIPS,
      z: Z_CLUTCH,
      faultTips: LATE_TIPS,
    }),
  };
  // Where the band brings nothing, however long it is asked, what came at last was the turbocharger's.
  if (clutch.late && !comesLate(c)) return { ...base, needs: MISSING_ELSEWHERE };
  if (clutch.late) return { ...base, ...faultShown(c, id, say('boost.points.closes-late')) };
  if (clutch.prompt) return { ...base, verdict: 'shown good' };
  return { ...base, needs: say('boost.need.tip-ins', { tips: PROMPT_TIPS, holdS: PULL_HELD_S }) };
}

export function clutchOpenFinding(c: BoostCase, clutch: ClutchWatch): Finding {
  const id = 'boost.clutch-open';
  const high = c.regions.find((r) => r.region.key === 'high');
  const pressed = clutch.drivenAtLight;
  const { lightAct: act, lightManifold: manifold } = clutch;
  // What shows it is printed; with nothing shown, what would tell best.
  const byCharge = pressed === null ? act !== null : pressed === 'charge';
  const e = byCharge ? act : manifold;
  const list = byCharge ? clutch.light : clutch.lightMap;
  const rule = say('boost.rule.clutch-open', {
    z: Z_CLUTCH,
    mapStretches: MAP_STRETCHES,
    actStretches: ACT_STRETCHES,
  });
  const shown = faultShown(c, id, say('boost.points.does-not-open'));
  if (pressed === null && high?.surplus === true)
    return { ...tooMuch(c, id, high.witnesses, high), rule, ...shown };
  const own = finding(c, id, []);
  const base: Finding = {
    ...own,
    signals: byCharge ? [...own.signals, 'boost_act_kpa'].sort() : own.signals,
    fromS: e === null ? null : list[0]!.fromUs / 1e6,
    toS: e === null ? null : list.at(-1)!.toUs / 1e6,
    measured: e === null ? null : { value: tenth(e.mean), unit: 'kPa', interval: around(e, tenth) },
    limit: { value: byCharge ? LIGHT_LIMIT_KPA : LIGHT_MAP_KPA, unit: 'kPa', source: PRACTICE },
    evidence: clutch.evidence(list, (v) =>
      say(byCharge ? 'boost.seen.light-charge' : 'boost.seen.light-manifold', { gaugeKpa: v.value }),
    ),
    rule,
  };
  if (pressed !== null) return { ...base, ...shown };
  const quiet = manifold !== null && manifold.n >= ACT_STRETCHES && manifold.mean + Z95 * manifold.se < 0;
  const taughtItself = c.baseline !== null && !ofKindAlone(c.baseline);
  const normal = (high?.good ?? null) !== null && taughtItself;
  if (clutch.openAtLight || (act === null && quiet && normal)) return { ...base, verdict: 'shown good' };
  return { ...base, needs: say('boost.need.light', LIGHT_ASK) };
}
