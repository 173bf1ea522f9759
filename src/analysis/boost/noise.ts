/**
 * What spoils samples hits few of them, so a mean of n is less sure than 1/√n says: 1/n^1.5, in pressure and air alike.
 * Not known how chosen.
 */
export const LONE_POWER = 1.5;
/** Fewer pulls do not tell by how much pulls contradict each other (Birge's ratio). Common practice, no source. */
export const SCATTER_PULLS = 3;

/** How well settled boost repeats on a healthy car, as a share of the boost: between runs, pulls and samples. */
export interface Noise {
  readonly run: number;
  readonly pull: number;
  readonly point: number;
}

/**
 * Standard deviations from 2000 rpm on, by lagged demand from the stated %. KIT, leave-one-trip-out over the
 * half used for tuning, rounded up (docs/analysis.md).
 */
const NOISE: readonly (readonly [fromDemand: number, noise: Noise])[] = [
  [0, { run: 0.04, pull: 0.1, point: 0.08 }],
  [50, { run: 0.03, pull: 0.07, point: 0.05 }],
  [60, { run: 0.015, pull: 0.028, point: 0.02 }],
  [70, { run: 0.01, pull: 0.022, point: 0.012 }],
  [85, { run: 0.008, pull: 0.018, point: 0.01 }],
];

/** Scatter of the air index between healthy drives (KIT: 0.9 %, rounded up). */
export const AIR_RUN_SD = 0.01;
/** Scatter between pulls, KIT, where the car's own are not known; no car's own is taken to be less. */
export const AIR_PULL_SD = 0.012;
/**
 * What one sample alone may be off by: air mass, speed and pressure are read at different times. Chosen by hand,
 * not measured.
 */
export const AIR_LONE_SD = 0.06;

/** From this speed on the scatter of `NOISE` holds (KIT, see `SLOW_SCALES`). Not known how chosen. */
export const SLOW_RPM = 2000;

/**
 * Below 2000 rpm a turbocharger's boost hangs on how it was reached: KIT's pulls scatter 1.4 to 2.4 times as much
 * there, its runs 1.3 times, below 1500 rpm twice. One healthy pull at 1300 rpm lay 24 % down: below 1500 rpm
 * 3.3 times is taken, which it alone asks for.
 */
const SLOW_SCALES: readonly (readonly [belowRpm: number, pull: number, run: number])[] = [
  [1500, 3.3, 2.2],
  [SLOW_RPM, 1.7, 1.3],
];

export function noiseAt(rpm: number, demand: number): Noise {
  let noise = NOISE[0]![1];
  for (const [from, n] of NOISE) if (demand >= from) noise = n;
  const [, k, kRun] = SLOW_SCALES.find(([below]) => rpm < below) ?? [0, 1, 1];
  return { run: noise.run * kRun, pull: noise.pull * k, point: noise.point * k };
}

/**
 * The scatter of KIT, as a variance widened by so much below and from 2,000 rpm, is what a car that taught few pulls is
 * taken to have. Not known how chosen.
 */
export const PRIOR_SCALE2 = { slow: 1.44, fast: 1.2 } as const;

type Scale = { readonly slow: number; readonly fast: number };

/** As this vehicle's own pulls agree. */
function scaledNoise(rpm: number, demand: number, scale: Scale): Noise {
  const base = noiseAt(rpm, demand);
  const k = rpm < SLOW_RPM ? scale.slow : scale.fast;
  // Many pulls tell how they scatter; few drives cannot tell that days do not differ.
  return { run: base.run * Math.max(1, k), pull: base.pull * k, point: base.point * k };
}

/**
 * What a drive is held to. Where pulls scatter by more than KIT's, most of the excess is no chance: another gear, another pedal,
 * a lag that is not the one assumed. Pulls that are driven alike are then off alike, and no number of them shrinks it.
 */
export function heldNoise(rpm: number, demand: number, scale: Scale): Noise {
  const noise = scaledNoise(rpm, demand, scale);
  const [k, prior] = rpm < SLOW_RPM ? [scale.slow, PRIOR_SCALE2.slow] : [scale.fast, PRIOR_SCALE2.fast];
  const alike = noiseAt(rpm, demand).pull * Math.sqrt(Math.max(0, k * k - prior));
  return { ...noise, run: Math.hypot(noise.run, alike) };
}

/**
 * A sample whose demand has not settled within this share may still be on its way up. Chosen by hand, not measured.
 */
const SETTLED_SHARE = 0.05;
/** How much of a pressure may then be missing, for each share of demand that has not settled (KIT: 6 % at 0.88 of the demand, once 25; a drive read once a second can miss most of it). */
const UNSETTLED = 4;

/** What a sample may be off by because its pressure is still to come, as a share of the boost. */
export function unsettledSd(p: { readonly demand: number; readonly lagged: number }): number {
  return UNSETTLED * Math.max(0, 1 - p.lagged / p.demand - SETTLED_SHARE);
}
