/** Whether a pull brought no boost at all, and whether its readings can be believed when they say so. */
import { quantile } from 'simple-statistics';
import type { Profile } from '../../core/profile.ts';
import type { Baro } from './barometer.ts';
import { expectedAt, leastHealthyKpa } from './expectation.ts';
import type { BoostBaseline } from './lesson.ts';
import { toTheBit } from './points.ts';
import type { Region } from './regions.ts';
import type { Stretch, StretchPoint } from './stretches.ts';

/** At most this much gauge pressure, or this share of the expected, is "no boost". Chosen by hand, not measured. */
const ABSENT_KPA = 5;
const ABSENT_SHARE = 0.15;
/** The least of any healthy engine is set low already: this share of it is none. Chosen by hand, not measured. */
const ABSENT_OF_LEAST = 0.5;
/** Less than this expected tells nothing of absence. Chosen by hand, not measured. */
const OWED_KPA = 20;
const OWED_FROM_PCT = 50;
/** At the upper end of the clutch band the turbocharger alone may already give as much (common practice, no source). */
const HELPED_FROM = 0.85;
/**
 * At full pedal engine speed rises by more than this share a second, with or without boost. Chosen by hand, not
 * measured.
 */
const RISE_PER_S = 0.025;
/** A pedal that repeats itself for less than this proves nothing (chosen on half of the drives with stuck signals put in). */
const LIFT_US = 2_400_000;
const LIFT_SAMPLES = 4;
/**
 * Fallen below this share of what the pull gave under that pedal: in so many samples, or in more while the engine
 * slows down. Chosen on 630 files with glitches put into KIT trips (docs/analysis.md).
 */
const FALLEN_SHARE = 0.9;
const FALLEN_SAMPLES = 3;
/** Slower by this share is slower, not the reading's scatter. Chosen by hand, not measured. */
const SLOWS_SHARE = 0.01;
/**
 * At full demand a car slows down so fast, m/s², over such a time, s, on no road: without boost the engine still drives
 * it, and a hill of 12 % takes 1.2 m/s² by itself. Chosen by hand, not measured.
 */
const BRAKES_MPS2 = 1.2;
const BRAKES_S = 1.2;
/** From this demand on the pedal is on the floor and repeats itself by nature. Chosen by hand, not measured. */
const FLOOR_PCT = 95;
/** Below it a driver's foot is never still for so long in a pull that counts. Chosen by hand, not measured. */
const HIGH_PCT = 60;
/**
 * A pressure that repeats itself to the bit in so many samples, off barometric, may be stuck. Chosen by hand, not
 * measured.
 */
const STILL_SAMPLES = 4;

/** What an uncertain barometric pressure may excuse at most, kPa. Not known how chosen. */
const SLACK_KPA = 6;
/**
 * What a pull usually gave: its upper quartile, so that the lift at its end has no part in it. Not known how chosen.
 */
const USUAL_QUANTILE = 0.75;
/** A sample that leaps so far from both neighbours, kPa, is the sensor or the link. Not known how chosen. */
const SPIKE_KPA = 25;

/** A reading this near to barometric may stand still for want of boost. */
export function atRestKpa(baro: Baro): number {
  return 2 + 2 * baro.sdKpa;
}

/** No boost at all where there must be some: throughout, fresh, and long enough that no lift can explain it. */
export function isAbsent(
  points: readonly StretchPoint[],
  region: Region,
  profile: Profile,
  baseline: BoostBaseline | null,
  baro: Baro,
  atLeast: { readonly samples: number; readonly s: number },
): boolean {
  const owed = points.flatMap((p) => {
    const known = p.lagged >= OWED_FROM_PCT ? expectedAt(p, profile, baseline, baro) : null;
    if (known !== null && known.kpa >= OWED_KPA)
      return [{ p, most: Math.max(ABSENT_KPA, ABSENT_SHARE * known.kpa) }];
    const helped = region.spread === true && p.rpm > HELPED_FROM * region.toRpm;
    const least = known === null && !helped ? leastHealthyKpa(p, profile) : null;
    return least !== null ? [{ p, most: Math.max(ABSENT_KPA, ABSENT_OF_LEAST * least) }] : [];
  });
  const first = owed[0];
  const last = owed.at(-1);
  if (!first || !last || owed.length < atLeast.samples) return false;
  if (last.p.tUs - first.p.tUs < atLeast.s * 1e6) return false;
  const slack = Math.min(2 * baro.sdKpa, SLACK_KPA);
  return owed.every(({ p, most }) => p.map - baro.kpa <= most + slack);
}

/**
 * A pedal that repeats itself to the bit while the engine does not speed up, or from before a gear change on, may be stuck
 * after the driver lifted.
 */
export function isLift(stretch: Pick<Stretch, 'points' | 'held'>): boolean {
  const run = pedalRun(stretch.points);
  if (run === null) return false;
  const first = run[0]!;
  const last = run.at(-1)!;
  // A foot on the floor stands still by itself, and uphill without boost the engine may not speed up.
  if (last.demand > FLOOR_PCT) return false;
  if (stretch.held && first === stretch.points[0]) return true;
  if (isLightAndStill(run)) return true;
  return lasts(run) && last.rpm < first.rpm * (1 + RISE_PER_S * Math.max(1, (last.tUs - first.tUs) / 1e6));
}

