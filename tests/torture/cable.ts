/** The cable between the daemon and a simulated adapter: counts what arrived, can be pulled with or without a word. */
import { saying } from '../../src/core/error-says.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { asIs } from '../../src/core/says.ts';
import type { Link, LinkEvent, LinkFactory } from '../../src/link/link.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';

export class Cable {
  readonly simulation: ReturnType<typeof simLinkFactory>['simulation'];
  /** Every byte that reached the host, in order. */
  readonly arrived: number[] = [];
  /** Names under which the adapter was opened. */
  readonly names: string[] = [];
  /** Where the adapter is plugged in now; other names lead nowhere. */
  port: string;
  readonly #inner: ReturnType<typeof simLinkFactory>;
  readonly #options: SimulationOptions;
  #pulled = false;
  #listener: ((event: LinkEvent) => void) | null = null;

  constructor(options: SimulationOptions, port = 'cable') {
    this.#options = options;
    this.#inner = simLinkFactory(options);
    this.simulation = this.#inner.simulation;
    this.port = port;
  }

  /** @param told the system tells that the port is gone, as it mostly does */
  pull(told: boolean): void {
    this.#pulled = true;
    if (told)
      this.#listener?.({
        kind: 'closed',
        tUs: this.#options.clock.nowUs(),
        why: asIs(`${this.port} vanished`),
      });
  }

  plugIn(port = this.port): void {
    this.#pulled = false;
    this.port = port;
  }

  get pulled(): boolean {
    return this.#pulled;
  }

  factory(name = this.port): LinkFactory & { close(): void } {
    return {
      name,
      baudRates: this.#inner.baudRates,
      open: async (how) => {
        if (this.#pulled || name !== this.port)
          throw new HandbackError('link.open', saying('error.no-port', { port: name }), {
            hint: saying('error.no-port-hint'),
          });
        this.names.push(name);
        return this.#tapped(await this.#inner.open(how), name);
      },
      close: () => this.#inner.close(),
    };
  }

  #tapped(link: Link, name: string): Link {
    const here = (): boolean => !this.#pulled && name === this.port;
    return {
      name,
      listen: (listener) => {
        this.#listener = listener;
        link.listen((event) => {
          if (event.kind === 'data') {
            if (!here()) return;
            for (const byte of event.bytes) this.arrived.push(byte);
          }
          listener(event);
        });
      },
      // a port whose device is gone takes bytes for a while without a word
      write: async (bytes) => {
        if (here()) await link.write(bytes);
      },
      close: () => link.close(),
    };
  }
}
