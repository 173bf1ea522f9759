/** The magnetic clutch by its behaviour: how soon boost comes after a tip-in, and whether it is open at light demand. */
import type { Profile } from '../../core/profile.ts';
import type { Says } from '../../core/says.ts';
import type { Given } from '../given.ts';
import { say as sayLeg } from '../leg-says.ts';
import { Z95 } from '../spread.ts';
import type { Evidence } from '../types.ts';
import { type Baro, STANDS_BELOW_RPM } from './barometer.ts';
import type { OperatingPoint } from './points.ts';
import { clutchBand } from './regions.ts';
import type { Stretch } from './stretches.ts';

/** A belt-driven compressor answers within a few tenths of a second (common practice, no source). */
export const ONSET_LIMIT_S = 1;
/** Share of the pull's own steady boost that counts as come. Chosen by hand, not measured. */
export const ONSET_SHARE = 0.6;
/** With the clutch open the charge pipe lies at barometric pressure; driven, it lies above, more so the faster. Not known how chosen. */
export const LIGHT_LIMIT_KPA = 2;
/**
 * Manifold above barometric at light demand: no petrol engine without a driven compressor. Common practice, no
 * source.
 */
export const LIGHT_MAP_KPA = 5;
/** A fault lies beyond its limit by so many standard errors. Chosen by hand, not measured. */
export const Z_CLUTCH = 2.6;
/**
 * Tip-ins that a fault and good want, and stretches at light demand by manifold and by charge pressure. Chosen by
 * hand, not measured. Light demand, %, at middling engine speeds: the same.
 */
export const LATE_TIPS = 2;
export const PROMPT_TIPS = 3;
export const MAP_STRETCHES = 3;
export const ACT_STRETCHES = 4;
export const LIGHT_DEMAND: readonly [number, number] = [3, 32];
export const LIGHT_RPM: readonly [number, number] = [1500, 4000];
/** Pressure of an earlier pull must have bled off. Chosen by hand, not measured. */
const AFTER_HIGH_US = 4e6;
/** One stretch at light demand. Chosen by hand, not measured. */
export const LIGHT_STRETCH_S = 5;
const KEEP_ENGAGEMENTS = 200;
/** Demand from which a pull fills the pipe, %. Not known how chosen. */
const FILLS_FROM_PCT = 40;
/**
 * Zero of the charge pressure sensor: readings with the engine stopped, this near to barometric, kPa; so many are kept, so
 * many tell; by then the sensor is known to the first, else to the second, kPa. Not known how chosen.
 */
const NEAR_ZERO_KPA = 6;
const KEEP_ZEROS = 30;
const LEAST_ZEROS = 3;
const ZERO_SD_KPA = 0.4;
const UNKNOWN_ZERO_SD_KPA = 1;
/**
 * A stretch at light demand ends at a hole of the first; it keeps so many samples; demand moves by so much, %, and it lasts
 * so long at least; one is known to the last two, kPa, by manifold and by charge pressure. Not known how chosen.
 */
const LIGHT_HOLE_US = 2.5e6;
const LIGHT_SAMPLES = 400;
const LIGHT_SPAN_PCT = 12;
const LIGHT_LEAST_US = 2e6;
const LIGHT_MAP_SD_KPA = 1;
const LIGHT_ACT_SD_KPA = 0.8;
/**
 * A tip-in is judged from the first speed, the second below the top of the band, and where demand reached the third, %.
 * What boost became is told between the two times after it, above the demand, and from the last, kPa. Not known how
 * chosen.
 */
const TIPS_FROM_RPM = 1100;
const BELOW_TOP_RPM = 100;
const TIP_PEAK_PCT = 60;
const STEADY_AFTER_US = 1.8e6;
const STEADY_BEFORE_US = 5e6;
const STEADY_FROM_PCT = 55;
const STEADY_LEAST_KPA = 25;
/**
 * Standard deviation of one delay, s: the rise's own, the tip-in's error as of a level distribution (√3, rounded), and
 * of the time between the samples around the rise this part (2 √3, rounded). All delays share the last. Not known how
 * chosen.
 */
const ONSET_SD_S = 0.15;
const LEVEL_SD = 1.7;
const BETWEEN_US = 3.5e6;
const ONSET_BIAS_S = 0.1;
/** What is printed of the last of them. A bound, chosen by hand. */
const PRINTED = 8;
/** A few disturbed values must not decide: so many parts are cut off at either end. Not known how chosen. */
const CUT_PARTS = 10;

