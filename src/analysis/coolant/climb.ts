/** Watches for coolant that climbs: a sequential test on what it does beyond the road's envelope, and plain limits. */
import { leastSquares } from '../../signal/line.ts';
import { BIN_S, type Bin } from './bins.ts';
import { ENVELOPE, type Regime, type RegimeName } from './envelope.ts';
import { HIGH_C } from './plateau.ts';
import { SequentialTest } from './sequential.ts';

/**
 * Looks at minutes: σ is what a reading of whole degrees leaves in a minute's mean, °C. λσ² is the shift that a λ is
 * tuned to: 0.1 to 2 °C, doubling up to what a step may tell. They and the hours between false alarms: chosen by hand.
 */
export const LEVEL = { sigma: 0.2, lambdas: [3, 6, 12, 24, 48], block: 60 / BIN_S, hours: 500 };
/** Coolant is read to 1 °C (SAE J1979, from memory); differences inside a run carry no calibration error. */
export const READING_C = 1;
/**
 * A step tells so much at the most, °C: no single one makes an alarm, and a sag is soon forgotten. Chosen by hand,
 * not measured.
 */
const MOST_C = 3;
const LEAST_C = 4;
/** Below this no climb is called a fault: thermostats of sound engines control up to here (common practice, no source). */
export const FAULT_FROM_C = 92;
/**
 * Nor at a stand below this, nor far above a plateau: a fan cuts in as high as this (common practice, no source), however low
 * the coolant settles on the move.
 */
export const STANDS_FROM_C = 100;
/** Held so long the plain limits count: long enough for a contact fault to show itself. Not known how chosen. */
export const NET_HOLD_S = 10;
/** Above the plateau a healthy drive never stood so long, at no regime (80 open drives: at most 12.3 °C). */
export const NET_ABOVE_C = 14;
/**
 * And from here on only: a fan that is yet to cut in, read as it is shown with a degree of scatter (a simulated one, over a plateau of 86 °C, read
 * every 4 s, stood at three readings of 100 °C).
 */
export const NET_FROM_C = STANDS_FROM_C + READING_C;
/** No healthy coolant rose faster in a minute, wherever it stood (80 open drives: 6 °C, a stand without fan). */
const RISE_S = 60;
const RISE_C = 7;
/**
 * A thermostat that was shut opens late: after the coolant was so far below the plateau it may overshoot for a
 * while. Chosen with the 80 open drives in view.
 */
const SHUT_BELOW_C = 3;
const OVERSHOOT_S = 240;
const OVERSHOOT_C = 5.5;
/**
 * Nor is it a fault before it stands so far above the plateau when it rose so much within a minute, to any of its readings: one that light
 * driving left almost shut lags behind as well. Chosen by hand; two simulated cars back it, one of them read every ten seconds with a scatter
 * of a degree: 94 °C and then 93, over 89, was called a fault.
 */
const LATE_RISE_C = 4.5;
const LATE_C = 5;
/**
 * On a hill a climb goes on: a fault stands so far beyond the envelope. Slower is traffic; from the faster on no heat that the run had seen
 * raised it by more than 2 °C (0.9 h of ten open drives); heat that it had not seen is as a hill at any speed. Chosen by hand: the open drives have an hour of such hills, so simulated cars back it.
 */
export const HILL_KMH = [50, 120] as const;
const HILL_MORE_C = 2.5;
/**
 * Below where a fan cuts in, a climb goes on: what came to within so much of its height, °C, and stays there while even the slowest rise that
 * the readings before allow would have brought so much more, is the approach to a new level that a step of load makes. The first is a degree
 * of reading and half a degree of scatter. Chosen on simulated cars and the open drives (docs/analysis.md).
 */
const LEVEL_WITHIN_C = 1.5;
export const LEVEL_SHORT_C = 3;
/**
 * Where all that is remembered lies within that, it has levelled off unless it rises by this, °C/min, well below the slowest climb that is asked
 * for (0.5). Chosen on the same.
 */
