/** Lines `ID#HEX`, one CAN frame each, to what the complete messages say: the `decode` command without its I/O. */
import { FrameLines, type LineMessage } from '../adapter/frame-lines.ts';
import { type Explained, explainRequest, explainResponse } from './message.ts';

export interface DecodedMessage extends Explained {
  /** Address as in the line, upper case. */
  readonly id: string;
}

export type DecodedLine =
  | { readonly ok: true; readonly messages: readonly DecodedMessage[] }
  /** `column` counts from 1. */
  | { readonly ok: false; readonly why: string; readonly column: number };

/**
 * Feeds on lines in order. Answers are read with the request that came before them where there was one. Frames
 * that make no message give one entry with `problem`; flow control gives none.
 */
export class FrameDecoder {
  readonly #lines = new FrameLines();
  /** Last request seen, by the address it went to. */
  readonly #requests = new Map<string, Uint8Array>();

  line(text: string): DecodedLine {
    const read = this.#lines.line(text);
    return read.ok ? { ok: true, messages: read.messages.map((m) => this.#explained(m)) } : read;
  }

  /** Messages that were never finished. */
  finish(): readonly DecodedMessage[] {
    return this.#lines.finish().map((m) => this.#explained(m));
  }

  #explained(message: LineMessage): DecodedMessage {
    const { id } = message;
    if (message.kind === 'trouble') return trouble(id, message.of, message.why);
    const { payload } = message;
    if (message.kind === 'response')
      return { id, ...explainResponse(payload, this.#requestFor(message.to, payload)) };
    this.#requests.set(id, payload);
    return { id, ...explainRequest(payload) };
  }

  /** The request of the service that is answered. */
  #requestFor(to: readonly string[], payload: Uint8Array): Uint8Array | null {
    const service = payload[0]! & 0xbf;
    return to.map((id) => this.#requests.get(id)).find((asked) => asked?.[0] === service) ?? null;
  }
}

const trouble = (id: string, direction: Explained['direction'], problem: string): DecodedMessage => ({
  id,
  direction,
  service: null,
  values: [],
  codes: [],
  text: null,
  problem,
});
