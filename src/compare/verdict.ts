/** From intervals to verdicts, by a rule stated beforehand. */
import type { Says } from '../core/says.ts';
import { say } from './says.ts';
import type { EffectVerdict, ShiftVerdict } from './types.ts';

/** Confidence of every interval that is printed. A convention; no source. */
export const CHANGE_CONFIDENCE = 0.95;

export const ruleOf = (marginPct: number): Says =>
  say('compare.rule', { confidence: CHANGE_CONFIDENCE, margin: marginPct / 100 });

/** @param low, high interval of the effect and `margin`, all in one unit */
export function effectVerdict(low: number, high: number, margin: number): EffectVerdict {
  if (low > 0) return 'better';
  if (low > -margin) return 'no worse';
  return high < 0 ? 'worse' : 'not shown';
}

/** Higher and lower: the interval excludes no change and does not lie within the margin. */
export function shiftVerdict(low: number, high: number, margin: number): ShiftVerdict {
  if (low > -margin && high < margin) return 'unchanged';
  if (low > 0) return 'higher';
  return high < 0 ? 'lower' : 'not shown';
}

/**
 * Holm's step-down (1979) over many points: each is first held to the level of all of them; when some are decided
 * the others share the level anew. `intervalAt` gives a point's interval at a confidence.
 */
export function holmVerdicts(
  points: readonly ((confidence: number) => { low: number; high: number } | null)[],
  margin: number,
): EffectVerdict[] {
  const verdicts: EffectVerdict[] = points.map(() => 'not shown');
  let open = points.flatMap((intervalAt, i) => (intervalAt(CHANGE_CONFIDENCE) === null ? [] : [i]));
  for (;;) {
    const confidence = 1 - (1 - CHANGE_CONFIDENCE) / open.length;
    const left = open.filter((i) => {
      const at = points[i]!(confidence);
      verdicts[i] = at === null ? 'not shown' : effectVerdict(at.low, at.high, margin);
      return verdicts[i] === 'not shown';
    });
    if (left.length === 0 || left.length === open.length) return verdicts;
    open = left;
  }
}
