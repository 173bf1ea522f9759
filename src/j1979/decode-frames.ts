/** Lines `ID#HEX`, one CAN frame each, to what the complete messages say: the `decode` command without its I/O. */
import { fromHex } from '../core/hex.ts';
import { FUNCTIONAL, requestIdOf, responseIdOf } from '../isotp/address.ts';
import { readFrame } from '../isotp/frame.ts';
import { Reassembler } from '../isotp/reassembler.ts';
import { type Explained, explainRequest, explainResponse } from './message.ts';

export interface DecodedMessage extends Explained {
  /** Address as in the line, upper case. */
  readonly id: string;
}

export type DecodedLine =
  | { readonly ok: true; readonly messages: readonly DecodedMessage[] }
  /** `column` counts from 1. */
  | { readonly ok: false; readonly why: string; readonly column: number };

/** Longer lines are no frames; the command line need not keep more than this of one. */
const MAX_LINE = 200;

/**
 * Feeds on lines in order. Answers are read with the request that came before them where there was one. Frames
 * that make no message give one entry with `problem`; flow control gives none.
 */
export class FrameDecoder {
  readonly #joiner = new Reassembler();
  /** Last request seen, by the address it went to. */
  readonly #requests = new Map<string, Uint8Array>();

  line(text: string): DecodedLine {
    const frame = parseLine(text);
    if (frame === null) return { ok: true, messages: [] };
    if ('why' in frame) return { ok: false, ...frame };
    return { ok: true, messages: this.#frame(frame.id, frame.data) };
  }

  /** Messages that were never finished. */
  finish(): readonly DecodedMessage[] {
    return this.#joiner.open.map((id) => trouble(id, 'message not finished'));
  }

  #frame(id: string, data: Uint8Array): DecodedMessage[] {
    const isRequest = id === FUNCTIONAL.can11 || id === FUNCTIONAL.can29 || responseIdOf(id) !== null;
    const requestId = requestIdOf(id);
    if (!isRequest && requestId === null)
      return [trouble(id, `${id} is no diagnostic address of ISO 15765-4`)];
    if (readFrame(data).kind === 'flow') return [];
    const out: DecodedMessage[] = [];
    // Lines carry no time: nothing times out.
    for (const event of this.#joiner.push(id, data, 0)) {
      if (event.kind === 'error') out.push(trouble(id, event.why));
      if (event.kind !== 'message') continue;
      if (isRequest) {
        this.#requests.set(id, event.payload);
        out.push({ id, ...explainRequest(event.payload) });
      } else
        out.push({ id, ...explainResponse(event.payload, this.#requestFor(id, requestId!, event.payload)) });
    }
    return out;
  }

  /** The request to this unit, else the one to all, of the service that is answered. */
  #requestFor(id: string, requestId: string, payload: Uint8Array): Uint8Array | null {
    const service = payload[0]! & 0xbf;
    const all = id.length === 3 ? FUNCTIONAL.can11 : FUNCTIONAL.can29;
    for (const to of [requestId, all]) {
      const request = this.#requests.get(to);
      if (request?.[0] === service) return request;
    }
    return null;
  }
}

function trouble(id: string, problem: string): DecodedMessage {
  return {
    id,
    direction: requestIdOf(id) === null ? 'request' : 'response',
    service: null,
    values: [],
    codes: [],
    text: null,
    problem,
  };
}

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
