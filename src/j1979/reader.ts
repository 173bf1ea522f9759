/** Wire events → samples, live and in replay alike: a capture's bytes are interpreted, what a driver has read is taken. */
import type { Dialect, EcuMessage, WireEvent } from '../adapter/adapter.ts';
import { interpret } from '../adapter/interpret.ts';
import type { Sample } from '../core/signals.ts';
import { SampleDecoder } from './samples.ts';

interface OpenExchange {
  readonly payload: Uint8Array;
  readonly ecu: string | null;
  readonly sentUs: number;
  readonly rx: { tUs: number; bytes: Uint8Array }[];
}

export interface Answers {
  readonly messages: readonly EcuMessage[];
  readonly samples: readonly Sample[];
}

const NONE: Answers = { messages: [], samples: [] };

/** What is kept of one exchange at most; no real answer comes near. */
const MAX_RX_CHUNKS = 100_000;

export class WireReader {
  #dialect: Dialect | null = null;
  #open: OpenExchange | null = null;
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
        this.#open = { payload: event.payload, ecu: event.ecu, sentUs: event.tUs, rx: [] };
        return before;
      }
      case 'rx':
        if (open && open.rx.length < MAX_RX_CHUNKS) open.rx.push({ tUs: event.tUs, bytes: event.bytes });
        return NONE;
      case 'done':
        this.#open = null;
        return open ? this.#answersTo(open, event.messages) : NONE;
      default:
        return NONE;
    }
  }

  #answersTo(open: OpenExchange, read?: readonly EcuMessage[]): Answers {
    if (!this.#dialect) return NONE;
    const messages = read ?? interpret(this.#dialect, open, open.rx).messages;
    return { messages, samples: this.#decoder.samples(open.payload, messages, open.sentUs) };
  }
}
