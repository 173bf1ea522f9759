/** What was seen once the coolant had reached its plateau: how long, how far it moved, and whether under load. */
import { BIN_S, type Bin } from './bins.ts';
import type { Regime } from './envelope.ts';

const LAST_S = 120;
/** Between two steps no mass of coolant changes by this much. */
const RESTLESS_C = 4;

export class Settled {
  /** Seconds since the plateau was reached, the settling included; of them watched by the climb test. */
  settledS = 0;
  watchedS = 0;
  /** Seconds at 40 km/h and above. */
  movingS = 0;
  /** Watched seconds at 40 km/h and above under at least the run's mean load. */
  loadS = 0;
  /** Seconds at 20 km/h and above, and below: driving wind, and hardly any. */
  townS = 0;
  slowS = 0;
  fromS: number | null = null;
  toS = 0;
  /** Steps to which the reading leapt. */
  restless = 0;
  #movingSum = 0;
  #lowest = Number.POSITIVE_INFINITY;
  #highest = Number.NEGATIVE_INFINITY;
  readonly #byC = new Float64Array(200);
  readonly #beyond: number[] = [];
  #last: { tS: number; ect: number } | null = null;

  /** @param plateau learned in this run, null while settling */
  step(bin: Bin, regime: Regime, plateau: number | null): void {
    const { ect, tS } = bin;
    if (ect === null || !bin.running) return;
    this.fromS ??= tS;
    this.toS = tS;
    this.settledS += BIN_S;
    const v = bin.speed ?? 0;
    if (v >= 20) this.townS += BIN_S;
    else this.slowS += BIN_S;
    if (v >= 40) {
      this.movingS += BIN_S;
      this.#movingSum += ect;
      if (plateau !== null && regime.name === 'load at speed') this.loadS += BIN_S;
    }
    this.#byC[Math.min(199, Math.max(0, Math.round(ect)))]!++;
    if (bin.low < this.#lowest) this.#lowest = bin.low;
    if (bin.high > this.#highest) this.#highest = bin.high;
    const last = this.#last;
    if (last && tS - last.tS <= 2 * BIN_S && Math.abs(ect - last.ect) >= RESTLESS_C) this.restless++;
    this.#last = { tS, ect };
    if (plateau === null) return;
    this.watchedS += BIN_S;
    this.#beyond.push(ect - plateau - regime.allowC);
    if (this.#beyond.length > LAST_S / BIN_S) this.#beyond.shift();
  }

  get range(): readonly [number, number] {
    return [this.#lowest, this.#highest];
  }

  /** Mean coolant at 40 km/h and above, °C; null without. */
  get movingMeanC(): number | null {
    return this.movingS > 0 ? (this.#movingSum * BIN_S) / this.movingS : null;
  }

  /** The coolant below which the share `q` of the time lay, °C. */
  quantile(q: number): number {
    let left = (this.settledS / BIN_S) * q;
    for (let k = 0; k < this.#byC.length; k++) {
      left -= this.#byC[k]!;
      if (left <= 0) return k;
    }
    return this.#byC.length;
  }

  /** Mean of (excess − allowance) over the last two minutes, °C: near zero the drive ended on a question. */
  get endC(): number {
    const n = this.#beyond.length;
    return n === 0 ? 0 : this.#beyond.reduce((s, v) => s + v, 0) / n;
  }
}
