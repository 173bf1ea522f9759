/** Keeps a link's events until its one listener is set, and says the end exactly once. */
import type { Says } from '../core/says.ts';
import type { LinkEvent } from './link.ts';

const MAX_KEPT_BYTES = 1 << 20;

export class Inbox {
  #listener: ((event: LinkEvent) => void) | null = null;
  #kept: LinkEvent[] = [];
  #keptBytes = 0;
  #ended = false;

  get ended(): boolean {
    return this.#ended;
  }

  listen(listener: (event: LinkEvent) => void): void {
    if (this.#listener) throw new Error('a link has exactly one listener');
    this.#listener = listener;
    const kept = this.#kept;
    this.#kept = [];
    for (const event of kept) listener(event);
  }

  data(tUs: number, bytes: Uint8Array): void {
    if (!this.#ended && bytes.length > 0) this.#push({ kind: 'data', tUs, bytes });
  }

  /** The link is gone: the listener hears it once, nothing follows. */
  gone(tUs: number, why: Says): void {
    if (this.#ended) return;
    this.#ended = true;
    this.#push({ kind: 'closed', tUs, why });
  }

  /** Closed by its owner: nothing further is delivered. */
  end(): void {
    this.#ended = true;
    this.#kept = [];
    this.#listener = () => undefined;
  }

  #push(event: LinkEvent): void {
    if (this.#listener) {
      this.#listener(event);
      return;
    }
    this.#kept.push(event);
    if (event.kind === 'data') this.#keptBytes += event.bytes.length;
    // Nobody reads yet: the newest bytes are worth more than the oldest.
    while (this.#keptBytes > MAX_KEPT_BYTES) {
      const first = this.#kept.shift();
      if (first?.kind === 'data') this.#keptBytes -= first.bytes.length;
    }
  }
}
