/** What the control unit remembers of the last seconds, to tell a sensor that jumps or no longer moves. */

const WINDOW_S = 10;

export class Recent {
  /** Largest step of the coolant reading between two looks, fading within a second. */
  ectJumpC = 0;
  /** Spread of the manifold reading, and of the pressure asked for, over the last full ten seconds. */
  mapSpanPa = 1e5;
  targetSpanPa = 0;
  #ectC: number | null = null;
  #windowS = 0;
  #map = new Span();
  #target = new Span();

  step(dtS: number, ectC: number, mapPa: number, targetPa: number): void {
    this.ectJumpC = Math.max(this.ectJumpC * 0.8, this.#ectC === null ? 0 : Math.abs(ectC - this.#ectC));
    this.#ectC = ectC;
    this.#map.add(mapPa);
    this.#target.add(targetPa);
    this.#windowS += dtS;
    if (this.#windowS < WINDOW_S) return;
    this.#windowS = 0;
    this.mapSpanPa = this.#map.width();
    this.targetSpanPa = this.#target.width();
    this.#map = new Span();
    this.#target = new Span();
  }
}

class Span {
  #low = Number.POSITIVE_INFINITY;
  #high = Number.NEGATIVE_INFINITY;

  add(value: number): void {
    this.#low = Math.min(this.#low, value);
    this.#high = Math.max(this.#high, value);
  }

  width(): number {
    return this.#high - this.#low;
  }
}
