/** What was seen while the coolant was settled: how long, how far it moved, and whether under load at speed. */
import { BIN_S, type Bin } from './bins.ts';
import type { Regime } from './regime.ts';

export class Settled {
  settledS = 0;
  /** Seconds at 40 km/h and above, and of those under at least the run's mean load. */
  movingS = 0;
  loadS = 0;
  /** Seconds at 20 km/h and above. */
  townS = 0;
  #movingSum = 0;
  #fromS: number | null = null;
  toS = 0;
  #lowest = Number.POSITIVE_INFINITY;
  #highest = Number.NEGATIVE_INFINITY;
  #excess = new Float64Array(61);
  #lastMinutes: number[] = [];

  step(bin: Bin, regime: Regime, plateau: number): void {
    if (bin.ect === null || !bin.running) return;
    this.#fromS ??= bin.tS;
    this.toS = bin.tS;
    this.settledS += BIN_S;
    const v = bin.speed ?? 0;
    if (v >= 20) this.townS += BIN_S;
    if (v >= 40) {
      this.movingS += BIN_S;
      this.#movingSum += bin.ect - plateau;
      if (regime.name === 'load at speed') this.loadS += BIN_S;
    }
    const d = bin.ect - plateau;
    this.#excess[Math.min(60, Math.max(0, Math.round(d + 30)))]!++;
    if (bin.low < this.#lowest) this.#lowest = bin.low;
    if (bin.high > this.#highest) this.#highest = bin.high;
    this.#lastMinutes.push(d - regime.allowC);
    if (this.#lastMinutes.length > 180 / BIN_S) this.#lastMinutes.shift();
  }

  get fromS(): number | null {
    return this.#fromS;
  }

  get range(): readonly [number, number] {
    return [this.#lowest, this.#highest];
  }

  /** Mean distance from the plateau at 40 km/h and above, °C. */
  get movingMeanC(): number {
    return this.movingS > 0 ? (this.#movingSum * BIN_S) / this.movingS : 0;
  }

  /** The excess below which the share `q` of the settled time lay, °C. */
  quantile(q: number): number {
    const total = this.#excess.reduce((s, n) => s + n, 0);
    let left = total * q;
    for (let k = 0; k < this.#excess.length; k++) {
      left -= this.#excess[k]!;
      if (left <= 0) return k - 30;
    }
    return 30;
  }

  /** Mean of (excess − allowance) over the last minutes, °C; above −1 the drive ended on a question. */
  get endC(): number {
    const n = this.#lastMinutes.length;
    return n === 0 ? 0 : this.#lastMinutes.slice(-24).reduce((s, v) => s + v, 0) / Math.min(n, 24);
  }
}
