/** Stretches of high demand within one gear, free of slip and of hidden gear changes: the raw material of pulls. */
import type { Profile } from '../../core/profile.ts';
import { Echo } from './echo.ts';
import { GearBook, ratioTolerance } from './gears.ts';
import { type OperatingPoint, toTheBit } from './points.ts';
import { clutchBand } from './regions.ts';

/**
 * From this demand on (0 to 100) a stretch is kept; from 60 on it is called a pull. Chosen by hand, not measured.
 */
const STRETCH_DEMAND_PCT = 45;
export const PULL_HOLE_US = 2_500_000;
/** A pull in the list: demand of this, %, and so long. Not known how chosen. */
export const PULL_PCT = 60;
const PULL_US = 1_200_000;
/**
 * Dropped before any break: the gear change or lift may have begun before the sample that shows it. Chosen by hand,
 * not measured.
 */
const GUARD_US = 300_000;
const MAX_POINTS = 4096;
const IDLED_RPM = 1000;
/** Demand below this is light: from there a rise within the second is sudden. Not known how chosen. */
const LIGHT_BELOW_PCT = 30;
const SUDDEN_US = 1.5e6;
/**
 * Slower than this, km/h, a whole number of speed is too coarse for a ratio; no pull begins below this speed, rpm.
 * Not known how chosen.
 */
const RATIO_FROM_KMH = 6;
const PULL_FROM_RPM = 900;
/**
 * Settled: the lagged demand lies between this share of the demand and this much above it, %. Chosen by hand, not
 * measured.
 */
const SETTLED_FROM_SHARE = 0.8;
const SETTLED_ABOVE_PCT = 6;
/**
 * Without a vehicle speed an engine that slows down to this share from one sample to the next has changed gear. Not
 * known how chosen.
 */
const CHANGES_DOWN = 0.93;
/**
 * What stands in for a demand and an engine speed that are not known, so that neither seems to move. By definition
 * nothing: no stretch is without them.
 */
const NO_DEMAND_PCT = 50;
const NO_RPM = 1500;
/** How long a reading repeats itself before it is taken for stuck, and in how many samples (KIT: 13 such repeats in 10 h, see below). */
const REPEATS_US = 1_500_000;
const REPEATS = 3;
/** A stretch waits so long for a sensor that has not moved. Not known how chosen. */
const RIPE_US = 1_400_000;
/** A naturally aspirated engine fills its manifold within this (common practice, no source). */
const PLAIN_LAG_S = 0.1;
/**
 * A reading that repeats itself to the bit over 1.5 s and three samples while demand or engine speed move by more than
 * this is taken for stuck (KIT, 13 such repeats below full boost in 10 h: demand moved by 3 %, once by 14, speed by 6 % at most).
 */
const FROZEN_DEMAND_PCT = 10;
const STILL_RPM = 1.2;
/** From this demand on many engines give all their boost, and the pressure may well stay where it is (KIT: up to 33 %). */
const FLAT_FROM_PCT = 55;
const FROZEN_FLAT_DEMAND_PCT = 35;

export interface StretchPoint extends OperatingPoint {
  readonly rpm: number;
  readonly demand: number;
  /** Demand seen through the lag of the machine that makes the pressure: settled when it has come near the demand. */
  readonly lagged: number;
  readonly settled: boolean;
  /** The sensor repeats itself to the bit while demand moves out of or into the pull. */
  frozen: boolean;
  /** It repeats itself while engine speed rises by a fifth. */
  still: boolean;
  /** It only repeats, in order, what was read a few readings before. */
  echo: boolean;
  /** How long it had repeated itself by then, s. */
  restS: number;
  /** The engine idled or stood within that time. */
  idled: boolean;
}

export interface Stretch {
  readonly points: readonly StretchPoint[];
  /** Engine speed over vehicle speed, rpm per km/h; null where no speed is known. */
  readonly ratio: number | null;
  /** Demand rose from light to high within about a second. */
  readonly sudden: boolean;
  /** When demand rose through the threshold, and how far that may be off, s; null when it was not seen to rise. */
  readonly tip: { readonly atUs: number; readonly errS: number } | null;
  /** Its first demand repeats to the bit what was read before a gear change. */
  readonly held: boolean;
  readonly fromUs: number;
  readonly toUs: number;
}

/** Long enough, and asked enough, to be called a pull. */
export const isPull = ({ points }: Stretch): boolean =>
  points.some((p) => p.demand >= PULL_PCT) && points.at(-1)!.tUs - points[0]!.tUs >= PULL_US;

/** Lag of a turbocharger over engine speed (KIT: t90 3.3 s at 1000 to 1250 rpm, 1.8 s from 1750 rpm; t90 is 2.3 lags, plus the drivers' own ramps). */
const TURBO_LAG: readonly (readonly [rpm: number, s: number])[] = [
  [1000, 1.9],
  [1250, 1.6],
  [1750, 1.0],
  [2500, 0.6],
];
/**
 * The lags of a turbocharger that are tried, over KIT's. A faster one is not: of 57 draws of KIT's drives two would have taken 0.63.
 * Twice is chosen on ten simulated turbo-diesels, of which it shows more good than 1.6 alone, or 1.6 and 2.5.
 */
