/** Weighs one pull for one region of engine speed: what it says of the boost there, and how surely. */
import { DEFAULT_COOLANT_LIMIT_C, type Profile } from '../../core/profile.ts';
import { Z_BOTH, Z_FAULT } from '../spread.ts';
import type { Pull as BoostPull } from '../types.ts';
import { atRestKpa, isAbsent, isLift, isPedalStuck, isStill, withoutLift, withoutSpikes } from './absence.ts';
import { airOf, isBorneOutByAir, isStuckAgainstAir, isThrottledBack, type PullAir } from './air.ts';
import type { Baro } from './barometer.ts';
import { CELL_RPM, cellOf, GOOD_FROM_PCT } from './cells.ts';
import { type Expected, expectedAt, leastHealthyKpa } from './expectation.ts';
import type { BoostBaseline } from './lesson.ts';
import { unsettledSd } from './noise.ts';
import { isClipped } from './points.ts';
import type { Region } from './regions.ts';
import { type Patch, patchAt, pullVariance, SUMMED } from './scan.ts';
import type { Stretch, StretchPoint } from './stretches.ts';

/** Colder than this the engine may be given less boost (KIT: 1 such drive); absence is still judged from 40 degC. */
const FULL_BOOST_C = 60;
const ABSENT_FROM_C = 40;
/** Shown good asks for a pull at least this warm. Chosen by hand, not measured. */
export const GOOD_FROM_C = 70;
/**
 * A pull missed when wholly short by more than the first, held when certainly short by less than the second. Chosen
 * by hand, not measured.
 */
export const MISS_SHARE = 0.35;
const HELD_SHARE = 0.15;

/** What a pull came to: boost reached or missed; short where it came but too little, be it by itself too little to call it missed; unread without a pressure that is believed. */
export type PullOutcome = 'held' | 'short' | 'missed' | 'open' | 'unread';
export function outcomeOf({
  held,
  shortfallPct,
  unread,
}: Pick<BoostPull, 'held' | 'shortfallPct' | 'unread'>): PullOutcome {
  if (unread) return 'unread';
  if (held !== null) return held ? 'held' : 'missed';
  return shortfallPct !== null && shortfallPct > 100 * HELD_SHARE ? 'short' : 'open';
}

/** A miss by its mean, not for want of any boost, needs this much. Chosen by hand, not measured. */
const MISS_SAMPLES = 4;
const MISS_S = 1.5;
/** Shorter than this a pull shows what was there before it, not that it held. Chosen by hand, not measured. */
const LASTING_S = 0.5;
/**
 * Nothing brought: in so many samples over so long; less is a doubt that counts when it comes again. Chosen by
 * hand, not measured.
 */
const ABSENT = { samples: 3, s: 1 } as const;
const MAYBE_ABSENT = { samples: 2, s: 0.7 } as const;
/** Nor does a frozen reading that the engine idled through last longer than this. Chosen by hand, not measured. */
const LONG_REST_S = 120;
/**
 * Short by more than this, the readings that say so are asked whether they are stuck. Chosen by hand, not measured.
 */
const SUSPECT_SHARE = 0.8;
/** Short by more than this, a pressure that stands still is not believed; nor, above by as much, a pedal. Chosen by hand, not measured. */
const STILL_SHARE = 0.95;
/** Samples closer than this repeat the same moment. Chosen by hand, not measured. */
export const MOMENT_S = 0.6;
/**
 * At less demand the turbocharger alone may give the little that is asked of the clutch band here. Chosen by hand,
 * not measured.
 */
const SURE_FROM_PCT = 70;

