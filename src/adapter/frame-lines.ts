/** Lines `ID#HEX`, one CAN frame each, in order → complete messages, requests too. */
import { fromHex } from '../core/hex.ts';
import { FUNCTIONAL, requestIdOf, responseIdOf } from '../isotp/address.ts';
import { readFrame } from '../isotp/frame.ts';
import { Reassembler } from '../isotp/reassembler.ts';

/** `id`: address as in the line, upper case. */
export type LineMessage = { readonly id: string } & (
  | { readonly kind: 'request'; readonly payload: Uint8Array }
  /** `to`: where the request that it answers went, likeliest first: to this unit, to all. */
  | { readonly kind: 'response'; readonly payload: Uint8Array; readonly to: readonly string[] }
  /** Frames that make no message. */
  | { readonly kind: 'trouble'; readonly of: 'request' | 'response'; readonly why: string }
);

export type ReadLine =
  | { readonly ok: true; readonly messages: readonly LineMessage[] }
  /** `column` counts from 1. */
  | { readonly ok: false; readonly why: string; readonly column: number };

/** Longer lines are no frames; the command line need not keep more than this of one. */
const MAX_LINE = 200;

/** Feeds on lines in order. Flow control makes no message. */
export class FrameLines {
  readonly #joiner = new Reassembler();

  line(text: string): ReadLine {
    const frame = parseLine(text);
    if (frame === null) return { ok: true, messages: [] };
    if ('why' in frame) return { ok: false, ...frame };
    return { ok: true, messages: this.#frame(frame.id, frame.data) };
  }

  /** Messages that were never finished. */
  finish(): LineMessage[] {
    return this.#joiner.open.map((id) => trouble(id, 'message not finished'));
  }

  #frame(id: string, data: Uint8Array): LineMessage[] {
    const all = id.length === 3 ? FUNCTIONAL.can11 : FUNCTIONAL.can29;
    const isRequest = id === all || responseIdOf(id) !== null;
    const requestId = requestIdOf(id);
    if (!isRequest && requestId === null)
      return [trouble(id, `${id} is no diagnostic address of ISO 15765-4`)];
    if (readFrame(data).kind === 'flow') return [];
    // Lines carry no time: nothing times out.
    return this.#joiner.push(id, data, 0).flatMap((event): LineMessage[] => {
      if (event.kind === 'error') return [trouble(id, event.why)];
      if (event.kind !== 'message') return [];
      const { payload } = event;
      return requestId === null
        ? [{ id, kind: 'request', payload }]
        : [{ id, kind: 'response', payload, to: [requestId, all] }];
    });
  }
}

const trouble = (id: string, why: string): LineMessage => ({
  id,
  kind: 'trouble',
  of: requestIdOf(id) === null ? 'request' : 'response',
  why,
});

/** Null for a blank line. */
function parseLine(text: string): { id: string; data: Uint8Array } | { why: string; column: number } | null {
  if (text.length > MAX_LINE)
    return { why: `a line of ${text.length} characters, at most ${MAX_LINE}`, column: MAX_LINE + 1 };
  const line = text.trim();
  if (line === '') return null;
  const start = text.indexOf(line) + 1;
  const hash = line.indexOf('#');
  if (hash < 0) return { why: 'no # between address and data, expected ID#HEX', column: start };
  const id = line.slice(0, hash).toUpperCase();
  const digits = line.slice(hash + 1);
  const badId = id.search(/[^0-9A-F]/);
  if (badId >= 0) return { why: `"${line[badId]}" is no hex digit of the address`, column: start + badId };
  if (id.length !== 3 && id.length !== 8)
    return { why: `address of ${id.length} digits, expected 3 (11-bit) or 8 (29-bit)`, column: start };
  if (Number.parseInt(id, 16) > (id.length === 3 ? 0x7ff : 0x1fffffff))
    return { why: `address ${id} is larger than ${id.length === 3 ? '7FF' : '1FFFFFFF'}`, column: start };
  const dataAt = start + hash + 1;
  const badDigit = digits.search(/[^0-9A-Fa-f]/);
  if (badDigit >= 0)
    return { why: `"${digits[badDigit]}" is no hex digit of the data`, column: dataAt + badDigit };
  if (digits.length % 2 !== 0) return { why: 'an odd number of hex digits', column: dataAt + digits.length };
  if (digits.length < 2 || digits.length > 16)
    return { why: `${digits.length / 2} data bytes, expected 1 to 8`, column: dataAt };
  return { id, data: fromHex(digits)! };
}
