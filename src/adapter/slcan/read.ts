/** The lines of a serial-line CAN adapter (slcan) during one request → messages of each control unit. */
import { bytesOfHex, HEX_DIGIT } from '../../core/hex.ts';
import { isResponseId } from '../../isotp/address.ts';
import type { Discard } from '../adapter.ts';
import { Frames, type JoinedFrames, joinFrames } from '../frames.ts';
import { Received, type RxChunk } from '../received.ts';
import { responseIdAt } from '../response-id.ts';

const CR = 0x0d;
const BEL = 0x07;
/** `t` and `T`: a frame with an address of three digits, of eight. */
const SHORT = 0x74;
const LONG = 0x54;
/** The longest line: T, eight digits of address, length, sixteen of data, four of time stamp. */
const MAX_LINE = 64;

type Ended = 'cr' | 'bel' | 'cut';

/** One line, `codes` from `from` to `to`, for as long as they stay; its text only where somebody asks for it. */
class SlcanLine {
  readonly codes: Uint8Array;
  readonly from: number;
  readonly to: number;
  readonly tUs: number;
  readonly ended: Ended;

  constructor(codes: Uint8Array, from: number, to: number, tUs: number, ended: Ended) {
    this.codes = codes;
    this.from = from;
    this.to = to;
    this.tUs = tUs;
    this.ended = ended;
  }

  get length(): number {
    return this.to - this.from;
  }

  /** A copy. */
  get raw(): Uint8Array {
    return this.codes.slice(this.from, this.to);
  }

  get text(): string {
    return String.fromCharCode(...this.raw);
  }

  /** With its end, as it came; a copy. */
  get whole(): Uint8Array {
    const whole = new Uint8Array(this.length + (this.ended === 'cut' ? 0 : 1));
    whole.set(this.raw);
    if (this.ended !== 'cut') whole[this.length] = this.ended === 'cr' ? CR : BEL;
    return whole;
  }
}

/** Cuts a byte stream into lines, keeping what is not finished for the next call. Bounded. */
export class SlcanSplitter {
  readonly #raw = new Uint8Array(MAX_LINE);
  #length = 0;