export interface Witness {
  readonly region: Region;
  /** Engine speed over vehicle speed, rpm per km/h: what names the gear. */
  readonly ratio: number | null;
  /** Cells of the evidence map that it passed through, as indices of `EVIDENCE_CELLS`. */
  readonly cells: readonly number[];
  readonly fromUs: number;
  readonly toUs: number;
  readonly rpm: readonly [number, number];
  readonly n: number;
  readonly spanS: number;
  /** Of the air, °C; null where none was read. */
  readonly airC: number | null;
  /** Mean boost, gauge kPa: what was read, by the weights over what was expected, so that it agrees with the next two. */
  readonly boostKpa: number;
  /** Mean expected by the same weights, gauge kPa; the least healthy value when nothing better is known. */
  readonly expectedKpa: number | null;
  /** The least of any healthy engine at the demands of the pull, gauge kPa: lowest and highest; null where it is held against more than that. */
  readonly leastKpa: readonly [number, number] | null;
  /** Mean relative deviation and its variance within the run, null without an expectation. */
  readonly deviation: number | null;
  readonly variance: number;
  readonly runVariance: number;
  readonly limit: number;
  readonly source: Expected['source'] | 'least of any healthy engine';
  /** Other cars of the kind that the expected boost rests on, in the mean; 0 without. */
  readonly cars: number;
  readonly absent: boolean;
  /** No boost, but the reading had stood still at barometric since the engine idled or stood: a frozen sensor looks alike. */
  readonly doubtful: boolean;
  /** Its reading repeated itself to the bit from before the pull on: for want of boost, or stuck. */
  readonly frozen: boolean;
  /** It did, and the engine drew in what such a pressure accounts for, far less than the one that was due takes. */
  readonly borneOut: boolean;
  readonly held: boolean | null;
  /** Looks missed, but on two samples only: counts when it comes again. */
  readonly maybeMissed: boolean;
  readonly warm: boolean;
  readonly air: PullAir | null;
  /** For the scan; empty without an expectation. */
  readonly patches: readonly Patch[];
}

/** Seconds driven at the demand that good is said of. */
export interface KnownS {
  /** That can be judged. */
  readonly withS: number;
  /** Of which nothing says how much boost is due. */
  readonly untaughtS: number;
  /** Whose readings were not believed; and of these, where they say that boost is short. */
  readonly leftOutS: number;
  readonly leftOutShortS: number;
}

export const NOT_DRIVEN: KnownS = { withS: 0, untaughtS: 0, leftOutS: 0, leftOutShortS: 0 };

/** A pull as it was driven, at the demand that good is said of. */
export interface Driven extends Pick<Witness, 'fromUs' | 'toUs' | 'n' | 'spanS' | 'rpm' | 'warm'> {}

export interface Weighed {
  /** Null where the pull says nothing about the region, or its readings cannot be believed. */
  readonly witness: Witness | null;
  /** By steps of `CELL_RPM`. */
  readonly known: ReadonlyMap<number, KnownS>;
  /** Null where it did not go there. */
  readonly driven: Driven | null;
}

