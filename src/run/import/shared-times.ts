/** Rows that share a time: the same row written twice, or times told more coarsely than the rows came. */

export interface Reading {
  readonly signal: string;
  readonly value: number;
}

/** Further than this no time is shared out: what comes next is after a hole. One second is what clocks are cut to. */
const MOST_STEP_US = 1e6;
/** More rows of one time than this have no time at all (chosen by hand, not measured). */
const MOST_SHARING = 1000;

/**
 * Rows of one time are held until another time comes. Equal readings of a signal among them count once; where one was
 * read as different values, the rows lie evenly between their time and the next, in the order in which they stand.
 */
export class SharedTimes {
  readonly #put: (reading: Reading, tUs: number) => void;
  #tUs: number | null = null;
  #rows: (readonly Reading[])[] = [];
  #stepUs = MOST_STEP_US;
  /** A table written from its end backwards goes on so within one time. */
  #backwards = false;
  /** Readings that stood twice. */
  repeated = 0;
  /** Rows that were given a time of their own. */
  spread = 0;

  constructor(put: (reading: Reading, tUs: number) => void) {
    this.#put = put;
  }

  row(tUs: number, readings: readonly Reading[]): void {
    if (this.#tUs !== null && (tUs !== this.#tUs || this.#rows.length >= MOST_SHARING)) this.#settle(tUs);
    this.#tUs = tUs;
    this.#rows.push(readings);
  }

  finish(): void {
    if (this.#tUs !== null) this.#settle(this.#tUs);
  }

  #settle(nextUs: number): void {
    const tUs = this.#tUs!;
    const rows = this.#rows;
    this.#rows = [];
    const step = Math.abs(nextUs - tUs);
    if (step > 0) {
      this.#stepUs = Math.min(step, MOST_STEP_US);
      this.#backwards = nextUs < tUs;
    }
    if (rows.length === 1) {
      for (const reading of rows[0]!) this.#put(reading, tUs);
      return;
    }
    const inOrder = this.#backwards ? rows.toReversed() : rows;
    const apart = differs(inOrder);
    if (apart) this.spread += rows.length - 1;
    const last = new Map<string, number>();
    for (const [k, row] of inOrder.entries()) {
      const at = apart ? tUs + Math.round((k * this.#stepUs) / rows.length) : tUs;
      for (const reading of row) {
        if (last.get(reading.signal) === reading.value) {
          this.repeated++;
          continue;
        }
        last.set(reading.signal, reading.value);
        this.#put(reading, at);
      }
    }
  }
}

/** Whether any signal was read as different values. */
function differs(rows: readonly (readonly Reading[])[]): boolean {
  const first = new Map<string, number>();
  return rows.some((row) =>
    row.some(({ signal, value }) => {
      const before = first.get(signal);
      if (before === undefined) first.set(signal, value);
      return before !== undefined && before !== value;
    }),
  );
}
