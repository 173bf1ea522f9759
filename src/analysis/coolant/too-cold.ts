/** Watches for coolant that does not get warm, or sags when the vehicle drives: a thermostat that stays open. */
import { BIN_S, type Bin } from './bins.ts';

/** Below this an engine that has been driven is not warm, when nothing better is known (common practice). */
const LOW_C = 78;
/**
 * After this much driving so is one that stands below this and has all but stopped rising (KIT: at most 80 °C after
 * 12 minutes with a slope below 0.5 °C/min in none of 77 healthy trips).
 */
const LONG_LOW_C = 80;
const LONG_S = 720;
const LONG_RISE_C = 2;
/**
 * Under a known plateau a healthy thermostat has long closed here; a winter drive of the open data stood 8 °C below
 * its plateau for three minutes, ten minutes after the start.
 */
const EARLY_BELOW_C = 10;
const BELOW_PLATEAU_C = 7;
/**
 * Four minutes of driving under power below the limit raised the coolant of the open drives by 11 °C at the very
 * least, in a winter jam; this much is no warm-up.
 */
const WINDOW = 240 / BIN_S;
const LEAST_RISE_C = 4;
const FIRST_S = 360;
const HOLD_S = 60;
/**
 * A reading that does not change at all may be a stuck sensor: it must stand this much longer, and below this no
 * thermostat explains it (the sensor's own finding does).
 */
const FROZEN_S = 600;
const FROZEN_FROM_C = 60;
/** Once settled: this far below the plateau, this long, under power. */
const SAG_C = 9;
const SAG_S = 180;
/** Standing or slower than this says nothing: the heater may take all the heat that an idling engine gives. */
const ACTIVE_KMH = 5;

export interface TooCold {
  readonly saidAtS: number;
  readonly by: 'never warm' | 'sag';
  readonly fromS: number;
  toS: number;
  /** Coolant when it was said, °C, and its change over the driving before. */
  readonly ectC: number;
  readonly riseC: number;
  readonly limitC: number;
  readonly activeS: number;
  /** The reading did not change at all: the sensor may be the story. */
  readonly frozen: boolean;
}

export class TooColdWatch {
  readonly lowC: number;
  readonly #earlyC: number;
  readonly #lateC: number;
  readonly #rises = new Float64Array(WINDOW);
  #k = 0;
  #filled = 0;
  #sum = 0;
  #last: { ect: number; tS: number } | null = null;
  #holdS = 0;
  #sagS = 0;
  #sagFromS = 0;
  #windowFromS = 0;
  #value = Number.NaN;
  #frozenS = 0;
  activeS = 0;
  found: TooCold | null = null;

  /** @param plateau known before the run, °C, or null */
  constructor(plateau: number | null) {
    this.#earlyC = plateau === null ? LOW_C : plateau - EARLY_BELOW_C;
    this.#lateC = plateau === null ? LONG_LOW_C : plateau - BELOW_PLATEAU_C;
    this.lowC = plateau === null ? LOW_C : plateau - BELOW_PLATEAU_C;
  }

  /** @param settledC the plateau learned in this run, or null; returns the finding when this step makes it. */
  step(bin: Bin, settledC: number | null): TooCold | null {
    const { ect, tS } = bin;
    const active =
      bin.running && (bin.speed === null || bin.speed >= ACTIVE_KMH) && (bin.heat === null || bin.heat > 0);
    if (!active || ect === null || bin.unsure) {
      this.#last = null;
      return null;
    }
    if (this.found) this.found.toS = tS;
    const follows = this.#last !== null && tS - this.#last.tS <= 2 * BIN_S;
    if (follows) this.#add(ect - this.#last!.ect, tS);
    this.#last = { ect, tS };
    this.activeS += BIN_S;
    this.#frozenS = ect === this.#value && bin.low === bin.high ? this.#frozenS + BIN_S : 0;
    this.#value = ect;
    if (this.found) return null;
    const stays = (limitC: number) => ect <= limitC && (settledC === null || settledC <= limitC + 1);
    const early = stays(this.#earlyC) && this.activeS >= FIRST_S && this.#sum <= LEAST_RISE_C;
    const late = stays(this.#lateC) && this.activeS >= LONG_S && this.#sum <= LONG_RISE_C;
    const stalled = (early || late) && this.#filled === WINDOW && this.#believable(WINDOW * BIN_S, ect);
    this.#holdS = stalled ? this.#holdS + BIN_S : 0;
    const sags = settledC !== null && ect <= settledC - SAG_C && this.#believable(SAG_S, ect);
    if (sags && this.#sagS === 0) this.#sagFromS = tS;
    this.#sagS = sags ? this.#sagS + BIN_S : 0;
    if (this.#holdS < HOLD_S && this.#sagS < SAG_S) return null;
    const sag = this.#sagS >= SAG_S;
    this.found = {
      saidAtS: tS,
      by: sag ? 'sag' : 'never warm',
      fromS: sag ? this.#sagFromS : this.#windowFromS,
      toS: tS,
      ectC: ect,
      riseC: this.#sum,
      limitC: sag ? settledC! - SAG_C : early ? this.#earlyC : this.#lateC,
      activeS: this.activeS,
      frozen: this.#frozenS >= FROZEN_S,
    };
    return this.found;
  }

  /** False while the reading stood still for most of `overS` as only a stuck sensor does. */
  #believable(overS: number, ect: number): boolean {
    return this.#frozenS < overS * 0.8 || (this.#frozenS >= FROZEN_S && ect >= FROZEN_FROM_C);
  }

  #add(rise: number, tS: number): void {
    this.#sum += rise - (this.#filled === WINDOW ? this.#rises[this.#k]! : 0);
    this.#rises[this.#k] = rise;
    this.#k = (this.#k + 1) % WINDOW;
    if (this.#filled < WINDOW) {
      if (this.#filled === 0) this.#windowFromS = tS;
      this.#filled++;
    } else this.#windowFromS = Math.max(this.#windowFromS, tS - 2 * WINDOW * BIN_S);
  }
}