export function weigh(
  stretch: Stretch,
  region: Region,
  profile: Profile,
  baseline: BoostBaseline | null,
  baro: Baro,
): Weighed {
  const here = (p: StretchPoint): boolean => p.rpm >= region.fromRpm && p.rpm < region.toRpm;
  const settled = settledPoints(stretch, profile);
  const there = settled.filter(here);
  const driven = drivenOf(there.filter((p) => p.lagged >= GOOD_FROM_PCT));
  const throttledBack = (fallen: readonly StretchPoint[]): boolean => isThrottledBack(fallen, baseline);
  const borneOut = (still: readonly StretchPoint[]): boolean => {
    const due = still.flatMap((p) => expectedAt(p, profile, baseline, baro)?.kpa ?? []);
    return due.length > 0 && isBorneOutByAir(still, baseline, baro.kpa + mean(due));
  };
  const still = settled.filter((p) => p.frozen || p.still);
  const stuck = still.filter((p) => {
    const alike = still.filter((q) => q.map === p.map);
    return isAtRest(p, baro) ? isStuckAgainstAir(alike, baseline) : !borneOut(alike);
  });
  const fresh = withoutSpikes(settled.filter((p) => !p.echo && !stuck.includes(p)));
  const points = withoutLift(fresh, baro, throttledBack).filter(here);
  const first = points[0];
  const last = points.at(-1);
  const known = (judged: ReadonlySet<StretchPoint>): Weighed['known'] =>
    knownOf(there, judged, (p) => {
      const due = expectedAt(p, profile, baseline, baro);
      return due && (p.map - baro.kpa) / due.kpa;
    });
  if (!first || !last) return { witness: null, known: known(new Set()), driven };
  const scored = score(points, profile, baseline, baro);
  const none = (atLeast: { samples: number; s: number }): boolean =>
    isAbsent(points, region, profile, baseline, baro, atLeast);
  const absent = none(ABSENT);
  const maybeAbsent = !absent && none(MAYBE_ABSENT);
  const measuredKpa = mean(points.map((p) => p.map - baro.kpa));
  const share = measuredKpa / mean(scored.map((s) => s.e.kpa));
  const suspect = absent || maybeAbsent || share < SUSPECT_SHARE;
  if (
    (suspect && (isLift(stretch) || throttledBack(points) || isStuckAgainstAir(points, baseline))) ||
    (share > 1 / STILL_SHARE && isPedalStuck(stretch)) ||
    // What stands still and is short shows nothing; full boost may well stand still.
    (share < STILL_SHARE && isStill(points, baro) && !borneOut(points))
  )
    return { witness: null, known: known(new Set()), driven };
  const frozen = points.every((p) => p.frozen);
  const pull: Pull = {
    region,
    ratio: stretch.ratio,
    cells: [...new Set(points.map(cellOf))].filter((c) => c >= 0),
    ...extentOf(points),
    airC: last.airC,
    absent,
    frozen,
    borneOut: frozen && borneOut(points),
    doubtful: points.some((p) => p.frozen && p.idled && p.restS < LONG_REST_S),
    warm: isWarm(first),
    air: airOf(points, baseline, baro),
  };
  const cold = (first.ect ?? FULL_BOOST_C) < FULL_BOOST_C;
  const witness =
    scored.length > 0 && !cold && !pull.doubtful
      ? againstExpected(pull, scored, maybeAbsent)
      : againstLeast(
          pull,
          points,
          maybeAbsent,
          measuredKpa,
          (p) => leastHealthyKpa(p, profile),
          (p) => (pull.doubtful ? (expectedAt(p, profile, baseline, baro)?.kpa ?? null) : null),
        );
  return { witness, known: known(new Set(pull.doubtful ? [] : scored.map((s) => s.p))), driven };
}

const isWarm = ({ ect }: StretchPoint): boolean => ect !== null && ect >= GOOD_FROM_C;

function drivenOf(points: readonly StretchPoint[]): Driven | null {
  const first = points[0];
  const last = points.at(-1);
  if (!first || !last) return null;
  return { n: points.length, warm: isWarm(first), ...extentOf(points) };
}

function extentOf(points: readonly StretchPoint[]): Pick<Witness, 'fromUs' | 'toUs' | 'spanS' | 'rpm'> {
  const [fromUs, toUs] = [points[0]!.tUs, points.at(-1)!.tUs];
  const rpms = points.map((p) => p.rpm);
  return { fromUs, toUs, spanS: (toUs - fromUs) / 1e6, rpm: [Math.min(...rpms), Math.max(...rpms)] };
}

type Pull = Pick<
  Witness,
  | 'region'
  | 'ratio'
  | 'cells'
  | 'fromUs'
  | 'toUs'
  | 'rpm'
  | 'spanS'
  | 'airC'
  | 'absent'
  | 'doubtful'
  | 'frozen'
  | 'borneOut'
  | 'warm'
  | 'air'
>;

const isLasting = (pull: Pull): boolean => pull.spanS >= LASTING_S;

