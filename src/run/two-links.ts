/**
 * Samples of the car and of a receiver in one order of time, live and in replay the same. An exchange brings its samples
 * at its end, with the times at which they arrived; a receiver's sample that came meanwhile waits for it.
 */
import type { WireEvent } from '../adapter/adapter.ts';
import type { Sample } from '../core/signals.ts';

/** An exchange is over within seconds; a receiver sends some dozens of samples a second. */
const MOST_HELD_UP = 2000;
const NONE: readonly Sample[] = [];

export class TwoLinks {
  #open = false;
  #held: Sample[] = [];

  /** To be told of each event on the car's wire before the samples that it completes. */
  wire(kind: WireEvent['kind']): readonly Sample[] {
    if (kind === 'done') this.#open = false;
    if (kind !== 'request') return NONE;
    const out = this.finish();
    this.#open = true;
    return out;
  }

  /** Nothing waits: a sample of the car's is the next one. */
  get isEmpty(): boolean {
    return this.#held.length === 0;
  }

  vehicle(sample: Sample): readonly Sample[] {
    if (this.#held.length === 0) return [sample];
    let n = 0;
    while (n < this.#held.length && this.#held[n]!.tUs <= sample.tUs) n++;
    return [...this.#held.splice(0, n), sample];
  }

  receiver(samples: readonly Sample[]): readonly Sample[] {
    if (this.#open && this.#held.length < MOST_HELD_UP) {
      this.#held.push(...samples);
      return NONE;
    }
    return this.#held.length === 0 ? samples : [...this.finish(), ...samples];
  }

  /** What still waits. */
  finish(): readonly Sample[] {
    if (this.#held.length === 0) return NONE;
    const out = this.#held;
    this.#held = [];
    return out;
  }
}
