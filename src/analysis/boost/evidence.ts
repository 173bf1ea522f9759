/** Weighs pulls: each is one witness for each region; sums up what they say together and decides by a rule stated beforehand. */
import { median } from 'simple-statistics';
import { DEFAULT_COOLANT_LIMIT_C, type Profile } from '../../core/profile.ts';
import type { Baro } from './barometer.ts';
import { type Expected, expectedAt, LIMIT, leastHealthyKpa } from './expectation.ts';
import { AIR_FROM_PCT, airBin, airIndex, type BoostBaseline } from './lesson.ts';
import { isClipped } from './points.ts';
import type { Region } from './regions.ts';
import type { Stretch, StretchPoint } from './stretches.ts';

/** One-sided 95 %: each side of the limit is held against its own bound; the interval printed is two-sided 90 %. */
export const Z95 = 1.645;
/** A shortfall must also be this many standard errors away from none: 2e-4 false alarms a look if errors are normal. */
export const Z_FAULT = 3.5;
/** At most this much gauge pressure, or this share of the expected, is "no boost". */
const ABSENT_KPA = 5;
const ABSENT_SHARE = 0.15;
/** A reading this near to barometric may stand still for want of boost. */
export function atRestKpa(baro: Baro): number {
  return 2 + 2 * baro.sdKpa;
}

/** Doubtful absences count when they come again after this long: no link stays frozen over several pulls. */
const DOUBT_US = 60e6;
/** Nor does it last longer than this. */
const LONG_REST_S = 120;
/** Colder than this the engine may be given less boost (KIT: one such drive); absence is still judged from 40 degC. */
const WARM_C = 60;
const ABSENT_FROM_C = 40;
/** A pull missed when wholly short by more than the first, held when certainly short by less than the second. */
const MISS_SHARE = 0.35;
const HELD_SHARE = 0.15;
/** Intermittent means gone, not weak: a slip or a leak is short by less than this. */
const GONE_SHARE = 0.5;
/** Two pulls are alike when the middle of the one lies this near to what the other swept, rpm. */
const NEAR_RPM = 250;
const KEEP_PULLS = 400;
/** Scatter of the air index between healthy drives (KIT: 0.9 %, rounded up). */
const AIR_RUN_SD = 0.01;
/** What one sample alone may be off by: air mass, speed and pressure are read at different times. */
const AIR_LONE_SD = 0.06;
/** More air than the pressure accounts for, as a share: beyond it air is lost after the meter. */
export const AIR_LIMIT = 0.025;
/** Fewer samples than this never show that air is lost. */
const AIR_SAMPLES = 4;
/** At full pedal engine speed rises by more than this share a second, with or without boost. */
const RISE_PER_S = 0.025;
/** A pedal that repeats itself for less than this proves nothing (chosen on the tune half with stuck signals put in). */
const LIFT_US = 2_400_000;
/** From this demand on the pedal is on the floor and repeats itself by nature. */
const FLOOR_PCT = 95;
/** Short by more than this, the readings that say so are asked whether they are stuck. */
const SUSPECT_SHARE = 0.8;
/** KIT: 1 in 100 pulls; a sound engine lets no exhaust gas back in at high demand. */
const AIR_BACK_SHARE = 0.1;
/** One sample alone may be a spike of any of the signals that make a point: it is hardly a witness. */
const LONE_SD = 0.09;

/** What one pull says about one region. */
export interface Witness {
  readonly region: Region;
  readonly gear: number | null;
  /** Cells of the evidence map that it passed through, as indices of `EVIDENCE_CELLS`. */
  readonly cells: readonly number[];
  readonly fromUs: number;
  readonly toUs: number;
  readonly rpm: readonly [number, number];
  readonly n: number;
  readonly spanS: number;
  readonly boostKpa: number;
  /** Mean expected, gauge kPa; the least healthy value when nothing better is known. */
  readonly expectedKpa: number | null;
  /** Mean relative deviation and its variance within the run, null without an expectation. */
  readonly deviation: number | null;
  readonly variance: number;
  readonly runVariance: number;
  readonly limit: number;
  readonly source: Expected['source'] | 'least of any healthy engine';
  readonly absent: boolean;
  /** No boost, but the reading had stood still at barometric since the engine idled or stood: a frozen sensor looks alike. */
  readonly doubtful: boolean;
  readonly held: boolean | null;
  /** Looks missed, but on two samples only: counts when it comes again. */
  readonly maybeMissed: boolean;
  readonly warm: boolean;
  readonly freshS: number;
  /**
   * Air index over the baseline's, less one, with its variance, and what it says the boost deviates by; null
   * without an air mass signal or a baseline that has one.
   */
  readonly air: {
    readonly excess: number;
    readonly variance: number;
    readonly deviation: number;
    readonly gain: number;
    readonly n: number;
  } | null;
}

