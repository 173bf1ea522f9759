/** The one connection to a vehicle there is: link, session, how the search went, and how it stands for the page. */

import { filter, Subject } from 'rxjs';
import type { WireEvent } from '../adapter/adapter.ts';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, withHint } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { followedLinkFactory } from '../link/follow.ts';
import type { LinkFactory } from '../link/link.ts';
import { tcpLinkFactory } from '../link/tcp.ts';
import type { LinkCounters } from '../poll/counters.ts';
import { type SessionState, VehicleSession } from '../poll/session.ts';
import { simLinkFactory } from '../sim/bench.ts';
import { simOptionsOf } from '../sim/demos.ts';
import { spelled } from '../words/spelled.ts';
import type { ConnectionState, ConnectRequest } from './api.ts';
import { costOf } from './costs.ts';
import { SearchLog } from './search.ts';
import { Transcript } from './transcript.ts';

/** What a link's name leads to. */
export type LinkFactoryOf = (
  link: string,
  clock: Clock,
) => LinkFactory & {
  close?(): void;
  /** A satellite receiver that comes with the link: the simulated car's. */
  readonly receiver?: LinkFactory;
};

interface Connected {
  readonly link: string;
  readonly session: VehicleSession;
  readonly wire$: Subject<WireEvent>;
  /** Ends what only this connection needs: the simulated vehicle. */
  readonly release: () => void;
  readonly receiver: LinkFactory | null;
}

export interface ConnectionOptions {
  /** For tests: what a link's name leads to. */
  readonly linkFactory?: LinkFactoryOf;
  /** For measuring, as in `SessionOptions`. */
  readonly fastRestUs?: number;
}

export class Connection {
  readonly #clock: Clock;
  readonly #factoryOf: LinkFactoryOf;
  readonly #fastRestUs: number | undefined;
  readonly #changed = new Subject<void>();
  /** Something that the page shows of it is different. */
  readonly changed$ = this.#changed.asObservable();
  readonly #busy: () => boolean;
  #now: Connected | null = null;
  /** The one asked for last, also when it failed. */
  #link: string | null = null;
  #trouble: Says | null = null;
  #search: SearchLog | null = null;
  /** Of the last connect, also when it failed or ended. */
  #transcript = new Transcript();
  /** Until the last session has let go of its port. */
  #leaving: Promise<void> = Promise.resolve();
  #closed = false;

  /** @param busy while it is, the connection is not given up */
  constructor(
    clock: Clock,
    busy: () => boolean,
    { linkFactory = linkFactoryOf, fastRestUs }: ConnectionOptions,
  ) {
    this.#clock = clock;
    this.#busy = busy;
    this.#factoryOf = linkFactory;
    this.#fastRestUs = fastRestUs;
  }

