/** From a capture's records to samples: the same interpretation and decoding as live, so the same samples. */
import { Observable } from 'rxjs';
import type { WireEvent } from '../adapter/adapter.ts';
import type { Clock, Timer } from '../core/clock.ts';
import type { Sample } from '../core/signals.ts';
import type { SampleTable } from '../signal/table.ts';
import { WireReader } from './reader.ts';

/** Takes wire events in order; an exchange gives its samples when it is done. */
export class ExchangeReplay {
  readonly #reader = new WireReader();
  #open = false;

  feed(event: WireEvent): Sample[] {
    const samples: Sample[] = [];
    if (event.kind === 'request') {
      // The `done` of the exchange before is missing: a damaged line. Its answer need not be lost with it.
      if (this.#open)
        samples.push(...this.#reader.read({ kind: 'done', tUs: event.tUs, outcome: 'lost' }).samples);
      this.#open = true;
    } else if (event.kind === 'done') this.#open = false;
    samples.push(...this.#reader.read(event).samples);
    return samples;
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
