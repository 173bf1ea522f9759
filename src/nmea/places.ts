/**
 * Where a run was driven, for who asks for it while the run is read: places are no samples, so nothing that shows, keeps
 * or hands out samples has them. What is held here cannot be written out by accident: it has no fields of its own.
 */

export interface Place {
  readonly tUs: number;
  /** Degrees, north and east positive. */
  readonly latDeg: number;
  readonly lonDeg: number;
}

/** One a second draws any road; and a receiver that goes on for more than a day is left at that. */
const EVERY_US = 900_000;
const MOST_PLACES = 100_000;

export class Places {
  readonly #list: Place[] = [];

  /** In order of time; one that is not later than the last is left out. */
  push(place: Place): void {
    const last = this.#list.at(-1);
    if (this.#list.length < MOST_PLACES && (last === undefined || place.tUs - last.tUs >= EVERY_US))
      this.#list.push(place);
  }

  /** Those from one time of the run to another, both ends included. */
  between(fromUs: number, toUs: number): readonly Place[] {
    let low = 0;
    let high = this.#list.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.#list[middle]!.tUs < fromUs) low = middle + 1;
      else high = middle;
    }
    const out: Place[] = [];
    for (let i = low; i < this.#list.length && this.#list[i]!.tUs <= toUs; i++) out.push(this.#list[i]!);
    return out;
  }
}
