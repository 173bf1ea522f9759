/** Wire events → samples, live and in replay alike: a capture's bytes are interpreted, what a driver has read is taken. */
import type { Dialect, EcuMessage, WireEvent } from '../adapter/adapter.ts';
import { interpret } from '../adapter/interpret.ts';
import { Received } from '../adapter/received.ts';
import type { Sample } from '../core/signals.ts';
import { SampleDecoder } from './samples.ts';

interface OpenExchange {
  readonly payload: Uint8Array;
  readonly ecu: string | null;
  readonly sentUs: number;
}

export interface Answers {
  readonly messages: readonly EcuMessage[];
  readonly samples: readonly Sample[];
}

const NONE: Answers = { messages: [], samples: [] };

export class WireReader {
  #dialect: Dialect | null = null;
  #open: OpenExchange | null = null;
  readonly #rx = new Received();
  readonly #decoder = new SampleDecoder();

  /** What this event completes: the answers of an exchange come with its `done`. Times are the events' own. */
  read(event: WireEvent): Answers {
    const open = this.#open;
    switch (event.kind) {
      case 'dialect':
        this.#dialect = event.dialect;
        return NONE;
      case 'request': {
        // The `done` of the exchange before is missing: a damaged line. Its answer need not be lost with it.
        const before = open ? this.#answersTo(open) : NONE;
        this.#open = { payload: event.payload, ecu: event.ecu, sentUs: event.tUs };
        this.#rx.clear();
        return before;
      }
      case 'rx':
        this.received(event.tUs, event.bytes, event.bytes.length);
        return NONE;
      case 'done':
        this.#open = null;
        // Whoever asked took what came for the late answer to the request before, which asked the same.
        return open && (event.messages || event.outcome !== 'no data')
          ? this.#answersTo(open, event.messages)
          : NONE;
      default:
        return NONE;
    }
  }

  /** Bytes that arrived: the first `n` of `bytes`. The same as the event `rx`, for a capture's quick reader. */
  received(tUs: number, bytes: Uint8Array, n: number): void {
    if (this.#open) this.#rx.push(tUs, bytes, n);
  }

  #answersTo(open: OpenExchange, read?: readonly EcuMessage[]): Answers {
    if (!this.#dialect) return NONE;
    const messages = read ?? interpret(this.#dialect, open, this.#rx).messages;
    return { messages, samples: this.#decoder.samples(open.payload, messages, open.sentUs) };
  }
}
