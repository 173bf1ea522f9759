/** Wire events → samples, as a replay of the capture would: the live side reads its own recording. */
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

/** What is kept of one exchange at most; no real answer comes near. */
const MAX_RX_CHUNKS = 100_000;

export class WireReader {
  #dialect: Dialect | null = null;
  #open: OpenExchange | null = null;
  readonly #decoder = new SampleDecoder();

  /** The samples that this event completes: those of an exchange come with its `done`. Times are the events' own. */
  read(event: WireEvent): { readonly messages: readonly EcuMessage[]; readonly samples: readonly Sample[] } {
    const open = this.#open;
    if (event.kind === 'dialect') this.#dialect = event.dialect;
    else if (event.kind === 'request')
      this.#open = { payload: event.payload, ecu: event.ecu, sentUs: event.tUs, rx: [] };
    else if (event.kind === 'rx') {
      if (open && open.rx.length < MAX_RX_CHUNKS) open.rx.push({ tUs: event.tUs, bytes: event.bytes });
    } else if (event.kind === 'done') {
      this.#open = null;
      if (open && this.#dialect) {
        const { messages } = interpret(this.#dialect, open, open.rx);
        return { messages, samples: this.#decoder.samples(open.payload, messages, open.sentUs) };
      }
    }
    return { messages: [], samples: [] };
  }
}
