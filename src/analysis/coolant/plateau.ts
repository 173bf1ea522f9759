/** Where this engine's coolant settles: states from cold to settled, and the plateau learned on the way. */
import type { CoolantView } from '../types.ts';
import { BIN_S, type Bin } from './bins.ts';
import type { Regime } from './envelope.ts';

/** An engine that is warm stands at or above this when nothing better is known (common practice: 80 to 105 °C). */
const WARMED_C = 78;
/** With an entered thermostat an engine is warm from so far below it (common practice, no source). */
const WARM_BELOW_C = 10;
const PLATEAU_SETTLES_S = 300;
/** Of that the later part is learned. Not known how chosen. */
const LEARNED_SHARE = 0.8;
/**
 * What it held for so long of late, within so much, counts alone where it lies so far above the whole: fast light driving
 * (103 km/h at 25 °C) held a simulated coolant at 87 °C and the town after it at 90; the next hill was called a fault at
 * 92 °C. Chosen by hand on it; of the 80 open drives no verdict and no delay of a climb moves, of 2 °C seven do.
 */
const LATELY_S = 60;
const HELD_SPAN_C = 1;
const HOLDS_MORE_C = 2.5;
/** The thermostat opens where the rise over so long slows down to this. Not known how chosen. */
const OPENS_S = 60;
const OPENS_C_PER_MIN = 1;
/** Colder is called cold, a word for people; and no coolant is hotter (common practice, no source). */
const COLD_BELOW_C = 50;
const TOP_PLATEAU_C = 160;
const PLATEAU_BINS = PLATEAU_SETTLES_S / BIN_S;
/** While settling, the last three minutes may not span or drift more than this. Chosen by hand, not measured. */
const STILL_OVER_S = 180;
export const STILL_SPAN_C = 6;
const STILL_C_PER_MIN = 1;
/**
 * Readings this far from the plateau teach nothing about it; it may not creep further than CREEP_C from its first
 * value. Chosen by hand, not measured.
 */
const TEACH_BELOW_C = 4;
const TEACH_ABOVE_C = 2;
const CREEP_C = 1;
/** It learns from what is so old: a slow climb must not teach its own plateau. Chosen by hand, not measured. */
const DELAY = 600 / BIN_S;
/**
 * From here on a reading without a plateau is not called opening or settling (common practice: few thermostats
 * control higher).
 */
export const HIGH_C = 97;
/** Or, with an entered thermostat, so far above its opening (common practice: fully open 8 to 12 °C above). */
const HIGH_ABOVE_C = 8;

/**
 * In air colder than this light driving lets the coolant sag below the thermostat (KIT, −12 to +6 °C: 78 to 88 °C under
 * a plateau of 90): a level learned there is not yet proved to be the plateau.
 */
export const COOL_AIR_C = 10;
export const warmAir = (bin: Bin): boolean => bin.air !== null && bin.air >= COOL_AIR_C;
/**
 * What is held at speed under at least this share of the run's mean heat is the plateau: so long, within so much (KIT:
 * 89 to 91 °C in each of 40 trips). Before it settled only after it stood higher, so that the thermostat was seen to
 * open; warm air lets no driving sag, there it may be slower. So it proved none more than 2 °C below the run's own (68
 * open drives).
 */
export const ASKED_KMH = 50;
const ASKED_WARM_AIR_KMH = 20;
const ASKED_LOAD = 0.9;
export const ASKED_S = 120;
const ASKED = ASKED_S / BIN_S;
const ASKED_SPAN_C = 2;
const ASKED_AFTER_C = 1;
/** A reading that stood still for so long may be stuck and proves nothing. Chosen by hand, not measured. */
const ASKED_STILL_S = 60;
/**
 * Until then the thermostat may let it stand as high as this (common practice: few control higher); where
 * nothing told of cool air, in which alone it sags, as high as that (common practice: 80 to 92 °C); or so far above the
 * entered opening temperature.
 */
const UNPROVED_C = HIGH_C;
const UNPROVED_AIR_C = 92;
const UNPROVED_ABOVE_C = 5;
/**
 * Before it has settled the highest reading of the first so long since it got warm stands for the plateau. Chosen
 * by hand, not measured.
 */
const EARLY_S = 180;

export type Phase = Exclude<CoolantView['state'], 'no data' | 'rising' | 'climbing'>;