const LEVEL_C_PER_MIN = 0.15;
/**
 * What it held on the road (HILL_KMH) since its plateau is known, that long and that long ago, it holds as a plateau: below where a fan
 * cuts in it may reach that again, and as far beyond as every driving explains. Chosen by hand on simulated cars, one of which was told of
 * 92 °C ten times after it had held 94 °C.
 */
export const HELD_S = 60;
export const HELD_AGO_S = 300;
/**
 * After a stop longer than this the block heats the standing coolant; the gauge is let be for a while. Chosen by
 * hand, not measured.
 */
const SOAK_AFTER_S = 60;
const SOAK_LASTS_S = 240;
/** Meanwhile only a reading this far beyond the limit counts. Chosen by hand, not measured. */
const SOAK_BEYOND_C = 7;
/**
 * After an impossible jump to another level that level is not trusted at once: contacts fail for a minute, too.
 * Chosen by hand, not measured.
 */
const DISTRUST_S = 60;
const OTHER_LEVEL_C = 4;
/**
 * So does a step that is steeper than any climb: twice the steepest invented one (+25 °C with 60 s: 0.42 °C/s) and a degree of rounding,
 * between readings that are so near. Chosen by hand on simulated spikes of a sensor, one of which (90, 123, 107 °C, 11 s apart) was called
 * coolant at its limit; on the 80 open drives no step comes to six tenths of it (37,741 steps).
 */
const LEAP_C = 1;
const LEAP_C_PER_S = (2 * 25) / 60;
/**
 * Nor is a climb told from a reading that has stood still for this long: it may have got stuck high. Not known how
 * chosen.
 */
const STILL_S = 60;
/** A slope is of so long, s, from so many steps; what is left to a limit first of so long. Not known how chosen. */
const SLOPE_S = 90;
const SLOPE_POINTS = 4;
const NOW_S = 60;
/**
 * Variance that readings of whole degrees leave in a step, °C²: 1/√12 °C, rounded, and a third of its square. Not
 * known how chosen.
 */
const READING_VARIANCE_C2 = 0.3 ** 2 / 3;
/** Time to a limit is told where even the slowest rise that the readings allow comes there within so long, min. Not known how chosen. */
const FORESEEN_MIN = 60;
/** A bound, chosen by hand. */
const MOST_CLIMBS = 20;
/**
 * From here on coolant boils off, whatever the cause, and how the car is driven no longer tells where it comes from. Common
 * practice (water and glycol under a cap of 1.1 to 1.4 bar), no source.
 */
const MAY_BOIL_C = 115;
/** A climb of which so much, and CLEAR_C at least, was carried off with the engine turning came back: the coolant flows. Chosen by hand, not measured. */
const BACK_SHARE = 0.5;
/** A climb is one that still climbs: lower than so long ago is a recovery. Chosen by hand, not measured. */
const FALLING_OVER_S = 30;
/**
 * Readings further apart than this many steps say nothing about the time between them. Chosen by hand, not
 * measured.
 */
const MOST_STEPS = 6;
/**
 * The alarm ends when the coolant was back within this of its plateau, and below the limit, for a minute. Chosen by
 * hand, not measured.
 */
const CLEAR_S = 60;
const CLEAR_C = 4;
export const CLEAR_BELOW_LIMIT_C = 3;
/** Steps that are remembered: a climb begins no further back. Not known how chosen. */
const RECENT_S = 180;
export const RECENT_BINS = RECENT_S / BIN_S;
/**
 * Rising, °C/min, for `watch`; and it ends when the coolant is back within so much of the plateau or fell for a
 * minute. Chosen by hand, not measured.
 */
export const WATCH_C_PER_MIN = 0.5;
const WATCH_END_C = 2;
/**
 * Coolant that a fan has brought back at a stand may rise to there again, and so much further, °C: the reading's scatter. Chosen by hand,
 * not measured.
 */
