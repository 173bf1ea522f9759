/** The magnetic clutch between belt and supercharger: what it makes of its command, and how it fails. */
import type { Random } from '../../core/random.ts';
import { clamp } from './driver.ts';
import type { Knobs } from './faults.ts';

export class MagneticClutch {
  readonly #knobs: Knobs;
  readonly #random: Random;
  #coupling = 0;
  #onS = 0;
  #missed = false;

  constructor(knobs: Knobs, random: Random) {
    this.#knobs = knobs;
    this.#random = random;
  }

  /**
   * Speed of the supercharger as a share of its belt speed.
   * @param rise pressure rise over the compressor as a share of ambient: what loads the clutch
   */
  step(dtS: number, command: boolean, rise: number): number {
    const k = this.#knobs;
    if (command && this.#onS === 0) this.#missed = this.#random.next() < k.clutchMissProbability;
    this.#onS = command ? this.#onS + dtS : 0;
    const closes = command && !k.clutchNeverCloses && !this.#missed && this.#onS > k.clutchDelayS;
    const aim = closes || k.clutchNeverOpens ? 1 : 0;
    this.#coupling += clamp(aim - this.#coupling, -8 * dtS, 6 * dtS);
    const heat = 0.5 + 0.5 * Math.min(1, this.#onS / 3);
    return this.#coupling * (1 - k.clutchSlip * heat * clamp(0.35 + rise, 0, 1));
  }
}
