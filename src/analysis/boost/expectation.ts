/** What boost to expect at an operating point: learned from healthy drives, else commanded, else entered, else the least any healthy engine gives. */
import type { Profile } from '../../core/profile.ts';
import { shareOfKind } from '../between-cars.ts';
import type { Baro } from './barometer.ts';
import { lookUpKind } from './kind.ts';
import { type BoostBaseline, type BoostKind, LEAST_EXPECTED_KPA, type Learned, lookUp } from './lesson.ts';
import { heldNoise, type Noise, SLOW_RPM } from './noise.ts';
import { CLUTCH_FROM_RPM, clutchBand, ENGAGED_PCT, hasClutch, regionsOf } from './regions.ts';
import { SPOOLING_TO_RPM } from './scan.ts';
import type { StretchPoint } from './stretches.ts';
import { ANY_CAR, airOf, type OnDay, onDay } from './warmth.ts';

export interface Expected {
  /** Gauge, kPa. */
  readonly kpa: number;
  /** Scatter of a healthy car about it, as a share of it. */
  readonly noise: Noise;
  /** Standard uncertainty of the expectation itself, as a share of it. */
  readonly sd: number;
  /** Of it, for air warmer or colder than what taught. */
  readonly warm: OnDay;
  readonly source: 'commanded boost' | 'profile' | 'baseline run' | 'kind' | 'baseline run and kind';
  /** Where a shortfall begins to be a fault, as a share of the expected. */
  readonly limit: number;
  /** Other cars of the kind that it rests on; 0 without. */
  readonly cars: number;
}

/**
 * Tolerances on the expected boost: the car's own baseline repeats best; a curve or a command is met less closely.
 * 6 %: between what healthy KIT drives differ by, 3 %, and the 10 % that must never be called good; 12 %: by hand.
 */
export const LIMIT = { baseline: 0.06, other: 0.12 } as const;

/**
 * How far a pull that taught is off by, as a share of a pull's scatter: it is smoothed over its neighbourhood. With
 * it the deviations of healthy pulls from few drives are no wider than claimed (docs/analysis.md). Chosen on KIT.
 */
const TAUGHT_PULL = 0.7;

/**
 * How far above the speeds that taught, rpm, and how sure at the end of it; level is so little change over so many rpm
 * before it. KIT, 45 trips, about seven of the others cut off at 2,200, 2,400 or 2,600 rpm teach: pulls above lay −1.4 to
 * +0.9 % from it in the mean of each half of the trips, with 2.7 to 4.9 % between pulls and one in 191 16 % down. Chosen
 * with these trips in view.
 */
export const CARRY_RPM = 500;
export const CARRY_SD = 0.04;
const CARRY_STEP_RPM = 50;
const CARRY_LEVEL_RPM = 500;
const CARRY_LEVEL = 0.08;

/**
 * Where absolute pressures are held against each other an error of the barometric pressure nearly cancels: so much of it is
 * left. Not known how chosen.
 */
const BARO_LEFT = 0.25;
/**
 * Of another day's difference in barometric pressure so much may or may not be made up; so much of the boost is in
 * the run's scatter. Not known how chosen.
 */
const DAY_SHARE = 0.5;
const DAY_FREE = 0.01;
/**
 * Demand from which a car's command and an entered curve are held, %, and how well a curve is entered, share. Not
 * known how chosen.
 */
const COMMANDED_FROM_PCT = 80;
const ENTERED_FROM_PCT = 85;
const ENTERED_SD = 0.02;
/**
 * The least boost of any healthy engine, gauge kPa, from which demand, %, and engine speed, rpm. Common practice, no
 * source; KIT's diesel gives three times as much.
 */
const LEAST_FROM_PCT = 50;
export const LEAST_FULL_PCT = 70;
const CLUTCH_LEAST_KPA = { engaged: 25, full: 40, high: 30 } as const;
const BELT_LEAST = { fromRpm: 1500, kpa: 25 } as const;
const DIESEL_LEAST = { fromRpm: 1750, halfKpa: 20, kpa: 40 } as const;
const PETROL_LEAST = { fromRpm: 2250, kpa: 20 } as const;

export function expectedAt(
  p: StretchPoint,
  profile: Profile,
  baseline: BoostBaseline | null,
  baro: Baro,
): Expected | null {
  const own = baseline === null ? null : ownAt(p, profile, baseline, baro);
  const kind = baseline?.kind ? kindAt(p, baseline.kind, baro) : null;
  if (own !== null && kind === null) return expected('baseline run', own, baseline!.reference, baro);
  if (own !== null) return expected('baseline run and kind', joined(own, kind!), baseline!.reference, baro);
  // What this very car is asked for or should give comes before what others of its kind gave.
  const said = commandedAt(p, profile, baro) ?? enteredAt(p, profile, baro);
  return said ?? (kind && expected('kind', kind, baseline!.kind!.reference, baro));
}

