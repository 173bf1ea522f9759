/** Watches for coolant that does not get warm, or sags when the vehicle drives: a thermostat that stays open. */
import type { Says } from '../../core/says.ts';
import { BIN_S, type Bin } from './bins.ts';
import type { Regime } from './envelope.ts';
import { warmAir } from './plateau.ts';

/** Below this an engine that has been driven is not warm, when nothing better is known (common practice). */
const LOW_C = 78;
/** After long driving so is one that stands below this (KIT: at most 80 °C after 12 minutes in none of 77 healthy trips). */
const LONG_LOW_C = 80;
/**
 * Under a known plateau a healthy thermostat has long closed so far below it; after long driving so far. Chosen
 * with the 80 open drives in view.
 */
export const RUNS_WARM_C = 85;
const EARLY_BELOW_C = 10;
const BELOW_PLATEAU_C = 7;
export const FIRST_S = 360;
export const LONG_S = 720;
/**
 * So much asking raised every sound engine below the limit by more than LEAST_RISE_C (open drives: 11 °C at the
 * least, in a winter jam); after long driving by more than LONG_RISE_C.
 */
export const RISE_OVER_S = 240;
const RISE_BINS = RISE_OVER_S / BIN_S;
const LEAST_RISE_C = 4;
/** By pressure or load light driving in cool air seems to ask as well: chosen on one drive (KIT, −10 °C, air mass left out: 4 °C). */
const UNSURE_RISE_C = 2;
export const LONG_RISE_C = 2;
export const COLD_HELD_S = 60;
/**
 * Once settled: this far below the plateau and not above RUNS_WARM_C, so long, and asking does not raise it (open
 * drives: 4 °C at the most, while they are asked).
 */
export const SAG_C = 6;
export const SAG_S = 120;
const SAG = SAG_S / BIN_S;
const SAG_RISE_C = 1;
/**
 * Standing or slower than this says nothing: the heater may take all the heat that an idling engine gives. Chosen
 * by hand, not measured.
 */
const ACTIVE_KMH = 5;
/**
 * In cool air the heater and the wind take what light driving gives (KIT, −12 °C: 57 °C for two minutes at 84 km/h on
 * a sound engine): there only this share of the run's mean heat asks, above this speed.
 */
export const COOL_LOAD = 0.9;
const COOL_KMH = 20;
/** Heat that nobody measures may be light load, unless the vehicle goes as fast as this. Not known how chosen. */
const UNSEEN_KMH = 60;
/**
 * A reading that does not change at all may be a stuck sensor: it must stand this much longer, and below this no
 * thermostat explains it (the sensor's own finding does). Chosen by hand, not measured.
 */
const COLD_STUCK_S = 600;
const FROZEN_FROM_C = 60;
/**
 * Still for so much of a window a reading may be stuck. Chosen on 240 files with stuck readings put into the 80 open
 * drives: 0.8 accused 3 of them, 0.7 2, 0.6 1, 0.5 none, for 351, 347, 345, 343 of 383 open thermostats found.
 */
const FROZEN_SHARE = 0.5;
/** A fall by so much while nothing was read for so long is a car that has stood: it warms up anew. Chosen by hand, not measured. */
const COOLED_C = 12;
const REST_S = 30;

export interface TooCold {
  readonly saidAtS: number;
  readonly by: 'never warm' | 'sag';
  readonly fromS: number;
  toS: number;
  /** Coolant when it was said, °C, and its change over the asking before. */
  readonly ectC: number;
  readonly riseC: number;
  readonly overS: number;
  /** At or below this it counts. */
  readonly limitC: number;
  readonly activeS: number;
  /** The reading did not change at all: the sensor may be the story. */
  readonly frozen: boolean;
}

/** Whether this step asks the thermostat: a sound one would let the coolant warm up. */
export function asks(bin: Bin, regime: Regime): boolean {
  if (!bin.running || (bin.speed !== null && bin.speed < ACTIVE_KMH)) return false;
  if (bin.heat === null) return bin.speed !== null && bin.speed >= UNSEEN_KMH;
  if (bin.heat <= 0) return false;
  if (warmAir(bin)) return true;
  return (regime.kmh ?? 0) >= COOL_KMH && (regime.load ?? 0) >= COOL_LOAD;
}

export class TooColdWatch {
  /** At or below this it is too cold after some driving, at or below lowC after long driving. */
  readonly earlyC: number;
  readonly lowC: number;
  /** Rise of each step that asked, oldest first, and when it ended. */
  readonly #steps: { readonly rise: number; readonly tS: number }[] = [];
  #last: { ect: number; tS: number } | null = null;
  /** The newest reading, asked or not. */
  #before: { ect: number; tS: number } | null = null;
  /** It stood and cooled down; false again once it is nearly back at its plateau. */
  #warmsAgain = false;
  #holdS = 0;
  #sagS = 0;
  #sagFromS = 0;
  #value = Number.NaN;
  #frozenS = 0;
  activeS = 0;
  /** What asking raises a sound engine by at least, °C, as the heat was told and in this air. */
  riseC = LEAST_RISE_C;
  found: TooCold | null = null;

  /** Who says the limits; null for the default. */
  readonly source: Says | null;

