/** The air mass as a second witness: more air than the pressure accounts for is lost after the meter, or a sensor lies. */
import { median } from 'simple-statistics';
import { shareOfKind } from '../between-cars.ts';
import { Z_BOTH, Z_FAULT, Z95 } from '../spread.ts';
import type { Baro } from './barometer.ts';
import { AIR_FROM_PCT, airBin, airIndex, type BoostBaseline } from './lesson.ts';
import { AIR_LONE_SD, AIR_PULL_SD, AIR_RUN_SD, LONE_POWER, SCATTER_PULLS } from './noise.ts';
import { isClipped } from './points.ts';
import type { StretchPoint } from './stretches.ts';
import { ANY_CAR, daysApart, onDay, airOf as tempOf } from './warmth.ts';

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
const AIR_WARM_C = 60;
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
  readonly known: Pick<AirKnown, 'warm' | 'law' | 'more' | 'taught' | 'far' | 'cars'>;
}

/** What the index is expected to be, of own drives, other cars of the kind, or both. */
interface AirKnown {
  readonly mean: number;
  /** Scatter between pulls, share. */
  readonly sd: number;
  /** For air warmer or colder than what taught, share. */
  readonly warm: number;
  /** What it has moved by for that as far as is known, and standard deviation of what any car's moves by, shares. */
  readonly more: number;
  readonly law: number;
  /** What another car of the kind may differ by, and the further reach of a healthy one (`Another`); 0 by own drives alone. */
  readonly taught: number;
  readonly far: number;
  /** Other cars that it rests on; 0 where own drives taught it. */
  readonly cars: number;
}

/** More air than the pressure accounts for, as a share, with its standard error, over `n` samples of so many pulls. */
export interface AirExcess {
  readonly share: number;
  readonly se: number;
  readonly n: number;
  readonly pulls: number;
  /** Beyond it air is lost, share. */
  readonly limit: number;
  /** Other cars of the kind that it rests on, and the share, either way, within which 95 % of healthy cars lie for them. */
  readonly cars: number;
  readonly within: number;
  /** In the mean, as with `AirKnown`. */
  readonly known: Pick<AirKnown, 'warm' | 'more' | 'law'>;
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
  const { excess, sd, n, known } = over;
  // The same air at a lower pressure: the pressure that is missing, as a share of the boost that would be there.
  const map = points.reduce((a, p) => a + p.map, 0) / points.length;
  const due = map * (1 + excess) - baro.kpa;
  if (due < LEAST_DUE_KPA) return null;
  return {
    excess,
    variance: sd ** 2 + (AIR_LONE_SD / n ** LONE_POWER) ** 2,
    deviation: (-excess * map) / due,
    gain: (map * (1 + excess)) / due,
    n,
    known,
  };
}

/** Median of the samples' excess, their usual scatter, how many, and what it is held against. */
function airOver(
  points: readonly StretchPoint[],
  baseline: BoostBaseline | null,
): { excess: number; sd: number; n: number; known: PullAir['known']; reach: number } | null {
  const all = points.flatMap((p) => {
    const told = p.lagged >= AIR_FROM_PCT && !isClipped(p.map) && (p.ect ?? AIR_WARM_C) >= AIR_WARM_C;
    const index = told ? airIndex(p) : null;
    const known = baseline === null ? null : airKnown(baseline, airBin(p.rpm), p.airC);
    return index === null || known === null ? [] : [{ ...known, x: index / known.mean - 1 }];
  });
  if (all.length === 0) return null;
  const mean = (f: (a: AirKnown) => number): number => all.reduce((a, x) => a + f(x), 0) / all.length;
  const warm = mean((a) => a.warm);
  const known = {
    ...{ warm, more: mean((a) => a.more), law: mean((a) => a.law) },
    ...{ taught: mean((a) => a.taught), far: mean((a) => a.far), cars: mean((a) => a.cars) },
  };
  return {
    excess: median(all.map((a) => a.x)),
    sd: mean((a) => a.sd),
    n: all.length,
    known,
    reach: known.far + Z95 * Math.hypot(warm, known.taught),
  };
}

/** Own drives, beside them other cars of the kind; those alone where the own did not go. */
function airKnown(baseline: BoostBaseline, bin: number, airC: number | null): AirKnown | null {
  const own = ownAir(baseline, bin, airC);
  const [index, cars, taught, far] = baseline.kind?.air[bin] ?? [];
  if (index === undefined) return own && { ...own, taught: 0, far: 0, cars: 0 };
  if (own === null) {
    const warm = onDay(ANY_CAR.air, ANY_CAR.air, baseline.kind!.airC, tempOf(airC)).sd;
    return {
      ...{ mean: index, sd: AIR_PULL_SD, warm, more: 0, law: warm },
      ...{ taught: taught!, far: far!, cars: cars! },
    };
  }
  const apart = index / own.mean - 1;
  const share = shareOfKind(AIR_RUN_SD ** 2 / Math.max(1, baseline.runs), taught! ** 2, apart);
  return { ...own, mean: own.mean * (1 + share * apart), taught: 0, far: share * far!, cars: 0 };
}