function expected(
  source: Expected['source'],
  level: Level,
  reference: BoostBaseline['reference'],
  baro: Baro,
): Expected {
  const { kpa, noise, warm, cars } = level;
  const air = (reference === 'absolute' ? BARO_LEFT : 1) * (baro.sdKpa / kpa);
  const alike = Math.hypot(level.taught, level.day, air, level.carried);
  // A tolerance finer than the car repeats itself from day to day could never be shown to be kept; of what air may do
  // the interval is enough.
  const limit = Math.max(LIMIT.baseline, 2 * Math.hypot(noise.run, alike), level.far);
  return { kpa, noise, sd: Math.hypot(alike, warm.sd), warm, source, limit, cars };
}

/** Whatever the air. */
const ALIKE: OnDay = { more: 0, sd: 0, unread: 0, charge: 0, colder: 0, below: 0 };

/** Gauge kPa that was taught for a point, and what it may be off by, shares of it. */
interface Level {
  readonly kpa: number;
  readonly noise: Noise;
  readonly taught: number;
  /** For another day's air: its pressure, its temperature. */
  readonly day: number;
  readonly warm: OnDay;
  readonly carried: number;
  readonly far: number;
  readonly cars: number;
}

/** The car's own healthy drives: they know what it gives, not only what it wants. */
function ownAt(p: StretchPoint, profile: Profile, baseline: BoostBaseline, baro: Baro): Level | null {
  const there = lookUp(baseline, p.rpm, p.lagged);
  const near = there === null ? carriedOn(p, profile, baseline, baro) : null;
  const learned = there ?? near;
  if (learned === null) return null;
  const speed = p.rpm < SLOW_RPM ? 'slow' : 'fast';
  const warm = onDay(baseline.warmth[speed], ANY_CAR[speed], learned.airC, airOf(p.airC));
  const kpa = (1 + warm.more) * (baseline.reference === 'absolute' ? learned.kpa - baro.kpa : learned.kpa);
  if (kpa < LEAST_EXPECTED_KPA) return null;
  const noise = heldNoise(p.rpm, p.lagged, baseline.noiseScale);
  const taught = Math.hypot(
    noise.run / Math.sqrt(learned.runs),
    (TAUGHT_PULL * noise.pull) / Math.sqrt(learned.pulls),
  );
  const day = dayOf(baseline.baroKpa, baro, kpa);
  return { kpa, noise, taught, day, warm, carried: near?.sd ?? 0, far: 0, cars: 0 };
}

function kindAt(p: StretchPoint, kind: BoostKind, baro: Baro): Level | null {
  const at = lookUpKind(kind, p.rpm, p.lagged);
  if (at === null) return null;
  const kpa = kind.reference === 'absolute' ? at.kpa - baro.kpa : at.kpa;
  if (kpa < LEAST_EXPECTED_KPA) return null;
  const day = dayOf(kind.baroKpa, baro, kpa);
  const anyCar = p.rpm < SLOW_RPM ? ANY_CAR.slow : ANY_CAR.fast;
  return {
    kpa,
    noise: heldNoise(p.rpm, p.lagged, kind.noiseScale),
    taught: at.sd,
    day,
    warm: onDay(anyCar, anyCar, kind.airC, airOf(p.airC)),
    carried: 0,
    far: at.far,
    cars: at.cars,
  };
}

function joined(own: Level, kind: Level): Level {
  const ownVariance = own.taught ** 2 + own.carried ** 2;
  const share = shareOfKind(ownVariance, kind.taught ** 2, (kind.kpa - own.kpa) / own.kpa);
  return {
    ...own,
    kpa: own.kpa + share * (kind.kpa - own.kpa),
    taught: own.taught * Math.sqrt(1 - share),
    carried: own.carried * Math.sqrt(1 - share),
    far: share * kind.far,
    cars: kind.cars,
  };
}

/** Another day's air: half the difference in barometric pressure may or may not be made up by the control. */
function dayOf(taughtKpa: number, baro: Baro, kpa: number): number {
  return Math.max(0, (DAY_SHARE * Math.abs(baro.kpa - taughtKpa)) / kpa - DAY_FREE);
}

/**
 * Above the speeds that the drives which teach went to, as far as CARRY_RPM: what they gave last, where it had become
 * level by then and the same machine owes it.
 */
