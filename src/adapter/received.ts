/** What arrived during one exchange, in one piece: bytes, and where each portion of them ends and when it came. */

/** Bytes that arrived together. */
export interface RxChunk {
  readonly tUs: number;
  readonly bytes: Uint8Array;
}

/** What is kept of one exchange at most; no real answer comes near. */
const MAX_PORTIONS = 100_000;
/** A buffer that a huge exchange has made is not kept for the next. */
const KEPT_BYTES = 1 << 16;

export class Received {
  /** The first `length` count. */
  bytes = new Uint8Array(512);
  length = 0;
  /** Of the first `portions`: offset behind its last byte, and its time in microseconds. */
  ends = new Int32Array(128);
  tUs = new Float64Array(128);
  portions = 0;

  static of(rx: Received | readonly RxChunk[]): Received {
    if (rx instanceof Received) return rx;
    const all = new Received();
    for (const { tUs, bytes } of rx) all.push(tUs, bytes, bytes.length);
    return all;
  }

  /** Takes a copy of the first `n` of `bytes`. */
  push(tUs: number, bytes: Uint8Array, n: number): void {
    const k = this.portions;
    if (k >= MAX_PORTIONS) return;
    const at = this.length;
    if (at + n > this.bytes.length) this.bytes = grown(this.bytes, new Uint8Array(2 * (at + n)));
    if (k === this.ends.length) {
      this.ends = grown(this.ends, new Int32Array(2 * k));
      this.tUs = grown(this.tUs, new Float64Array(2 * k));
    }
    // A portion is a few bytes: a loop is quicker than a view and a native copy.
    const to = this.bytes;
    for (let i = 0; i < n; i++) to[at + i] = bytes[i]!;
    this.length = at + n;
    this.ends[k] = at + n;
    this.tUs[k] = tUs;
    this.portions = k + 1;
  }

  clear(): void {
    this.length = 0;
    this.portions = 0;
    if (this.bytes.length > KEPT_BYTES || this.ends.length > KEPT_BYTES) {
      this.bytes = new Uint8Array(512);
      this.ends = new Int32Array(128);
      this.tUs = new Float64Array(128);
    }
  }
}

function grown<T extends Uint8Array | Int32Array | Float64Array>(old: T, fresh: T): T {
  fresh.set(old);
  return fresh;
}
