/** Where this engine's coolant settles: states from cold to settled, and the plateau learned on the way. */
import type { CoolantView } from '../types.ts';
import { BIN_S, type Bin } from './bins.ts';

/** An engine that is warm stands at or above this when nothing better is known (common practice: 80 to 105 °C). */
const WARM_C = 78;
const SETTLE_S = 300;
const WINDOW = SETTLE_S / BIN_S;
/** While settling, the last three minutes may not span or drift more than this. */
const STILL_SPAN_C = 6;
const STILL_C_PER_MIN = 1;
/** Readings this far from the plateau teach nothing about it. */
const TEACH_BELOW_C = 4;
const TEACH_ABOVE_C = 2;
/** The plateau may not creep further than this from where it was first found, or a slow ramp would teach it. */
const CREEP_C = 1;

/** A healthy plateau differs this much between drives (open drives: 89 to 93 and 86 to 87 °C). */
const ABOVE_KNOWN_C = 4;

export type Phase = Exclude<CoolantView['state'], 'no data' | 'climbing'>;

export class Plateau {
  readonly #known: number | null;
  readonly #warmC: number;
  readonly #recent: number[] = [];
  readonly #counts = new Float64Array(321);
  #total = 0;
  #reached = false;
  #settlingS = 0;
  #first: number | null = null;
  #plateau: number | null = null;
  #phase: Phase = 'cold';
  settledFromS: number | null = null;

  /** @param known plateau from the baseline or the profile, °C, or null */
  constructor(known: number | null) {
    this.#known = known;
    this.#warmC = known === null ? WARM_C : known - 8;
  }

  get phase(): Phase {
    return this.#phase;
  }

  /** °C; learned in the run, else what was known before it. A run may not teach a plateau far above the known one. */
  get valueC(): number | null {
    if (this.#plateau === null || this.#known === null) return this.#plateau ?? this.#known;
    return Math.min(this.#plateau, this.#known + ABOVE_KNOWN_C);
  }

  /** Learned in this run. */
  get learnedC(): number | null {
    return this.#plateau;
  }

  get settled(): boolean {
    return this.#phase === 'settled';
  }

  /** Settled, or warm for long enough on an engine whose plateau was known before. */
  get watchable(): boolean {
    return this.settled || (this.#known !== null && this.#settlingS >= SETTLE_S);
  }

  /**
   * @param teach false while something is wrong with the reading or the engine stands
   * @param climbing a level held during an alarm is no plateau
   */
  step(bin: Bin, teach: boolean, climbing = false): void {
    const { ect } = bin;
    if (ect === null || !bin.running) return;
    this.#recent.push(ect);
    if (this.#recent.length > WINDOW) this.#recent.shift();
    if (this.#plateau !== null) {
      if (teach) this.#teach(ect);
      return;
    }
    if (ect < this.#warmC) {
      this.#reached = false;
      this.#settlingS = 0;
      this.#phase = ect < 50 ? 'cold' : 'warming';
      return;
    }
    if (!this.#reached) {
      this.#phase = 'opening';
      // The slope breaks when the thermostat opens.
      if (this.#drift(60) > 1) return;
      this.#reached = true;
    }
    this.#phase = 'settling';
    this.#settlingS += BIN_S;
    if (!climbing && this.#settlingS >= SETTLE_S && this.#still()) this.#settle(bin.tS);
  }

  #settle(tS: number): void {
    const sorted = this.#recent.slice(-WINDOW * 0.8).sort((a, b) => a - b);
    this.#first = sorted[sorted.length >> 1]!;
    this.#plateau = this.#first;
    this.#phase = 'settled';
    this.settledFromS = tS;
    for (const v of sorted) this.#count(v);
  }

  #teach(ect: number): void {
    const d = ect - this.#plateau!;
    if (d < -TEACH_BELOW_C || d > TEACH_ABOVE_C) return;
    this.#count(ect);
    const first = this.#first!;
    this.#plateau = Math.min(first + CREEP_C, Math.max(first - CREEP_C, this.#median()));
  }

  #count(v: number): void {
    const k = Math.min(320, Math.max(0, Math.round(v * 2)));
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
    const last = this.#recent.slice(-180 / BIN_S);
    return (
      Math.max(...last) - Math.min(...last) <= STILL_SPAN_C && Math.abs(this.#drift(180)) <= STILL_C_PER_MIN
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
