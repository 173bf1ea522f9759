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
 * The run's own warm-up tells how much heat a degree takes (20 °C of it, begun this cold). On the tune half of the
 * open drives heat for 20 °C more raised a healthy coolant below 78 °C by 14 °C at the least; this little is no warm-up.
 */
const LEARN_C = 20;
const LEARN_BELOW_C = 45;
const HEAT_FOR_C = 20;
const HEAT_RISE_C = 3;
const HEAT_LEAST = 90 / BIN_S;
/** It came to rest as a plateau does, not as a sensor sticks: before, heat for so much had raised it by so little. */
const REST_FOR_C = 5;
const REST_RISE_C = 2;
/**
 * A reading that does not change at all, and stopped in the middle of its warm-up, may be a stuck sensor: it must
 * stand this much longer, and below this no thermostat explains it (the sensor's own finding does).
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
  readonly overS: number;
  readonly limitC: number;
  readonly activeS: number;
  /** The reading did not change at all: the sensor may be the story. */
  readonly frozen: boolean;
}

interface Stall {
  readonly limitC: number;
  readonly steps: number;
  readonly riseC: number;
  readonly fromS: number;
}

export class TooColdWatch {
  readonly lowC: number;
  readonly #earlyC: number;
  readonly #lateC: number;
  /** Rise and heat of each step of driving in the window, oldest first, and when it ended. */
  readonly #steps: { readonly rise: number; readonly heat: number; readonly tS: number }[] = [];
  /** Heat for a degree, as this run's warm-up taught it; null before. */
  #heatPerC: number | null = null;
  #learn: { fromC: number; heat: number } | null = null;
  #heatSource: Bin['heatSource'] = null;
  /** The standing reading had slowed down before it stood still. */
  #cameToRest = false;
  #last: { ect: number; tS: number } | null = null;
  #holdS = 0;
  #sagS = 0;
  #sagFromS = 0;
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
    this.#learnHeat(bin);
    const active =
      bin.running && (bin.speed === null || bin.speed >= ACTIVE_KMH) && (bin.heat === null || bin.heat > 0);
    if (!active || ect === null || bin.unsure) {
      this.#last = null;
      return null;
    }
    if (this.found) this.found.toS = tS;
    const follows = this.#last !== null && tS - this.#last.tS <= 2 * BIN_S;
    if (follows) this.#add(ect - this.#last!.ect, bin);
    this.#last = { ect, tS };
    this.activeS += BIN_S;
    const still = ect === this.#value && bin.low === bin.high;
    if (!still) this.#cameToRest = this.#slowed();
    this.#frozenS = still ? this.#frozenS + BIN_S : 0;
    this.#value = ect;
    if (this.found) return null;
    const sags = settledC !== null && ect <= settledC - SAG_C && this.#believable(SAG_S, ect);
    if (sags && this.#sagS === 0) this.#sagFromS = tS;
    this.#sagS = sags ? this.#sagS + BIN_S : 0;
    const stalled = this.#stalled(ect, settledC);
    this.#holdS = stalled ? this.#holdS + BIN_S : 0;
    const sag = this.#sagS >= SAG_S;
    if (!sag && (!stalled || this.#holdS < HOLD_S)) return null;
    this.found = {
      saidAtS: tS,
      by: sag ? 'sag' : 'never warm',
      fromS: sag ? this.#sagFromS : stalled!.fromS,
      toS: tS,
      ectC: ect,
      riseC: stalled?.riseC ?? this.#rise(),
      overS: (stalled?.steps ?? this.#steps.length) * BIN_S,
      limitC: sag ? settledC! - SAG_C : stalled!.limitC,
      activeS: this.activeS,
      frozen: this.#frozenS >= FROZEN_S || this.#frozenS >= 0.8 * (stalled?.steps ?? 0) * BIN_S,
    };
    return this.found;
  }

  /** The rule by which the coolant has stopped short of warm at this step, with what it saw; null when none holds. */
  #stalled(ect: number, settledC: number | null): Stall | null {
    const stays = (limitC: number) => ect <= limitC && (settledC === null || settledC <= limitC + 1);
    const stall = (limitC: number, steps: number): Stall | null =>
      this.#believable(steps * BIN_S, ect)
        ? { limitC, steps, riseC: this.#rise(steps), fromS: this.#steps[this.#steps.length - steps]!.tS }
        : null;
    const heated = this.#stepsOfHeat(HEAT_FOR_C);
    if (stays(this.#earlyC) && heated !== null && this.#rise(heated) <= HEAT_RISE_C)
      return stall(this.#earlyC, heated);
    if (this.#steps.length < WINDOW) return null;
    if (stays(this.#earlyC) && this.activeS >= FIRST_S && this.#rise() <= LEAST_RISE_C)
      return stall(this.#earlyC, WINDOW);
    if (stays(this.#lateC) && this.activeS >= LONG_S && this.#rise() <= LONG_RISE_C)
      return stall(this.#lateC, WINDOW);
    return null;
  }

  /** False while the reading stood still for most of `overS` as only a stuck sensor does. */
  #believable(overS: number, ect: number): boolean {
    if (this.#frozenS < overS * 0.8) return true;
    return ect >= FROZEN_FROM_C && (this.#cameToRest || this.#frozenS >= FROZEN_S);
  }

  #slowed(): boolean {
    const steps = this.#stepsOfHeat(REST_FOR_C);
    return steps !== null && this.#rise(steps) <= REST_RISE_C;
  }

  /** The newest steps that brought heat for `riseC` at the rate of the warm-up; null when the window holds less. */
  #stepsOfHeat(riseC: number): number | null {
    if (this.#heatPerC === null) return null;
    let left = riseC * this.#heatPerC;
    for (let n = 1; n <= this.#steps.length; n++) {
      left -= this.#steps[this.#steps.length - n]!.heat;
      if (left <= 0 && (riseC < HEAT_FOR_C || n >= HEAT_LEAST)) return n;
    }
    return null;
  }

  /** Rise over the newest `steps` steps of driving, °C. */
  #rise(steps = this.#steps.length): number {
    let sum = 0;
    for (let n = this.#steps.length - steps; n < this.#steps.length; n++) sum += this.#steps[n]!.rise;
    return sum;
  }

  #add(rise: number, bin: Bin): void {
    this.#steps.push({ rise, heat: (bin.heat ?? 0) * BIN_S, tS: bin.tS });
    if (this.#steps.length > WINDOW) this.#steps.shift();
  }

  #learnHeat(bin: Bin): void {
    if (bin.heatSource !== this.#heatSource) {
      this.#heatSource = bin.heatSource;
      this.#heatPerC = null;
      this.#learn = null;
    }
    if (this.#heatPerC !== null || !bin.running) return;
    if (bin.ect === null || bin.unsure || bin.heat === null || bin.holeS > 20) {
      this.#learn = null;
      return;
    }
    const learn = this.#learn;
    if (learn === null) {
      if (bin.ect <= LEARN_BELOW_C) this.#learn = { fromC: bin.ect, heat: 0 };
      return;
    }
    learn.heat += bin.heat * BIN_S;
    if (bin.ect - learn.fromC >= LEARN_C) this.#heatPerC = learn.heat / (bin.ect - learn.fromC);
  }
}