export const TURBO_LAGS = [1, 2] as const;
/** A belt-driven compressor answers within a few tenths of a second (common practice). */
const BELT_LAG_S = 0.25;

/** @param turboLag a turbocharger's, over KIT's; s */
export function lagS(profile: Profile, rpm: number, turboLag = 1): number {
  if (profile.induction === 'supercharger') return BELT_LAG_S;
  if (profile.induction === 'twin-charged' && rpm < clutchBand(profile).topRpm) return BELT_LAG_S;
  if (profile.induction === 'naturally aspirated') return PLAIN_LAG_S;
  return turboLag * kitLagS(rpm);
}

function kitLagS(rpm: number): number {
  const first = TURBO_LAG[0]!;
  if (rpm <= first[0]) return first[1];
  for (let i = 1; i < TURBO_LAG.length; i++) {
    const [r1, s1] = TURBO_LAG[i]!;
    const [r0, s0] = TURBO_LAG[i - 1]!;
    if (rpm <= r1) return s0 + ((rpm - r0) / (r1 - r0)) * (s1 - s0);
  }
  return TURBO_LAG.at(-1)![1];
}

/** A run of bit-identical pressure samples. */
interface Repeat {
  value: number;
  count: number;
  fromUs: number;
  demand: [low: number, high: number];
  rpm: [low: number, high: number];
}

export class Stretcher {
  readonly gears = new GearBook();
  readonly #profile: Profile;
  readonly #turboLag: number;
  #points: StretchPoint[] = [];
  #previous: OperatingPoint | null = null;
  #previousRatio: number | null = null;
  #lagged = 0;
  #lightUs = Number.NEGATIVE_INFINITY;
  #sudden = false;
  #tip: Stretch['tip'] = null;
  /** The last time demand rose through the threshold. */
  #crossing: Stretch['tip'] = null;
  #repeat: Repeat | null = null;
  /** The demand that is read, to the bit, and whether the gear changed under it. */
  #pedal: { bits: number | null; held: boolean } = { bits: null, held: false };
  #held = false;
  readonly #echo = new Echo();
  /** Closed but held until the sensor has moved again or 1.4 s have passed: only then a frozen sensor is known. */
  #closed: { stretch: Stretch; atUs: number }[] = [];

  /** @param turboLag as of `lagS` */
  constructor(profile: Profile, turboLag = 1) {
    this.#profile = profile;
    this.#turboLag = turboLag;
  }

  /** The stretch being driven; null outside. */
  get open(): readonly StretchPoint[] | null {
    return this.#points.length > 0 ? this.#points : null;
  }

  step(p: OperatingPoint): Stretch[] {
    const before = this.#previous;
    this.#previous = p;
    const dtUs = before === null ? Number.POSITIVE_INFINITY : p.tUs - before.tUs;
    const hole = dtUs > PULL_HOLE_US;
    const ratio = p.rpm !== null && p.speed !== null && p.speed >= RATIO_FROM_KMH ? p.rpm / p.speed : null;
    this.gears.learn(hole ? null : ratio, p.speed ?? 0);
    const slip = this.#slips(p, ratio);
    this.#previousRatio = ratio;
    if (p.demand !== null && p.demand < LIGHT_BELOW_PCT) this.#lightUs = p.tUs;
    if (hole || slip || p.demand === null || p.rpm === null) this.#lagged = 0;
    else {
      const lag = lagS(this.#profile, p.rpm, this.#turboLag);
      this.#lagged += (1 - Math.exp(-dtUs / 1e6 / lag)) * (p.demand - this.#lagged);
    }

    const bits = p.demand === null ? null : toTheBit({ demand: p.demand });
    const same = bits !== null && bits === this.#pedal.bits;
    this.#pedal = { bits, held: same && (this.#pedal.held || slip) };

    // A tip-in straight after a gear change is one as well: only the pedal matters.
    this.#crossing = hole ? null : (tipBetween(before, p) ?? this.#crossing);
    const high = (p.demandLow ?? 0) >= STRETCH_DEMAND_PCT && (p.rpm ?? 0) >= PULL_FROM_RPM;
    if (this.#points.length > 0 && (hole || slip || !high)) this.#close(p.tUs);
    if (high && p.rpm !== null && p.demand !== null && this.#points.length < MAX_POINTS) {
      if (this.#points.length === 0) {
        this.#held = this.#pedal.held;
        this.#tip =
          this.#crossing !== null && p.tUs - this.#crossing.atUs < PULL_HOLE_US ? this.#crossing : null;
        this.#sudden = (this.#tip?.atUs ?? p.tUs) - this.#lightUs <= SUDDEN_US;
      }
      // What is added stands before what is taken over: added behind a spread, each point would get a shape of its own in
      // the engine (Node.js 20), and what reads it would look that up each time.
      this.#points.push({
        lagged: this.#lagged,
        // While demand rises the pressure is still to come; while it falls it is still to go.
        settled:
          this.#lagged >= STRETCH_DEMAND_PCT &&
          this.#lagged >= SETTLED_FROM_SHARE * p.demand &&
          this.#lagged <= p.demand + SETTLED_ABOVE_PCT,
        frozen: false,
        still: false,
        echo: false,
        restS: 0,
        idled: false,
        ...p,
        rpm: p.rpm,
        demand: p.demand,
      });
    }
    this.#watchRepeat(p, hole);
    return this.#ripe(p.tUs);
  }

