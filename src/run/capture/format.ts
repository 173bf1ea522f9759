/**
 * The capture format, versions 1 and 2: one record a line, `<tUs> <kind> <rest>`. See docs/capture-format.md.
 * Lines come from disk and may be damaged: reading a line returns a result and never throws.
 */

import { z } from 'zod';
import type { Dialect, Outcome, WireEvent } from '../../adapter/adapter.ts';
import { families } from '../../adapter/dialects.ts';
import type { Sample } from '../../core/signals.ts';
import type { ReceiverEvent } from '../../nmea/event.ts';
import type { Mark } from '../types.ts';

export const VERSION_LINE = 'handback-capture 1';
/** With lines of a satellite receiver: a program that does not know them says that the capture is of a later version. */
export const VERSION_LINE_RECEIVER = 'handback-capture 2';
export const isVersionLine = (line: string): boolean =>
  line === VERSION_LINE || line === VERSION_LINE_RECEIVER;
/** Longest line in bytes, line end included; longer ones are damage. */
export const MAX_LINE_BYTES = 8192;
/** Longest run: about 31 years; larger times are damage. */
export const MAX_T_US = 1e15;
/** More bytes than this that arrived together are written as several lines of the same time. */
export const BYTES_A_LINE = 1024;
const MAX_TEXT = 1000;
/** Wall clock and monotonic clock further apart than this since the last anchor: the computer slept or was set. */
export const CLOCK_JUMP_MS = 2000;
/** A line of a receiver; longer ones do not come. */
const MAX_NMEA = 1024;

const ANCHORS = ['start', 'minute', 'resume', 'end'] as const;
export type AnchorWhy = (typeof ANCHORS)[number];

/** Times are whole microseconds since the run began. */
export type CaptureRecord =
  | WireEvent
  | ReceiverEvent
  | {
      readonly kind: 'anchor';
      readonly tUs: number;
      readonly why: AnchorWhy;
      readonly wallMs: number;
    }
  | ({ readonly kind: 'mark' } & Mark)
  | { readonly kind: 'note'; readonly tUs: number; readonly text: string }
  | ({ readonly kind: 'sample' } & Sample)
  | { readonly kind: 'digest'; readonly tUs: number; readonly count: number; readonly sha256: string };

export type CaptureLine =
  | { readonly ok: true; readonly record: CaptureRecord }
  | { readonly ok: false; readonly why: string };

const OUTCOMES: readonly Outcome[] = ['answered', 'no data', 'bus error', 'garbled', 'timeout', 'lost'];
const LINK_STATES = ['opened', 'lost', 'reopening', 'identified', 'closed'] as const;
type LinkState = (typeof LINK_STATES)[number];

const dialectSchema = z.object({
  // one that is not known was written by a later version
  family: z.string().refine((name) => families().includes(name), 'unknown dialect'),
  bus: z.enum(['can11', 'can29', 'kline', 'j1850', 'unknown']),
  headers: z.boolean().optional(),
  autoFormat: z.boolean().optional(),
  padded: z.boolean().optional(),
  bitrate: z.number().int().min(1).max(100_000_000).optional(),
});

/** The record as lines without line ends: one, or several for many bytes that arrived together. */
export function linesOf(r: CaptureRecord): string[] {
  const head = `${clampTime(r.tUs)} ${r.kind}`;
  switch (r.kind) {
    case 'tx':
    case 'rx': {
      const lines: string[] = [];
      for (let i = 0; i < r.bytes.length; i += BYTES_A_LINE)
        lines.push(`${head} ${toHex(r.bytes.subarray(i, i + BYTES_A_LINE))}`);
      return lines;
    }
    case 'dialect':
      return [`${head} ${JSON.stringify(r.dialect)}`];
    case 'request':
      return [
        `${head} ${toHex(r.payload.subarray(0, BYTES_A_LINE))} ${JSON.stringify(r.ecu?.slice(0, 40) ?? null)}`,
      ];
    case 'done':
      return [`${head} ${r.outcome}`];
    case 'link':
      return [`${head} ${r.state} ${quoted(r.text)}`];
    case 'receiver':
      return [`${head} ${r.state} ${quoted(r.text)}`];
    case 'nmea':
      return [`${head} ${JSON.stringify(r.line.slice(0, MAX_NMEA))}`];
    case 'anchor':
      return [`${head} ${r.why} ${new Date(r.wallMs).toISOString()}`];
    case 'mark':
      return [`${head} ${JSON.stringify({ key: r.key.slice(0, 20), text: r.text.slice(0, MAX_TEXT) })}`];
    case 'note':
      return [`${head} ${quoted(r.text)}`];
    case 'sample':
      return [`${head} ${r.signal} ${Object.is(r.value, -0) ? '-0' : r.value} ${clampTime(r.sentUs)}`];
    case 'digest':
      return [`${head} ${r.count} ${r.sha256}`];
  }
}

const toHex = (bytes: Uint8Array): string => Buffer.from(bytes).toString('hex').toUpperCase();

const quoted = (text: string): string => JSON.stringify(text.slice(0, MAX_TEXT));

/** Events of before the run (its first exchanges, still in the tap) belong to its beginning. */
export function clampTime(tUs: number): number {
  return Math.min(MAX_T_US, Math.max(0, Math.round(tUs))) || 0;
}

