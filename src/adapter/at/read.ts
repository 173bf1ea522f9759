/** The text that an AT-command adapter sends for one request → messages of each control unit. */
import { bytesOfHex, fromHex, HEX_DIGIT, toHex } from '../../core/hex.ts';
import type { Says } from '../../core/says.ts';
import { say } from '../../core/wire-says.ts';
import { isResponseId } from '../../isotp/address.ts';
import type { Dialect, Discard, EcuMessage } from '../adapter.ts';
import { Frames, type JoinedFrames, joinFrames } from '../frames.ts';
import type { Received, RxChunk } from '../received.ts';
import { responseIdAt } from '../response-id.ts';
import { type AdapterLine, chatterIn, printable, splitLines, type Word, wordOf } from './lines.ts';

export interface AtReading extends JoinedFrames {
  /** The adapter's own words, in order. */
  readonly words: readonly { readonly word: Word; readonly says: Says; readonly text: string }[];
}

/** @param sent the request's bytes, to tell the echo; [] when it was not a diagnostic request. */
export function readAt(dialect: Dialect, sent: Uint8Array, rx: Received | readonly RxChunk[]): AtReading {
  const words: AtReading['words'][number][] = [];
  const discards: Discard[] = [];
  const lines: AdapterLine[] = [];
  let first = true;
  for (const whole of splitLines(rx)) {
    // Neither chatter nor words are made of hex digits alone.
    const chatter = whole.isHex ? 0 : chatterIn(whole.text);
    if (chatter > 0) words.push({ word: 'progress', says: say('word.searching'), text: whole.text });
    const line = chatter > 0 ? whole.after(chatter) : whole;
    if (line.length === 0) continue;
    const isEcho = first && chatter === 0 && isEchoOf(sent, line);
    first = false;
    if (isEcho) continue;
    const row = line.isHex ? null : wordOf(line.text);
    if (row) words.push({ word: row.word, says: row.says, text: printable(line.raw) });
    else if (!line.ended) discards.push({ tUs: line.tUs, bytes: line.raw, why: 'cut off' });
    else lines.push(line);
  }
  const read = dialect.headers
    ? readWithHeaders(dialect, lines)
    : dialect.autoFormat === false && dialect.bus.startsWith('can')
      ? readFrames(dialect, lines)
      : readBare(dialect, lines);
  return { messages: read.messages, discards: [...discards, ...read.discards], words };
}

/** A command, or what was sent, with the digit behind it that says how many answers to wait for. */
function isEchoOf(sent: Uint8Array, line: AdapterLine): boolean {
  if (!line.isHex) return line.text.startsWith('AT');
  if (line.length >> 1 !== sent.length) return false;
  for (let i = 0, at = line.from; i < sent.length; i++, at += 2)
    if ((HEX_DIGIT[line.codes[at]!]! << 4) + HEX_DIGIT[line.codes[at + 1]!]! !== sent[i]) return false;
  return true;
}

/** Each line: address, ISO-TP bytes, data (CAN), or three header bytes, data, checksum (others). */
function readWithHeaders(dialect: Dialect, lines: readonly AdapterLine[]): JoinedFrames {
  const frames = FRAMES.none();
  const framed: AdapterLine[] = [];
  const messages: EcuMessage[] = [];
  const discards: Discard[] = [];
  for (const line of lines) {
    const drop = (why: string) => discards.push({ tUs: line.tUs, bytes: line.raw, why });
    if (!line.isHex) {
      drop(explain(line.text));
      continue;
    }
    const { codes, from, to } = line;
    const idLength = addressLength(dialect, line);
    if (idLength > 0) {
      const idTo = Math.min(to, from + idLength);
      const id = responseIdAt(codes, from, idTo);
      if (((to - idTo) & 1) === 1) drop('odd number of hex digits');
      else if (id === null) drop(`${line.text.slice(0, idLength)} is not the address of a diagnostic answer`);
      else if (frames.add(id, line.tUs, codes, idTo, to)) framed.push(line);
      continue;
    }
    const bytes = bytesOfHex(codes, from, to);
    const m = bytes ? readClassic(dialect, bytes) : 'odd number of hex digits';
    if (typeof m === 'string') drop(m);
    else messages.push({ ...m, tUs: line.tUs });
  }
  const joined = joinFrames(frames, (k) => framed[k]!.raw, dialect.padded ?? false);
  return { messages: [...messages, ...joined.messages], discards: [...discards, ...joined.discards] };
}

