/** Whether the car moves, from its speed; while it does, the page offers marks and stop and nothing to fiddle with. */

const MOVES_FROM_KMH = 5;
const STANDS_BELOW_KMH = 2;
/** Standing must last: a crawl in a queue is driving. */
const STANDS_AFTER_MS = 4000;

export class Motion {
  moving = false;
  #lowSinceMs: number | null = null;

  /** @param kmh null where the car does not tell, or no value is fresh: nothing changes then */
  step(kmh: number | null, nowMs: number): boolean {
    if (kmh === null) return this.moving;
    if (kmh >= MOVES_FROM_KMH) {
      this.moving = true;
      this.#lowSinceMs = null;
    } else if (kmh < STANDS_BELOW_KMH) {
      this.#lowSinceMs ??= nowMs;
      if (nowMs - this.#lowSinceMs >= STANDS_AFTER_MS) this.moving = false;
    } else this.#lowSinceMs = null;
    return this.moving;
  }

  reset(): void {
    this.moving = false;
    this.#lowSinceMs = null;
  }
}