const bad = (why: string): CaptureLine => ({ ok: false, why });
const good = (record: CaptureRecord): CaptureLine => ({ ok: true, record });
const TIME = /^(?:0|[1-9]\d{0,15})$/;
const HEX = /^(?:[0-9A-F]{2})+$/;
const NUMBER = /^-?(?:0|[1-9]\d*)(?:\.\d+)?(?:e[+-]?\d+)?$/;
/** One character a byte. */
const BYTES = /^[\x00-\xff]*$/;
const SIGNAL = /^[^\s]{1,80}$/;

/** Of text that HEX has matched. Small arrays of their own are far cheaper here than slices of a pooled buffer. */
function fromHex(text: string): Uint8Array {
  const out = new Uint8Array(text.length / 2);
  for (let i = 0; i < out.length; i++)
    out[i] = (digit(text.charCodeAt(2 * i)) << 4) | digit(text.charCodeAt(2 * i + 1));
  return out;
}

const digit = (code: number): number => (code <= 57 ? code - 48 : code - 55);

function timeOf(text: string): number | null {
  if (text.length === 0 || text.length > 16 || (text.length > 1 && text.charCodeAt(0) === 48)) return null;
  let t = 0;
  for (let i = 0; i < text.length; i++) {
    const digit = text.charCodeAt(i) - 48;
    if (digit < 0 || digit > 9) return null;
    t = t * 10 + digit;
  }
  return t <= MAX_T_US ? t : null;
}

/** Reads one line (without its line end) after the version line. */
export function readLine(line: string): CaptureLine {
  const a = line.indexOf(' ');
  const b = a < 0 ? -1 : line.indexOf(' ', a + 1);
  if (b < 0) return bad('not of the form "time kind rest"');
  const tUs = timeOf(line.slice(0, a));
  if (tUs === null) return bad('the time is not a whole number of microseconds from 0 on');
  return readRest(tUs, line.slice(a + 1, b), line.slice(b + 1));
}

function readRest(tUs: number, kind: string, rest: string): CaptureLine {
  const space = rest.indexOf(' ');
  const first = space < 0 ? rest : rest.slice(0, space);
  const second = space < 0 ? '' : rest.slice(space + 1);
  switch (kind) {
    case 'tx':
    case 'rx':
      return HEX.test(rest) ? good({ kind, tUs, bytes: fromHex(rest) }) : bad('the bytes are not hex pairs');
    case 'request': {
      const ecu = json(second);
      if (!HEX.test(first)) return bad('the request is not hex pairs');
      if (ecu !== null && typeof ecu !== 'string') return bad('the control unit is neither a text nor null');
      return good({ kind, tUs, payload: fromHex(first), ecu });
    }
    case 'done':
      return OUTCOMES.includes(rest as Outcome)
        ? good({ kind, tUs, outcome: rest as Outcome })
        : bad('unknown outcome');
    case 'dialect': {
      const parsed = dialectSchema.safeParse(json(rest));
      return parsed.success
        ? good({ kind, tUs, dialect: parsed.data as Dialect })
        : bad('the dialect cannot be read');
    }
    case 'link': {
      const text = json(second);
      if (!LINK_STATES.includes(first as LinkState) || typeof text !== 'string')
        return bad('the link event cannot be read');
      return good({ kind, tUs, state: first as LinkState, text });
    }
    case 'receiver': {
      const text = json(second);
      if ((first !== 'heard' && first !== 'lost') || typeof text !== 'string')
        return bad('the receiver event cannot be read');
      return good({ kind, tUs, state: first, text });
    }
    case 'nmea': {
      const text = json(rest);
      if (typeof text !== 'string' || text.length > MAX_NMEA || !BYTES.test(text))
        return bad("the receiver's line cannot be read");
      return good({ kind, tUs, line: text });
    }
    case 'anchor': {
      const wallMs = Date.parse(second);
      if (!ANCHORS.includes(first as AnchorWhy) || !/^[\d+-]\S*Z$/.test(second) || !Number.isFinite(wallMs))
        return bad('the clock anchor cannot be read');
      return good({ kind, tUs, why: first as AnchorWhy, wallMs });
    }
    case 'mark': {
      const mark = json(rest) as { key?: unknown; text?: unknown } | null | undefined;
      if (typeof mark?.key !== 'string' || typeof mark.text !== 'string')
        return bad('the mark cannot be read');
      return good({ kind, tUs, key: mark.key, text: mark.text });
    }
    case 'note': {
      const text = json(rest);
      return typeof text === 'string' ? good({ kind, tUs, text }) : bad('the note cannot be read');
    }
    case 'sample': {
      const [value = '', sent = ''] = second.split(' ');
      const sentUs = timeOf(sent);
      const number = NUMBER.test(value) ? Number(value) : Number.NaN;
      if (!SIGNAL.test(first) || !Number.isFinite(number) || sentUs === null)
        return bad('the sample cannot be read');
      return good({ kind, tUs, signal: first, value: number, sentUs });
    }
    case 'digest':
      return TIME.test(first) && /^[0-9a-f]{64}$/.test(second)
        ? good({ kind, tUs, count: Number(first), sha256: second })
        : bad('the digest cannot be read');
    default:
      return bad('unknown kind of record');
  }
}

/** undefined when the text is no JSON. */
function json(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
