/** What was seen once the coolant had reached its plateau: how long, how far it moved, and whether it was asked. */
import { BIN_S, type Bin } from './bins.ts';
import { READING_C, RECENT_BINS } from './climb.ts';
import type { Regime } from './envelope.ts';
import { asks } from './too-cold.ts';

/** The end of a drive. Chosen by hand, not measured. */
const LAST_S = 120;
/** Between readings of two steps no mass of coolant changes by this much. Chosen by hand, not measured. */
const RESTLESS_C = 4;
/** Looked at between readings so many steps apart; further apart nothing is known of how often they come. Chosen by hand, not measured. */
const RESTLESS_STEPS = 2;
const FOLLOWS_STEPS = 4;
/** At this speed there is driving wind. Chosen by hand, not measured. */
export const WIND_KMH = 30;
const TOP_C = 200;
/** Of 95 % of the readings so many lie outside on either side. By definition. */
export const OUTSIDE = 0.025;

type Range = [low: number, high: number];

/** What was held before the coolant climbed away: seconds that asked the thermostat, and the range that 95 % of them lay in, °C. */
export interface Held {
  readonly askedS: number;
  readonly middleC: number;
  readonly rangeC: readonly [number, number];
}

interface Step {
  readonly tS: number;
  readonly ect: number;
  readonly low: number;
  readonly high: number;
  /** The driving asked the thermostat. */
  readonly asks: boolean;
  /** There was driving wind, for a while already. */
  readonly moves: boolean;
}

export class Settled {
  /** Seconds since the plateau was reached, the settling included; of them watched by the climb test. */
  settledS = 0;
  watchedS = 0;
  /** Seconds at WIND_KMH and above. */
  movingS = 0;
  fromS: number | null = null;
  toS = 0;
  /** Steps to which the reading leapt. */
  restless = 0;
  /** Once it was settled the reading on the move from which what driving explained leaves the most, °C, and what that is. */
  moved = { ectC: Number.NEGATIVE_INFINITY, lessC: Number.NEGATIVE_INFINITY };
  readonly #all: Range = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  readonly #moving: Range = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  /** Seconds in which the driving asked the thermostat, by whole °C. */
  readonly #askedS = new Float64Array(TOP_C);
  #asked = 0;
  /** The newest steps that asked, as far back as a climb may begin. */
  readonly #lately: Step[] = [];
  /** Until the coolant first climbed away; null while it has not. */
  before: Held | null = null;
  /** Steps from before the plateau was known, oldest first: on its way up the coolant has not sagged. */
  #before: Step[] = [];
  readonly #beyond: number[] = [];
  #last: { tS: number; ect: number } | null = null;
  /** Of readings that follow each other: how many, and their steps in all. */
  #readings = 0;
  #steps = 0;

  /** @param settled where it settled and how far it stands beyond the road's envelope, °C; null while settling */
  step(
    bin: Bin,
    regime: Regime,
    settled: { readonly plateauC: number; readonly beyondC: number | null } | null,
  ): void {
    const { ect, tS } = bin;
    if (ect === null || !bin.running) return;
    this.fromS ??= tS;
    this.toS = tS;
    this.settledS += BIN_S;
    if ((bin.speed ?? 0) >= WIND_KMH) this.movingS += BIN_S;
    const moves = (regime.kmh ?? 0) >= WIND_KMH;
    const step: Step = { tS, ect, low: bin.low, high: bin.high, asks: asks(bin, regime), moves };
    if (settled === null) this.#before.push(step);
    else {
      if (this.#before.length > 0) this.#reached(settled.plateauC);
      this.#count(step);
    }
    const last = this.#last;
    // What is only kept of an earlier step leaps where the next reading comes, however long that took.
    if (bin.fresh) {
      if (last) this.#follows((tS - last.tS) / BIN_S, Math.abs(ect - last.ect));
      this.#last = { tS, ect };
    }
    if (settled === null || settled.beyondC === null) return;
    const lessC = ect - regime.allowC;
    if ((regime.kmh ?? 0) >= WIND_KMH && lessC > this.moved.lessC) this.moved = { ectC: ect, lessC };
    this.watchedS += BIN_S;
    this.#beyond.push(settled.beyondC);
    if (this.#beyond.length > LAST_S / BIN_S) this.#beyond.shift();
  }

  /** What was seen while it settled counts from where it first stood at the plateau. */
  #reached(plateauC: number): void {
    const from = this.#before.findIndex(({ high }) => high >= plateauC - READING_C);
    if (from >= 0) for (const step of this.#before.slice(from)) this.#count(step);
    this.#before = [];
  }

  /** @param steps since the reading before, of which it lies `stepC` off */
  #follows(steps: number, stepC: number): void {
    if (steps > FOLLOWS_STEPS) return;
    this.#steps += steps;
    this.#readings++;
    // Two steps in a row may lie as far apart as readings come.
    const apart = Math.max(steps, this.#steps / this.#readings);
    if (steps <= RESTLESS_STEPS && stepC >= RESTLESS_C * apart) this.restless++;
  }

  #count(step: Step): void {
    const { low, high, asks, moves } = step;
    if (asks) {
      this.#ask(step, BIN_S);
      this.#lately.push(step);
      if (this.#lately.length > RECENT_BINS) this.#lately.shift();
    }
    widen(this.#all, low, high);
    if (moves) widen(this.#moving, low, high);
  }

  #ask({ ect }: Step, s: number): void {
    this.#askedS[Math.min(TOP_C - 1, Math.max(0, Math.round(ect)))]! += s;
    this.#asked += s;
  }

  /** The coolant climbed away from its plateau from `fromS` on: what was held before is kept. */
  climbs(fromS: number): void {
    const climbed = this.#lately.filter(({ tS }) => tS > fromS);
    for (const step of climbed) this.#ask(step, -BIN_S);
    this.before = {
      askedS: this.#asked,
      middleC: this.quantile(0.5),
      rangeC: [this.quantile(OUTSIDE), this.quantile(1 - OUTSIDE)],
    };
    for (const step of climbed) this.#ask(step, BIN_S);
  }

  /** From where it first stood at the plateau, °C. */
  get range(): readonly [number, number] {
    return this.#all;
  }

  /** The same of driving in the wind; empty (its low above its high) where there was none. */
  get movingRange(): readonly [number, number] {
    return this.#moving;
  }

  /** Seconds in which the driving asked the thermostat. */
  get askedS(): number {
    return this.#asked;
  }

  /** The coolant below which the share `q` of the asking lay, °C. */
  quantile(q: number): number {
    let left = this.#asked * q;
    for (let k = 0; k < this.#askedS.length; k++) {
      left -= this.#askedS[k]!;
      if (left <= 0) return k;
    }
    return this.#askedS.length;
  }

  /** Mean of what it stood beyond the envelope in the last two minutes, °C: near zero the drive ended on a question. */
  get endC(): number {
    const n = this.#beyond.length;
    return n === 0 ? 0 : this.#beyond.reduce((s, v) => s + v, 0) / n;
  }
}

function widen(range: Range, low: number, high: number): void {
  if (low < range[0]) range[0] = low;
  if (high > range[1]) range[1] = high;
}
