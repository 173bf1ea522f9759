/** The air mass as a second witness: more air than the pressure accounts for is lost after the meter, or a sensor lies. */
import { median } from 'simple-statistics';
import type { Baro } from './barometer.ts';
import { AIR_FROM_PCT, airBin, airIndex, type BoostBaseline } from './lesson.ts';
import { isClipped } from './points.ts';
import { Z_FAULT, Z95 } from './scan.ts';
import type { StretchPoint } from './stretches.ts';

/** Scatter of the air index between healthy drives (KIT: 0.9 %, rounded up). */
export const AIR_RUN_SD = 0.01;
/**
 * What one sample alone may be off by: air mass, speed and pressure are read at different times. Chosen by hand,
 * not measured.
 */
const AIR_LONE_SD = 0.06;
/**
 * More air than the pressure accounts for, as a share: beyond it air is lost after the meter. Chosen by hand, not
 * measured. KIT: 1.2 % between pulls.
 */
export const AIR_LIMIT = 0.025;
/** Fewer samples than this, or fewer pulls, never show that air is lost. Chosen by hand, not measured. */
const AIR_SAMPLES = 4;
const AIR_PULLS = 2;
/** KIT: 1 in 100 pulls; a sound engine lets no exhaust gas back in at high demand. */
const AIR_BACK_SHARE = 0.1;
/**
 * Boost that is wholly missing from the reading leaves at least so much air unaccounted for (half an atmosphere of
 * boost over one and a half). By definition of the example.
 */
const AIR_STUCK_SHARE = 0.3;
/** Colder than this the index is off by itself (KIT: 9 % on a cold engine); it is learned and held only when warm. */
export const AIR_WARM_C = 60;
/**
 * Boost that would be there with the air that is missing; less says nothing as a share. Chosen by hand, not
 * measured.
 */
const LEAST_DUE_KPA = 20;

/** What one pull's air says: its excess over the baseline's index, and what boost deviates by if air is lost. */
export interface PullAir {
  readonly excess: number;
  readonly variance: number;
  readonly deviation: number;
  readonly gain: number;
  readonly n: number;
}

/** More air than the pressure accounts for, as a share, with its standard error, over `n` samples of so many pulls. */
export interface AirExcess {
  readonly share: number;
  readonly se: number;
  readonly n: number;
  readonly pulls: number;
}

/** Null without an air mass signal, a baseline that has one, or a warm engine. */
export function airOf(
  points: readonly StretchPoint[],
  baseline: BoostBaseline | null,
  baro: Baro,
): PullAir | null {
  const over = airOver(points, baseline);
  // A reading that stands still through a pull may be stuck: against an air mass that rises it would look like a leak.
  const still = points.length > 2 && points.every((p) => p.map === points[0]!.map);
  if (over === null || still) return null;
  const { excess, sd, n } = over;
  // The same air at a lower pressure: the pressure that is missing, as a share of the boost that would be there.
  const map = points.reduce((a, p) => a + p.map, 0) / points.length;
  const due = map * (1 + excess) - baro.kpa;
  if (due < LEAST_DUE_KPA) return null;
  return {
    excess,
    variance: sd ** 2 + (AIR_LONE_SD / n ** 1.5) ** 2,
    deviation: (-excess * map) / due,
    gain: (map * (1 + excess)) / due,
    n,
  };
}

/** Median of the samples' excess, their usual scatter, how many. */
function airOver(
  points: readonly StretchPoint[],
  baseline: BoostBaseline | null,
): { excess: number; sd: number; n: number } | null {
  const all = points.flatMap((p) => {
    const told = p.lagged >= AIR_FROM_PCT && !isClipped(p.map) && (p.ect ?? AIR_WARM_C) >= AIR_WARM_C;
    const index = told ? airIndex(p) : null;
    const known = baseline?.air[airBin(p.rpm)] ?? null;
    return index === null || known === null ? [] : [{ x: index / known.mean - 1, sd: known.sd }];
  });
  if (all.length === 0) return null;
  return {
    excess: median(all.map((a) => a.x)),
    sd: all.reduce((a, x) => a + x.sd, 0) / all.length,
    n: all.length,
  };
}

/** So much exhaust gas is let back in that the engine cannot have been asked for what the pedal reading says. */
export function isThrottledBack(points: readonly StretchPoint[], baseline: BoostBaseline | null): boolean {
  return (airOver(points, baseline)?.excess ?? 0) < -AIR_BACK_SHARE;
}

/**
 * A pressure that stands still to the bit while so much more air goes in than it accounts for is stuck. A pipe that came
 * off lets the air escape, too, but its pressure still moves with engine speed.
 */
export function isStuckAgainstAir(points: readonly StretchPoint[], baseline: BoostBaseline | null): boolean {
  const still = points.length > 1 && points.every((p) => p.map === points[0]!.map);
  return still && (airOver(points, baseline)?.excess ?? 0) > AIR_STUCK_SHARE;
}

/** Pulls that contradict each other make the mean less sure, as with the pressure (Birge ratio). Null without air mass. */
export function airExcess(pulls: readonly { readonly air: PullAir | null }[]): AirExcess | null {
  const all = pulls.flatMap((w) => w.air ?? []);
  if (all.length === 0) return null;
  const weight = all.reduce((a, x) => a + 1 / x.variance, 0);
  const share = all.reduce((a, x) => a + x.excess / x.variance, 0) / weight;
  const chi2 = all.reduce((a, x) => a + (x.excess - share) ** 2 / x.variance, 0);
  const scatter = all.length < 3 ? 1 : Math.max(1, chi2 / (all.length - 1));
  return {
    share,
    se: Math.hypot(AIR_RUN_SD, Math.sqrt(scatter / weight)),
    n: all.reduce((a, x) => a + x.n, 0),
    pulls: all.length,
  };
}

/** Beyond the limit with its whole interval, and too far from none to be chance. */
export function airIsLost(air: AirExcess | null): boolean {
  return (
    air !== null &&
    air.n >= AIR_SAMPLES &&
    air.pulls >= AIR_PULLS &&
    air.share - Z95 * air.se > AIR_LIMIT &&
    air.share > Z_FAULT * air.se
  );
}
