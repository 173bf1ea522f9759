/** The text of an AT-command adapter as lines with times, and its words as a table. Common practice, from memory. */

import type { Says } from '../../core/says.ts';
import { say } from '../../core/wire-says.ts';
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