function againstExpected(pull: Pull, scored: readonly Scored[], maybeAbsent: boolean): Witness {
  const patches = patchesOf(scored);
  const sums = sumOf(patches);
  const { deviation, variance, runVariance, expectedKpa } = sums;
  const sd = Math.sqrt(variance + runVariance);
  const cars = mean(scored.map((s) => s.e.cars));
  // So far below may still be another car's ordinary boost.
  const missShare = cars > 0 ? Math.max(MISS_SHARE, sums.limit) : MISS_SHARE;
  const missed =
    pull.absent ||
    (scored.length >= MISS_SAMPLES &&
      scored.at(-1)!.p.tUs - scored[0]!.p.tUs >= MISS_S * 1e6 &&
      deviation + Z_BOTH * sd < -missShare &&
      deviation < -Z_FAULT * sd);
  // Speeds and times are those of the readings that make the number; that nothing came all of them say.
  const own: Pull = pull.absent ? pull : { ...pull, ...extentOf(scored.map((s) => s.p)) };
  const held = isLasting(own) && deviation > -HELD_SHARE && deviation - Z_BOTH * sd > -MISS_SHARE;
  return {
    leastKpa: null,
    n: scored.length,
    boostKpa: expectedKpa * (1 + deviation),
    source: scored[0]!.e.source,
    cars,
    held: missed ? false : held ? true : null,
    maybeMissed: maybeAbsent,
    patches,
    ...own,
    ...sums,
  };
}

/** Null where a healthy engine may give nothing. */
function againstLeast(
  pull: Pull,
  points: readonly StretchPoint[],
  maybeAbsent: boolean,
  measuredKpa: number,
  leastKpa: (p: StretchPoint) => number | null,
  elseKpa: (p: StretchPoint) => number | null,
): Witness | null {
  const ofAny = points.flatMap((p) => leastKpa(p) ?? []);
  const least = points.flatMap((p) => leastKpa(p) ?? elseKpa(p) ?? []);
  if (least.length === 0) return null;
  const sure = pull.region.spread !== true || points.every((p) => p.lagged >= SURE_FROM_PCT);
  const held = isLasting(pull) && sure && measuredKpa > mean(least);
  return {
    n: points.length,
    boostKpa: measuredKpa,
    expectedKpa: mean(least),
    leastKpa: ofAny.length === least.length ? [Math.min(...ofAny), Math.max(...ofAny)] : null,
    deviation: null,
    variance: 0,
    runVariance: 0,
    limit: 0,
    source: 'least of any healthy engine',
    cars: 0,
    held: pull.absent && !pull.doubtful ? false : held ? true : null,
    maybeMissed: maybeAbsent && !pull.doubtful,
    patches: [],
    ...pull,
  };
}

/** Settled points with an engine neither cold nor too hot. */
function settledPoints(stretch: Stretch, profile: Profile): StretchPoint[] {
  // An engine as hot as its limit is given less boost to spare it (common practice, no source).
  const hotC = profile.coolantLimitC?.value ?? DEFAULT_COOLANT_LIMIT_C;
  return stretch.points.filter(
    (p) => p.settled && (p.ect ?? FULL_BOOST_C) >= ABSENT_FROM_C && (p.ect ?? FULL_BOOST_C) < hotC,
  );
}

/** A pressure that stands still here may do so for want of boost. */
const isAtRest = (p: StretchPoint, baro: Baro): boolean => Math.abs(p.map - baro.kpa) <= atRestKpa(baro);

interface Scored {
  readonly p: StretchPoint;
  readonly e: Expected;
  /** Relative deviation. */
  readonly r: number;
}

function score(
  points: readonly StretchPoint[],
  profile: Profile,
  baseline: BoostBaseline | null,
  baro: Baro,
): Scored[] {
  return points.flatMap((p) => {
    const e = expectedAt(p, profile, baseline, baro);
    if (e === null) return [];
    const r = (p.map - baro.kpa - e.kpa) / e.kpa;
    // A clipped reading is a lower bound: it can show enough, never too little.
    return isClipped(p.map) && r < 0 ? [] : [{ p, e, r }];
  });
}

