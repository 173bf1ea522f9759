/** Gears from engine speed over road speed: steady ratios gather in clusters (KIT: spread < 0.8 %, neighbours >= 20 % apart). */

/** A gear is named for people by the speed that it makes at this engine speed. By definition. */
export const GEAR_AT_RPM = 1000;
/** Of the logarithm of the ratio, between 10 and 300 rpm a km/h. Chosen by hand, not measured. */
const BIN = 0.02;
const LOW = 10; // rpm per km/h
const BINS = Math.ceil(Math.log(300 / LOW) / BIN);
/**
 * Two ratios of one gear lie so far apart at any speed, and a whole km/h of speed by so much more, km/h. Not known
 * how chosen.
 */
const SAME_RATIO = 0.03;
const WHOLE_KMH = 0.8;
/**
 * Learned from this speed on, km/h, when so many readings in a row differ by less than the step, a logarithm. Not
 * known how chosen.
 */
const LEARNS_FROM_KMH = 10;
const STEADY_STEP = 0.02;
const STEADY_READINGS = 3;
/**
 * A ratio belongs to a gear this near, clusters nearer than that are one, logarithms (KIT: neighbours >= 20 % apart).
 */
const IN_GEAR = 0.06;
const APART = 0.12;
/** A cluster has so many readings and such a share of all; a gearbox has so many gears (common practice, no source). */
const CLUSTER_READINGS = 8;
const CLUSTER_SHARE = 0.01;
const MOST_GEARS = 10;

/** How far two ratios of one gear may lie apart: speed comes in whole km/h. */
export function ratioTolerance(speedKmh: number): number {
  return SAME_RATIO + WHOLE_KMH / Math.max(speedKmh, 1);
}

export class GearBook {
  #count = new Uint32Array(BINS);
  #previous = Number.NaN;
  #steady = 0;

  learn(ratio: number | null, speedKmh: number): void {
    if (ratio === null || speedKmh < LEARNS_FROM_KMH) {
      this.#steady = 0;
      this.#previous = Number.NaN;
      return;
    }
    const jump = Math.abs(Math.log(ratio / this.#previous));
    this.#steady = jump < STEADY_STEP ? this.#steady + 1 : 0;
    this.#previous = ratio;
    const bin = Math.round(Math.log(ratio / LOW) / BIN);
    if (this.#steady >= STEADY_READINGS && bin >= 0 && bin < BINS) this.#count[bin]!++;
  }

  /** Gear counted from the shortest seen so far; null when the ratio lies in no clear cluster. */
  gearOf(ratio: number | null): number | null {
    if (ratio === null) return null;
    const peaks = this.#peaks();
    let best: number | null = null;
    peaks.forEach((p, i) => {
      if (Math.abs(Math.log(ratio / p)) < IN_GEAR) best = i + 1;
    });
    return best;
  }

  /** Cluster centres, shortest gear (largest ratio) first. */
  #peaks(): number[] {
    const total = this.#count.reduce((a, b) => a + b, 0);
    const out: number[] = [];
    for (let i = BINS - 1; i >= 0; i--) {
      const at = (k: number): number => this.#count[k] ?? 0;
      const mass = at(i - 1) + at(i) + at(i + 1);
      const isPeak = at(i) >= at(i - 1) && at(i) > at(i + 1);
      if (!isPeak || mass < Math.max(CLUSTER_READINGS, total * CLUSTER_SHARE)) continue;
      const centre = LOW * Math.exp((BIN * (at(i - 1) * (i - 1) + at(i) * i + at(i + 1) * (i + 1))) / mass);
      const last = out.at(-1);
      if (last === undefined || Math.log(last / centre) > APART) out.push(centre);
    }
    return out.slice(0, MOST_GEARS);
  }
}