export const ABOVE_TURNED_C = 2;
/** Evidence for a climb from which on a rise is watched, as a share of an alarm. Chosen by hand, not measured. */
export const WATCH_SHARE = 0.3;

interface Point {
  readonly tS: number;
  readonly ect: number;
}

/** A reading, and whether it lay beyond the envelope. */
type Read = Point & { readonly beyond: boolean };

export interface Climb {
  readonly saidAtS: number;
  readonly by: 'test' | 'limit' | 'far above plateau';
  readonly plateauC: number | null;
  /** That is where the plateau may lie at most: none was proved. */
  readonly assumed: boolean;
  /** What it was held against, °C: the limit, or the plateau and what driving explained when it was said. */
  readonly limitC: number;
  /** Where the rise began, as far as the last minutes tell. */
  fromS: number;
  toS: number;
  peakC: number;
  /** Coolant when it was said, °C. */
  readonly saidC: number;
  /** °C per minute when it was said. */
  readonly slope: Slope;
  /** Half of the climb was carried off again, the engine turning, before it stood: the coolant flows. */
  cameBack: boolean;
  /** Rise and time by regime since `fromS`, below where coolant boils. */
  readonly byRegime: Map<RegimeName, { riseC: number; s: number }>;
}

/** Rising beyond what this drive explains, below every limit: no verdict. */
export interface Watch {
  readonly saidAtS: number;
  readonly fromC: number;
  /** No plateau was reached before it stood high. */
  readonly noPlateau: boolean;
}

export interface Slope {
  readonly perMin: number;
  readonly interval: readonly [number, number];
}

export class ClimbWatch {
  readonly #limitC: number;
  /** What every driving explains, °C: the last row of the road's table. */
  readonly leastC: number;
  readonly #test = new SequentialTest(LEVEL);
  readonly #recent: (Point & { regime: RegimeName })[] = [];
  #last: Read | null = null;
  /** So did the one before it: a single reading, however far off, makes no alarm. */
  #beyondTwice = false;
  #stoppedS = 0;
  #ran = false;
  #soakUntilS = Number.NEGATIVE_INFINITY;
  #shutUntilS = Number.NEGATIVE_INFINITY;
  /** The most that was held on the road, °C, and what may come to count when it is old enough. */
  #heldC = Number.NEGATIVE_INFINITY;
  readonly #minute: number[] = [];
  readonly #holding: Point[] = [];
  #unsure = false;
  #changedS = 0;
  #distrustUntilS = Number.NEGATIVE_INFINITY;
  #overS = 0;
  #farS = 0;
  #wellS = 0;
  /** The engine stood since the climb was said. */
  #stood = false;
  #fellS = 0;
  #falls = false;
  #trusted = true;
  #assumed = false;
  #now: Climb | null = null;
  #watch: Watch | null = null;
  /** Excess beyond the envelope at the newest step, °C; null while nothing is known to hold it against. */
  beyondC: number | null = null;
  /** Every climb that was said, oldest first; bounded. */
  readonly climbs: Climb[] = [];

  /** @param leastC what every driving explains, °C: the last row of the road's table */
  constructor(limitC: number, leastC: number = ENVELOPE[ENVELOPE.length - 1]!.allowC) {
    this.#limitC = limitC;
    this.leastC = leastC;
  }

  /** The climb that is on now. */
  get now(): Climb | null {
    return this.#now;
  }

  get watch(): Watch | null {
    return this.#watch;
  }

  /** It rises for certain: by the slope of the last minutes, and it does not fall by now. */
  get rises(): boolean {
    return this.#trusted && !this.#falls && (this.slope()?.interval[0] ?? 0) > 0;
  }

