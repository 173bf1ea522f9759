/** Pulls as they were weighed, made by hand: what a test says of one, and the rest as of a sound pull of a turbo-diesel. */
import { regionsOf } from '../../src/analysis/boost/regions.ts';
import { type Patch, patchAt } from '../../src/analysis/boost/scan.ts';
import type { Witness } from '../../src/analysis/boost/witness.ts';

/** Above the hand-over. */
export const HIGH = regionsOf({ induction: 'turbocharger', fuel: 'diesel' })[1]!;

/** Standard deviations as shares of the boost: of the pull as a whole, of one sample, of the run. */
export interface Spreads {
  readonly pull?: number;
  readonly point?: number;
  readonly run?: number;
}

/** What one pull says of the smallest window at `rpm`: `n` samples, 120 kPa expected of each, each off by `deviation`. */
export function madePatch(
  deviation: number,
  rpm: number,
  {
    n = 6,
    demandPct = 95,
    pull = 0.018,
    point = 0.01,
    run = 0.008,
    ...more
  }: Spreads & Partial<Patch> & { readonly demandPct?: number } = {},
): Patch {
  return {
    ...{ at: patchAt(rpm, demandPct), n, moments: n, fromUs: 0, toUs: 2e6, w: n, there: n },
    ...{ deviation: n * deviation, pull: n * pull ** 2, point: n * point ** 2, run: n * run ** 2 },
    ...{
      warm: 0,
      warmBelow: 0,
      warmUnread: 0,
      warmCharge: 0,
      warmColder: 0,
      limit: n * 0.06,
      perKpa: n / 120,
    },
    square: n * deviation ** 2,
    short: deviation < -0.06 ? n : 0,
    over: deviation > 0.06 ? n : 0,
    ...more,
  };
}

/** A pull of `n` samples, 120 kPa expected of each and each off by `deviation`; null: nothing to hold it against. */
export function madeWitness({
  sd = 0.018,
  runSd = 0.008,
  ...more
}: Partial<Witness> & { readonly sd?: number; readonly runSd?: number } = {}): Witness {
  const { deviation = 0, n = 6, rpm = [2500, 2700] as const } = more;
  return {
    ...{ region: HIGH, ratio: 40, cells: [], fromUs: 0, toUs: 3e6, rpm, n, spanS: 2, airC: 20 },
    ...{ boostKpa: 120, expectedKpa: 120, deviation, variance: sd ** 2, runVariance: runSd ** 2 },
    ...{ limit: 0.06, source: 'baseline run', cars: 0, absent: false, doubtful: false, frozen: false },
    ...{
      leastKpa: null,
      borneOut: false,
      held: true,
      maybeMissed: false,
      warm: true,
      air: null,
    },
    patches:
      deviation === null ? [] : [madePatch(deviation, (rpm[0] + rpm[1]) / 2, { n, pull: sd, run: runSd })],
    ...more,
  };
}

/** A pull of which only `sd` and `runSd` are unknown: its samples scatter by nothing, and are as good as many. */
export function sureWitness(deviation: number, sd: number, runSd: number): Witness {
  const at = { n: 4, demandPct: 90, pull: sd, point: 0, run: runSd, moments: 1e9 };
  return madeWitness({
    ...{
      deviation,
      sd,
      runSd,
      boostKpa: 120 * (1 + deviation),
      rpm: [2000, 3000],
      n: 4,
      spanS: 3,
      held: null,
    },
    patches: [madePatch(deviation, 2500, at)],
  });
}
