/** The samples of a table put in order: clocks that start anew come one after the other, run time begins at zero. */
import { JUMP_S } from '../../signal/parts.ts';
import { SampleTable } from '../../signal/table.ts';

/** A clock that goes back further than this starts anew; less is rows out of order (common practice, no source). */
const RESTART_US = 60e6;
/** So many later times must follow before a restart is believed: a damaged cell is none (common practice, no source). */
const BELIEVED = 5;
/** More restarts than this are a table without order. */
const MOST_RESTARTS = 20;

interface Clock {
  part: number;
  lastUs: number;
  /** After a step far back, until it is known what it was. */
  held: Raw[];
  heldTimes: number;
}

interface Raw {
  readonly signal: string;
  readonly tUs: number;
  readonly value: number;
}

export class Collected {
  readonly #parts: SampleTable[] = [new SampleTable()];
  readonly #clocks = new Map<string, Clock>();
  length = 0;

  /** @param clock whose times ascend: the signal in a long table (it may be ordered by signal), '' in a wide one */
  push(raw: Raw, clock: string): void {
    this.length++;
    const c = this.#clocks.get(clock) ?? { part: 0, lastUs: raw.tUs, held: [], heldTimes: 0 };
    if (c.heldTimes === 0 && c.lastUs === raw.tUs && !this.#clocks.has(clock)) this.#clocks.set(clock, c);
    if (raw.tUs > c.lastUs - RESTART_US) {
      for (const stray of c.held.splice(0)) this.#put(stray, c.part);
      c.heldTimes = 0;
      c.lastUs = raw.tUs;
      this.#put(raw, c.part);
      return;
    }
    if (c.held.at(-1)?.tUs !== raw.tUs) c.heldTimes++;
    c.held.push(raw);
    if (c.heldTimes < BELIEVED) return;
    c.part++;
    c.lastUs = raw.tUs;
    for (const s of c.held.splice(0)) this.#put(s, c.part);
    c.heldTimes = 0;
  }

  /** In order of time; a later start of the clock begins an hour after what came before it. */
  finish(): { readonly table: SampleTable; readonly restarts: number; readonly beganUs: number } {
    for (const c of this.#clocks.values()) for (const s of c.held.splice(0)) this.#put(s, c.part);
    const restarts = this.#parts.length - 1;
    const unordered = restarts > MOST_RESTARTS;
    let beganUs = Number.POSITIVE_INFINITY;
    for (const part of unordered ? this.#parts : this.#parts.slice(0, 1))
      for (let i = 0; i < part.length; i++) beganUs = Math.min(beganUs, part.tUs(i));
    const out = restarts === 0 && beganUs >= 0 ? this.#parts[0]! : new SampleTable();
    if (out !== this.#parts[0]) {
      let by = Math.max(0, -beganUs);
      for (const [k, part] of this.#parts.entries()) {
        if (!part.isSorted()) part.sort();
        if (k > 0 && !unordered) by = out.tUs(out.length - 1) + JUMP_S * 1e6 - part.tUs(0);
        for (const s of part) out.push({ ...s, tUs: s.tUs + by, sentUs: s.sentUs + by });
      }
    }
    if (!out.isSorted()) out.sort();
    return { table: out, restarts: unordered ? 0 : restarts, beganUs };
  }

  #put({ signal, tUs, value }: Raw, part: number): void {
    let table = this.#parts[part];
    if (!table) {
      table = new SampleTable();
      this.#parts[part] = table;
    }
    table.push({ signal, tUs, sentUs: tUs, value });
  }
}