export class Plateau {
  readonly #warmC: number;
  readonly #highC: number;
  readonly #openC: number | null;
  readonly #recent: number[] = [];
  readonly #counts = new Float64Array(2 * TOP_PLATEAU_C + 1);
  #total = 0;
  #waiting: number[] = [];
  #early = 0;
  #reached = false;
  #settlingS = 0;
  #first: number | null = null;
  #plateau: number | null = null;
  #proved = false;
  #coolAir = false;
  /** Readings while the driving asked, each with the highest before it since the coolant got warm. */
  #asked: { readonly ect: number; readonly highestC: number }[] = [];
  #highestC = Number.NEGATIVE_INFINITY;
  /** What was held while it settled. */
  #held: readonly number[] | null = null;
  #lastC = Number.NaN;
  #stillS = 0;
  #phase: Phase = 'cold';
  settledFromS: number | null = null;

  /** @param thermostatC its opening temperature when the profile says it, or null */
  constructor(thermostatC: number | null) {
    this.#warmC = thermostatC === null ? WARMED_C : thermostatC - WARM_BELOW_C;
    this.#highC = Math.max(HIGH_C, (thermostatC ?? 0) + HIGH_ABOVE_C);
    this.#openC = thermostatC === null ? null : thermostatC + UNPROVED_ABOVE_C;
  }

  get phase(): Phase {
    return this.#phase;
  }

  /** Learned in this run, °C. */
  get learnedC(): number | null {
    return this.#plateau;
  }

  /** False while the level may be a sag below the thermostat. */
  get proved(): boolean {
    return this.#proved;
  }

