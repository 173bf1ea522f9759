/**
 * The lines of which a capture is full, from their bytes, without a text in between: `rx` and `tx`, and requests and ends
 * of exchanges that read as others did. The same as `readLine` says, or nothing.
 */
import { type CaptureRecord, MAX_LINE_BYTES, MAX_T_US } from './format.ts';

/** A drive asks the same few hundred requests again and again; each of these places holds the one that was there last. */
const PLACES = 1024;
/** Longer ones are read as text. */
const MAX_KNOWN_BYTES = 64;

/** What stands behind the time of a line, and what it said. */
interface Known {
  readonly bytes: Uint8Array;
  readonly record: Repeated;
}
type Repeated = Extract<CaptureRecord, { kind: 'request' | 'done' }>;

export class QuickLine {
  /** Null: the line is `record`. */
  kind: 'rx' | 'tx' | null = 'rx';
  tUs = 0;
  /** Of `rx` and `tx`: the first `length` count, until the next line is read. */
  readonly bytes = new Uint8Array(MAX_LINE_BYTES / 2);
  length = 0;
  /** Its payload is shared by all lines that read alike. */
  record: Repeated | null = null;
  readonly #known = new Array<Known | undefined>(PLACES);

  /** Where the next line begins; 0 when the one at `from` is another, is damaged, or its end is not there. */
  read(line: Uint8Array, from: number): number {
    const at = this.#time(line, from);
    if (at === 0) return 0;
    const letter = line[at]!;
    if ((letter !== R && letter !== T) || line[at + 1] !== X || line[at + 2] !== 32)
      return this.#again(line, at);
    const last = Math.min(line.length, from + MAX_LINE_BYTES) - 1;
    const into = this.bytes;
    let n = 0;
    let i = at + 3;
    for (; i < last; i += 2) {
      const value = (UPPER_HEX[line[i]!]! << 4) | UPPER_HEX[line[i + 1]!]!;
      if (value < 0) break;
      into[n++] = value;
    }
    if (n === 0 || line[i] !== 10 || i - from >= MAX_LINE_BYTES) return 0;
    this.kind = letter === R ? 'rx' : 'tx';
    this.length = n;
    return i + 1;
  }

  /** What the line from `from` to its end at `end` turned out to be. */
  learn(line: Uint8Array, from: number, end: number, record: CaptureRecord): void {
    if (record.kind !== 'request' && record.kind !== 'done') return;
    const at = this.#time(line, from);
    if (at === 0 || end - at > MAX_KNOWN_BYTES) return;
    this.#known[placeOf(line, at, end)] = { bytes: Uint8Array.from(line.subarray(at, end)), record };
  }

  /** Where the kind begins behind a good time; 0 when there is none. */
  #time(line: Uint8Array, from: number): number {
    let at = from;
    let t = 0;
    for (; at < line.length; at++) {
      const digit = line[at]! - 48;
      if (digit < 0 || digit > 9) break;
      t = t * 10 + digit;
    }
    const digits = at - from;
    if (digits === 0 || digits > 16 || t > MAX_T_US || (digits > 1 && line[from] === 48)) return 0;
    if (line[at] !== 32) return 0;
    this.tUs = t;
    return at + 1;
  }

  #again(line: Uint8Array, at: number): number {
    const last = Math.min(line.length, at + MAX_KNOWN_BYTES + 1);
    let end = at;
    while (end < last && line[end] !== 10) end++;
    if (end === last) return 0;
    const known = this.#known[placeOf(line, at, end)];
    if (known === undefined || known.bytes.length !== end - at) return 0;
    for (let i = at, k = 0; i < end; i++, k++) if (known.bytes[k] !== line[i]) return 0;
    const { record } = known;
    this.kind = null;
    this.record =
      record.kind === 'done'
        ? { kind: 'done', tUs: this.tUs, outcome: record.outcome }
        : { kind: 'request', tUs: this.tUs, payload: record.payload, ecu: record.ecu };
    return end + 1;
  }
}

function placeOf(line: Uint8Array, at: number, end: number): number {
  let hash = 0;
  for (let i = at; i < end; i++) hash = (Math.imul(hash, 31) + line[i]!) | 0;
  return (hash ^ (hash >>> 15)) & (PLACES - 1);
}

const [R, T, X] = [0x72, 0x74, 0x78];
/** Value of an upper-case hex digit by its character code; -1 for any other byte. */
const UPPER_HEX = Int8Array.from({ length: 256 }, (_, code) =>
  '0123456789ABCDEF'.indexOf(String.fromCharCode(code)),
);
