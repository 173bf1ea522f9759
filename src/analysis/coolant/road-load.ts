/** What the road asks of the cooling, where a satellite receiver measures the road: power on the hill over power on the flat. */
import type { Road } from '../road/road-meter.ts';
import { BIN_S } from './bins.ts';

/**
 * Power of level driving, W a kilogram: rolling 1.2 % of the weight; air of a middling car (0.65 m² of drag area, 1.2 kg/m³,
 * 1500 kg); and what an engine burns beside it, as heat that reaches the coolant (common practice, no source).
 */
const ROLLING = 0.012 * 9.80665;
const AIR = (0.5 * 1.2 * 0.65) / 1500;
const BESIDE = 3;
/**
 * Heat of a hill comes and goes as the envelope's own heat does, s. See `envelope.ts`: chosen with the 80 open
 * drives in view.
 */
const LOAD_RISES_S = 45;
const LOAD_FALLS_S = 120;
/** A road that was not measured for so long is forgotten, s. Not known how chosen. */
const KEEP_S = 60;
/**
 * Flat: for this long no grade that could be a hill, twice its error included, W a kilogram over that of level
 * driving. Chosen by hand, not measured.
 */
const FLAT_S = 120;
const FLAT_SHARE = 0.6;

export class RoadLoad {
  #smoothed: number | null = null;
  #unseenS = Number.POSITIVE_INFINITY;
  #flatS = 0;

  /** @param speed km/h */
  step(speed: number | null, road: Road | null): void {
    if (road === null || speed === null) {
      this.#unseenS += BIN_S;
      this.#flatS = 0;
      if (this.#unseenS > KEEP_S) this.#smoothed = null;
      return;
    }
    this.#unseenS = 0;
    const mps = speed / 3.6;
    const level = ROLLING * mps + AIR * mps ** 3 + BESIDE;
    // What the receiver may have made up is no hill: its height wanders on the flat as well.
    const climb = road.climbWkg > 0 ? Math.max(0, road.climbWkg - road.sdWkg) : road.climbWkg;
    const now = Math.max(0, 1 + climb / level);
    const old = this.#smoothed;
    this.#smoothed =
      old === null
        ? now
        : old + (now - old) * (1 - Math.exp(-BIN_S / (now > old ? LOAD_RISES_S : LOAD_FALLS_S)));
    const most = (road.climbWkg + 2 * road.sdWkg) / level;
    this.#flatS = most <= FLAT_SHARE ? this.#flatS + BIN_S : 0;
  }

  /** Power over that of level driving, smoothed; null where the road is not measured. */
  get steepness(): number | null {
    return this.#smoothed;
  }

  /** Certain that there has been no hill. */
  get flat(): boolean {
    return this.#flatS >= FLAT_S && this.#unseenS === 0;
  }
}
