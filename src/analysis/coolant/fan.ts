/** Watches what happens at a stand: whether heat is carried off without driving wind, which only a fan can do for long. */
import type { Says } from '../../core/says.ts';
import type { Given } from '../given.ts';
import { say as sayLeg } from '../leg-says.ts';
import { BIN_S, BIN_STALE_S, type Bin } from './bins.ts';

/** Slower than this the vehicle stands, as far as the driving wind goes. Chosen by hand, not measured. */
const STANDING_KMH = 5;
/**
 * Seen to work: standing, the coolant came this far above the plateau and was brought back by so much. Chosen by
 * hand, not measured.
 */
export const ABOVE_C = 4;
export const FAN_BACK_C = 2;
/**
 * A fall is of the mean of so long, so that the scatter of the readings brings nothing back: with one reading in 5 s that scatters
 * by 0.8 °C four of 31 simulated dead fans were seen to work by single readings. Chosen by hand on those.
 */
const MEAN_S = 30;
/** What a leg shows of a fan that was asked and not yet seen. By definition between nothing and all. */
const ASKED_SHARE = 0.5;
/** A stand that raises the coolant by this much asks for the fan (open drives: 2 of 26 do, the others by 2 °C at most). */
const ASKS_C = 2.5;
/**
 * A stand that holds the mean of half a minute here asks for the fan, wherever the coolant settles: most cut in at 92 to 100 °C
 * (common practice, no source).
 */
export const DUE_C = 100;
/**
 * With a known switching temperature: this far above it, this long at a stand, and not falling, the fan is missing.
 * Chosen by hand, not measured.
 */
export const BEYOND_C = 6;
export const BEYOND_S = 30;

/**
 * A stand of this length that did not ask for the fan, or asked and did not bring it, is not driven on for it. Chosen by hand,
 * not measured.
 */
export const UNASKED_S = 120;
export const UNSEEN_S = 600;

/** While it may still come, and when it is waited for no longer. */
const UNASKED = ['leg.left.fan', 'leg.left.fan-over'] as const;
const ASKED = ['leg.left.fan-asked', 'leg.left.fan-unseen'] as const;

export interface FanMissing {
  readonly saidAtS: number;
  readonly fromS: number;
  readonly ectC: number;
  readonly on: FanOn;
}

/** At which coolant temperature the fan cuts in, or from where it has turned the coolant around, °C, and who says it. */
export interface FanOn {
  readonly value: number;
  readonly source: Says;
  /** Other cars of the kind that say it. */
  readonly cars?: number;
}

export class FanWatch {
  readonly #on: FanOn | null;
  #fromS: number | null = null;
  #low = Number.POSITIVE_INFINITY;
  #peak = Number.NEGATIVE_INFINITY;
  /** The newest readings of this stand, and the highest mean of as many, °C. */
  #newest: number[] = [];
  #highest = Number.NEGATIVE_INFINITY;
  /** Largest rise within this stand, °C. */
  #rise = 0;
  #beyondS = 0;
  #beyondC = 0;
  /** This stand with the plateau known, and the longest one, s. */
  #standS = 0;
  #longestS = 0;
  #settled = false;
  #toS: number | null = null;
  /** When a rise at a stand was seen to be turned around, and when that stand began, run seconds. */
  seenFromS: number | null = null;
  seenAtS: number | null = null;
  /** From where it was, °C. */
  seenC: number | null = null;
  /** The highest mean of the stands at which a fan was due, °C; and that at one of them it came back by FAN_BACK_C. */
  dueC: number | null = null;
  dueBack = false;
  /** The highest mean of a stand that asked, °C. */
  #askedC = Number.NEGATIVE_INFINITY;
  /** When a stand raised the coolant and ended before it was brought back, run seconds; answered once the fan is seen. */
  askedAtS: number | null = null;
  missing: FanMissing | null = null;

  /** @param on when it is known from where on the fan cuts in */
  constructor(on: FanOn | null) {
    this.#on = on;
  }

  /** True when the drive called for the fan: it ran, it failed, or a stand ended too soon to tell. */
  get asked(): boolean {
    return this.missing !== null || this.seenAtS !== null || this.askedAtS !== null;
  }

