/** The text of an AT-command adapter as lines with times, and its words as a table. Common practice, from memory. */

import type { RxChunk } from '../wire.ts';

export interface Line {
  /** Without line end, NULs and spaces, upper case. */
  readonly text: string;
  readonly raw: Uint8Array;
  /** When its last character that is not a space came. */
  readonly tUs: number;
  /** False when neither a line end nor a prompt followed: it may be cut off. */
  readonly ended: boolean;
}

const MAX_LINE = 1024;
const CR = 0x0d;
const LF = 0x0a;
export const PROMPT = 0x3e;

export function splitLines(rx: readonly RxChunk[]): Line[] {
  const lines: Line[] = [];
  let raw: number[] = [];
  let text = '';
  let tUs = 0;
  const end = (ended: boolean) => {
    if (text !== '') lines.push({ text: text.toUpperCase(), raw: Uint8Array.from(raw), tUs, ended });
    raw = [];
    text = '';
  };
  for (const chunk of rx)
    for (const b of chunk.bytes) {
      if (b === CR || b === LF || b === PROMPT) {
        end(true);
        continue;
      }
      if (b === 0) continue; // some adapters slip in NUL bytes; the trade ignores them
      raw.push(b);
      if (b !== 0x20 && b !== 0x09) {
        text += String.fromCharCode(b);
        tUs = chunk.tUs;
      }
      if (raw.length >= MAX_LINE) end(false);
    }
  end(false);
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
  readonly says: string;
}

export const WORDS: readonly WordRow[] = [
  { word: 'ok', pattern: /^OK$/, says: 'done' },
  { word: 'refused', pattern: /^\?$/, says: 'the adapter does not know this command' },
  { word: 'no data', pattern: /^NODATA$/, says: 'no control unit answered' },
  {
    word: 'bus',
    pattern: /^UNABLETOCONNECT$/,
    says: 'the adapter found no bus it can talk on: is the ignition on?',
  },
  {
    word: 'bus',
    pattern: /^(BUSINIT:?)?[.]*ERROR$/,
    says: 'the vehicle did not answer the wake-up of the diagnostic line: is the ignition on?',
  },
  { word: 'bus', pattern: /^BUSBUSY$/, says: 'the bus was busy; another device may be talking on it' },
  { word: 'bus', pattern: /^BUSERROR$/, says: 'the bus level is wrong: wiring or another device' },
  {
    word: 'bus',
    pattern: /^CANERROR$/,
    says: 'nobody acknowledges on the CAN bus: ignition off, wrong speed or wiring',
  },
  { word: 'bus', pattern: /^FBERROR$/, says: 'what was sent did not come back on the line: wiring' },
  { word: 'damaged', pattern: /^<?DATAERROR$/, says: 'an answer came with a wrong checksum' },
  { word: 'damaged', pattern: /^<?RXERROR$/, says: 'an answer came damaged' },
  {
    word: 'overflow',
    pattern: /^BUFFERFULL$/,
    says: 'the adapter could not pass on the answers fast enough',
  },
  { word: 'interrupted', pattern: /^STOPPED$/, says: 'the adapter was interrupted while waiting' },
  { word: 'power', pattern: /^LVRESET$/, says: 'the adapter restarted: supply voltage too low' },
  { word: 'power', pattern: /^LOWVOLTAGE/, says: 'supply voltage too low' },
  { word: 'sleep', pattern: /^ACTALERT$/, says: 'the adapter is about to sleep' },
  { word: 'sleep', pattern: /^LPALERT$/, says: 'the adapter is about to sleep' },
  { word: 'bus', pattern: /^ERR[0-9]{2}$/, says: 'the adapter reports an internal error' },
];

export function wordOf(text: string): WordRow | null {
  return WORDS.find((row) => row.pattern.test(text)) ?? null;
}

/** Chatter that may stand in front of an answer on the same line. */
const CHATTER = /^(SEARCHING\.*|BUSINIT:?\.*(OK)?)/;

/** The line without leading chatter, and whether there was any. */
export function stripChatter(text: string): { text: string; chatter: boolean } {
  const m = CHATTER.exec(text);
  return m ? { text: text.slice(m[0].length), chatter: true } : { text, chatter: false };
}

/** For people: what cannot be printed becomes a dot. */
export function printable(raw: Uint8Array): string {
  return Array.from(raw, (b) => (b >= 0x20 && b < 0x7f ? String.fromCharCode(b) : '·'))
    .join('')
    .trim();
}
