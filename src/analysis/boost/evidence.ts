/** What the pulls of one region say together, and the decisions by a rule stated beforehand. */
import { Z_BOTH, Z95 } from '../spread.ts';
import { airExcess, airIsLost } from './air.ts';
import { CELL_RPM, type GoodRange, goodRange, goodToGo, type ToGo } from './cells.ts';
import { LIMIT } from './expectation.ts';
import { isIntermittent, looksGone, SURELY_SHARE } from './intermittent.ts';
import { AIR_RUN_SD } from './noise.ts';
import { askedRpm, type Region } from './regions.ts';
import {
  deviationIn,
  type Estimate,
  isFar,
  isShort,
  LEAST_SAMPLES,
  LONE_PULL_S,
  PAID_LOOKS,
  pullsUntil,
  ShortfallScan,
} from './scan.ts';
import { type Driven, type KnownS, MISS_SHARE, NOT_DRIVEN, type Weighed, type Witness } from './witness.ts';

/**
 * Doubtful absences count when they come again after this long: no link stays frozen over several pulls. Chosen by
 * hand, not measured.
 */
const DOUBT_US = 60e6;
/**
 * Two pulls are alike when the middle of the one lies this near to what the other swept, rpm. Chosen by hand, not
 * measured.
 */
const NEAR_RPM = 250;
/** A pull that asked for up to this much more than another is still like it. Chosen by hand, not measured. */
const ALIKE_DEMAND = 1.25;
/** A clutch that closes late has closed by then, s (common practice, no source; the simulated one within 2). */
const LATE_AT_MOST_S = 3;
/** Of the boost expected in the mean over a region; less asks for little. Chosen by hand, not measured. */
const MUCH_SHARE = 0.5;
const KEEP_WITNESSES = 400;
/**
 * Low, middle and high of a clutch band: from this speed, parted at these shares of it, said in such steps. Not known
 * how chosen.
 */
const SPREAD_FROM_RPM = 1000;
const SPREAD_SHARES = [0.4, 0.7] as const;
const SPREAD_STEP_RPM = 50;
/**
 * Pressure and air mass are joined when they differ by no more than this many standard errors and both say short by
 * the next. Chosen by hand, not measured.
 */
const AGREE_SE = 2.5;
const BOTH_SHORT_SE = 1.5;
/** Surplus: over so many limits, samples and seconds. Chosen by hand, not measured. */
export const SURPLUS_LIMITS = 2;
const SURPLUS_SAMPLES = 4;
const SURPLUS_S = 1.2;
/** What a surplus must exceed, a share: a limit of it is no finer than the run is known to be, its air included. */
export const surplusLimit = (e: Pick<Estimate, 'limit' | 'runVariance'>): number =>
  SURPLUS_LIMITS * Math.max(e.limit, 2 * Math.sqrt(e.runVariance));
/**
 * Pulls that good asks for: spread over a clutch band, or anywhere; elsewhere than in a clutch band one that lasts
 * will do. Chosen by hand, not measured.
 */
export const SPREAD_PULLS = 3;
export const GOOD_PULLS = 2;
/** Driven for so long at speeds of which nothing is known, and less where something is, a fault there would go unseen: good is not said then (chosen on 45 open diesel trips together). */
const UNKNOWN_S = 1.5;
/** Readings left out that say short for so long: good is not said over them (of 45 open diesel trips none loses its good for it at 0.6 s). */
const SHORT_S = 1;

/** Engine speeds, rpm, driven and yet unknown: nothing says how much boost is due, or the readings were not believed. */
export interface Unknown {
  readonly fromRpm: number;
  readonly toRpm: number;
  /** `left-out-short`: the readings that were not believed say that boost is short. */
  readonly why: 'untaught' | 'left-out' | 'left-out-short';
}

/** Readings of a pull that count. Not known how chosen. */
const USEFUL = 2;

/** What is still missing before "shown good" could be said. */
export interface Lacks {
  readonly pulls: number;
  readonly warm: boolean;
  /** Engine speeds, rpm, that no pull went through yet. */
  readonly through: readonly { readonly fromRpm: number; readonly toRpm: number }[];
}

