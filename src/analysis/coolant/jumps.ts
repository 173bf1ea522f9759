/** Watches for coolant readings that leave and come back within seconds: air bubbles passing the sensor. */
import type { CleanSample } from '../types.ts';

/** One swing: this far from where the coolant was, and back, in this time. Chosen by hand, not measured. */
export const SWING_C = 5;
const AWAY_C = 2.5;
const SWING_LEAST_S = 3;
export const SWING_MOST_S = 40;
const LEAST_READINGS = 3;
/**
 * What the coolant itself can do, °C/s; the swing is measured from a line that follows no faster. Chosen by hand,
 * not measured.
 */
const FOLLOWS_C_PER_S = 0.15;
/** A reading between there and the peak: a bubble comes and goes, a broken contact steps. Not known how chosen. */
const EDGE_C = 2;
/** A bound, chosen by hand: ten a second over the longest swing are not needed to see it come and go. */
const MOST_KEPT_READINGS = 200;
/** This many swings within this time. Chosen by hand, not measured. */
export const SWINGS = 5;
export const DURING_S = 600;
const JUMPS_HOLE_S = 5;

export interface Jumps {
  readonly saidAtS: number;
  readonly fromS: number;
  toS: number;
  swings: number;
  largestC: number;
}

interface Swing {
  readonly fromS: number;
  /** What was read before it and where it is farthest from the line, °C. */
  readonly before: number;
  farthest: number;
  readings: number[];
  peak: number;
}

export class JumpWatch {
  #line = Number.NaN;
  #lastS = Number.NaN;
  #last = Number.NaN;
  #swing: Swing | null = null;
  readonly #times: number[] = [];
  #largest = 0;
  #intervalS = 0;
  #readings = 0;
  found: Jumps | null = null;

  /** Mean seconds between readings; bubbles are seen only when they come quickly. */
  get everyS(): number {
    return this.#readings > 1 ? this.#intervalS / (this.#readings - 1) : Number.POSITIVE_INFINITY;
  }

  /** True when this sample makes the finding. Readings flagged for their rate are what is looked for here. */
  step(s: CleanSample, running: boolean): boolean {
    if (s.signal !== 'ect_c' || (s.flag !== null && s.flag !== 'rate')) return false;
    const tS = s.tUs / 1e6;
    const dtS = tS - this.#lastS;
    this.#lastS = tS;
    this.#readings++;
    if (!(dtS <= JUMPS_HOLE_S) || !running) {
      if (dtS > 0) this.#intervalS += Math.min(dtS, 2 * JUMPS_HOLE_S);
      this.#line = s.value;
      this.#last = s.value;
      this.#swing = null;
      return false;
    }
    this.#intervalS += dtS;
    const most = FOLLOWS_C_PER_S * dtS;
    const away = s.value - this.#line;
    this.#line += Math.min(most, Math.max(-most, away));
    const before = this.#last;
    this.#last = s.value;
    return this.#follow(tS, Math.abs(away), s.value, before);
  }

  #follow(tS: number, away: number, value: number, before: number): boolean {
    const swing = this.#swing;
    if (!swing) {
      if (away > AWAY_C) this.#swing = { fromS: tS, before, farthest: value, readings: [away], peak: away };
      return false;
    }
    if (away > AWAY_C) {
      if (away > swing.peak) swing.farthest = value;
      swing.peak = Math.max(swing.peak, away);
      if (swing.readings.length < MOST_KEPT_READINGS) swing.readings.push(away);
      if (tS - swing.fromS > SWING_MOST_S) {
        this.#line = value;
        this.#swing = null;
      }
      return false;
    }
    this.#swing = null;
    const gradual = swing.readings.some((a) => a < swing.peak - EDGE_C);
    if (swing.peak < SWING_C || !gradual) return false;
    if (swing.readings.length < LEAST_READINGS || tS - swing.fromS < SWING_LEAST_S) return false;
    // A quick warm-up leaves the line behind without ever turning back.
    const out = Math.abs(swing.farthest - swing.before);
    const back = Math.abs(swing.farthest - value);
    return Math.min(out, back) >= SWING_C && this.#count(tS, swing.peak);
  }

  #count(tS: number, size: number): boolean {
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