/** Whether every frame in a good answer with headers has its eight bytes, though fewer count. */
export function isPadded(dialect: Dialect, rx: Received | readonly RxChunk[]): boolean {
  const frames = splitLines(rx).flatMap((line) => {
    const idLength = addressLength(dialect, line);
    return idLength > 0 && isResponseId(line.text.slice(0, idLength)) ? [line.length - idLength] : [];
  });
  return frames.length > 0 && frames.every((digits) => digits === 16);
}

/** Digits of the CAN address in front of a line; 0 when the bus is not CAN. */
function addressLength(dialect: Dialect, line: AdapterLine): 0 | 3 | 8 {
  if (dialect.bus === 'can11') return 3;
  if (dialect.bus === 'can29') return 8;
  if (dialect.bus !== 'unknown') return 0;
  if (line.length % 2 === 1) return 3;
  return line.text.startsWith('18DA') ? 8 : 0;
}

/** K-line and J1850: three header bytes (four where the length is a byte of its own), data, one check byte. */
function readClassic(
  dialect: Dialect,
  bytes: Uint8Array,
): { readonly ecu: string; readonly payload: Uint8Array } | string {
  if (bytes.length < 5) return `only ${bytes.length} bytes`;
  const body = bytes.subarray(0, -1);
  const check = bytes[bytes.length - 1];
  const sumFits = sum8(body) === check;
  const crcFits = crcJ1850(body) === check;
  const fits = dialect.bus === 'kline' ? sumFits : dialect.bus === 'j1850' ? crcFits : sumFits || crcFits;
  if (!fits) return 'wrong checksum';
  const [format = 0, target = 0, source = 0] = bytes;
  const ecu = toHex(Uint8Array.of(source));
  if (target === 0x6b) return { ecu, payload: body.slice(3) }; // ISO 9141-2 and SAE J1850 answers
  if ((format & 0xc0) === 0x80 && target === 0xf1) {
    // ISO 14230-2: length in the format byte, or in a byte of its own when that is zero.
    const own = (format & 0x3f) === 0;
    const length = own ? (bytes[3] ?? 0) : format & 0x3f;
    const payload = body.slice(own ? 4 : 3);
    return payload.length === length ? { ecu, payload } : `says ${length} bytes, ${payload.length} came`;
  }
  return 'header bytes of no known answer';
}

export function sum8(bytes: Uint8Array): number {
  let s = 0;
  for (const b of bytes) s = (s + b) & 0xff;
  return s;
}

/** SAE J1850 CRC, from memory: polynomial 1D, start FF, inverted. */
export function crcJ1850(bytes: Uint8Array): number {
  let crc = 0xff;
  for (const b of bytes) {
    crc ^= b;
    for (let i = 0; i < 8; i++) crc = crc & 0x80 ? ((crc << 1) ^ 0x1d) & 0xff : (crc << 1) & 0xff;
  }
  return crc ^ 0xff;
}

const FRAMES = new Frames();

/** Without headers but with ISO-TP bytes: one unnamed control unit. */
function readFrames(dialect: Dialect, lines: readonly AdapterLine[]): JoinedFrames {
  const frames = FRAMES.none();
  const framed: AdapterLine[] = [];
  const discards: Discard[] = [];
  for (const line of lines) {
    if (line.isHex && frames.add('?', line.tUs, line.codes, line.from, line.to)) framed.push(line);
    else discards.push({ tUs: line.tUs, bytes: line.raw, why: explain(line.text) });
  }
  const joined = joinFrames(frames, (k) => framed[k]!.raw, dialect.padded ?? false);
  return { messages: joined.messages, discards: [...discards, ...joined.discards] };
}

