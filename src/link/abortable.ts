/** A link factory whose open link can be cut from outside: whoever waits on it hears that it is closed. */
import type { Clock } from '../core/clock.ts';
import type { Says } from '../core/says.ts';
import type { Link, LinkEvent, LinkFactory } from './link.ts';

class CuttableLink implements Link {
  readonly name: string;
  readonly setBaud?: (baud: number) => Promise<boolean>;
  readonly #inner: Link;
  readonly #clock: Clock;
  #listener: ((event: LinkEvent) => void) | null = null;

  constructor(inner: Link, clock: Clock) {
    this.name = inner.name;
    this.#inner = inner;
    this.#clock = clock;
    if (inner.setBaud) this.setBaud = inner.setBaud;
  }

  listen(listener: (event: LinkEvent) => void): void {
    this.#listener = listener;
    this.#inner.listen(listener);
  }

  write(bytes: Uint8Array): Promise<void> {
    return this.#inner.write(bytes);
  }

  close(): Promise<void> {
    this.#listener = null;
    return this.#inner.close();
  }

  cut(why: Says): void {
    const listener = this.#listener;
    void this.close();
    listener?.({ kind: 'closed', tUs: this.#clock.nowUs(), why });
  }
}

export function abortable(
  factory: LinkFactory,
  clock: Clock,
): { readonly factory: LinkFactory; readonly abort: (why: Says) => void } {
  let current: CuttableLink | null = null;
  return {
    factory: {
      name: factory.name,
      baudRates: factory.baudRates,
      async open(options) {
        current = new CuttableLink(await factory.open(options), clock);
        return current;
      },
    },
    abort: (why) => current?.cut(why),
  };
}
