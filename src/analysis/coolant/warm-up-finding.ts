/** Whether a warm-up took the heat that it takes on this car, or on its kind. */

import { tenth } from '../../core/rounded.ts';
import type { OfKind } from '../between-cars.ts';
import { CONFIDENCE, Z_BOTH, Z95 } from '../spread.ts';
import type { Evidence, Finding } from '../types.ts';
import type { HeatSource } from './bins.ts';
import { type CoolantFacts, type Draft, plain } from './facts.ts';
import { say } from './says.ts';
import {
  COLD_C,
  expectedHeat,
  FROM_C,
  FURTHER_C,
  SCATTER,
  SETTLES_C,
  TO_C,
  type WarmUp,
} from './warm-up-meter.ts';

/**
 * The whole interval of the heat must lie above SLOW_WARM_UP times the expected to be a fault; chosen by hand, not measured. Below
 * EXCLUDED to be good: chosen on the open drives, both halves in view (one half alone says 1.75), from 39 cold starts with
 * twice the heat put in, 60 draws each of 1 to 13 drives that teach: 8 of 8,976 called good, at 2 times 3 in 100.
 */
const SLOW_WARM_UP = 1.3;
const EXCLUDED = 1.7;
/** From halfway to twice the heat (as a ratio) on, the system's verdict waits. Chosen by hand, not measured. */
const WAITS = Math.SQRT2;

/** To 70 °C, and once more to 78 °C where that can be held against drives of the car: the first that shows a fault stands. */
export function warmUpFinding(f: CoolantFacts): Finding {
  const draft: Draft = {
    id: 'coolant.warm-up',
    rule: say('coolant.rule.warm-up', {
      fromC: FROM_C,
      toC: TO_C,
      furtherC: FURTHER_C,
      settlesC: SETTLES_C,
      slow: SLOW_WARM_UP,
      excluded: EXCLUDED,
      waits: WAITS,
      confidence: CONFIDENCE,
    }),
  };
  const w = f.warmUp;
  const base: Finding = { ...plain(f, draft), aside: true };
  if (!w || !f.heatSource)
    return {
      ...base,
      needs:
        f.firstC !== null && f.firstC > COLD_C
          ? say('coolant.needs.cold-start', { fromC: COLD_C })
          : say('coolant.needs.warm-up', { toC: TO_C }),
    };
  const drives = (f.baseline?.warmUps ?? []).filter((b) => b.source === f.heatSource);
  const kind = f.baseline?.kind?.warmUp[f.heatSource] ?? null;
  const near = weighed(base, w, f.heatSource, drives, kind);
  const settles = (f.baseline?.lowestPlateauC ?? Number.NEGATIVE_INFINITY) >= SETTLES_C;
  if (near.verdict === 'fault shown' || f.warmUpFurther === null || !settles || kind !== null) return near;
  const further = drives.flatMap((d) =>
    d.furtherPerC === null ? [] : [{ heatPerC: d.furtherPerC, airC: d.airC }],
  );
  return further.length === 0 ? near : weighed(base, f.warmUpFurther, f.heatSource, further, null);
}

/** @param drives what healthy drives of the car took as far as `w` goes */
function weighed(
  base: Finding,
  w: WarmUp,
  heatSource: HeatSource,
  drives: readonly { readonly heatPerC: number; readonly airC: number }[],
  kind: (OfKind & { readonly airC: number }) | null,
): Finding {
  const took: Evidence = {
    fromS: w.fromS,
    toS: w.toS,
    text: say('coolant.seen.warm-up', {
      fromC: w.fromC,
      toC: w.toC,
      overS: w.toS - w.fromS,
      startC: w.startC,
    }),
  };
  const expected = w.airC === null ? null : expectedHeat(drives, w.airC, heatSource, kind);
  if (expected === null || w.airC === null)
    return {
      ...base,
      fromS: w.fromS,
      toS: w.toS,
      evidence: [took],
      needs: say('coolant.needs.warm-up-baseline'),
    };
  const share = (z: number) => tenth(100 * Math.exp(Math.log(w.heatPerC) - expected.ln + z * expected.se));
  const measured = {
    value: share(0),
    unit: '%' as const,
    interval: [share(-Z95), share(Z95)] as [number, number],
  };
  const { cars } = expected;
  const heat = { perC: w.heatPerC, expected: Math.exp(expected.ln), airC: w.airC };
  const within = Math.expm1(Z_BOTH * expected.se);
  const seen =
    cars === 0
      ? say('coolant.seen.warm-up-air', { ...heat, drives: expected.drives })
      : expected.drives === 0
        ? say('coolant.seen.warm-up-kind', { ...heat, cars, within })
        : say('coolant.seen.warm-up-both', { ...heat, cars, within, drives: expected.drives });
  // By other cars alone the verdict on the cooling waits for what one healthy car in twenty takes.
  const slower = Math.max(WAITS, expected.drives === 0 ? Math.exp(Z95 * expected.se) : 0);
  const slow = Math.max(SLOW_WARM_UP, Math.exp(expected.far));
  const filled: Finding = {
    ...base,
    aside: measured.value < 100 * slower,
    fromS: w.fromS,
    toS: w.toS,
    measured,
    evidence: [took, { fromS: w.fromS, toS: w.toS, text: seen }],
  };
  const limit = (times: number) => ({
    value: tenth(100 * times),
    unit: '%' as const,
    source:
      cars === 0
        ? say('coolant.source.baseline')
        : say(expected.drives === 0 ? 'coolant.source.kind' : 'coolant.source.baseline-and-kind', { cars }),
  });
  if (measured.interval[0] > 100 * slow)
    return {
      ...filled,
      verdict: 'fault shown',
      pointsTo: say('coolant.points.weeping'),
      saidAtS: w.toS,
      limit: limit(slow),
    };
  if (measured.interval[1] < 100 * EXCLUDED)
    return { ...filled, verdict: 'shown good', limit: limit(EXCLUDED) };
  // Known as well as one drive of the car repeats, it would have been good: then what is taught is too little.
  const helped = Math.log(measured.value / 100) + Z95 * SCATTER[heatSource] < Math.log(EXCLUDED);
  return {
    ...filled,
    limit: limit(EXCLUDED),
    needs: helped
      ? say('coolant.needs.warm-up-more', { excluded: EXCLUDED, drives: expected.drives })
      : say('coolant.needs.warm-up-again'),
  };
}
