/** The lines of a serial-line CAN adapter (slcan) during one request → messages of each control unit. */
import { bytesOfHex, HEX_DIGIT } from '../../core/hex.ts';
import { isResponseId, responseIdAt } from '../../isotp/address.ts';
import type { Discard } from '../adapter.ts';
import { type JoinedFrames, joinFrames, type ReceivedFrame } from '../frames.ts';
import { Received, type RxChunk } from '../received.ts';

const CR = 0x0d;
const BEL = 0x07;
/** `t` and `T`: a frame with an address of three digits, of eight. */
const SHORT = 0x74;
const LONG = 0x54;
/** The longest line: T, eight digits of address, length, sixteen of data, four of time stamp. */
const MAX_LINE = 64;

/** One line; its text only where somebody asks for it. */
export class SlcanLine {
  readonly raw: Uint8Array;
  readonly tUs: number;
  readonly ended: 'cr' | 'bel' | 'cut';

  constructor(raw: Uint8Array, tUs: number, ended: SlcanLine['ended']) {
    this.raw = raw;
    this.tUs = tUs;
    this.ended = ended;
  }

  get text(): string {
    return String.fromCharCode(...this.raw);
  }

  /** With its end, as it came. */
  get whole(): Uint8Array {
    const { raw, ended } = this;
    const whole = new Uint8Array(raw.length + (ended === 'cut' ? 0 : 1));
    whole.set(raw);
    if (ended !== 'cut') whole[raw.length] = ended === 'cr' ? CR : BEL;
    return whole;
  }
}

/** Cuts a byte stream into lines, keeping what is not finished for the next call. Bounded. */
export class SlcanSplitter {
  readonly #raw = new Uint8Array(MAX_LINE);
  #length = 0;
  #tUs = 0;

  push({ tUs, bytes }: RxChunk, from = 0, to = bytes.length): SlcanLine[] {
    const lines: SlcanLine[] = [];
    for (let i = from; i < to; i++) {
      const b = bytes[i]!;
      this.#tUs = tUs;
      if (b === CR || b === BEL) lines.push(this.#take(b === CR ? 'cr' : 'bel'));
      else {
        this.#raw[this.#length++] = b;
        if (this.#length >= MAX_LINE) lines.push(this.#take('cut'));
      }
    }
    return lines;
  }

  /** What is left without its end, if anything. */
  rest(): SlcanLine | null {
    return this.#length === 0 ? null : this.#take('cut');
  }

  #take(ended: SlcanLine['ended']): SlcanLine {
    const raw = this.#raw.slice(0, this.#length);
    this.#length = 0;
    return new SlcanLine(raw, this.#tUs, ended);
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
  const { raw, ended } = line;
  if (ended === 'bel' && raw.length === 0) return { kind: 'error' };
  if (ended === 'cr' && raw.length === 0) return ACKNOWLEDGED;
  if (ended !== 'cr') return { kind: 'malformed', why: ended === 'cut' ? 'cut off' : 'broken by BEL' };
  const idTo = raw[0] === SHORT ? 4 : raw[0] === LONG ? 9 : 0;
  if (idTo > 0 && raw.length > idTo && raw.length % 2 === (idTo + 1) % 2 && isHex(raw, 1)) {
    const length = raw[idTo]! - 0x30;
    const data = raw.length - idTo - 1;
    if (length >= 0 && length <= 8) {
      if (data !== 2 * length && data !== 2 * length + 4)
        return { kind: 'malformed', why: `says ${length} bytes, ${data / 2} came` };
      const id = responseIdAt(raw, 1, idTo) ?? line.text.slice(1, idTo).toUpperCase();
      return { kind: 'frame', id, data: bytesOfHex(raw, idTo + 1, idTo + 1 + 2 * length)! };
    }
  }
  const t = line.text;
  if (/^(r[0-9A-Fa-f]{3}|R[0-9A-Fa-f]{8})[0-8]([0-9A-Fa-f]{4})?$/.test(t)) return { kind: 'remote' };
  if (/^(|z|Z|[VvN][\x20-\x7e]{0,32}|F[0-9A-Fa-f]{2})$/.test(t)) return { kind: 'reply' };
  return { kind: 'malformed', why: 'not a frame' };
}

function isHex(raw: Uint8Array, from: number): boolean {
  for (let i = from; i < raw.length; i++) if (HEX_DIGIT[raw[i]!]! < 0) return false;
  return true;
}

/** Traffic between other devices: understood, and nothing to do with diagnostics. */
export function isOtherTraffic(meaning: SlcanMeaning): boolean {
  return meaning.kind === 'remote' || (meaning.kind === 'frame' && !isResponseId(meaning.id));
}

/** Frames of others on a busy bus are understood and left alone; only damage is a discard. */
export function readSlcan(chunks: Received | readonly RxChunk[]): JoinedFrames {
  const rx = Received.of(chunks);
  const splitter = new SlcanSplitter();
  const frames: ReceivedFrame[] = [];
  const discards: Discard[] = [];
  const take = (line: SlcanLine) => {
    const meaning = readSlcanLine(line);
    if (meaning.kind === 'malformed') discards.push({ tUs: line.tUs, bytes: line.raw, why: meaning.why });
    else if (meaning.kind === 'frame' && isResponseId(meaning.id))
      frames.push({ id: meaning.id, data: meaning.data, tUs: line.tUs, line });
  };
  for (let k = 0, from = 0; k < rx.portions; from = rx.ends[k++]!)
    for (const line of splitter.push({ tUs: rx.tUs[k]!, bytes: rx.bytes }, from, rx.ends[k]!)) take(line);
  const rest = splitter.rest();
  if (rest) take(rest);
  const joined = joinFrames(frames, false); // each line says its own length
  return { messages: joined.messages, discards: [...discards, ...joined.discards] };
}
