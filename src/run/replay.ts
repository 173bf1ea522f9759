/** From a capture's records to samples: the same interpretation and decoding as live, so the same samples. */
import { Observable } from 'rxjs';
import type { Dialect, WireEvent } from '../adapter/adapter.ts';
import { interpret } from '../adapter/interpret.ts';
import type { Clock, Timer } from '../core/clock.ts';
import type { Sample } from '../core/signals.ts';
import { SampleDecoder } from '../j1979/samples.ts';
import type { SampleTable } from '../signal/table.ts';

/** A hostile capture could pile up bytes in one exchange; no real answer comes near. */
const MAX_RX_BYTES = 1 << 20;

/** Takes wire events in order; an exchange gives its samples when it is done. */
export class ExchangeReplay {
  readonly #decoder = new SampleDecoder();
  #dialect: Dialect | null = null;
  #open: { payload: Uint8Array; ecu: string | null; sentUs: number } | null = null;
  #rx: { tUs: number; bytes: Uint8Array }[] = [];
  #rxBytes = 0;
  exchanges = 0;

  feed(event: WireEvent): Sample[] {
    switch (event.kind) {
      case 'dialect':
        this.#dialect = event.dialect;
        return [];
      case 'request': {
        const samples = this.#finish(); // its `done` is missing: a damaged line
        this.#open = { payload: event.payload, ecu: event.ecu, sentUs: event.tUs };
        return samples;
      }
      case 'rx':
        if (this.#open && this.#rxBytes < MAX_RX_BYTES) {
          this.#rx.push({ tUs: event.tUs, bytes: event.bytes });
          this.#rxBytes += event.bytes.length;
        }
        return [];
      case 'done':
        return this.#finish();
      default:
        return [];
    }
  }

  #finish(): Sample[] {
    const open = this.#open;
    const rx = this.#rx;
    this.#open = null;
    this.#rx = [];
    this.#rxBytes = 0;
    if (!open || !this.#dialect) return [];
    this.exchanges++;
    const { messages } = interpret(this.#dialect, open, rx);
    return this.#decoder.samples(open.payload, messages, open.sentUs);
  }
}

/** All samples of a recorded sequence of wire events, in the order in which they came live. */
export function* replayExchanges(events: Iterable<WireEvent>): Generator<Sample> {
  const replay = new ExchangeReplay();
  for (const event of events) yield* replay.feed(event);
}

/** The samples again, each at its time; `speed` 2 is twice as fast. Ends after the last. */
export function replayAtSpeed(
  recording: { readonly table: SampleTable },
  speed: number,
  clock: Clock,
): Observable<Sample> {
  const { table } = recording;
  return new Observable<Sample>((subscriber) => {
    const startUs = clock.nowUs();
    let next = 0;
    let timer: Timer | null = null;
    const run = (): void => {
      const dueUs = (clock.nowUs() - startUs) * speed;
      while (next < table.length && !subscriber.closed) {
        const sample = table.at(next);
        if (sample.tUs > dueUs) {
          timer = clock.after((sample.tUs - dueUs) / speed / 1000, run);
          return;
        }
        next++;
        subscriber.next(sample);
      }
      subscriber.complete();
    };
    run();
    return () => timer?.cancel();
  });
}