/** More air than the pressure accounts for, as a share, with its standard error, over `n` samples. */
export interface AirExcess {
  readonly share: number;
  readonly se: number;
  readonly n: number;
}

/** Pulls that contradict each other make the mean less sure, as with the pressure (Birge ratio). Null without air mass. */
export function airExcess(witnesses: readonly Witness[]): AirExcess | null {
  const all = witnesses.flatMap((w) => w.air ?? []);
  if (all.length === 0) return null;
  const weight = all.reduce((a, x) => a + 1 / x.variance, 0);
  const share = all.reduce((a, x) => a + x.excess / x.variance, 0) / weight;
  const chi2 = all.reduce((a, x) => a + (x.excess - share) ** 2 / x.variance, 0);
  const scatter = all.length < 3 ? 1 : Math.max(1, chi2 / (all.length - 1));
  return {
    share,
    se: Math.hypot(AIR_RUN_SD, Math.sqrt(scatter / weight)),
    n: all.reduce((a, x) => a + x.n, 0),
  };
}

/** Beyond the limit with its whole interval, and too far from none to be chance. */
export function airIsLost(air: AirExcess | null): boolean {
  return (
    air !== null &&
    air.n >= AIR_SAMPLES &&
    air.share - Z95 * air.se > AIR_LIMIT &&
    air.share > Z_FAULT * air.se
  );
}

export const EVIDENCE_CELLS: readonly {
  readonly rpm: readonly [number, number];
  readonly demandPct: readonly [number, number];
}[] = [1000, 1500, 2000, 2500, 3000, 3500, 4000, 4500].flatMap((rpm) =>
  (
    [
      [45, 60],
      [60, 80],
      [80, 100],
    ] as const
  ).map((demandPct) => ({ rpm: [rpm, rpm + 500] as const, demandPct })),
);

function cellOf(p: StretchPoint): number {
  return EVIDENCE_CELLS.findIndex(
    ({ rpm, demandPct }) =>
      p.rpm >= rpm[0] &&
      p.rpm < rpm[1] &&
      p.lagged >= demandPct[0] &&
      p.lagged < demandPct[1] + (demandPct[1] === 100 ? 10 : 0),
  );
}