/** Seconds by step of engine speed; a lone sample counts for a moment. */
function knownOf(
  points: readonly StretchPoint[],
  judged: ReadonlySet<StretchPoint>,
  shareOfDue: (p: StretchPoint) => number | null,
): Map<number, KnownS> {
  const known = new Map<number, KnownS>();
  let lastUs = Number.NEGATIVE_INFINITY;
  for (const p of points) {
    if (p.lagged < GOOD_FROM_PCT) continue;
    const step = Math.floor(p.rpm / CELL_RPM);
    const s = Math.min(MOMENT_S, (p.tUs - lastUs) / 1e6);
    const { withS, untaughtS, leftOutS, leftOutShortS } = known.get(step) ?? NOT_DRIVEN;
    const share = judged.has(p) ? 1 : shareOfDue(p);
    known.set(step, {
      withS: withS + (judged.has(p) ? s : 0),
      untaughtS: untaughtS + (share === null ? s : 0),
      leftOutS: leftOutS + (judged.has(p) || share === null ? 0 : s),
      leftOutShortS: leftOutShortS + (share !== null && share < SUSPECT_SHARE ? s : 0),
    });
    lastUs = p.tUs;
  }
  return known;
}

/** The pull cut into the smallest windows of the scan. */
function patchesOf(scored: readonly Scored[]): Patch[] {
  const patches = new Map<number, Patch>();
  let lastUs = Number.NEGATIVE_INFINITY;
  for (const { p, e, r } of scored) {
    const at = patchAt(p.rpm, p.lagged);
    if (at < 0) continue;
    let patch = patches.get(at);
    if (patch === undefined) {
      const sums = Object.fromEntries(SUMMED.map((k) => [k, 0])) as Record<(typeof SUMMED)[number], number>;
      patch = { at, fromUs: p.tUs, toUs: p.tUs, ...sums };
      patches.set(at, patch);
    }
    const point = e.noise.point ** 2 + unsettledSd(p) ** 2;
    const w = 1 / (e.noise.pull ** 2 + point);
    patch.n++;
    patch.moments += Math.min(1, (p.tUs - lastUs) / (MOMENT_S * 1e6));
    patch.toUs = p.tUs;
    patch.w += w;
    patch.deviation += w * r;
    patch.square += w * r * r;
    patch.pull += w * e.noise.pull ** 2;
    patch.point += w * point;
    patch.run += w * (e.noise.run ** 2 + e.sd ** 2);
    patch.warm += w * e.warm.sd ** 2;
    patch.warmBelow += w * e.warm.below;
    patch.warmUnread += w * e.warm.unread;
    patch.warmCharge += w * e.warm.charge;
    patch.warmColder += w * e.warm.colder;
    patch.limit += w * e.limit;
    patch.perKpa += w / e.kpa;
    patch.short += r < -e.limit ? 1 : 0;
    patch.over += r > e.limit ? 1 : 0;
    patch.there += cellOf(p) < 0 ? 0 : 1;
    lastUs = p.tUs;
  }
  return [...patches.values()];
}

/** The pull as a whole. */
function sumOf(patches: readonly Patch[]): {
  deviation: number;
  variance: number;
  runVariance: number;
  expectedKpa: number;
  limit: number;
} {
  const sum = (f: (p: Patch) => number): number => patches.reduce((a, p) => a + f(p), 0);
  const w = sum((p) => p.w);
  const deviation = sum((p) => p.deviation) / w;
  return {
    deviation,
    variance: pullVariance(
      sum((p) => p.pull) / w,
      sum((p) => p.point) / w,
      sum((p) => p.moments),
      sum((p) => p.square) / w - deviation ** 2,
    ),
    runVariance: sum((p) => p.run) / w,
    expectedKpa: w / sum((p) => p.perKpa),
    limit: sum((p) => p.limit) / w,
  };
}

function mean(list: readonly number[]): number {
  return list.reduce((a, b) => a + b, 0) / Math.max(1, list.length);
}
