/** The lines of a serial-line CAN adapter (slcan) during one request → messages of each control unit. */
import { fromHex } from '../../core/hex.ts';
import { isResponseId } from '../../isotp/address.ts';
import type { Discard } from '../adapter.ts';
import { type CanFrame, joinFrames, type Reading } from '../frames.ts';
import type { RxChunk } from '../wire.ts';

const CR = 0x0d;
const BEL = 0x07;
/** The longest line: T, eight digits of address, length, sixteen of data, four of time stamp. */
const MAX_LINE = 64;

export interface SlcanLine {
  readonly text: string;
  readonly raw: Uint8Array;
  readonly tUs: number;
  readonly ended: 'cr' | 'bel' | 'cut';
}

/** Cuts a byte stream into lines, keeping what is not finished for the next call. Bounded. */
export class SlcanSplitter {
  #raw: number[] = [];
  #tUs = 0;

  push(chunk: RxChunk): SlcanLine[] {
    const lines: SlcanLine[] = [];
    for (const b of chunk.bytes) {
      this.#tUs = chunk.tUs;
      if (b === CR || b === BEL) lines.push(this.#take(b === CR ? 'cr' : 'bel'));
      else {
        this.#raw.push(b);
        if (this.#raw.length >= MAX_LINE) lines.push(this.#take('cut'));
      }
    }
    return lines;
  }

  /** What is left without its end, if anything. */
  rest(): SlcanLine | null {
    return this.#raw.length === 0 ? null : this.#take('cut');
  }

  #take(ended: SlcanLine['ended']): SlcanLine {
    const raw = Uint8Array.from(this.#raw);
    this.#raw = [];
    return { text: String.fromCharCode(...raw), raw, tUs: this.#tUs, ended };
  }
}

export type SlcanMeaning =
  | { readonly kind: 'frame'; readonly id: string; readonly data: Uint8Array }
  | { readonly kind: 'remote' }
  | { readonly kind: 'reply' } // acknowledgement, version, status
  | { readonly kind: 'error' }
  | { readonly kind: 'malformed'; readonly why: string };

/** One line's meaning. A time stamp of four digits may follow the data. Common practice, from memory. */
export function readSlcanLine(line: SlcanLine): SlcanMeaning {
  if (line.ended === 'bel' && line.text === '') return { kind: 'error' };
  if (line.ended !== 'cr')
    return { kind: 'malformed', why: line.ended === 'cut' ? 'cut off' : 'broken by BEL' };
  const t = line.text;
  const m = /^(?:t([0-9A-Fa-f]{3})|T([0-9A-Fa-f]{8}))([0-8])((?:[0-9A-Fa-f]{2})*)$/.exec(t);
  if (m) {
    const id = (m[1] ?? m[2] ?? '').toUpperCase();
    const length = Number(m[3]);
    const hex = m[4] ?? '';
    if (hex.length !== 2 * length && hex.length !== 2 * length + 4)
      return { kind: 'malformed', why: `says ${length} bytes, ${hex.length / 2} came` };
    return { kind: 'frame', id, data: fromHex(hex.slice(0, 2 * length)) ?? new Uint8Array() };
  }
  if (/^(r[0-9A-Fa-f]{3}|R[0-9A-Fa-f]{8})[0-8]([0-9A-Fa-f]{4})?$/.test(t)) return { kind: 'remote' };
  if (/^(|z|Z|[VvN][\x20-\x7e]{0,32}|F[0-9A-Fa-f]{2})$/.test(t)) return { kind: 'reply' };
  return { kind: 'malformed', why: 'not a frame' };
}

/** Traffic between other devices: understood, and nothing to do with diagnostics. */
export function isOtherTraffic(meaning: SlcanMeaning): boolean {
  return meaning.kind === 'remote' || (meaning.kind === 'frame' && !isResponseId(meaning.id));
}

/** Frames of others on a busy bus are understood and left alone; only damage is a discard. */
export function readSlcan(rx: readonly RxChunk[]): Reading {
  const splitter = new SlcanSplitter();
  const frames: CanFrame[] = [];
  const discards: Discard[] = [];
  const take = (line: SlcanLine) => {
    const meaning = readSlcanLine(line);
    if (meaning.kind === 'malformed') discards.push({ tUs: line.tUs, bytes: line.raw, why: meaning.why });
    else if (meaning.kind === 'frame' && isResponseId(meaning.id))
      frames.push({ id: meaning.id, data: meaning.data, tUs: line.tUs, raw: line.raw });
  };
  for (const chunk of rx) for (const line of splitter.push(chunk)) take(line);
  const rest = splitter.rest();
  if (rest) take(rest);
  const joined = joinFrames(frames, false); // each line says its own length
  return { messages: joined.messages, discards: [...discards, ...joined.discards] };
}
