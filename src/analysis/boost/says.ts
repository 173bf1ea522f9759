/** What is said about boost, without the words: shares as fractions of 1. */
import { sayer } from '../../core/says.ts';

interface Where {
  fromRpm: number;
  toRpm: number;
  fromDemandPct: number;
}

export interface BoostSays {
  /** What a region is shown good for. */
  'boost.good-range': Where & { loss: number };
  'boost.need.pulls': Where & { pulls: number; holdS: number; warmC: number };
  /** No number of pulls nor of baselines settles it: it must be compared on one day. */
  'boost.need.one-day': Where & { pulls: number; holdS: number; warmC: number };
}

export const say = sayer<BoostSays>();