  /** @throws HandbackError link.*, adapter.*, vehicle.silent, input.usage, run.busy */
  async connect(request: ConnectRequest, receiverPort: string | null = null): Promise<void> {
    if (request.link === receiverPort) throw samePort(request.link);
    const factory = this.#factoryOf(request.link, this.#clock);
    // Two requests at once: the later one ends what the earlier one began, never do two sessions run.
    do await this.disconnect();
    while (this.#now);
    if (this.#closed) throw new HandbackError('link.lost', saying('error.closing'));
    const wire$ = new Subject<WireEvent>();
    const transcript = new Transcript();
    const session = new VehicleSession({
      factory,
      family: request.adapter ?? 'auto',
      ...(request.baud === undefined ? {} : { baud: request.baud }),
      ...(request.signals === undefined ? {} : { wanted: request.signals }),
      ...(this.#fastRestUs === undefined ? {} : { fastRestUs: this.#fastRestUs }),
      clock: this.#clock,
      tap: (event) => {
        transcript.event(event);
        wire$.next(event);
      },
    });
    const mine: Connected = {
      link: request.link,
      session,
      wire$,
      release: () => factory.close?.(),
      receiver: factory.receiver ?? null,
    };
    const search = new SearchLog();
    this.#now = mine;
    this.#link = request.link;
    this.#trouble = null;
    this.#search = search;
    this.#transcript = transcript;
    session.state$.pipe(filter(() => this.#now === mine)).subscribe(() => this.#changed.next());
    const searching = wire$.subscribe((event) => {
      search.event(event);
      if (event.kind === 'link') this.#changed.next();
    });
    try {
      await session.start();
    } catch (thrown) {
      if (this.#now === mine) {
        this.#now = null;
        search.ended(thrown);
        mine.release();
        this.#trouble = withHint(thrown);
        this.#changed.next();
      }
      throw thrown;
    } finally {
      searching.unsubscribe();
    }
  }

  /** @throws HandbackError run.busy */
  async disconnect(): Promise<void> {
    if (this.#busy())
      throw new HandbackError('run.busy', saying('error.recording'), {
        hint: saying('error.stop-first'),
      });
    await this.#leave();
    this.#changed.next();
  }

  /** For good. */
  close(): Promise<void> {
    this.#closed = true;
    return this.#leave();
  }

  /** Ends the session and what only it needs; the next one waits until the port is free. */
  #leave(): Promise<void> {
    const left = this.#now;
    this.#now = null;
    this.#link = null;
    this.#trouble = null;
    this.#search = null;
    this.#leaving = this.#leaving.then(async () => {
      await left?.session.stop();
      left?.wire$.complete();
      left?.release();
    });
    return this.#leaving;
  }

  /** @throws HandbackError link.lost when no vehicle is connected */
  get now(): Connected {
    if (!this.#now)
      throw new HandbackError('link.lost', saying('error.no-vehicle'), {
        hint: saying('error.connect-first'),
      });
    return this.#now;
  }

  get state(): SessionState | null {
    return this.#now?.session.state ?? null;
  }

  /**
   * Where a satellite receiver is heard: "sim" (the simulated car's), "tcp:HOST:PORT", or a serial port.
   * @throws HandbackError input.usage
   */
  receiverOn(port: string): LinkFactory {
    if (port !== 'sim') {
      if (port === this.#link) throw samePort(port);
      return this.#factoryOf(port, this.#clock);
    }
    return {
      name: port,
      baudRates: [],
      open: async (how) => {
        const receiver = this.#now?.receiver;
        if (!receiver)
          throw new HandbackError('link.open', saying('error.receiver-no-sim'), {
            hint: saying('error.receiver-no-sim-hint'),
          });
        return receiver.open(how);
      },
    };
  }

  /** As `Transcript.lines`. */
  transcript(): readonly string[] {
    return this.#transcript.lines();
  }

  /** Null when nothing is connected. */
  counters(): LinkCounters | null {
    return this.#now?.session.counters() ?? null;
  }

  view(): ConnectionState {
    const s = this.state;
    const counters = this.counters();
    const link = this.#link;
    return {
      phase: s === null || s.phase === 'stopped' ? 'disconnected' : s.phase,
      link,
      ...spelled({ sentence: s?.says ?? this.#trouble ?? saying('link.nothing') }),
      adapter: s?.adapter ? { identity: s.adapter.identity, bus: s.adapter.bus, baud: s.adapter.baud } : null,
      vehicle: s?.vehicle ?? null,
      signals: s?.signals ?? [],
      missing: spelled((s?.missing ?? []).map((signal) => ({ signal, cost: costOf(signal) }))),
      silent: spelled((s?.silent ?? []).map(({ signals, why }) => ({ signals, why }))),
      slower: (this.#now?.session.shortfalls() ?? []).map(({ signals, wantedPerS, perS }) => ({
        signals,
        wantedPerS: Math.round(10 * wantedPerS) / 10,
        perS: Math.round(10 * perS) / 10,
      })),
      health: {
        samplesPerS: counters?.perSecond ?? 0,
        roundTripMs: counters?.roundTripMs ?? null,
        silentMs: counters?.silentMs ?? null,
        sent: counters?.sent ?? 0,
        answered: counters?.answered ?? 0,
        timeouts: counters?.timeouts ?? 0,
        discardedBytes: counters?.discardedBytes ?? 0,
        damaged: counters?.damaged ?? 0,
        reopened: counters?.reopened ?? 0,
        linkLimitPerSecond: counters?.linkLimitPerSecond ?? null,
      },
      simulated: link?.startsWith('sim') ?? false,
      search: this.#search?.view() ?? null,
    };
  }
}

const samePort = (port: string): HandbackError =>
  new HandbackError('input.usage', saying('error.receiver-port', { port }), {
    hint: saying('error.receiver-port-hint'),
  });

/**
 * "sim…", "tcp:HOST:PORT", or a serial port.
 * @throws HandbackError input.usage
 */
function linkFactoryOf(link: string, clock: Clock): ReturnType<LinkFactoryOf> {
  if (link === 'sim' || link.startsWith('sim:')) return simLinkFactory({ ...simOptionsOf(link), clock });
  if (link.startsWith('tcp:')) return tcpLinkFactory(link, { clock });
  return followedLinkFactory(link, { clock });
}
