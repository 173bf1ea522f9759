/** The text of an AT-command adapter as lines with times, and its words as a table. Common practice, from memory. */

import { HEX_DIGIT } from '../../core/hex.ts';
import type { Says } from '../../core/says.ts';
import { say } from '../../core/wire-says.ts';
import { Received, type RxChunk } from '../received.ts';

const MAX_LINE = 1024;
const CR = 0x0d;
const LF = 0x0a;
export const PROMPT = 0x3e;

/** One line: its characters as bytes, as text only where somebody asks for it. */
export class AdapterLine {
  /** Without line end, NULs and spaces, upper case: `codes` from `from` to `to`. */
  readonly codes: Uint8Array;
  readonly from: number;
  readonly to: number;
  /** Nothing but hex digits. */
  readonly isHex: boolean;
  /** When its last character that is not a space came. */
  readonly tUs: number;
  /** False when neither a line end nor a prompt followed: it may be cut off. */
  readonly ended: boolean;
  readonly #rx: Received;
  readonly #rawFrom: number;
  readonly #rawTo: number;

  constructor(
    line: { codes: Uint8Array; from: number; to: number; isHex: boolean; tUs: number; ended: boolean },
    rx: Received,
    rawFrom: number,
    rawTo: number,
  ) {
    this.codes = line.codes;
    this.from = line.from;
    this.to = line.to;
    this.isHex = line.isHex;
    this.tUs = line.tUs;
    this.ended = line.ended;
    this.#rx = rx;
    this.#rawFrom = rawFrom;
    this.#rawTo = rawTo;
  }

  get length(): number {
    return this.to - this.from;
  }

  get text(): string {
    return String.fromCharCode(...this.codes.subarray(this.from, this.to)).toUpperCase();
  }

  /** As it came, without NULs. Only as long as what was received is kept. */
  get raw(): Uint8Array {
    return this.#rx.bytes.slice(this.#rawFrom, this.#rawTo).filter((b) => b !== 0);
  }

  /** Without its first `n` characters. */
  after(n: number): AdapterLine {
    const from = this.from + n;
    let isHex = true;
    for (let i = from; i < this.to; i++) if (HEX_DIGIT[this.codes[i]!]! < 0) isHex = false;
    return new AdapterLine({ ...this, from, isHex }, this.#rx, this.#rawFrom, this.#rawTo);
  }
}

export function splitLines(chunks: Received | readonly RxChunk[]): AdapterLine[] {
  const rx = Received.of(chunks);
  const codes = new Uint8Array(rx.length);
  const lines: AdapterLine[] = [];
  let rawFrom = 0;
  let rawLength = 0;
  let from = 0;
  let to = 0;
  let isHex = true;
  let tUs = 0;
  let i = 0;
  const end = (ended: boolean, at: number, next: number) => {
    if (to > from) lines.push(new AdapterLine({ codes, from, to, isHex, tUs, ended }, rx, rawFrom, at));
    rawFrom = next;
    rawLength = 0;
    from = to;
    isHex = true;
  };
  for (let k = 0; k < rx.portions; k++)
    for (const last = rx.ends[k]!; i < last; i++) {
      const b = rx.bytes[i]!;
      if (b === CR || b === LF || b === PROMPT) {
        end(true, i, i + 1);
        continue;
      }
      if (b === 0) continue; // some adapters slip in NUL bytes; the trade ignores them
      if (b !== 0x20 && b !== 0x09) {
        codes[to++] = b >= 0x61 && b <= 0x7a ? b - 0x20 : b;
        if (HEX_DIGIT[b]! < 0) isHex = false;
        tUs = rx.tUs[k]!;
      }
      if (++rawLength >= MAX_LINE) end(false, i + 1, i + 1);
    }
  end(false, i, i);
  return lines;
}

/**
 * What a line of words means.
 * `progress`: work goes on. `no data`: nobody answered. `bus`: no talk with the vehicle possible.
 * `interrupted`: stopped by a character we sent. `overflow`: the adapter lost bytes. `damaged`: bytes with bad
 * checksum. `power`: supply too low, the adapter has started anew. `refused`: command not known.
 */
export type Word =
  | 'progress'
  | 'ok'
  | 'no data'
  | 'bus'
  | 'interrupted'
  | 'overflow'
  | 'damaged'
  | 'power'
  | 'sleep'
  | 'refused';

interface WordRow {
  readonly word: Word;
  /** On text without spaces. */
  readonly pattern: RegExp;
  /** What it means and what to try, for the technician. */
  readonly says: Says;
}

export const WORDS: readonly WordRow[] = [
  { word: 'ok', pattern: /^OK$/, says: say('word.ok') },
  { word: 'refused', pattern: /^\?$/, says: say('word.refused') },
  { word: 'no data', pattern: /^NODATA$/, says: say('word.no-data') },
  {
    word: 'bus',
    pattern: /^UNABLETOCONNECT$/,
    says: say('word.no-bus'),
  },
  {
    word: 'bus',
    pattern: /^(BUSINIT:?)?[.]*ERROR$/,
    says: say('word.no-wake-up'),
  },
  { word: 'bus', pattern: /^BUSBUSY$/, says: say('word.bus-busy') },
  { word: 'bus', pattern: /^BUSERROR$/, says: say('word.bus-level') },
  {
    word: 'bus',
    pattern: /^CANERROR$/,
    says: say('word.can-error'),
  },
  { word: 'bus', pattern: /^FBERROR$/, says: say('word.no-echo') },
  { word: 'damaged', pattern: /^<?DATAERROR$/, says: say('word.checksum') },
  { word: 'damaged', pattern: /^<?RXERROR$/, says: say('word.damaged') },
  {
    word: 'overflow',
    pattern: /^BUFFERFULL$/,
    says: say('word.overflow'),
  },
  { word: 'interrupted', pattern: /^STOPPED$/, says: say('word.interrupted') },
  { word: 'power', pattern: /^LVRESET$/, says: say('word.restarted') },
  { word: 'power', pattern: /^LOWVOLTAGE/, says: say('word.low-voltage') },
  { word: 'sleep', pattern: /^ACTALERT$/, says: say('word.sleep') },
  { word: 'sleep', pattern: /^LPALERT$/, says: say('word.sleep') },
  { word: 'bus', pattern: /^ERR[0-9]{2}$/, says: say('word.internal') },
];

export function wordOf(text: string): WordRow | null {
  return WORDS.find((row) => row.pattern.test(text)) ?? null;
}

/** Chatter that may stand in front of an answer on the same line. */
const CHATTER = /^(SEARCHING\.*|BUSINIT:?\.*(OK)?)/;

/** How many characters of chatter the line begins with. */
export const chatterIn = (text: string): number => CHATTER.exec(text)?.[0].length ?? 0;

/** For people: what cannot be printed becomes a dot. */
export function printable(raw: Uint8Array): string {
  return Array.from(raw, (b) => (b >= 0x20 && b < 0x7f ? String.fromCharCode(b) : '·'))
    .join('')
    .trim();
}