export class RegionEvidence {
  readonly region: Region;
  readonly scan = new ShortfallScan();
  readonly witnesses: Witness[] = [];
  /** Pulls at the demand that good is said of, whether or not anything says how much boost was due. */
  readonly driven: Driven[] = [];
  held = 0;
  missed = 0;
  /** A pull still being driven that brings no boost. */
  ahead: Witness | null = null;
  /** A window over this region and its neighbour together, where only the two show a shortfall. */
  shared: Estimate | null = null;
  /** By what its tip-ins told so far a clutch may close late here. */
  mayComeLate = false;
  #n = 0;
  #spanS = 0;
  #airW = 0;
  #airWd = 0;
  #airWday = 0;
  readonly #known = new Map<number, KnownS>();

  constructor(region: Region) {
    this.region = region;
  }

  /** With the pull that is still being driven. */
  get all(): readonly Witness[] {
    return this.ahead === null ? this.witnesses : [...this.witnesses, this.ahead];
  }

  /** Speeds at which a pull could be judged, and at which it could not, also where it is no witness. */
  drove({ known, driven }: Pick<Weighed, 'known' | 'driven'>): void {
    if (driven !== null && driven.n >= USEFUL) this.driven.push(driven);
    if (this.driven.length > KEEP_WITNESSES) this.driven.shift();
    for (const [step, s] of known) {
      const at = this.#known.get(step) ?? NOT_DRIVEN;
      this.#known.set(step, {
        withS: at.withS + s.withS,
        untaughtS: at.untaughtS + s.untaughtS,
        leftOutS: at.leftOutS + s.leftOutS,
        leftOutShortS: at.leftOutShortS + s.leftOutShortS,
      });
    }
  }

  add(w: Witness): void {
    this.witnesses.push(w);
    if (this.witnesses.length > KEEP_WITNESSES) this.witnesses.shift();
    if (w.held === true) this.held++;
    if (w.held === false) this.missed++;
    // What other cars teach of the air is too coarse to sharpen a pressure.
    const air = w.air?.known.taught === 0 ? w.air : null;
    if (air !== null) {
      const a = 1 / (air.variance * air.gain ** 2);
      this.#airW += a;
      this.#airWd += a * air.deviation;
      this.#airWday += a * Math.hypot(AIR_RUN_SD, air.known.warm) * air.gain;
    }
    if (w.deviation === null) return;
    this.#n += w.n;
    this.#spanS += w.spanS;
    this.scan.add(w.patches, air);
  }

  /** Mean relative deviation over all that was driven here; null before any pull with an expectation. */
  get estimate(): Estimate | null {
    return this.scan.whole;
  }

  /**
   * The estimate joined with what the air mass says, where both say "short" and agree: two witnesses that err
   * independently. A weak charger lowers air and pressure alike; then they disagree and the pressure stands alone.
   */
  get joined(): Estimate | null {
    const e = this.estimate;
    if (e === null || !e.carried || this.#airW === 0) return null;
    const air = this.#airWd / this.#airW;
    const airSe = Math.hypot(Math.sqrt(1 / this.#airW), this.#airWday / this.#airW);
    const agree = Math.abs(e.deviation - air) < Math.hypot(e.se, airSe) * AGREE_SE;
    if (!agree || air > -BOTH_SHORT_SE * airSe || e.deviation > -BOTH_SHORT_SE * e.se) return null;
    const w1 = 1 / e.se ** 2;
    const w2 = 1 / airSe ** 2;
    const se = Math.sqrt(1 / (w1 + w2));
    // The two know better than the pressure alone, so they can be held to a finer limit.
    const limit = Math.min(e.limit, Math.max(LIMIT.baseline, 2 * se));
    const deviation = (w1 * e.deviation + w2 * air) / (w1 + w2);
    const warmUnread = Math.min(e.warmUnread, se ** 2);
    return { ...e, deviation, se, limit, warmVariance: 0, warmBelow: 0, warmUnread };
  }

  /** No boost where it was due, and never any where as much was due. */
  get absent(): boolean {
    if (this.ahead !== null && !this.#cameAlike(this.ahead)) return true;
    const gone = this.witnesses.filter((w) => w.absent && !this.#cameAlike(w));
    if (gone.some((w) => !w.doubtful)) return true;
    return gone.length > 1 && gone.at(-1)!.toUs - gone[0]!.fromUs >= DOUBT_US;
  }

  /** The region as far as pulls went that were held against what was due: nothing is said of other speeds. */
  get judged(): Region {
    const rpms = this.witnesses.flatMap((w) => (w.deviation === null ? [] : w.rpm));
    const fromRpm = Math.max(this.region.fromRpm, Math.floor(Math.min(...rpms)));
    return { ...this.region, fromRpm, toRpm: Math.min(this.region.toRpm, Math.ceil(Math.max(...rpms))) };
  }

  /** Boost came in some pulls and went missing in others that asked as much. */
  get intermittent(): boolean {
    // At the changeover now one machine, now the other is at work: comings and goings mean nothing there.
    if (this.region.key === 'middle' || this.held === 0) return false;
    return isIntermittent(this.all, (w) => this.#cameThere(w));
  }

  /**
   * Pulls that brought next to nothing beside others that brought boost at the same speeds: whatever it is, it is not there at each.
   * What a light foot was given says nothing of the mean.
   */
  get contradicted(): boolean {
    const askedKpa = MUCH_SHARE * (this.estimate?.expectedKpa ?? 0);
    return this.all.some(
      (w) => !w.doubtful && (w.expectedKpa ?? 0) >= askedKpa && looksGone(w) && this.#cameThere(w),
    );
  }

  /** Nothing came, in a pull that lasted longer than a clutch takes that closes late. */
  get goneForLong(): boolean {
    return this.all.some((w) => !w.doubtful && looksGone(w) && w.spanS >= LATE_AT_MOST_S);
  }

  /** Boost came in another pull that asked for no less, at an engine speed that this one reached as well. */
  #cameAlike(w: Witness): boolean {
    return this.witnesses.some((c) => isAlike(w, c));
  }

  /**
   * And it came at the very speeds of this one: a pull that reached its boost further up says nothing of what it was still to
   * give down here. Nor does a pull that was over before a clutch that may close late had closed.
   */
  #cameThere(w: Witness): boolean {
    if (this.mayComeLate && w.spanS < LATE_AT_MOST_S) return false;
    return this.witnesses.some((c) => isAlike(w, c) && deviationNear(c, w.rpm) > -SURELY_SHARE);
  }

  /** The estimate that shows a shortfall; null when none does. */
  get shortfall(): Estimate | null {
    const joined = this.joined;
    return this.scan.strongest ?? (joined !== null && isShort(joined) ? joined : this.shared);
  }

  get short(): boolean {
    return this.shortfall !== null;
  }

  /** Air is lost after the meter here, beyond doubt, and the pressure is not above the expected. */
  get leaks(): boolean {
    return airIsLost(airExcess(this.witnesses)) && (this.estimate?.deviation ?? 0) < 0;
  }

  /** What the verdict rests on. */
  get basis(): Estimate | null {
    return this.shortfall ?? this.estimate;
  }

  get surplus(): boolean {
    const e = this.estimate;
    if (e === null || !e.mostOver || this.#n < SURPLUS_SAMPLES || this.#spanS < SURPLUS_S) return false;
    // No bound upwards: how far above it air may lift boost is not asked, nor among how few windows it was sought.
    const upwards = { deviation: -e.deviation, warmBelow: Number.POSITIVE_INFINITY, looks: PAID_LOOKS };
    const far = isFar({ ...e, ...upwards });
    return e.deviation - Z95 * e.se > surplusLimit(e) && far;
  }

  /** The first pull that plainly brought too little, but too short or on too few samples to call it missed; null without. */
  get odd(): Witness | null {
    // So far below may still be another car's ordinary boost.
    const share = ({ cars, limit }: Witness): number => (cars > 0 ? Math.max(MISS_SHARE, limit) : MISS_SHARE);
    const plainly = (w: Witness): boolean =>
      w.deviation !== null && w.deviation + Z_BOTH * Math.sqrt(w.variance + w.runVariance) < -share(w);
    return this.witnesses.find((w) => w.maybeMissed || (w.held === null && plainly(w))) ?? null;
  }

  /** What the region is shown good for; null when it is not. */
  get good(): GoodRange | null {
    const e = this.estimate;
    const bad = this.missed > 0 || this.short || this.leaks || this.odd !== null;
    // What lies short by as much as a fault begins with is not good, however little of it is sure.
    if (e === null || bad || e.deviation < -e.limit || this.unknown !== null) return null;
    const { pulls, warm, through } = this.lacks;
    return pulls > 0 || !warm || through.length > 0 ? null : goodRange(this.scan, this.judged);
  }

  /** The lowest engine speeds that were driven at high demand and of which nothing is known, those that may be short first; null when there are none. */
  get unknown(): Unknown | null {
    const steps = [...this.#known].toSorted(([a], [b]) => a - b);
    const short = steps.find(([, s]) => s.leftOutShortS >= SHORT_S);
    const lowest =
      short ?? steps.find(([, s]) => s.untaughtS + s.leftOutS >= UNKNOWN_S && s.withS < UNKNOWN_S);
    if (lowest === undefined) return null;
    const { fromRpm, toRpm } = this.region;
    const [step, { untaughtS, leftOutS }] = lowest;
    return {
      fromRpm: Math.max(step * CELL_RPM, fromRpm),
      toRpm: Math.min((step + 1) * CELL_RPM, toRpm),
      why: short !== undefined ? 'left-out-short' : untaughtS >= leftOutS ? 'untaught' : 'left-out',
    };
  }

  /** What settles the matter if boost stays as it is now; null before any pull with an expectation. */
  get toGo(): ToGo | null {
    const e = this.estimate;
    if (e === null) return null;
    const good = goodToGo(this.scan, this.region) ?? { ...askedRpm(this.region), pulls: 1, lifted: false };
    if (e.deviation >= -e.limit) return good;
    // Short by more than the limit it can only be shown as such.
    const pulls = pullsUntil(e, isShort);
    return { ...good, pulls: pulls === null ? null : Math.max(1, pulls) };
  }

  /** Pulls that can be held against what is due. */
  get useful(): readonly Witness[] {
    return this.witnesses.filter((w) => w.deviation !== null && w.n >= USEFUL);
  }

  get lacks(): Lacks {
    return lacksOf(this.useful, this.region);
  }
}

/** Of a pull at these engine speeds, else as near to them as it came. */
const deviationNear = ({ patches }: Witness, rpm: Witness['rpm']): number =>
  deviationIn(patches, rpm) ?? deviationIn(patches, [rpm[0] - NEAR_RPM, rpm[1] + NEAR_RPM]) ?? 0;

/** The one brought boost, asked for no less, and reached an engine speed that the other reached as well. */
function isAlike(w: Witness, came: Witness): boolean {
  const rpm = (w.rpm[0] + w.rpm[1]) / 2;
  return (
    came.held === true &&
    (w.expectedKpa ?? 0) <= (came.expectedKpa ?? 0) * ALIKE_DEMAND &&
    rpm > came.rpm[0] - NEAR_RPM &&
    rpm < came.rpm[1] + NEAR_RPM
  );
}

/** What these pulls lack of those that good asks for. */
export function lacksOf(pulls: readonly Omit<Driven, 'fromUs' | 'toUs'>[], region: Region): Lacks {
  const lasting = !region.spread && pulls.some((w) => w.n >= LEAST_SAMPLES && w.spanS >= LONE_PULL_S);
  const enough = region.spread ? SPREAD_PULLS : lasting ? 1 : GOOD_PULLS;
  const through: { fromRpm: number; toRpm: number }[] = [];
  if (region.spread && pulls.length > 0) {
    const { toRpm } = region;
    const at = (share: number): number =>
      Math.round((SPREAD_FROM_RPM + share * (toRpm - SPREAD_FROM_RPM)) / SPREAD_STEP_RPM) * SPREAD_STEP_RPM;
    for (const [from, to] of [
      [SPREAD_FROM_RPM, at(SPREAD_SHARES[0])],
      [at(SPREAD_SHARES[0]), at(SPREAD_SHARES[1])],
      [at(SPREAD_SHARES[1]), toRpm],
    ] as const)
      if (!pulls.some((w) => w.rpm[0] <= to && w.rpm[1] >= from)) through.push({ fromRpm: from, toRpm: to });
  }
  return { pulls: Math.max(0, enough - pulls.length), warm: pulls.some((w) => w.warm), through };
}
