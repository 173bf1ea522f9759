/** Heat that it takes to warm the engine by a degree, and how much healthy drives say it should take. */
import { leastSquares } from '../../signal/line.ts';
import { type OfKind, shareOfKind } from '../between-cars.ts';
import type { Given } from '../given.ts';
import { say } from '../leg-says.ts';
import { BIN_S, type Bin, type HeatSource } from './bins.ts';

/** Between these, °C: the thermostat is shut. Chosen by hand, not measured. */
export const FROM_C = 40;
export const TO_C = 70;
/**
 * Weighed once more to here, °C, where the car's own drives settle so far above it that its thermostat is still shut:
 * healthy diesel drives then lie closer together (KIT, leaving one out: 0.12 in place of 0.16 by air mass; 0.13 and 0.12
 * on its halves), the petrol car's do not. The distance is the one below which coolant is too cold; by hand, not measured.
 */
export const FURTHER_C = TO_C + 8;
export const SETTLES_C = FURTHER_C + 10;
/** A first reading in it so late tells too little of it. Chosen by hand, not measured. */
const LATEST_FROM_C = 50;
/** A start above this says nothing about warming. Chosen by hand, not measured. */
export const COLD_C = 35;
/** Standing for most of it gives the heat to cabin and air (KIT: 1 such drive took half as much again). */
const LEAST_MEAN_KMH = 15;
/** Warming that was not measured for longer than this tells nothing. Not known how chosen. */
const WARM_UP_HOLE_S = 20;

/**
 * ln(heat per °C) over the temperature of the air, °C: slope −0.02 and scatter between drives, by what tells the heat
 * (KIT, 33 cold starts: −0.024 and 0.15 by air mass, −0.020 and 0.18 by manifold pressure, where two healthy drives lay
 * 0.73 apart). Until the car's own drives say more, the slope is known to half of it.
 */
const SLOPE = -0.02;
const SLOPE_SD = 0.01;
export const SCATTER: Readonly<Record<HeatSource, number>> = { maf_gps: 0.17, map_kpa: 0.22, load_pct: 0.22 };
/** As many drives as the assumed scatter weighs like. Chosen by hand, not measured. */
const PRIOR_DRIVES = 6;
/** What is shown as given until the last degree is. By definition less than one. */
const NEARLY = 0.99;

export interface WarmUp {
  /** In the unit of the heat source, times seconds, per °C. */
  readonly heatPerC: number;
  /** Coolant when the run began, °C: about the air's temperature after a long stand. */
  readonly startC: number;
  /** Air around the vehicle at the end, °C; null when nothing told. */
  readonly airC: number | null;
  /** The first reading from 40 °C on, and the first from 70 °C on (the further one: from 78 °C on), °C. */
  readonly fromC: number;
  readonly toC: number;
  readonly fromS: number;
  readonly toS: number;
}

export class WarmUpMeter {
  #startC: number | null = null;
  #startS: number | null = null;
  #nowC = 0;
  #nowS = 0;
  #fromS: number | null = null;
  #fromC = 0;
  #heat = 0;
  #kmhS = 0;
  #broken = false;
  #result: WarmUp | null = null;
  #further: WarmUp | null = null;

