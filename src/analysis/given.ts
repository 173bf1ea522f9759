/** What a drive has given of what a finding wants of it: the leg that serves the finding shows this and ticks by it. */
import type { Says } from '../core/says.ts';

export interface Given {
  /** 0 to 1: a share of what is wanted; 1 when the finding wants nothing more of the drive. */
  readonly share: number;
  /** How much is there, or why the rest will not come, in a few words; null when there is nothing to say. */
  readonly left: Says | null;
  /** How to drive what is left, where that differs from the leg as a whole. */
  readonly how?: Says;
  /** This drive cannot give the rest: no leg is held open for it. */
  readonly over?: boolean;
  /** Driving it now would give nothing. */
  readonly early?: boolean;
  /** Run seconds of what was given. */
  readonly fromS: number | null;
  readonly toS: number | null;
}

/** By the id of the finding. */
export type GivenBy = ReadonlyMap<string, Given>;

/** What is not whole waits: this drive cannot give it. */
export const later = (given: Given, left: Says): Given =>
  given.share === 1 ? given : { ...given, left, over: true };