function carriedOn(
  p: StretchPoint,
  profile: Profile,
  baseline: BoostBaseline,
  baro: Baro,
): (Learned & { readonly sd: number }) | null {
  const region = regionsOf(profile).find((r) => p.rpm >= r.fromRpm && p.rpm < r.toRpm);
  if (!region) return null;
  // Where one machine makes the boost of all regions, what was level may begin in the region below.
  const two = profile.induction === 'twin-charged' || hasClutch(profile);
  const levelFromRpm = two ? region.fromRpm : SPOOLING_TO_RPM;
  const leastRpm = Math.max(SLOW_RPM, region.fromRpm, levelFromRpm + CARRY_LEVEL_RPM);
  for (let onRpm = CARRY_STEP_RPM; onRpm <= CARRY_RPM; onRpm += CARRY_STEP_RPM) {
    const edgeRpm = p.rpm - onRpm;
    if (edgeRpm < leastRpm) return null;
    const edge = lookUp(baseline, edgeRpm, p.lagged);
    if (edge === null) continue;
    const before = lookUp(baseline, edgeRpm - CARRY_LEVEL_RPM, p.lagged);
    const gaugeKpa = edge.kpa - (baseline.reference === 'absolute' ? baro.kpa : 0);
    if (before === null || Math.abs(edge.kpa - before.kpa) > CARRY_LEVEL * gaugeKpa) return null;
    return { ...edge, sd: CARRY_SD * Math.sqrt(onRpm / CARRY_RPM) };
  }
  return null;
}

/** The control unit's wish, where the machine in question can meet it: a slow turbocharger cannot. */
function commandedAt(p: StretchPoint, profile: Profile, baro: Baro): Expected | null {
  if (p.cmd === null || p.lagged < COMMANDED_FROM_PCT) return null;
  const kpa = p.cmd - baro.kpa;
  if (kpa < LEAST_EXPECTED_KPA) return null;
  const region = regionsOf(profile).find((r) => p.rpm >= r.fromRpm && p.rpm < r.toRpm);
  const belt = profile.induction === 'twin-charged' || profile.induction === 'supercharger';
  if (!region || !(region.key === 'high' || (belt && region.key === 'low'))) return null;
  return {
    kpa,
    noise: OTHER_NOISE,
    sd: baro.sdKpa / kpa,
    warm: ALIKE,
    source: 'commanded boost',
    limit: LIMIT.other,
    cars: 0,
  };
}

function enteredAt(p: StretchPoint, profile: Profile, baro: Baro): Expected | null {
  const curve = profile.expectedBoost;
  if (!curve || p.lagged < ENTERED_FROM_PCT) return null;
  const kpa = onCurve(curve.points, p.rpm);
  if (kpa === null || kpa < LEAST_EXPECTED_KPA) return null;
  const sd = ENTERED_SD + baro.sdKpa / kpa;
  return {
    kpa,
    noise: OTHER_NOISE,
    sd,
    warm: ALIKE,
    source: 'profile',
    limit: LIMIT.other,
    cars: 0,
  };
}

/** Of a curve or a command. Chosen by hand, not measured. */
const OTHER_NOISE: Noise = { run: 0.02, pull: 0.03, point: 0.03 };

function onCurve(points: readonly { rpm: number; kpa: number }[], rpm: number): number | null {
  const sorted = [...points].sort((a, b) => a.rpm - b.rpm);
  for (let i = 1; i < sorted.length; i++) {
    const a = sorted[i - 1]!;
    const b = sorted[i]!;
    if (rpm >= a.rpm && rpm <= b.rpm && b.rpm > a.rpm)
      return a.kpa + ((rpm - a.rpm) / (b.rpm - a.rpm)) * (b.kpa - a.kpa);
  }
  return null;
}

/** The least boost of any healthy engine of this kind at this point, gauge kPa; null where it may be nothing. */
export function leastHealthyKpa(p: StretchPoint, profile: Profile): number | null {
  if (p.lagged < LEAST_FROM_PCT) return null;
  const engaged = profile.engagementDemandPct?.value ?? ENGAGED_PCT;
  const band = hasClutch(profile) && p.rpm >= CLUTCH_FROM_RPM && p.rpm < clutchBand(profile).topRpm;
  if (p.lagged < LEAST_FULL_PCT && band && p.lagged >= engaged) return CLUTCH_LEAST_KPA.engaged;
  // A diesel answers half the pedal with boost as well; a petrol engine may not need any.
  if (p.lagged < LEAST_FULL_PCT) {
    const answers = profile.fuel === 'diesel' && profile.induction === 'turbocharger';
    return answers && p.rpm >= DIESEL_LEAST.fromRpm ? DIESEL_LEAST.halfKpa : null;
  }
  const region = regionsOf(profile).find((r) => p.rpm >= r.fromRpm && p.rpm < r.toRpm);
  if (!region) return null;
  switch (profile.induction) {
    case 'twin-charged':
      if (region.key === 'low') return p.rpm >= CLUTCH_FROM_RPM ? CLUTCH_LEAST_KPA.full : null;
      return region.key === 'high' ? CLUTCH_LEAST_KPA.high : null;
    case 'supercharger':
      return p.rpm >= BELT_LEAST.fromRpm ? BELT_LEAST.kpa : null;
    case 'turbocharger':
      if (profile.fuel === 'diesel') return p.rpm >= DIESEL_LEAST.fromRpm ? DIESEL_LEAST.kpa : null;
      return p.rpm >= PETROL_LEAST.fromRpm ? PETROL_LEAST.kpa : null;
    default:
      return null;
  }
}