interface LongAnswer {
  readonly total: number;
  readonly parts: AdapterLine[];
  readonly bytes: number[];
  next: number;
}

/**
 * Without headers: short answers on one line; long ones as a line with the length in three digits, then lines
 * numbered 0: 1: … F: 0: …. When two control units send long answers at once, their lines cannot be told apart:
 * a line that fits more than one answer spoils them all rather than mixing them.
 */
function readBare(dialect: Dialect, lines: readonly AdapterLine[]): JoinedFrames {
  const messages: EcuMessage[] = [];
  const discards: Discard[] = [];
  const drop = (line: AdapterLine, why: string) => discards.push({ tUs: line.tUs, bytes: line.raw, why });
  const maxShort = dialect.bus.startsWith('can') ? 7 : 255;
  let announced: { readonly line: AdapterLine; readonly total: number }[] = [];
  let open: LongAnswer[] = [];
  const spoil = (why: string) => {
    for (const a of open) for (const p of a.parts) drop(p, why);
    for (const a of announced) drop(a.line, why);
    open = [];
    announced = [];
  };
  for (const line of lines) {
    const numbered = line.isHex ? null : /^([0-9A-F]):([0-9A-F]*)$/.exec(line.text);
    if (numbered) {
      const n = Number.parseInt(numbered[1] ?? '', 16);
      const bytes = fromHex(numbered[2] ?? '');
      const length = n === 0 ? announced[0] : undefined;
      if (!bytes) {
        drop(line, 'odd number of hex digits');
        spoil('a line of this answer was damaged');
      } else if (length && !open.some((a) => a.next === 0)) {
        if (bytes.length !== 6) {
          drop(line, `first line of a long answer with ${bytes.length} bytes`);
          spoil('a line of this answer was damaged');
          continue;
        }
        announced.shift();
        open.push({ total: length.total, parts: [length.line, line], bytes: [...bytes], next: 1 });
      } else {
        const takers = open.filter((a) => a.next === n);
        const [a] = takers;
        if (!a || takers.length > 1) {
          drop(line, a ? 'two long answers mixed without headers' : `line ${n}: where another was due`);
          spoil(a ? 'two long answers mixed without headers' : 'a line of this answer is missing');
          continue;
        }
        const want = Math.min(7, a.total - a.bytes.length);
        if (bytes.length !== 7 && bytes.length !== want) {
          drop(line, `line ${n}: has ${bytes.length} bytes`);
          spoil('a line of this answer was damaged');
          continue;
        }
        a.parts.push(line);
        a.bytes.push(...bytes.subarray(0, want));
        a.next = (a.next + 1) & 0x0f;
        if (a.bytes.length === a.total) {
          messages.push({ ecu: '?', payload: Uint8Array.from(a.bytes), tUs: line.tUs });
          open = open.filter((x) => x !== a);
        }
      }
      continue;
    }
    if (line.isHex && line.length === 3) {
      const total = Number.parseInt(line.text, 16);
      if (total < 8) drop(line, `length line says ${total} bytes`);
      else announced.push({ line, total });
      continue;
    }
    const payload = bytesIn(line);
    if (!payload) drop(line, explain(line.text));
    else if (payload.length > maxShort)
      drop(line, `${payload.length} bytes on one line: line ends were lost`);
    else messages.push({ ecu: '?', payload, tUs: line.tUs });
  }
  spoil('message not finished');
  return { messages, discards };
}

const bytesIn = ({ isHex, codes, from, to }: AdapterLine): Uint8Array | null =>
  isHex ? bytesOfHex(codes, from, to) : null;

function explain(text: string): string {
  if (/^[0-9A-F]+$/.test(text)) return 'odd number of hex digits';
  if (/^[0-9A-F]+<(DATA|RX)ERROR$/.test(text)) return 'marked as damaged by the adapter';
  return 'not an answer';
}