  /** It rose, and stands since. */
  get #levelled(): boolean {
    const points = this.#recent;
    const last = points.at(-1)!;
    let k = points.length - 1;
    while (k > 0 && points[k - 1]!.ect > last.ect - LEVEL_WITHIN_C) k--;
    if (k === 0) return (this.slope(RECENT_S)?.perMin ?? Number.POSITIVE_INFINITY) < LEVEL_C_PER_MIN;
    const low = points[lastLow(points.slice(0, k))]!;
    const stoodS = last.tS - points[k]!.tS;
    const perS = (last.ect - low.ect - READING_C) / (points[k]!.tS - low.tS);
    return perS * stoodS >= LEVEL_SHORT_C;
  }

  /** An alarm is on, and the coolant is back where it will end it: at its plateau, or well below the limit. */
  get isBack(): boolean {
    return this.#now !== null && this.#wellS > 0 && !this.rises;
  }

  /** It rises for certain by the newest minute alone: the longer slope may still tell what was before. */
  get risesStill(): boolean {
    const slope = this.slope(NOW_S);
    return slope !== null && slope.interval[0] > 0 && slope.perMin >= WATCH_C_PER_MIN;
  }

  /** How far the newest reading lies from any of the minute before it, °C. */
  get movedC(): number {
    const last = this.#recent.at(-1);
    if (!last) return 0;
    const minute = this.#recent.filter((p) => last.tS - p.tS <= RISE_S);
    return Math.max(...minute.map((p) => Math.abs(last.ect - p.ect)));
  }

  /** It is more than this driving explains, or has long been about to. */
  get exceeds(): boolean {
    return this.beyondC !== null && (this.suspicion >= WATCH_SHARE || this.beyondC > 0);
  }

  /** 1 and above is an alarm. */
  get suspicion(): number {
    return this.#test.share();
  }

  /** True while readings are not trusted or the block may be giving back heat. */
  doubtful(bin: Bin): boolean {
    return bin.tS < this.#distrustUntilS || bin.tS < this.#soakUntilS || this.#leaps(bin);
  }

  /**
   * @param plateau what the climb is held against, °C, null while none is known
   * @param assumed that is where the plateau may lie at most, none was proved
   * @param turnedC from where a fan has brought this car's coolant back at a stand, °C
   * @returns the climb, when this step starts one
   */
  step(
    bin: Bin,
    regime: Regime,
    plateau: number | null,
    assumed = false,
    turnedC: number | null = null,
  ): Climb | null {
    this.#assumed = assumed;
    this.#engine(bin);
    const { ect, tS } = bin;
    if (bin.unsure) this.#unsure = true;
    if (ect === null || bin.unsure) return null;
    if (bin.unstuck) this.#recent.length = 0;
    const elsewhere = this.#last !== null && Math.abs(ect - this.#last.ect) > OTHER_LEVEL_C;
    if (bin.unstuck || (this.#unsure && elsewhere) || this.#leaps(bin)) {
      this.#distrustUntilS = tS + DISTRUST_S;
      this.#last = null;
    }
    this.#unsure = false;
    if (bin.low !== bin.high || ect !== this.#last?.ect) this.#changedS = tS;
    const before = this.#agoC(tS, RISE_S);
    const falls = ect < (this.#agoC(tS, FALLING_OVER_S) ?? ect);
    this.#falls = falls;
    this.#recent.push({ tS, ect, regime: regime.name });
    if (this.#recent.length > RECENT_BINS) this.#recent.shift();
    const soaking = tS < this.#soakUntilS;
    const trusted = tS >= this.#distrustUntilS;
    this.#trusted = trusted;
    const envelopeC = plateau === null ? null : plateau + this.#allowed(bin, regime, plateau, before);
    this.beyondC = envelopeC === null ? null : ect - envelopeC;
    if (!trusted || soaking) this.#test.reset();
    else if (bin.fresh && bin.running && envelopeC !== null) this.#advance(tS, ect - envelopeC, falls);
    if (bin.fresh) {
      const beyond = (this.beyondC ?? 0) > 0;
      this.#beyondTwice = beyond && this.#last?.beyond === true;
      this.#last = { tS, ect, beyond };
    }
    this.#nets(bin, ect, plateau, soaking, trusted, falls);
    const counts = !soaking && trusted && plateau !== null && this.#now === null;
    this.#hold(tS, ect, counts && (regime.kmh ?? 0) >= HILL_KMH[0]);
    const testing = !soaking && trusted && !falls;
    const faultC =
      envelopeC &&
      this.#faultFrom(envelopeC, plateau!, regime, before === null ? 0 : this.#highestC(tS, RISE_S) - before);
    const started = this.#decide(bin, ect, regime, plateau, faultC, testing);
    const fansC = regime.name === 'standing' && turnedC !== null ? turnedC + ABOVE_TURNED_C : 0;
    this.#observe(tS, ect, plateau, fansC, trusted && !soaking && bin.running, falls);
    return started;
  }

  /** Slope over the last `overS` seconds with its 95 % interval; null without enough of them. */
  slope(overS = SLOPE_S): Slope | null {
    const last = this.#recent[this.#recent.length - 1];
    if (!last) return null;
    const points = this.#recent.filter((p) => last.tS - p.tS <= overS);
    return points.length >= SLOPE_POINTS ? fitted(points) : null;
  }

  /** Minutes until `limitC` at the present rate, as a range; null when it does not rise for sure. */
  minutesTo(limitC: number): readonly [number, number] | null {
    const slope = this.slope(NOW_S) ?? this.slope();
    const last = this.#last;
    if (!slope || !last || slope.interval[0] <= 0 || last.ect >= limitC) return null;
    const left = limitC - last.ect;
    const slowest = left / slope.interval[0];
    return slowest > FORESEEN_MIN ? null : [left / slope.interval[1], slowest];
  }

  /** It rose or fell since the last reading as no coolant does. */
  #leaps({ ect, tS, fresh }: Bin): boolean {
    const last = this.#last;
    if (!fresh || ect === null || last === null) return false;
    const gapS = tS - last.tS;
    return gapS <= MOST_STEPS * BIN_S && Math.abs(ect - last.ect) > LEAP_C + LEAP_C_PER_S * gapS;
  }

  /** Coolant about so long ago, °C; null without a reading of then. */
  #agoC(tS: number, s: number): number | null {
    for (let k = this.#recent.length - 1; k >= 0; k--) {
      const ago = tS - this.#recent[k]!.tS;
      if (ago >= s) return ago <= s + 2 * BIN_S ? this.#recent[k]!.ect : null;
    }
    return null;
  }

  /** The highest since so long ago, °C. */
  #highestC(tS: number, s: number): number {
    return Math.max(...this.#recent.filter((p) => tS - p.tS <= s).map((p) => p.ect));
  }

  /** What the whole interval of a reading must lie above, °C: an engine that is only late, on a hill, or driven as never before, stops below it. */
  #faultFrom(envelopeC: number, plateau: number, { kmh, steep, unseen }: Regime, riseC: number): number {
    const [fromKmh, toKmh] = HILL_KMH;
    const onHill = steep && kmh !== null && kmh >= fromKmh && kmh < toKmh;
    return Math.max(
      envelopeC + (onHill || unseen ? HILL_MORE_C : 0),
      riseC >= LATE_RISE_C ? plateau + LATE_C : Number.NEGATIVE_INFINITY,
    );
  }

  /** The road's envelope, as far as what went before could have led there. */
  #allowed(bin: Bin, regime: Regime, plateau: number, before: number | null): number {
    if (bin.ect! < plateau - SHUT_BELOW_C) this.#shutUntilS = bin.tS + OVERSHOOT_S;
    const led = before === null ? regime.allowC : Math.min(regime.allowC, before + RISE_C - plateau);
    return Math.max(this.leastC, led, bin.tS < this.#shutUntilS ? OVERSHOOT_C : 0);
  }

  /** One step of the test for each step of time since the last reading. A falling reading is no evidence. */
  #advance(tS: number, beyond: number, falls: boolean): void {
    const last = this.#last;
    const steps =
      last && tS - last.tS <= MOST_STEPS * BIN_S ? Math.max(1, Math.round((tS - last.tS) / BIN_S)) : 1;
    const told = falls || tS - this.#changedS >= STILL_S ? Math.min(0, beyond) : beyond;
    const x = Math.min(MOST_C, Math.max(-LEAST_C, told));
    for (let i = 0; i < steps; i++) this.#test.step(x);
  }

  /** What lay at or above a temperature for a minute was held there. */
  #hold(tS: number, ect: number, counts: boolean): void {
    if (!counts) {
      this.#minute.length = 0;
      return;
    }
    this.#minute.push(ect);
    if (this.#minute.length > HELD_S / BIN_S) this.#minute.shift();
    if (this.#minute.length === HELD_S / BIN_S) this.#holding.push({ tS, ect: Math.min(...this.#minute) });
    while (this.#holding.length > 0 && tS - this.#holding[0]!.tS > HELD_AGO_S)
      this.#heldC = Math.max(this.#heldC, this.#holding.shift()!.ect);
  }

  #engine(bin: Bin): void {
    // A hole may hide a stop.
    if (!bin.running || bin.holeS >= SOAK_AFTER_S) this.#stoppedS += BIN_S + bin.holeS;
    if (!bin.running) return;
    this.#ran = true;
    if (this.#stoppedS >= SOAK_AFTER_S) this.#soakUntilS = bin.tS + SOAK_LASTS_S;
    this.#stoppedS = 0;
  }

  #nets(
    bin: Bin,
    ect: number,
    plateau: number | null,
    soaking: boolean,
    trusted: boolean,
    falls: boolean,
  ): void {
    const limit = this.#limitC + (soaking || !bin.running ? SOAK_BEYOND_C : 0);
    const over = trusted && this.#ran && ect >= limit && !falls;
    // What is only kept of an earlier step holds nothing: two readings do.
    const stepS = bin.fresh ? BIN_S : 0;
    this.#overS = over ? this.#overS + stepS : 0;
    const far = trusted && bin.running && !soaking && !falls && plateau !== null && ect >= farAbove(plateau);
    this.#farS = far ? this.#farS + stepS : 0;
  }

  #decide(
    bin: Bin,
    ect: number,
    regime: Regime,
    plateau: number | null,
    faultC: number | null,
    testing: boolean,
  ): Climb | null {
    const { tS } = bin;
    if (this.#now) {
      this.#follow(this.#now, bin, ect, regime, plateau);
      return null;
    }
    // The whole interval of the reading must lie beyond it, and where no sound engine is called hot.
    const fromC = regime.name === 'standing' ? STANDS_FROM_C : FAULT_FROM_C;
    const beyond =
      faultC !== null &&
      ect - READING_C > faultC &&
      ect >= fromC &&
      (ect >= STANDS_FROM_C || (!this.#levelled && ect - this.leastC > this.#heldC));
    const by =
      this.#overS >= NET_HOLD_S
        ? 'limit'
        : this.#farS >= NET_HOLD_S
          ? 'far above plateau'
          : testing && beyond && this.#beyondTwice && this.suspicion >= 1 && tS - this.#changedS < STILL_S
            ? 'test'
            : null;
    if (by === null) return null;
    const climb: Climb = {
      saidAtS: tS,
      by,
      plateauC: plateau,
      assumed: this.#assumed,
      limitC: by === 'limit' ? this.#limitC : by === 'test' ? faultC! : farAbove(plateau!),
      fromS: this.#recent[0]!.tS,
      toS: tS,
      peakC: ect,
      saidC: ect,
      slope: this.slope() ?? { perMin: 0, interval: [0, 0] },
      cameBack: false,
      byRegime: new Map(),
    };
    this.#start(climb);
    this.#now = climb;
    this.#stood = false;
    this.#wellS = 0;
    if (this.climbs.length < MOST_CLIMBS) this.climbs.push(climb);
    return climb;
  }

  #follow(climb: Climb, bin: Bin, ect: number, regime: Regime, plateau: number | null): void {
    climb.toS = bin.tS;
    if (ect > climb.peakC) climb.peakC = ect;
    const aboveC = climb.peakC - (climb.plateauC ?? Number.NEGATIVE_INFINITY);
    const back = Math.max(CLEAR_C, BACK_SHARE * aboveC);
    this.#stood ||= !bin.running;
    climb.cameBack ||= !this.#stood && climb.peakC - ect >= back;
    const n = this.#recent.length;
    if (n >= 2) addRise(climb, regime.name, this.#recent[n - 2]!.ect, ect);
    const well = ect < this.#limitC - CLEAR_BELOW_LIMIT_C && (plateau === null || ect <= plateau + CLEAR_C);
    this.#wellS = well ? this.#wellS + BIN_S : 0;
    if (this.#wellS < CLEAR_S) return;
    this.#now = null;
    this.#test.reset();
  }

  /** @param fansC at a stand a fan is waited for up to here, °C */
  #observe(
    tS: number,
    ect: number,
    plateau: number | null,
    fansC: number,
    trusted: boolean,
    falls: boolean,
  ): void {
    this.#fellS = falls ? this.#fellS + BIN_S : 0;
    if (this.#now) {
      this.#watch = null;
      return;
    }
    if (this.#watch) {
      const back = plateau === null ? ect < HIGH_C : ect <= plateau + WATCH_END_C;
      const waits = !this.exceeds && plateau !== null && ect <= fansC;
      if (back || waits || this.#fellS >= CLEAR_S) this.#watch = null;
      return;
    }
    const rises = (this.slope()?.interval[0] ?? 0) > 0 && this.slope()!.perMin >= WATCH_C_PER_MIN;
    if (!trusted || !rises || falls) return;
    // Above where it would end at once, and a degree of the reading.
    const high =
      ect >= HIGH_C && (plateau === null || ect > Math.max(fansC, plateau + WATCH_END_C + READING_C));
    if (this.exceeds || high) this.#watch = { saidAtS: tS, fromC: ect, noPlateau: plateau === null };
  }

  /** The rise began at the last low of the remembered minutes. */
  #start(climb: Climb): void {
    const k = lastLow(this.#recent);
    climb.fromS = this.#recent[k]!.tS;
    for (let i = k + 1; i < this.#recent.length; i++)
      addRise(climb, this.#recent[i]!.regime, this.#recent[i - 1]!.ect, this.#recent[i]!.ect);
  }
}

/** Where the lowest stands, the last of several. */
function lastLow(points: readonly Point[]): number {
  let k = 0;
  for (let i = 1; i < points.length; i++) if (points[i]!.ect <= points[k]!.ect) k = i;
  return k;
}

const farAbove = (plateau: number): number => Math.max(NET_FROM_C, plateau + NET_ABOVE_C);

function addRise(climb: Climb, name: RegimeName, beforeC: number, ect: number): void {
  if (ect >= MAY_BOIL_C) return;
  const riseC = ect - beforeC;
  const entry = climb.byRegime.get(name);
  if (entry) {
    entry.riseC += riseC;
    entry.s += BIN_S;
  } else climb.byRegime.set(name, { riseC, s: BIN_S });
}

/** Least squares. The interval takes steps as half independent: coolant readings are rounded and smooth. */
function fitted(points: readonly Point[]): Slope {
  const { slope, sse, sxx } = leastSquares(
    points.map((p) => p.tS),
    points.map((p) => p.ect),
  );
  const sd = Math.sqrt(sse / Math.max(1, points.length - 2) + READING_VARIANCE_C2);
  const half = 2 * Math.SQRT2 * (sd / Math.sqrt(Math.max(sxx, 1))) * 60;
  return { perMin: slope * 60, interval: [slope * 60 - half, slope * 60 + half] };
}