interface Value {
  readonly fromUs: number;
  readonly toUs: number;
  readonly value: number;
  readonly sd: number;
}

/** Mean of independent values with its standard error. */
interface Estimate {
  readonly mean: number;
  readonly se: number;
  readonly n: number;
}

export class ClutchWatch {
  readonly #profile: Profile;
  readonly onsets: Value[] = [];
  readonly light: Value[] = [];
  readonly lightMap: Value[] = [];
  #offset: number[] = [];
  #segment: { fromUs: number; act: number[]; map: number[]; demand: [number, number] } | null = null;
  #highUs = Number.NEGATIVE_INFINITY;
  #lastUs = 0;

  constructor(profile: Profile) {
    this.#profile = profile;
  }

  point(p: OperatingPoint, baro: Baro | null): void {
    if (p.demand !== null && p.demand > FILLS_FROM_PCT) this.#highUs = p.tUs;
    if (
      p.rpm !== null &&
      p.rpm < STANDS_BELOW_RPM &&
      p.act !== null &&
      baro !== null &&
      Math.abs(p.act - baro.kpa) < NEAR_ZERO_KPA
    ) {
      this.#offset.push(p.act - baro.kpa);
      if (this.#offset.length > KEEP_ZEROS) this.#offset.shift();
    }
    const light =
      baro !== null &&
      p.demand !== null &&
      p.rpm !== null &&
      p.demand >= LIGHT_DEMAND[0] &&
      p.demand <= LIGHT_DEMAND[1] &&
      p.rpm >= LIGHT_RPM[0] &&
      p.rpm <= LIGHT_RPM[1] &&
      p.tUs - this.#highUs > AFTER_HIGH_US;
    const s = this.#segment;
    const broken = !light || p.tUs - this.#lastUs > LIGHT_HOLE_US;
    this.#lastUs = p.tUs;
    if (s !== null && (broken || p.tUs - s.fromUs > LIGHT_STRETCH_S * 1e6)) {
      this.#segment = null;
      this.#keep(s, p.tUs);
    }
    if (!light) return;
    this.#segment ??= { fromUs: p.tUs, act: [], map: [], demand: [p.demand, p.demand] };
    const open = this.#segment;
    open.demand = [Math.min(open.demand[0], p.demand), Math.max(open.demand[1], p.demand)];
    if (open.map.length > LIGHT_SAMPLES) return;
    open.map.push(p.map - baro.kpa);
    if (p.act !== null) open.act.push(p.act - baro.kpa);
  }

  stretch(s: Stretch, baro: Baro): void {
    if (!s.sudden || s.tip === null) return;
    const points = s.points.filter((p) => !p.frozen && !p.still && !p.echo);
    const first = points[0];
    const band = clutchBand(this.#profile);
    if (
      !first ||
      first.rpm < TIPS_FROM_RPM ||
      first.rpm > band.topRpm - BELOW_TOP_RPM ||
      Math.max(...points.map((p) => p.demand)) < TIP_PEAK_PCT
    )
      return;
    const atUs = s.tip.atUs;
    const late = points.filter(
      (p) => p.tUs - atUs > STEADY_AFTER_US && p.tUs - atUs < STEADY_BEFORE_US && p.demand > STEADY_FROM_PCT,
    );
    if (late.length < 2) return;
    const steady = late.map((p) => p.map - baro.kpa).sort((a, b) => a - b)[late.length >> 1]!;
    if (steady < STEADY_LEAST_KPA) return;
    const level = ONSET_SHARE * steady;
    const i = points.findIndex((p) => p.map - baro.kpa >= level);
    const at = points[i];
    // Above the band the turbocharger brings boost whatever the clutch does.
    if (!at || at.rpm > band.topRpm) return;
    const before = points[i - 1];
    const beforeUs = before?.tUs ?? atUs;
    const beforeKpa = before ? before.map - baro.kpa : 0;
    const share = Math.max(0, Math.min(1, (level - beforeKpa) / Math.max(1, at.map - baro.kpa - beforeKpa)));
    const cameUs = Math.max(atUs, beforeUs + share * (at.tUs - beforeUs));
    const sd = Math.hypot(ONSET_SD_S, s.tip.errS / LEVEL_SD, (at.tUs - beforeUs) / BETWEEN_US);
    push(this.onsets, { fromUs: atUs, toUs: cameUs, value: (cameUs - atUs) / 1e6, sd });
  }

  get onset(): Estimate | null {
    return estimate(this.onsets, ONSET_BIAS_S);
  }

  /** Charge pressure above barometric at light demand, kPa. */
  get lightAct(): Estimate | null {
    return estimate(this.light, this.#zeroed ? ZERO_SD_KPA : UNKNOWN_ZERO_SD_KPA);
  }

  get lightManifold(): Estimate | null {
    return estimate(this.lightMap, 1);
  }

  /** What shows that something presses at light demand; null when nothing does. */
  get drivenAtLight(): 'charge' | 'manifold' | null {
    const act = this.lightAct;
    if (act !== null && act.n >= ACT_STRETCHES && act.mean - Z_CLUTCH * act.se > LIGHT_LIMIT_KPA)
      return 'charge';
    const map = this.lightManifold;
    const presses = map !== null && map.n >= MAP_STRETCHES && map.mean - Z_CLUTCH * map.se > LIGHT_MAP_KPA;
    return presses ? 'manifold' : null;
  }

  get openAtLight(): boolean {
    const act = this.lightAct;
    return act !== null && act.n >= ACT_STRETCHES && act.mean + Z95 * act.se < LIGHT_LIMIT_KPA;
  }

  /** What it has of driving at light demand. */
  given(): Given {
    const list = this.light.length > 0 ? this.light : this.lightMap;
    const n = estimate(list, 0)?.n ?? 0;
    const share = this.drivenAtLight ? 1 : Math.min(1, n / ACT_STRETCHES);
    const moreS = (ACT_STRETCHES - n) * LIGHT_STRETCH_S;
    return {
      share,
      left: share === 1 || n === 0 ? null : sayLeg('leg.left.more', { moreS }),
      fromS: n === 0 ? null : list[0]!.fromUs / 1e6,
      toS: n === 0 ? null : list.at(-1)!.toUs / 1e6,
    };
  }

  /** Not seen to close in time, at no tip-in: one that closes late does so each time. */
  get mayBeLate(): boolean {
    return !this.onsets.some((v) => v.value < ONSET_LIMIT_S);
  }

  get late(): boolean {
    const o = this.onset;
    return o !== null && o.n >= LATE_TIPS && o.mean - Z_CLUTCH * o.se > ONSET_LIMIT_S;
  }

  get prompt(): boolean {
    const o = this.onset;
    return o !== null && o.n >= PROMPT_TIPS && o.mean + Z95 * o.se < ONSET_LIMIT_S;
  }

  evidence(of: readonly Value[], text: (v: Value) => Says): Evidence[] {
    return of
      .slice(-PRINTED)
      .map((v) => ({ fromS: round(v.fromUs / 1e6), toS: round(v.toUs / 1e6), text: text(v) }));
  }

  get #zeroed(): boolean {
    return this.#offset.length >= LEAST_ZEROS;
  }

  #keep(s: { fromUs: number; act: number[]; map: number[]; demand: [number, number] }, toUs: number): void {
    if (s.demand[1] - s.demand[0] > LIGHT_SPAN_PCT || s.map.length < 2 || toUs - s.fromUs < LIGHT_LEAST_US)
      return;
    push(this.lightMap, { fromUs: s.fromUs, toUs, value: mean(s.map), sd: LIGHT_MAP_SD_KPA });
    if (s.act.length < 2) return;
    const zero = this.#zeroed ? mean(this.#offset) : 0;
    push(this.light, { fromUs: s.fromUs, toUs, value: mean(s.act) - zero, sd: LIGHT_ACT_SD_KPA });
  }
}

/** @param bias standard uncertainty that averaging does not shrink. */
function estimate(list: readonly Value[], bias: number): Estimate | null {
  if (list.length === 0) return null;
  const sorted = [...list].sort((a, b) => a.value - b.value);
  const cut = Math.floor(sorted.length / CUT_PARTS);
  const kept = sorted.slice(cut, sorted.length - cut);
  const m = mean(kept.map((v) => v.value));
  const spread = kept.reduce((a, v) => a + (v.value - m) ** 2, 0) / Math.max(1, kept.length - 1);
  const own = mean(kept.map((v) => v.sd ** 2));
  return { mean: m, se: Math.hypot(bias, Math.sqrt(Math.max(spread, own) / kept.length)), n: kept.length };
}

function push(list: Value[], v: Value): void {
  list.push(v);
  if (list.length > KEEP_ENGAGEMENTS) list.shift();
}

function mean(list: readonly number[]): number {
  return list.reduce((a, b) => a + b, 0) / Math.max(1, list.length);
}

function round(x: number): number {
  return Math.round(x * 10) / 10;
}