  push({ tUs, bytes }: RxChunk): SlcanLine[] {
    const lines: SlcanLine[] = [];
    for (let i = 0; i < bytes.length; i++) {
      const b = bytes[i]!;
      if (b === CR || b === BEL) lines.push(this.#take(tUs, b === CR ? 'cr' : 'bel'));
      else {
        this.#raw[this.#length++] = b;
        if (this.#length >= MAX_LINE) lines.push(this.#take(tUs, 'cut'));
      }
    }
    return lines;
  }

  #take(tUs: number, ended: Ended): SlcanLine {
    const codes = this.#raw.slice(0, this.#length);
    this.#length = 0;
    return new SlcanLine(codes, 0, codes.length, tUs, ended);
  }
}

export type SlcanMeaning =
  | { readonly kind: 'frame'; readonly id: string; readonly data: Uint8Array }
  | { readonly kind: 'remote' }
  | { readonly kind: 'reply' } // acknowledgement, version, status
  | { readonly kind: 'error' }
  | { readonly kind: 'malformed'; readonly why: string };

const ACKNOWLEDGED: SlcanMeaning = { kind: 'reply' };

/** One line's meaning. A time stamp of four digits may follow the data. Common practice, from memory. */
export function readSlcanLine(line: SlcanLine): SlcanMeaning {
  const { codes, from, to, ended } = line;
  if (ended === 'bel' && to === from) return { kind: 'error' };
  if (ended === 'cr' && to === from) return ACKNOWLEDGED;
  if (ended !== 'cr') return { kind: 'malformed', why: ended === 'cut' ? 'cut off' : 'broken by BEL' };
  const lengthAt = lengthIn(codes, from, to);
  if (lengthAt > 0) {
    const length = codes[lengthAt]! - 0x30;
    const digits = to - lengthAt - 1;
    if (!holds(length, digits)) return { kind: 'malformed', why: `says ${length} bytes, ${digits / 2} came` };
    const id = responseIdAt(codes, from + 1, lengthAt) ?? line.text.slice(1, lengthAt - from).toUpperCase();
    return { kind: 'frame', id, data: bytesOfHex(codes, lengthAt + 1, lengthAt + 1 + 2 * length)! };
  }
  const t = line.text;
  if (/^(r[0-9A-Fa-f]{3}|R[0-9A-Fa-f]{8})[0-8]([0-9A-Fa-f]{4})?$/.test(t)) return { kind: 'remote' };
  if (/^(|z|Z|[VvN][\x20-\x7e]{0,32}|F[0-9A-Fa-f]{2})$/.test(t)) return { kind: 'reply' };
  return { kind: 'malformed', why: 'not a frame' };
}

/** What a line says of those that were written before: taken or refused, answered; null: nothing. */
export function tellsOfWritten(line: SlcanLine): 'acknowledged' | 'answer' | null {
  const { codes, from, to, ended } = line;
  const at = ended === 'cr' ? lengthIn(codes, from, to) : 0;
  if (at > 0)
    return holds(codes[at]! - 0x30, to - at - 1) && responseIdAt(codes, from + 1, at) !== null
      ? 'answer'
      : null;
  const { kind } = readSlcanLine(line);
  return kind === 'reply' || kind === 'error' ? 'acknowledged' : null;
}

/** Where a line that looks like a frame has its length, a digit of 0 to 8; 0 for any other line. */
function lengthIn(codes: Uint8Array, from: number, to: number): number {
  const kind = codes[from];
  const at = from + (kind === SHORT ? 4 : kind === LONG ? 9 : 0);
  if (at === from || to <= at || ((to - at) & 1) === 0) return 0;
  const length = codes[at]! - 0x30;
  if (length < 0 || length > 8) return 0;
  for (let i = from + 1; i < to; i++) if (HEX_DIGIT[codes[i]!]! < 0) return 0;
  return at;
}

/** So many hex digits are so many bytes, with a time stamp behind them or without. */
const holds = (length: number, digits: number): boolean => digits === 2 * length || digits === 2 * length + 4;

/** Traffic between other devices: understood, and nothing to do with diagnostics. */
export function isOtherTraffic(meaning: SlcanMeaning): boolean {
  return meaning.kind === 'remote' || (meaning.kind === 'frame' && !isResponseId(meaning.id));
}

/** Frames of others on a busy bus are understood and left alone; only damage is a discard. */
export function readSlcan(chunks: Received | readonly RxChunk[]): JoinedFrames {
  const rx = Received.of(chunks);
  const { bytes } = rx;
  const frames = FRAMES.none();
  /** Of each frame: where its line begins and ends. */
  const spans: number[] = [];
  const discards: Discard[] = [];
  const take = (from: number, to: number, tUs: number, ended: Ended): void => {
    if (from === to && ended !== 'cut') return; // acknowledged, refused
    const at = ended === 'cr' ? lengthIn(bytes, from, to) : 0;
    if (at > 0 && holds(bytes[at]! - 0x30, to - at - 1)) {
      const id = responseIdAt(bytes, from + 1, at);
      if (id === null) return;
      frames.add(id, tUs, bytes, at + 1, at + 1 + 2 * (bytes[at]! - 0x30));
      spans.push(from, to);
      return;
    }
    const line = new SlcanLine(bytes, from, to, tUs, ended);
    const meaning = readSlcanLine(line);
    if (meaning.kind === 'malformed') discards.push({ tUs, bytes: line.raw, why: meaning.why });
  };
  let from = 0;
  let i = 0;
  let tUs = 0;
  for (let k = 0; k < rx.portions; k++)
    for (const end = rx.ends[k]!; i < end; i++) {
      tUs = rx.tUs[k]!;
      const b = bytes[i]!;
      if (b === CR || b === BEL) {
        take(from, i, tUs, b === CR ? 'cr' : 'bel');
        from = i + 1;
      } else if (i + 1 - from >= MAX_LINE) {
        take(from, i + 1, tUs, 'cut');
        from = i + 1;
      }
    }
  if (from < rx.length) take(from, rx.length, tUs, 'cut');
  // Each line says its own length.
  const joined = joinFrames(frames, (k) => bytes.slice(spans[2 * k], spans[2 * k + 1]), false);
  return { messages: joined.messages, discards: [...discards, ...joined.discards] };
}

const FRAMES = new Frames();