export function weigh(
  stretch: Stretch,
  region: Region,
  profile: Profile,
  baseline: BoostBaseline | null,
  baro: Baro,
): Witness | null {
  // An engine as hot as its limit is given less boost to spare it (common practice, no source).
  const hotC = profile.coolantLimitC?.value ?? DEFAULT_COOLANT_LIMIT_C;
  const inside = stretch.points.filter(
    (p) =>
      p.settled &&
      ((!p.frozen && !p.still) || Math.abs(p.map - baro.kpa) <= atRestKpa(baro)) &&
      p.rpm >= region.fromRpm &&
      p.rpm < region.toRpm &&
      (p.ect ?? WARM_C) >= ABSENT_FROM_C &&
      (p.ect ?? WARM_C) < hotC,
  );
  const points = withoutSpikes(inside);
  const first = points[0];
  const last = points.at(-1);
  if (!first || !last) return null;
  const cold = (first.ect ?? WARM_C) < WARM_C;
  const scored = points.flatMap((p) => {
    const e = expectedAt(p, profile, baseline, baro);
    if (e === null) return [];
    const r = (p.map - baro.kpa - e.kpa) / e.kpa;
    // A clipped reading is a lower bound: it can show enough, never too little.
    return isClipped(p.map) && r < 0 ? [] : [{ p, e, r }];
  });
  const spanS = (last.tUs - first.tUs) / 1e6;
  const boostKpa = mean(points.map((p) => p.map - baro.kpa));
  const common = {
    region,
    gear: stretch.gear,
    cells: [...new Set(points.map(cellOf))].filter((c) => c >= 0),
    fromUs: first.tUs,
    toUs: last.tUs,
    rpm: [Math.min(...points.map((p) => p.rpm)), Math.max(...points.map((p) => p.rpm))] as const,
    boostKpa,
    warm: first.ect !== null && first.ect >= 70,
    freshS: Math.max(...points.map((p) => p.ageS)),
    air: airOf(points, baseline, baro),
  };
  const absent = isAbsent(points, region, profile, baseline, baro, 3, 1);
  // One sample at the edge of a pull shows that boost was there before it, not that the pull held.
  const lasting = points.length > 1 && spanS >= 0.5;
  const maybe = !absent && isAbsent(points, region, profile, baseline, baro, 2, 0.7);
  const short = absent || maybe || boostKpa < SUSPECT_SHARE * mean(scored.map((s) => s.e.kpa));
  if (short && (isLift(points) || isThrottledBack(airOver(points, baseline)))) return null;
  const doubtful = points.some((p) => p.frozen && p.idled && p.restS < LONG_REST_S);
  if (scored.length >= 1 && !cold && !doubtful) {
    const w = scored.map((s) => 1 / (s.e.noise.pull ** 2 + s.e.noise.point ** 2));
    const deviation = huber(
      scored.map((s) => s.r),
      w,
    );
    const sum = w.reduce((a, b) => a + b, 0);
    const at = (f: (s: (typeof scored)[number]) => number): number =>
      scored.reduce((a, s, i) => a + w[i]! * f(s), 0) / sum;
    // Samples closer than about half a second repeat the same moment.
    const independent = Math.max(1, Math.min(scored.length, 1 + spanS / 0.6));
    const variance =
      at((s) => s.e.noise.pull ** 2) +
      at((s) => s.e.noise.point ** 2) / independent +
      (LONE_SD / independent ** 1.5) ** 2;
    const runVariance = at((s) => s.e.noise.run) ** 2 + at((s) => s.e.sd) ** 2;
    const sd = Math.sqrt(variance + runVariance);
    const missed =
      absent ||
      (scored.length >= 4 &&
        spanS >= 1.5 &&
        deviation + 1.96 * sd < -MISS_SHARE &&
        deviation < -Z_FAULT * sd);
    return {
      ...common,
      n: scored.length,
      spanS,
      expectedKpa: at((s) => s.e.kpa),
      deviation,
      variance,
      runVariance,
      limit: at((s) => s.e.limit),
      source: scored[0]!.e.source,
      absent,
      doubtful,
      held: missed
        ? false
        : lasting && deviation > -HELD_SHARE && deviation - 1.96 * sd > -MISS_SHARE
          ? true
          : null,
      maybeMissed: maybe,
    };
  }
  const least = points.flatMap((p) => {
    const kpa =
      leastHealthyKpa(p, profile) ?? (doubtful ? expectedAt(p, profile, baseline, baro)?.kpa : null);
    return kpa ?? [];
  });
  if (least.length === 0) return null;
  // At less than 70 % demand the turbocharger alone may give the little that is asked of the clutch band here.
  const sure = region.spread !== true || points.every((p) => p.lagged >= 70);
  return {
    ...common,
    n: points.length,
    spanS,
    expectedKpa: mean(least),
    deviation: null,
    variance: 0,
    runVariance: 0,
    limit: 0,
    source: 'least of any healthy engine',
    absent,
    doubtful,
    held: absent && !doubtful ? false : lasting && sure && boostKpa > mean(least) ? true : null,
    maybeMissed: maybe && !doubtful,
  };
}

/** The air index over the baseline's, less one: median of the samples, their usual scatter, how many. */
function airOver(
  points: readonly StretchPoint[],
  baseline: BoostBaseline | null,
): { excess: number; sd: number; n: number } | null {
  const all = points.flatMap((p) => {
    const index = p.lagged >= AIR_FROM_PCT && !isClipped(p.map) ? airIndex(p) : null;
    const known = baseline?.air[airBin(p.rpm)] ?? null;
    return index === null || known === null ? [] : [{ x: index / known.mean - 1, sd: known.sd }];
  });
  if (all.length === 0) return null;
  return { excess: median(all.map((a) => a.x)), sd: mean(all.map((a) => a.sd)), n: all.length };
}

function airOf(points: readonly StretchPoint[], baseline: BoostBaseline | null, baro: Baro): Witness['air'] {
  const over = airOver(points, baseline);
  // A reading that stands still through a pull may be stuck: against an air mass that rises it would look like a leak.
  const still = points.length > 2 && points.every((p) => p.map === points[0]!.map);
  if (over === null || still) return null;
  const { excess, sd, n } = over;
  // The same air at a lower pressure: the pressure that is missing, as a share of the boost that would be there.
  const map = mean(points.map((p) => p.map));
  const due = map * (1 + excess) - baro.kpa;
  if (due < 20) return null;
  return {
    excess,
    variance: sd ** 2 + (AIR_LONE_SD / n ** 1.5) ** 2,
    deviation: (-excess * map) / due,
    gain: (map * (1 + excess)) / due,
    n,
  };
}

