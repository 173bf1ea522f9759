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
/** The thermostat opens where the rise over so long slows down to this. Not known how chosen. */
const OPENS_S = 60;
const OPENS_C_PER_MIN = 1;
/** Colder is called cold, a word for people; and no coolant is hotter (common practice, no source). */
const COLD_BELOW_C = 50;
const TOP_PLATEAU_C = 160;
const PLATEAU_BINS = PLATEAU_SETTLES_S / BIN_S;
/** While settling, the last three minutes may not span or drift more than this. Chosen by hand, not measured. */
const STILL_OVER_S = 180;
const STILL_SPAN_C = 6;
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
 * 89 to 91 °C in each of 40 trips).
 */
const ASKED_KMH = 50;
const ASKED_LOAD = 0.9;
const ASKED = 120 / BIN_S;
const ASKED_SPAN_C = 2;
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
  #asked: number[] = [];
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
    if (this.#plateau !== null) {
      if (!teach || alarm) return;
      this.#teach(ect);
      this.#prove(regime, ect);
      return;
    }
    if (ect < this.#warmC) {
      this.#reached = false;
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
    if (!alarm && ect < this.#highC && this.#settlingS >= PLATEAU_SETTLES_S && this.#still()) {
      this.#settle(this.#recent.slice(-PLATEAU_BINS * LEARNED_SHARE));
      this.#proved = warmAir(bin);
      this.settledFromS = bin.tS;
    }
  }

  /** What was learned of a stuck reading. */
  #forget(): void {
    this.#recent.length = 0;
    this.#asked = [];
    this.#plateau = null;
    this.#proved = false;
    this.#reached = false;
    this.#early = 0;
    this.#settlingS = 0;
    this.settledFromS = null;
  }

  #settle(level: readonly number[]): void {
    const sorted = [...level].sort((a, b) => a - b);
    this.#first = sorted[sorted.length >> 1]!;
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

  #prove(regime: Regime, ect: number): void {
    if (this.#proved || (regime.kmh ?? 0) < ASKED_KMH || (regime.load ?? 0) < ASKED_LOAD) return;
    this.#asked.push(ect);
    if (this.#asked.length > ASKED) this.#asked.shift();
    if (this.#asked.length < ASKED || Math.max(...this.#asked) - Math.min(...this.#asked) > ASKED_SPAN_C)
      return;
    // A level below the plateau is a sag or an open thermostat, never the better plateau.
    if (ect < this.#plateau! - TEACH_BELOW_C) return;
    this.#proved = true;
    this.#settle(this.#asked);
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
