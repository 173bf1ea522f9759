/** Watches for coolant readings that swing by several degrees within seconds: air bubbles passing the sensor. */
import type { CleanSample } from '../types.ts';

/** One swing: this far, too quick for a mass of water, yet not the instant step of a broken contact. */
const SWING_C = 5;
const WITHIN_S = 20;
/** This many swings, up and down in turn, within this time. */
const SWINGS = 5;
const DURING_S = 600;
/** A flagged reading near by makes it the sensor's matter. */
const FLAG_S = 30;

export interface Jumps {
  readonly saidAtS: number;
  readonly fromS: number;
  toS: number;
  swings: number;
  largestC: number;
}

export class JumpWatch {
  #extreme: { tS: number; value: number } | null = null;
  #direction = 0;
  #flaggedS = Number.NEGATIVE_INFINITY;
  readonly #times: number[] = [];
  #largest = 0;
  found: Jumps | null = null;

  /** True when this sample makes the finding. */
  step(s: CleanSample, running: boolean): boolean {
    if (s.signal !== 'ect_c') return false;
    const tS = s.tUs / 1e6;
    if (s.flag !== null || !running) {
      if (s.flag !== null) this.#flaggedS = tS;
      this.#extreme = null;
      return false;
    }
    const e = this.#extreme;
    if (e === null || tS - e.tS > WITHIN_S) {
      this.#extreme = { tS, value: s.value };
      return false;
    }
    const d = s.value - e.value;
    if (Math.abs(d) < SWING_C) {
      // The extreme follows the reading onward in the direction of the last swing.
      if (d * this.#direction > 0) this.#extreme = { tS, value: s.value };
      return false;
    }
    this.#extreme = { tS, value: s.value };
    const turned = Math.sign(d) !== this.#direction;
    this.#direction = Math.sign(d);
    if (!turned || tS - this.#flaggedS < FLAG_S) return false;
    return this.#swing(tS, Math.abs(d));
  }

  #swing(tS: number, size: number): boolean {
    this.#largest = Math.max(this.#largest, size);
    this.#times.push(tS);
    while (this.#times.length > 0 && tS - this.#times[0]! > DURING_S) this.#times.shift();
    if (this.found) {
      this.found.toS = tS;
      this.found.swings++;
      this.found.largestC = this.#largest;
      return false;
    }
    if (this.#times.length < SWINGS) return false;
    this.found = {
      saidAtS: tS,
      fromS: this.#times[0]!,
      toS: tS,
      swings: this.#times.length,
      largestC: this.#largest,
    };
    return true;
  }
}
