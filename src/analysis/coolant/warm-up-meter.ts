/** Heat that it takes to warm the engine by a degree, between 40 and 70 °C. */
import { BIN_S, type Bin } from './bins.ts';

const FROM_C = 40;
const TO_C = 70;

export interface WarmUp {
  /** In the unit of the heat source, times seconds, per °C. */
  readonly heatPerC: number;
  /** Coolant when the run began, °C: about the air's temperature after a long stand. */
  readonly startC: number;
  /** Air around the vehicle at the end, °C; null when nothing told. */
  readonly airC: number | null;
  readonly fromS: number;
  readonly toS: number;
}

export class WarmUpMeter {
  #startC: number | null = null;
  #fromS: number | null = null;
  #fromC = 0;
  #heat = 0;
  #broken = false;
  #result: WarmUp | null = null;

  /** True when this step completes the measurement. */
  step(bin: Bin): boolean {
    const { ect } = bin;
    if (ect === null || this.#result || this.#broken) return false;
    if (this.#startC === null) {
      this.#startC = ect;
      // A warm start says nothing about warming.
      if (ect > FROM_C - 5) this.#broken = true;
      return false;
    }
    if (ect < FROM_C) return false;
    if (this.#fromS === null) {
      this.#fromS = bin.tS;
      this.#fromC = ect;
      return false;
    }
    if (bin.holeS > 20 || (bin.heat === null && bin.running) || bin.unsure) this.#broken = true;
    this.#heat += (bin.heat ?? 0) * BIN_S;
    if (ect < TO_C || this.#heat === 0) return false;
    this.#result = {
      heatPerC: this.#heat / (ect - this.#fromC),
      startC: this.#startC,
      airC: bin.air,
      fromS: this.#fromS,
      toS: bin.tS,
    };
    return true;
  }

  result(): WarmUp | null {
    return this.#result;
  }
}