/** No boost at all where there must be some: throughout, fresh, and long enough that no lift can explain it. */
function isAbsent(
  points: readonly StretchPoint[],
  region: Region,
  profile: Profile,
  baseline: BoostBaseline | null,
  baro: Baro,
  atLeast: number,
  lastingS: number,
): boolean {
  const owed = points.flatMap((p) => {
    const known = p.lagged >= 50 ? expectedAt(p, profile, baseline, baro) : null;
    // At the upper end of the clutch band the turbocharger alone may already give as much (common practice, no source).
    const helped = region.spread === true && p.rpm > 0.85 * region.toRpm;
    const least = known === null && !helped ? leastHealthyKpa(p, profile) : null;
    if (known !== null && known.kpa >= 20)
      return [{ p, most: Math.max(ABSENT_KPA, ABSENT_SHARE * known.kpa) }];
    // The least of any healthy engine is set low already: half of it is none.
    return least !== null ? [{ p, most: Math.max(ABSENT_KPA, 0.5 * least) }] : [];
  });
  const first = owed[0];
  const last = owed.at(-1);
  if (!first || !last || owed.length < atLeast || last.p.tUs - first.p.tUs < lastingS * 1e6) return false;
  const slack = Math.min(2 * baro.sdKpa, 6);
  return owed.every(({ p, most }) => p.map - baro.kpa <= most + slack);
}