  /**
   * @param plateau at least, °C, as known before the run, or null. What healthy drives of the car teach only ever lowers
   *   the limits: a cooler thermostat than before is no fault, and more drives never make more alarms
   */
  constructor(
    plateau: { readonly value: number; readonly source: Says; readonly onlyLowers?: boolean } | null,
  ) {
    const below = (defaultC: number, byC: number): number => {
      if (plateau === null) return defaultC;
      const knownC = plateau.value - byC;
      if (plateau.onlyLowers) return Math.min(knownC, defaultC);
      // What no engine that runs warm does is not allowed by knowing its plateau.
      return plateau.value >= RUNS_WARM_C ? Math.max(knownC, defaultC) : knownC;
    };
    this.earlyC = below(LOW_C, EARLY_BELOW_C);
    this.lowC = below(LONG_LOW_C, BELOW_PLATEAU_C);
    const known = this.earlyC !== LOW_C || this.lowC !== LONG_LOW_C;
    this.source = known ? plateau!.source : null;
  }

  /** @param settledC the plateau learned in this run, or null; returns the finding when this step makes it. */
  step(bin: Bin, regime: Regime, settledC: number | null): TooCold | null {
    const { ect, tS } = bin;
    if (ect !== null && !bin.unsure) this.#rests(ect, tS, bin.running);
    if (bin.unstuck) this.#anew();
    if (ect === null || bin.unsure || !asks(bin, regime)) {
      this.#last = null;
      return null;
    }
    if (this.found) this.found.toS = tS;
    if (this.#last !== null && tS - this.#last.tS <= 2 * BIN_S) this.#add(ect - this.#last.ect, tS);
    this.#last = { ect, tS };
    this.activeS += BIN_S;
    if (!this.found) this.riseC = bin.heatSource === 'maf_gps' || warmAir(bin) ? LEAST_RISE_C : UNSURE_RISE_C;
    this.#frozenS = ect === this.#value && bin.low === bin.high ? this.#frozenS + BIN_S : 0;
    this.#value = ect;
    if (settledC !== null && ect > settledC - SAG_C) this.#warmsAgain = false;
    return this.found ? null : this.#judge(ect, tS, this.#warmsAgain ? null : settledC);
  }

  /** After a rest in which the engine cooled down what was driven before says nothing of this warm-up. */
  #rests(ect: number, tS: number, running: boolean): void {
    const before = this.#before;
    // While the engine stands the reading from before the rest stays.
    if (before === null || running || ect > before.ect) this.#before = { ect, tS };
    if (before === null || !running || tS - before.tS < REST_S || ect > before.ect - COOLED_C) return;
    this.#warmsAgain = true;
    this.activeS = 0;
    this.#anew();
  }

  #anew(): void {
    this.#last = null;
    this.#steps.length = 0;
    this.#holdS = 0;
    this.#sagS = 0;
  }

  #judge(ect: number, tS: number, settledC: number | null): TooCold | null {
    // A plateau learned on a hill may stand ten degrees above where the same thermostat holds light driving.
    const sagC = settledC === null ? Number.NEGATIVE_INFINITY : Math.min(settledC - SAG_C, RUNS_WARM_C);
    const sags = ect <= sagC && this.#moves(SAG_S, ect);
    if (sags && this.#sagS === 0) this.#sagFromS = tS;
    this.#sagS = sags ? this.#sagS + BIN_S : 0;
    const sag = this.#sagS >= SAG_S && this.#rise(SAG) <= SAG_RISE_C;
    const limitC = sag ? sagC : this.#stalled(ect, settledC);
    this.#holdS = limitC !== null && !sag ? this.#holdS + BIN_S : 0;
    if (limitC === null || (!sag && this.#holdS < COLD_HELD_S)) return null;
    const steps = Math.min(sag ? SAG : RISE_BINS, this.#steps.length);
    this.found = {
      saidAtS: tS,
      by: sag ? 'sag' : 'never warm',
      fromS: sag ? this.#sagFromS : this.#steps[this.#steps.length - steps]!.tS,
      toS: tS,
      ectC: ect,
      riseC: this.#rise(steps),
      overS: steps * BIN_S,
      limitC,
      activeS: this.activeS,
      frozen: this.#frozenS >= FROZEN_SHARE * steps * BIN_S,
    };
    return this.found;
  }

  /** The limit below which the coolant has stopped short of warm at this step; null when none holds. */
  #stalled(ect: number, settledC: number | null): number | null {
    if (this.#steps.length < RISE_BINS || !this.#moves(RISE_OVER_S, ect)) return null;
    const stays = (limitC: number) => ect <= limitC && (settledC === null || settledC <= limitC + 1);
    const rise = this.#rise(RISE_BINS);
    if (stays(this.earlyC) && this.activeS >= FIRST_S && rise <= this.riseC) return this.earlyC;
    return stays(this.lowC) && this.activeS >= LONG_S && rise <= LONG_RISE_C ? this.lowC : null;
  }

  /** False while the reading stood still for half of `overS` or more, as a stuck sensor does. */
  #moves(overS: number, ect: number): boolean {
    return this.#frozenS < overS * FROZEN_SHARE || (ect >= FROZEN_FROM_C && this.#frozenS >= COLD_STUCK_S);
  }

  /** Rise over the newest `steps` steps that asked, °C. */
  #rise(steps: number): number {
    let sum = 0;
    for (let n = Math.max(0, this.#steps.length - steps); n < this.#steps.length; n++)
      sum += this.#steps[n]!.rise;
    return sum;
  }

  #add(rise: number, tS: number): void {
    this.#steps.push({ rise, tS });
    if (this.#steps.length > RISE_BINS) this.#steps.shift();
  }
}
