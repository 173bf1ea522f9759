/** What the watches saw of a drive, and the findings' common ground: decided by the rule of JCGM 106:2012. */

import { tenth } from '../../core/rounded.ts';
import type { Says } from '../../core/says.ts';
import { BLANK } from '../blank.ts';
import type { Finding } from '../types.ts';
import type { CoolantBaseline } from './baseline.ts';
import type { Bin, HeatSource } from './bins.ts';
import { type ClimbWatch, READING_C } from './climb.ts';
import type * as fan from './fan.ts';
import type * as jumps from './jumps.ts';
import type { KindRange } from './kind.ts';
import type { Plateau } from './plateau.ts';
import type { Settled } from './settled.ts';
import type * as cold from './too-cold.ts';
import type { WarmUp } from './warm-up-meter.ts';

/** A temperature that is held to be so, and who says it. */
export interface Known {
  readonly value: number;
  readonly source: Says;
}

export interface CoolantFacts {
  readonly limit: Known;
  /** Plateau known before the run. */
  readonly known: Known | null;
  /** Where other cars of the kind settle; null where this one's plateau is known. */
  readonly kind: KindRange | null;
  readonly baseline: CoolantBaseline | null;
  readonly plateau: Plateau;
  readonly climb: ClimbWatch;
  readonly cold: cold.TooColdWatch;
  readonly jumps: jumps.JumpWatch;
  readonly settled: Settled;
  readonly fan: fan.FanWatch;
  readonly warmUp: WarmUp | null;
  /** The same to its further end. */
  readonly warmUpFurther: WarmUp | null;
  readonly heatSource: HeatSource | null;
  readonly firstC: number | null;
  readonly last: Bin | null;
  readonly signals: readonly string[];
  /** Coolant readings that no finding believed, of all. */
  readonly leftOut: { readonly n: number; readonly of: number };
}

export type Draft = Pick<Finding, 'id' | 'rule'>;

export const reading = (c: number): Finding['measured'] => ({
  value: tenth(c),
  unit: 'degC',
  interval: [tenth(c - READING_C), tenth(c + READING_C)],
});

/**
 * A reading of a rule that holds the reading as it is shown, °C: beside the limit it was at or beyond, the rule's own
 * number, none of its interval lies on the other side.
 */
export function readingBeyond(c: number, limitC: number, side: 'above' | 'below'): Finding['measured'] {
  const { interval, ...measured } = reading(c)!;
  const [low, high] = interval;
  const limit = tenth(limitC);
  return {
    ...measured,
    interval: side === 'above' ? [Math.max(low, limit), high] : [low, Math.min(high, limit)],
  };
}

export const rangeSays = ({
  cars,
  valueC,
  withinC,
}: KindRange): { cars: number; lowC: number; highC: number } => ({
  cars,
  lowC: valueC - withinC,
  highC: valueC + withinC,
});

export function plain(f: CoolantFacts, draft: Draft): Finding {
  return {
    ...draft,
    system: 'coolant',
    verdict: 'not shown',
    ...BLANK,
    signals: f.signals,
  };
}