  /** True when this step completes the measurement, or the further one. */
  step(bin: Bin): boolean {
    const { ect } = bin;
    if (ect === null || this.#further || this.#broken) return false;
    this.#nowC = ect;
    this.#nowS = bin.tS;
    // How long it had stood at what a stuck reading showed nobody knows.
    if (bin.unstuck) this.#broken = true;
    if (this.#startC === null) {
      this.#startC = ect;
      this.#startS = bin.tS - BIN_S;
      if (ect > COLD_C) this.#broken = true;
      return false;
    }
    if (ect < FROM_C) {
      // Cooled down on the way: it begins anew, unless it was measured.
      if (this.#result) this.#broken = true;
      else if (this.#fromS !== null) this.#restart(ect);
      return false;
    }
    if (this.#fromS === null) {
      this.#fromS = bin.tS;
      this.#fromC = ect;
      if (ect > LATEST_FROM_C) this.#broken = true;
      return false;
    }
    if (bin.holeS > WARM_UP_HOLE_S || (bin.heat === null && bin.running) || bin.unsure) this.#broken = true;
    if (this.#broken) return false;
    this.#heat += (bin.heat ?? 0) * BIN_S;
    this.#kmhS += (bin.speed ?? LEAST_MEAN_KMH) * BIN_S;
    if (ect < (this.#result ? FURTHER_C : TO_C) || this.#heat === 0) return false;
    if (this.#kmhS < LEAST_MEAN_KMH * (bin.tS - this.#fromS)) {
      this.#broken = true;
      return false;
    }
    const measured: WarmUp = {
      heatPerC: this.#heat / (ect - this.#fromC),
      startC: this.#startC,
      airC: bin.air,
      fromC: this.#fromC,
      toC: ect,
      fromS: this.#fromS,
      toS: bin.tS,
    };
    this.#result ??= measured;
    if (ect >= FURTHER_C) this.#further = measured;
    return true;
  }

  result(): WarmUp | null {
    return this.#result;
  }

  /** The same to the further end. */
  further(): WarmUp | null {
    return this.#further;
  }

  /** What it has of the warm-up. */
  given(): Given {
    const startC = this.#startC;
    if (startC === null) return { share: 0, left: null, fromS: null, toS: null };
    if (this.#broken && this.#result === null)
      return {
        share: 0,
        left: say('leg.left.cold-start', { fromC: COLD_C }),
        over: true,
        fromS: null,
        toS: null,
      };
    const over = { fromS: this.#startS, toS: this.#nowS };
    if (this.#result !== null) return { share: 1, left: null, ...over };
    const share = Math.min(NEARLY, Math.max(0, (this.#nowC - startC) / (TO_C - startC)));
    return { share, left: say('leg.left.degrees', { nowC: this.#nowC, toC: TO_C }), ...over };
  }

  #restart(startC: number): void {
    this.#startC = startC;
    this.#fromS = null;
    this.#heat = 0;
    this.#kmhS = 0;
    if (startC > COLD_C) this.#broken = true;
  }
}

interface ExpectedHeat {
  readonly ln: number;
  readonly se: number;
  /** By how much more than 1.645 of it a healthy car may take, by what its kind shows, at the odds of a fault shown. */
  readonly far: number;
  /** Healthy drives of the car itself, and other cars of its kind, that it rests on. */
  readonly drives: number;
  readonly cars: number;
}

type Heat = { readonly heatPerC: number; readonly airC: number };

/** ln(heat per °C) as it would be in air of `airC`. */
export const inAir = (w: Heat, airC: number): number => Math.log(w.heatPerC) + SLOPE * (airC - w.airC);

/**
 * What a warm-up takes in air of this temperature: ln(heat per °C) and its standard error. Said by healthy drives of the
 * car, by other cars of its kind, or by both, each weighed by its variance.
 */
export function expectedHeat(
  drives: readonly Heat[],
  airC: number,
  source: HeatSource,
  kind: (OfKind & { readonly airC: number }) | null = null,
): ExpectedHeat | null {
  const own = drives.length === 0 ? null : ownHeat(drives, airC, source);
  const alone = own && {
    ...own,
    se: Math.sqrt(own.drive + own.mean),
    far: 0,
    drives: drives.length,
    cars: 0,
  };
  if (kind === null) return alone;
  const ofKind = {
    ln: inAir({ heatPerC: kind.value, airC: kind.airC }, airC),
    variance: kind.sd ** 2 + (SLOPE_SD * (airC - kind.airC)) ** 2,
  };
  const { far, cars } = kind;
  if (own === null)
    return { ln: ofKind.ln, se: Math.sqrt(SCATTER[source] ** 2 + ofKind.variance), far, drives: 0, cars };
  const share = shareOfKind(own.mean, ofKind.variance, ofKind.ln - own.ln);
  return {
    ln: own.ln + share * (ofKind.ln - own.ln),
    se: Math.sqrt(own.drive + own.mean * (1 - share)),
    far: share * far,
    drives: drives.length,
    cars,
  };
}

/** Its mean, and the variances of one drive and of that mean. */
function ownHeat(
  drives: readonly Heat[],
  airC: number,
  source: HeatSource,
): { readonly ln: number; readonly drive: number; readonly mean: number } {
  const n = drives.length;
  const xs = drives.map((d) => d.airC);
  const ys = drives.map((d) => Math.log(d.heatPerC));
  const mx = xs.reduce((a, b) => a + b, 0) / n;
  const my = ys.reduce((a, b) => a + b, 0) / n;
  const { slope, sxx } = leastSquares(xs, ys);
  // The slope is weighed with what is assumed of it (a normal prior), the scatter likewise.
  const scatter = SCATTER[source];
  const own = sxx / scatter ** 2;
  const weight = own + 1 / SLOPE_SD ** 2;
  const b = (slope * own + SLOPE / SLOPE_SD ** 2) / weight;
  const sse = ys.reduce((sum, y, i) => sum + (y - my - b * (xs[i]! - mx)) ** 2, 0);
  const variance = (sse + PRIOR_DRIVES * scatter ** 2) / (Math.max(0, n - 2) + PRIOR_DRIVES);
  return { ln: my + b * (airC - mx), drive: variance, mean: variance / n + (airC - mx) ** 2 / weight };
}