function ownAir(
  { air, warmth }: BoostBaseline,
  bin: number,
  airC: number | null,
): Pick<AirKnown, 'mean' | 'sd' | 'warm' | 'more' | 'law'> | null {
  const own = air[bin] ?? null;
  if (own === null) return null;
  const day = tempOf(airC);
  const { more, sd } = onDay(warmth.air, ANY_CAR.air, own.airC, day);
  const law = daysApart(ANY_CAR.air, own.airC, day);
  return { mean: own.mean * (1 + more), sd: own.sd, warm: sd, more, law };
}

/** So much exhaust gas is let back in that the engine cannot have been asked for what the pedal reading says. */
export function isThrottledBack(points: readonly StretchPoint[], baseline: BoostBaseline | null): boolean {
  const over = airOver(points, baseline);
  return over !== null && over.excess < -AIR_BACK_SHARE - over.reach;
}

/**
 * A pressure that stands still to the bit while so much more air goes in than it accounts for is stuck. A pipe that came
 * off lets the air escape, too, but its pressure still moves with engine speed.
 */
export function isStuckAgainstAir(points: readonly StretchPoint[], baseline: BoostBaseline | null): boolean {
  const still = points.length > 1 && points.every((p) => p.map === points[0]!.map);
  const over = still ? airOver(points, baseline) : null;
  return over !== null && over.excess > AIR_STUCK_SHARE + over.reach;
}

/**
 * A pressure that stands still is the engine's own where no more and no less air goes in than it accounts for, and far less than
 * the pressure that was due would take.
 * @param dueKpa absolute
 */
export function isBorneOutByAir(
  points: readonly StretchPoint[],
  baseline: BoostBaseline | null,
  dueKpa: number,
): boolean {
  const over = airOver(points, baseline);
  if (over === null) return false;
  const { warm, taught, far } = over.known;
  const se = Math.hypot(AIR_RUN_SD, warm, taught, over.sd, AIR_LONE_SD / over.n ** LONE_POWER);
  const due = (points.length * dueKpa) / points.reduce((a, p) => a + p.map, 0) - 1;
  return Math.abs(over.excess) < far + Z_BOTH * se && over.excess + far + Z_FAULT * se < due;
}

/**
 * Less air went in than all the boost that was due would take, with its whole interval: a second sensor says that boost is short.
 * @param deviation of the pull's pressure from the expected boost, a share of it
 */
export function isShortOfAir(air: PullAir, deviation: number): boolean {
  // Boost by the air over boost that was due.
  const share = (1 + deviation) / (1 + air.deviation);
  const se = Math.hypot(AIR_RUN_SD, air.known.warm, Math.sqrt(air.variance));
  return share * (1 + (Z95 * se * air.gain) / (1 + air.excess)) < 1;
}

/** Pulls that contradict each other make the mean less sure, as with the pressure (Birge ratio). Null without air mass. */
export function airExcess(pulls: readonly { readonly air: PullAir | null }[]): AirExcess | null {
  const all = pulls.flatMap((w) => w.air ?? []);
  if (all.length === 0) return null;
  const weight = all.reduce((a, x) => a + 1 / x.variance, 0);
  const share = all.reduce((a, x) => a + x.excess / x.variance, 0) / weight;
  const chi2 = all.reduce((a, x) => a + (x.excess - share) ** 2 / x.variance, 0);
  const scatter = all.length < SCATTER_PULLS ? 1 : Math.max(1, chi2 / (all.length - 1));
  const n = all.reduce((a, x) => a + x.n, 0);
  const mean = (f: (known: PullAir['known']) => number): number =>
    all.reduce((a, x) => a + x.n * f(x.known), 0) / n;
  const taught = mean((k) => k.taught);
  const known = { warm: mean((k) => k.warm), more: mean((k) => k.more), law: mean((k) => k.law) };
  const day = Math.hypot(AIR_RUN_SD, known.warm);
  const cars = mean((k) => k.cars);
  return {
    share,
    se: Math.hypot(day, taught, Math.sqrt(scatter / weight)),
    n,
    pulls: all.length,
    limit: Math.max(
      AIR_LIMIT,
      mean((k) => k.far),
    ),
    cars: cars > 0 ? Math.max(1, Math.floor(cars)) : 0,
    within: Z_BOTH * Math.hypot(day, taught),
    known,
  };
}

/**
 * By what share of what any car's does the warmth of the charge has moved between the days that taught and this one, root mean
 * square, at most 1: an engine takes so much less air at like pressure as its charge is warmer (ideal gas). 1 where the air does not tell.
 */
export function chargeMoved(pulls: readonly { readonly air: PullAir | null }[]): number {
  const air = airExcess(pulls);
  if (air === null || air.known.law === 0) return 1;
  const { warm, more, law } = air.known;
  // This day and those that taught.
  const variance = air.se ** 2 - warm ** 2 + AIR_RUN_SD ** 2;
  const told = warm ** 2 / (warm ** 2 + variance);
  return Math.min(1, Math.hypot(more + told * air.share, Math.sqrt(told * variance)) / law);
}

/** Beyond the limit with its whole interval, and too far from none to be chance. */
export function airIsLost(air: AirExcess | null): boolean {
  return (
    air !== null &&
    air.n >= AIR_SAMPLES &&
    air.pulls >= AIR_PULLS &&
    air.share - Z95 * air.se > air.limit &&
    air.share > Z_FAULT * air.se
  );
}