  finish(endUs: number): Stretch[] {
    if (this.#points.length > 0) this.#close(endUs);
    return this.#ripe(Number.POSITIVE_INFINITY);
  }

  /** True when engine and road speed no longer belong to one gear with the clutch closed. */
  #slips(p: OperatingPoint, ratio: number | null): boolean {
    const first = this.#points[0];
    if (ratio !== null && this.#previousRatio !== null) {
      const tolerance = ratioTolerance(p.speed ?? 1);
      if (Math.abs(Math.log(ratio / this.#previousRatio)) > tolerance) return true;
      const firstRatio = first?.speed ? first.rpm / first.speed : null;
      return firstRatio !== null && Math.abs(Math.log(ratio / firstRatio)) > 2 * tolerance;
    }
    const last = this.#points.at(-1);
    return last !== undefined && p.rpm !== null && p.rpm < CHANGES_DOWN * last.rpm;
  }

  #watchRepeat(p: OperatingPoint, hole: boolean): void {
    const echoFromUs = this.#echo.step(p);
    if (echoFromUs !== null)
      this.#mark(echoFromUs, (q) => {
        q.echo = true;
      });
    const demand = p.demand ?? NO_DEMAND_PCT;
    const rpm = p.rpm ?? NO_RPM;
    const r = this.#repeat;
    if (hole || r === null || r.value !== p.map) {
      this.#repeat = { value: p.map, count: 1, fromUs: p.tUs, demand: [demand, demand], rpm: [rpm, rpm] };
      return;
    }
    r.count++;
    r.demand = [Math.min(r.demand[0], demand), Math.max(r.demand[1], demand)];
    r.rpm = [Math.min(r.rpm[0], rpm), Math.max(r.rpm[1], rpm)];
    const lasted = r.count >= REPEATS && p.tUs - r.fromUs >= REPEATS_US;
    const moved = r.demand[1] - r.demand[0];
    const frozen =
      lasted && moved > (r.demand[0] < FLAT_FROM_PCT ? FROZEN_DEMAND_PCT : FROZEN_FLAT_DEMAND_PCT);
    const still = lasted && r.rpm[1] > STILL_RPM * r.rpm[0];
    if (!frozen && !still) return;
    this.#mark(r.fromUs, (q) => {
      q.frozen ||= frozen;
      q.still ||= still;
      q.restS = (p.tUs - r.fromUs) / 1e6;
      q.idled ||= r.rpm[0] < IDLED_RPM;
    });
  }

  /** Points from then on, be their stretch closed or not. */
  #mark(fromUs: number, as: (q: StretchPoint) => void): void {
    for (const points of [this.#points, ...this.#closed.map((c) => c.stretch.points)])
      for (const q of points) if (q.tUs >= fromUs) as(q);
  }

  #close(atUs: number): void {
    const points = this.#points;
    this.#points = [];
    // The sample before a break may already belong to the lift or the gear change; after a hole nothing tells.
    const kept = points.slice(0, -1).filter((q) => q.tUs <= atUs - GUARD_US);
    if (kept.length < 2) return;
    this.#closed.push({ atUs, stretch: this.preview(kept) });
  }

  /** Points of the present pull as a stretch. */
  preview(points: readonly StretchPoint[]): Stretch {
    const ratios = points.flatMap((q) =>
      q.speed !== null && q.speed >= RATIO_FROM_KMH ? [q.rpm / q.speed] : [],
    );
    ratios.sort((a, b) => a - b);
    const ratio = ratios.length > 0 ? ratios[ratios.length >> 1]! : null;
    return {
      points,
      ratio,
      sudden: this.#sudden,
      tip: this.#tip,
      held: this.#held,
      fromUs: points[0]!.tUs,
      toUs: points.at(-1)!.tUs,
    };
  }

  #ripe(nowUs: number): Stretch[] {
    const out: Stretch[] = [];
    for (;;) {
      const first = this.#closed[0];
      if (!first) return out;
      const lastMap = first.stretch.points.at(-1)!.map;
      const moved = this.#repeat === null || this.#repeat.value !== lastMap;
      if (!moved && nowUs - first.atUs < RIPE_US) return out;
      this.#closed.shift();
      out.push(first.stretch);
    }
  }
}

/** Where demand crossed the threshold on its way up between two points. */
function tipBetween(a: OperatingPoint | null, b: OperatingPoint): Stretch['tip'] {
  if (a === null || a.demand === null || b.demand === null || a.demand >= STRETCH_DEMAND_PCT) return null;
  const share = (STRETCH_DEMAND_PCT - a.demand) / Math.max(1, b.demand - a.demand);
  return { atUs: a.tUs + Math.min(1, share) * (b.tUs - a.tUs), errS: (b.tUs - a.tUs) / 2 / 1e6 };
}