/** A pedal that repeats itself to the bit while the engine does not speed up may be stuck after the driver lifted. */
function isLift(points: readonly StretchPoint[]): boolean {
  const run = longestRun(points, (p) => Math.round(p.demand * 20));
  if (run.length < 4 || run.length < points.length / 2) return false;
  const first = run[0]!;
  const last = run.at(-1)!;
  // A foot on the floor stands still by itself, and uphill without boost the engine may not speed up.
  if (last.tUs - first.tUs < LIFT_US || last.demand > FLOOR_PCT) return false;
  return last.rpm < first.rpm * (1 + RISE_PER_S * Math.max(1, (last.tUs - first.tUs) / 1e6));
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

/** So much exhaust gas is let back in that the engine cannot have been asked for what the pedal reading says. */
function isThrottledBack(air: { readonly excess: number } | null): boolean {
  return air !== null && air.excess < -AIR_BACK_SHARE;
}

/** A sample that leaps away from both neighbours and back is the sensor or the link. */
function withoutSpikes(points: readonly StretchPoint[]): StretchPoint[] {
  return points.filter((p, i) => {
    const a = points[i - 1];
    const b = points[i + 1];
    if (!a || !b) return true;
    const off = Math.min(Math.abs(p.map - a.map), Math.abs(p.map - b.map));
    return !(
      off > 25 &&
      Math.sign(p.map - a.map) === Math.sign(p.map - b.map) &&
      Math.abs(a.map - b.map) < off / 2
    );
  });
}

/** Weighted mean that counts a sample far from the weighted median no further than 2.5 robust deviations. */
function huber(x: readonly number[], w: readonly number[]): number {
  const centre = weightedMedian(x, w);
  const spread = Math.max(
    0.015,
    1.48 *
      weightedMedian(
        x.map((v) => Math.abs(v - centre)),
        w,
      ),
  );
  let sw = 0;
  let swx = 0;
  x.forEach((v, i) => {
    sw += w[i]!;
    swx += w[i]! * Math.max(centre - 2.5 * spread, Math.min(centre + 2.5 * spread, v));
  });
  return swx / sw;
}

function weightedMedian(x: readonly number[], w: readonly number[]): number {
  const order = x.map((_, i) => i).sort((a, b) => x[a]! - x[b]!);
  const half = w.reduce((a, b) => a + b, 0) / 2;
  let sum = 0;
  for (const i of order) {
    sum += w[i]!;
    if (sum >= half) return x[i]!;
  }
  return x[order.at(-1) ?? 0] ?? 0;
}

function mean(list: readonly number[]): number {
  return list.reduce((a, b) => a + b, 0) / Math.max(1, list.length);
}

/** All witnesses of one region of this run. */
export class RegionEvidence {
  readonly region: Region;
  readonly witnesses: Witness[] = [];
  held = 0;
  missed = 0;
  /** A pull still being driven that brings no boost. */
  ahead: Witness | null = null;
  #n = 0;
  #spanS = 0;
  #sw = 0;
  #swd = 0;
  #swdd = 0;
  #pulls = 0;
  #swRun = 0;
  #swLimit = 0;
  #swKpa = 0;
  #airW = 0;
  #airWd = 0;
  #airWgain = 0;

  constructor(region: Region) {
    this.region = region;
  }

  /** With the pull that is still being driven. */
  get all(): readonly Witness[] {
    return this.ahead === null ? this.witnesses : [...this.witnesses, this.ahead];
  }

  add(w: Witness): void {
    this.witnesses.push(w);
    if (this.witnesses.length > KEEP_PULLS) this.witnesses.shift();
    if (w.held === true) this.held++;
    if (w.held === false) this.missed++;
    if (w.air !== null) {
      const a = 1 / (w.air.variance * w.air.gain ** 2);
      this.#airW += a;
      this.#airWd += a * w.air.deviation;
      this.#airWgain += a * w.air.gain;
    }
    if (w.deviation === null) return;
    const k = 1 / w.variance;
    this.#n += w.n;
    this.#spanS += w.spanS;
    this.#sw += k;
    this.#swd += k * w.deviation;
    this.#swdd += k * w.deviation ** 2;
    this.#pulls++;
    this.#swRun += k * w.runVariance;
    this.#swLimit += k * w.limit;
    this.#swKpa += k * (w.expectedKpa ?? 0);
  }

  /** Mean relative deviation over the run with its standard error; null before any pull with an expectation. */
  get estimate(): { deviation: number; se: number; limit: number; expectedKpa: number } | null {
    if (this.#sw === 0) return null;
    return {
      deviation: this.#swd / this.#sw,
      se: Math.sqrt(this.#scatter / this.#sw + this.#swRun / this.#sw),
      limit: this.#swLimit / this.#sw,
      expectedKpa: this.#swKpa / this.#sw,
    };
  }

  /**
   * How much more the pulls differ than healthy ones do (Birge ratio squared, at least one): pulls that contradict
   * each other, as when a link spoils some, make the mean less sure.
   */
  get #scatter(): number {
    if (this.#pulls < 3) return 1;
    const chi2 = this.#swdd - this.#swd ** 2 / this.#sw;
    return Math.max(1, chi2 / (this.#pulls - 1));
  }

  /**
   * The estimate joined with what the air mass says, where both say "short" and agree: two witnesses that err
   * independently. A weak charger lowers air and pressure alike; then they disagree and the pressure stands alone.
   */
  get joined(): RegionEvidence['estimate'] {
    const e = this.estimate;
    if (e === null || this.#airW === 0) return null;
    const air = this.#airWd / this.#airW;
    const airSe = Math.hypot(Math.sqrt(1 / this.#airW), (AIR_RUN_SD * this.#airWgain) / this.#airW);
    const agree = Math.abs(e.deviation - air) < Math.hypot(e.se, airSe) * 2.5;
    if (!agree || air > -1.5 * airSe || e.deviation > -1.5 * e.se) return null;
    const w1 = 1 / e.se ** 2;
    const w2 = 1 / airSe ** 2;
    const se = Math.sqrt(1 / (w1 + w2));
    // The two know better than the pressure alone, so they can be held to a finer limit.
    const limit = Math.min(e.limit, Math.max(LIMIT.baseline, 2 * se));
    return { ...e, deviation: (w1 * e.deviation + w2 * air) / (w1 + w2), se, limit };
  }

  /** No boost where it was due, and never any where as much was due. */
  get absent(): boolean {
    if (this.ahead !== null && !this.#cameAlike(this.ahead)) return true;
    const gone = this.witnesses.filter((w) => w.absent && !this.#cameAlike(w));
    if (gone.some((w) => !w.doubtful)) return true;
    return gone.length > 1 && gone.at(-1)!.toUs - gone[0]!.fromUs >= DOUBT_US;
  }

  /** Boost came in some pulls and went missing in others that asked as much. */
  get intermittent(): boolean {
    // At the hand-over now one machine, now the other is at work: comings and goings mean nothing there.
    if (this.region.key === 'middle' || this.held === 0) return false;
    const gone = this.all.filter(
      (w) =>
        (w.maybeMissed || (w.held === false && (w.absent || (w.deviation ?? 0) < -GONE_SHARE))) &&
        this.#cameAlike(w),
    );
    return gone.length > 1 || gone.some((w) => !w.maybeMissed);
  }

  /** Boost came in another pull that asked for no less, at an engine speed that this one reached as well. */
  #cameAlike(w: Witness): boolean {
    const rpm = (w.rpm[0] + w.rpm[1]) / 2;
    return this.witnesses.some(
      (c) =>
        c.held === true &&
        (w.expectedKpa ?? 0) <= (c.expectedKpa ?? 0) * 1.25 &&
        rpm > c.rpm[0] - NEAR_RPM &&
        rpm < c.rpm[1] + NEAR_RPM,
    );
  }

  /** The whole interval beyond the limit, and too far from none to be chance. */
  get short(): boolean {
    return this.#isShort(this.estimate) || this.#isShort(this.joined);
  }

  #isShort(e: RegionEvidence['estimate']): boolean {
    if (e === null || this.#n < (e.deviation < -0.3 ? 3 : 4) || this.#spanS < 1.2) return false;
    return e.deviation + Z95 * e.se < -e.limit && e.deviation < -Z_FAULT * e.se;
  }

  /** More air comes in than the pressure accounts for, and the pressure is not above the expected. */
  get leaks(): boolean {
    return (this.estimate?.deviation ?? 0) <= 0 && airIsLost(airExcess(this.witnesses));
  }

  /** What the verdict rests on: the pressure alone, or joined with the air mass where only that shows it. */
  get basis(): RegionEvidence['estimate'] {
    return this.#isShort(this.estimate)
      ? this.estimate
      : this.#isShort(this.joined)
        ? this.joined
        : this.estimate;
  }

  get surplus(): boolean {
    const e = this.estimate;
    if (e === null || this.#n < 4 || this.#spanS < 1.2) return false;
    return e.deviation - Z95 * e.se > 2 * e.limit && e.deviation > Z_FAULT * e.se;
  }

  get good(): boolean {
    const e = this.estimate;
    return (
      e !== null &&
      this.missed === 0 &&
      !this.witnesses.some((w) => w.maybeMissed) &&
      !this.short &&
      !this.leaks &&
      e.deviation - Z95 * e.se > -e.limit &&
      this.lacks.length === 0
    );
  }

  /**
   * Pulls like the ones driven that would settle the matter if boost stays as it is now; null when no number does,
   * because day-to-day scatter alone is wider than what is to be told apart.
   */
  get pullsToGo(): number | null {
    const e = this.estimate;
    if (e === null) return null;
    const run = this.#swRun / this.#sw;
    const pull = this.#scatter / this.#sw;
    // Good needs the lower bound above the limit, a fault the upper one below it and four errors from none.
    const room = (e.deviation + e.limit) / Z95;
    const seNow = Math.sqrt(run + pull);
    const aim = room > 0 ? Math.min(room, seNow) : Math.min(-room, -e.deviation / Z_FAULT, seNow);
    const left = aim ** 2 - run;
    if (left <= 0) return null;
    return Math.max(1, Math.ceil(this.#pulls * (pull / left - 1)));
  }

  /** What is still missing before "shown good" could be said, as things to drive. */
  get lacks(): string[] {
    const out: string[] = [];
    const useful = this.witnesses.filter((w) => w.deviation !== null && w.n >= 2);
    const enough = this.region.spread ? 3 : 2;
    const more = enough - useful.length;
    if (more > 0) out.push(`${more} more ${more === 1 ? 'pull' : 'pulls'}`);
    if (!useful.some((w) => w.warm)) out.push('with a warm engine (coolant from 70 °C)');
    if (this.region.spread && useful.length > 0) {
      const { toRpm } = this.region;
      const at = (share: number): number => Math.round((1000 + share * (toRpm - 1000)) / 50) * 50;
      const through = (low: number, high: number): boolean =>
        useful.some((w) => w.rpm[0] <= high && w.rpm[1] >= low);
      if (!through(0, at(0.4))) out.push(`a pull from below ${at(0.4)} rpm`);
      if (!through(at(0.4), at(0.7))) out.push(`a pull through ${at(0.55)} rpm`);
      if (!through(at(0.7), toRpm)) out.push(`a pull up to ${toRpm} rpm`);
    }
    return out;
  }
}
