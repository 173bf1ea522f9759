/** Battery and alternator: what the supply voltage does with charge, load and crank. Common practice, no source. */
import { clamp } from './driver.ts';

export class Battery {
  volts = 12.45;
  /** State of charge, 0 to 1. */
  #charge = 1;

  step(
    dtS: number,
    x: {
      readonly charging: boolean;
      readonly ignition: boolean;
      readonly running: boolean;
      readonly idling: boolean;
      readonly starter: boolean;
      readonly fan: number;
      readonly coolantC: number;
    },
  ): void {
    const loadA = x.ignition ? 14 + (x.running ? 18 : 0) + 22 * x.fan : 0.1;
    // 60 Ah; its voltage sags with load and charge.
    this.#charge = clamp(this.#charge + (dtS * (x.charging ? 12 : -loadA)) / (60 * 3600), 0, 1);
    const regulated = 14.35 - 0.004 * (x.coolantC - 20) - (x.idling ? 0.12 : 0) - 0.12 * x.fan;
    const own = 11.6 + this.#charge - 0.008 * loadA - (x.starter ? 1.9 : 0);
    this.volts += (((x.charging ? regulated : own) - this.volts) * dtS) / 0.15;
  }
}