/** The pedal repeats itself to the bit for longer than a foot is still at such a demand: the driver may have asked for more. */
export const isPedalStuck = ({ points }: Pick<Stretch, 'points'>): boolean =>
  isLightAndStill(pedalRun(points) ?? []);

/** Points under one reading of the pedal, to the bit; null where these are less than half of all. */
function pedalRun(points: readonly StretchPoint[]): readonly StretchPoint[] | null {
  const run = longestRun(points, toTheBit);
  return run.length < points.length / 2 ? null : run;
}

const lasts = (run: readonly StretchPoint[]): boolean =>
  run.length >= LIFT_SAMPLES && run.at(-1)!.tUs - run[0]!.tUs >= LIFT_US;
const isLightAndStill = (run: readonly StretchPoint[]): boolean =>
  lasts(run) && run.at(-1)!.demand < HIGH_PCT;

/**
 * Under a pedal that repeats itself to the bit a pressure that falls away may already belong to the lift: at the end of
 * a pull for a moment, and anywhere while the engine slows down or lets exhaust gas back in. From there on nothing under
 * that pedal reading counts.
 * @param throttledBack whether the air of these points says so
 */
export function withoutLift(
  points: readonly StretchPoint[],
  baro: Baro,
  throttledBack: (fallen: readonly StretchPoint[]) => boolean,
): readonly StretchPoint[] {
  const lifts = (fallen: readonly StretchPoint[]): boolean =>
    slows(fallen) || (fallen.length > FALLEN_SAMPLES && throttledBack(fallen.slice(1)));
  const out: StretchPoint[] = [];
  for (let from = 0, to = 0; from < points.length; from = to) {
    while (to < points.length && toTheBit(points[to]!) === toTheBit(points[from]!)) to++;
    out.push(...beforeLift(points.slice(from, to), baro, to === points.length, lifts));
  }
  return out;
}

/** `run`: all under one reading of the pedal. */
function beforeLift(
  run: readonly StretchPoint[],
  baro: Baro,
  ends: boolean,
  lifts: (fallen: readonly StretchPoint[]) => boolean,
): readonly StretchPoint[] {
  const end = run.at(-1)!;
  if (!lasts(run)) return run;
  const boost = run.map((p) => p.map - baro.kpa);
  const usual = quantile(boost, USUAL_QUANTILE);
  const gave = (i: number): boolean => boost[i]! >= FALLEN_SHARE * usual;
  for (let from = 1, to = 1; from < run.length; from = to + 1) {
    for (to = from; to < run.length && !gave(to); to++);
    if (to === from || !gave(from - 1)) continue;
    const momentary = ends && to === run.length && to - from <= FALLEN_SAMPLES && end.demand <= FLOOR_PCT;
    if (momentary || lifts(run.slice(from - 1, to))) return run.slice(0, from);
  }
  return run;
}

/** @param fallen and the last point before. The engine slows down as it does when nobody asks it: on the floor only faster than any hill makes the car. */
function slows(fallen: readonly StretchPoint[]): boolean {
  const first = fallen[0]!;
  if (first.demand <= FLOOR_PCT) return fallen.some((p) => p.rpm < first.rpm * (1 - SLOWS_SHARE));
  return fallen.some((p, i) => fallen.slice(0, i).some((q) => brakesBetween(q, p)));
}

function brakesBetween(a: StretchPoint, b: StretchPoint): boolean {
  const s = (b.tUs - a.tUs) / 1e6;
  return a.speed !== null && b.speed !== null && s >= BRAKES_S && (a.speed - b.speed) / 3.6 > BRAKES_MPS2 * s;
}

/** A pressure that stands still through most of a pull, off barometric, may be stuck. */
export function isStill(points: readonly StretchPoint[], baro: Baro): boolean {
  const run = longestRun(points, (p) => p.map);
  const first = run[0];
  if (first === undefined || run.length < STILL_SAMPLES || run.length < points.length / 2) return false;
  return Math.abs(first.map - baro.kpa) > atRestKpa(baro);
}

/** The longest run of points that have the same value. */
function longestRun(points: readonly StretchPoint[], value: (p: StretchPoint) => number): StretchPoint[] {
  let best: StretchPoint[] = [];
  let run: StretchPoint[] = [];
  for (const p of points) {
    if (run.length > 0 && value(run[0]!) !== value(p)) run = [];
    run.push(p);
    if (run.length > best.length) best = run;
  }
  return best;
}

/** A sample that leaps away from both neighbours and back is the sensor or the link. */
export function withoutSpikes(points: readonly StretchPoint[]): StretchPoint[] {
  return points.filter((p, i) => {
    const a = points[i - 1];
    const b = points[i + 1];
    if (!a || !b) return true;
    const off = Math.min(Math.abs(p.map - a.map), Math.abs(p.map - b.map));
    const back = Math.sign(p.map - a.map) === Math.sign(p.map - b.map);
    return !(off > SPIKE_KPA && back && Math.abs(a.map - b.map) < off / 2);
  });
}
