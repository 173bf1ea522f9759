/** What was seen once the coolant had reached its plateau: how long, how far it moved, and whether it was asked. */
import { BIN_S, type Bin } from './bins.ts';
import type { Regime } from './envelope.ts';
import { asks } from './too-cold.ts';

/** The end of a drive. Chosen by hand, not measured. */
const LAST_S = 120;
/** Between two steps no mass of coolant changes by this much. Chosen by hand, not measured. */
const RESTLESS_C = 4;
/** At this speed there is driving wind. Chosen by hand, not measured. */
export const WIND_KMH = 30;
const TOP_C = 200;

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
  #lowest = Number.POSITIVE_INFINITY;
  #highest = Number.NEGATIVE_INFINITY;
  /** Seconds in which the driving asked the thermostat, by whole °C. */
  readonly #askedS = new Float64Array(TOP_C);
  #asked = 0;
  readonly #beyond: number[] = [];
  #last: { tS: number; ect: number } | null = null;

  /** @param beyondC beyond the road's envelope, °C; null while settling */
  step(bin: Bin, regime: Regime, beyondC: number | null): void {
    const { ect, tS } = bin;
    if (ect === null || !bin.running) return;
    this.fromS ??= tS;
    this.toS = tS;
    this.settledS += BIN_S;
    if ((bin.speed ?? 0) >= WIND_KMH) this.movingS += BIN_S;
    if (asks(bin, regime)) {
      this.#askedS[Math.min(TOP_C - 1, Math.max(0, Math.round(ect)))]! += BIN_S;
      this.#asked += BIN_S;
    }
    if (bin.low < this.#lowest) this.#lowest = bin.low;
    if (bin.high > this.#highest) this.#highest = bin.high;
    const last = this.#last;
    if (last && tS - last.tS <= 2 * BIN_S && Math.abs(ect - last.ect) >= RESTLESS_C) this.restless++;
    this.#last = { tS, ect };
    if (beyondC === null) return;
    const lessC = ect - regime.allowC;
    if ((regime.kmh ?? 0) >= WIND_KMH && lessC > this.moved.lessC) this.moved = { ectC: ect, lessC };
    this.watchedS += BIN_S;
    this.#beyond.push(beyondC);
    if (this.#beyond.length > LAST_S / BIN_S) this.#beyond.shift();
  }

  get range(): readonly [number, number] {
    return [this.#lowest, this.#highest];
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