  /** The highest mean of a stand that asked, °C; null where none did. */
  get askedC(): number | null {
    return Number.isFinite(this.#askedC) ? this.#askedC : null;
  }

  /** A stand brought the coolant to where a fan is due, and none was seen to bring it back. */
  get unanswered(): boolean {
    return this.seenAtS === null && this.#askedC >= DUE_C;
  }

  /**
   * @param plateau learned in this run, °C, or null
   * @param trusted false while readings are doubtful or the block gives back heat
   * @returns true when this step finds the fan missing
   */
  step(bin: Bin, plateau: number | null, trusted: boolean): boolean {
    const { ect, tS } = bin;
    this.#settled = plateau !== null;
    const stands = bin.speed !== null && bin.speed < STANDING_KMH;
    // A hole may hide a drive, or a stop.
    if (ect === null || !bin.running || !trusted || !stands || bin.holeS > BIN_STALE_S) {
      this.#fromS = null;
      this.#low = Number.POSITIVE_INFINITY;
      this.#peak = Number.NEGATIVE_INFINITY;
      this.#newest = [];
      this.#highest = Number.NEGATIVE_INFINITY;
      this.#rise = 0;
      this.#beyondS = 0;
      this.#standS = 0;
      return false;
    }
    this.#fromS ??= tS;
    if (plateau !== null) {
      this.#standS += BIN_S;
      this.#longestS = Math.max(this.#longestS, this.#standS);
      this.#toS = tS;
    }
    this.#low = Math.min(this.#low, ect);
    this.#peak = Math.max(this.#peak, ect);
    const mean = this.#mean(ect);
    this.#highest = Math.max(this.#highest, mean);
    this.#rise = Math.max(this.#rise, ect - this.#low);
    if (mean >= DUE_C && this.#newest.length === MEAN_S / BIN_S) {
      this.askedAtS ??= tS;
      this.#askedC = Math.max(this.#askedC, mean);
      this.dueC = Math.max(this.dueC ?? mean, mean);
    }
    this.dueBack ||= this.#highest >= DUE_C && mean <= this.#highest - FAN_BACK_C;
    if (plateau !== null && this.#rise >= ASKS_C) {
      if (ect > plateau) this.askedAtS ??= tS;
      this.#askedC = Math.max(this.#askedC, mean);
      // Heat that was there when the stand began (a hot restart) may go without a fan.
      if (this.#peak >= plateau + ABOVE_C && mean <= this.#highest - FAN_BACK_C) {
        this.seenFromS ??= this.#fromS;
        this.seenAtS ??= tS;
        this.seenC ??= this.#peak;
      }
    }
    return this.#isMissing(ect, tS);
  }

  /** What it has of a stand. */
  given(): Given {
    const at = this.missing?.saidAtS ?? this.seenAtS;
    if (at !== null) return { share: 1, left: null, fromS: this.missing?.fromS ?? this.seenFromS, toS: at };
    const asked = this.askedAtS !== null;
    const over = this.#longestS >= (asked ? UNSEEN_S : UNASKED_S);
    return {
      share: asked ? ASKED_SHARE : 0,
      left: this.#toS === null ? null : sayLeg(asked ? ASKED[over ? 1 : 0] : UNASKED[over ? 1 : 0]),
      over,
      early: !this.#settled,
      fromS: this.askedAtS,
      toS: this.askedAtS === null ? null : this.#toS,
    };
  }

  #mean(ect: number): number {
    this.#newest.push(ect);
    if (this.#newest.length > MEAN_S / BIN_S) this.#newest.shift();
    return this.#newest.reduce((a, c) => a + c, 0) / this.#newest.length;
  }

  #isMissing(ect: number, tS: number): boolean {
    const on = this.#on;
    if (on === null || this.missing !== null) return false;
    const beyond = ect >= on.value + BEYOND_C && (this.#beyondS === 0 || ect >= this.#beyondC);
    this.#beyondS = beyond ? this.#beyondS + BIN_S : 0;
    this.#beyondC = ect;
    if (this.#beyondS < BEYOND_S) return false;
    this.missing = { saidAtS: tS, fromS: this.#fromS ?? tS, ectC: ect, on };
    return true;
  }
}