  /** The plateau that a climb is held against, never a sag; before it has settled a first guess. °C. */
  get referenceC(): number | null {
    const level = this.#plateau ?? (this.#settlingS >= EARLY_S ? this.#early : null);
    if (level === null || this.#proved) return level;
    if (this.#plateau === null && this.#held !== null) return Math.max(level, ...this.#held);
    return Math.max(level, this.#openC ?? (this.#coolAir ? UNPROVED_C : UNPROVED_AIR_C));
  }

  get settled(): boolean {
    return this.#phase === 'settled';
  }

  /**
   * @param teach false while the reading is doubtful
   * @param alarm a level held during an alarm is no plateau
   */
  step(bin: Bin, regime: Regime, teach: boolean, alarm = false): void {
    const { ect } = bin;
    if (ect === null || !bin.running) return;
    this.#coolAir ||= bin.air !== null && !warmAir(bin);
    if (bin.unstuck && !alarm) this.#forget();
    this.#recent.push(ect);
    if (this.#recent.length > PLATEAU_BINS) this.#recent.shift();
    this.#stillS = ect === this.#lastC && bin.low === bin.high ? this.#stillS + BIN_S : 0;
    this.#lastC = ect;
    this.#highestC = Math.max(this.#highestC, ect);
    if (this.#plateau !== null) {
      if (!teach || alarm) return;
      this.#teach(ect);
      const held = this.#proved ? null : this.#holds(bin, regime, ect);
      if (held !== null) this.#prove(held);
      return;
    }
    if (ect < this.#warmC) {
      this.#reached = false;
      this.#heldNothing();
      this.#early = 0;
      this.#settlingS = 0;
      this.#phase = ect < COLD_BELOW_C ? 'cold' : 'warming';
      return;
    }
    if (!this.#reached) {
      this.#phase = ect < this.#highC ? 'opening' : 'no plateau';
      // The slope breaks when the thermostat opens.
      if (this.#drift(OPENS_S) > OPENS_C_PER_MIN) return;
      this.#reached = true;
    }
    this.#phase = ect < this.#highC ? 'settling' : 'no plateau';
    if (this.#settlingS < EARLY_S) this.#early = Math.max(this.#early, ect);
    this.#settlingS += BIN_S;
    if (teach && !alarm && ect < this.#highC) {
      const held = this.#holds(bin, regime, ect);
      // Before it settled a level counts only once the thermostat was seen to open.
      const opened = held !== null && this.#asked[0]!.highestC >= middle(held) + ASKED_AFTER_C;
      if (opened) this.#held = held;
    }
    const level = this.#level();
    const low = ect < this.#highC && middle(level) < this.#highC;
    if (!alarm && low && this.#settlingS >= PLATEAU_SETTLES_S && this.#still()) {
      this.#settle(level);
      this.#proved = warmAir(bin);
      if (!this.#proved && this.#held !== null) this.#prove(this.#held);
      this.#asked = [];
      this.settledFromS = bin.tS;
    }
  }

  /** Readings that a plateau is learned from, in order: the later ones alone where the thermostat has come to hold more than it did before. */
  #level(): number[] {
    const sorted = (from: number): number[] => this.#recent.slice(from).sort((a, b) => a - b);
    const level = sorted(-PLATEAU_BINS * LEARNED_SHARE);
    const lately = sorted(-LATELY_S / BIN_S);
    const holds = lately[lately.length - 1]! - lately[0]! <= HELD_SPAN_C;
    return holds && middle(lately) - middle(level) >= HOLDS_MORE_C ? lately : level;
  }

  /** What was learned of a stuck reading. */
  #forget(): void {
    this.#recent.length = 0;
    this.#heldNothing();
    this.#plateau = null;
    this.#proved = false;
    this.#reached = false;
    this.#early = 0;
    this.#settlingS = 0;
    this.settledFromS = null;
  }

  #heldNothing(): void {
    this.#asked = [];
    this.#held = null;
    this.#highestC = Number.NEGATIVE_INFINITY;
  }

  #settle(level: readonly number[]): void {
    const sorted = [...level].sort((a, b) => a - b);
    this.#first = middle(sorted);
    this.#plateau = this.#first;
    this.#phase = 'settled';
    this.#counts.fill(0);
    this.#total = 0;
    this.#waiting = [];
    for (const v of sorted) this.#count(v);
  }

  #teach(ect: number): void {
    const d = ect - this.#plateau!;
    if (d < -TEACH_BELOW_C || d > TEACH_ABOVE_C) return;
    this.#waiting.push(ect);
    if (this.#waiting.length <= DELAY) return;
    this.#count(this.#waiting.shift()!);
    const first = this.#first!;
    this.#plateau = Math.min(first + CREEP_C, Math.max(first - CREEP_C, this.#median()));
  }

  /** What the coolant held while the driving asked the thermostat, in order; null while it did not. */
  #holds(bin: Bin, regime: Regime, ect: number): readonly number[] | null {
    const fromKmh = warmAir(bin) ? ASKED_WARM_AIR_KMH : ASKED_KMH;
    if ((regime.kmh ?? 0) < fromKmh || (regime.load ?? 0) < ASKED_LOAD || this.#stillS >= ASKED_STILL_S)
      return null;
    this.#asked.push({ ect, highestC: this.#highestC });
    if (this.#asked.length > ASKED) this.#asked.shift();
    const held = this.#asked.map((a) => a.ect).sort((a, b) => a - b);
    const still = held[held.length - 1]! - held[0]! <= ASKED_SPAN_C;
    return held.length === ASKED && still ? held : null;
  }

  #prove(held: readonly number[]): void {
    // A level below the plateau is a sag or an open thermostat, never the better plateau.
    if (held[0]! < this.#plateau! - TEACH_BELOW_C || middle(held) >= this.#highC) return;
    this.#proved = true;
    this.#settle(held);
  }

  #count(v: number): void {
    const k = Math.min(2 * TOP_PLATEAU_C, Math.max(0, Math.round(v * 2)));
    this.#counts[k]!++;
    this.#total++;
  }

  #median(): number {
    let left = this.#total / 2;
    for (let k = 0; k < this.#counts.length; k++) {
      left -= this.#counts[k]!;
      if (left <= 0) return k / 2;
    }
    return this.#plateau!;
  }

  #still(): boolean {
    const last = this.#recent.slice(-STILL_OVER_S / BIN_S);
    return (
      Math.max(...last) - Math.min(...last) <= STILL_SPAN_C &&
      Math.abs(this.#drift(STILL_OVER_S)) <= STILL_C_PER_MIN
    );
  }

  /** Mean slope over the last `overS` seconds of running, °C/min. */
  #drift(overS: number): number {
    const n = overS / BIN_S;
    const r = this.#recent;
    if (r.length < n) return Number.POSITIVE_INFINITY;
    return ((r[r.length - 1]! - r[r.length - n]!) / (overS - BIN_S)) * 60;
  }
}

const middle = (sorted: readonly number[]): number => sorted[sorted.length >> 1]!;
