/** The HTTP face of the daemon: the built page, a JSON API and the live stream. Routes are in docs/http-api.md. */

import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { type Clock, systemClock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { type AppOptions, buildApp } from './app.ts';
import { cutSlowBodies, makeRoom } from './connections.ts';
import { addressesOf, type Door, named } from './door.ts';
import { Invites, isLoopback } from './guard.ts';
import { StreamHub } from './stream.ts';

export interface ServerOptions extends AppOptions {
  /** 0 picks a free one. */
  readonly port: number;
  readonly clock?: Clock;
}

export interface RunningServer {
  /** What to open in a browser on this computer, token included. */
  readonly url: string;
  /** The same for other devices; empty on the loopback. */
  readonly elsewhere: readonly string[];
  close(): Promise<void>;
}

/** Rejects with input.usage when the address cannot be listened on or is open to others without a token. */
export async function startServer(options: ServerOptions): Promise<RunningServer> {
  const { host, port, token } = options;
  if (!isLoopback(host) && !token)
    throw new HandbackError('input.usage', saying('error.token-needed', { host }), {
      hint: saying('error.token-needed-hint'),
    });
  const clock = options.clock ?? systemClock;
  const hub = new StreamHub(options.api, clock);
  const door: Door = { invites: new Invites(clock), addresses: [] };
  const server = createServer(
    { headersTimeout: 10_000, requestTimeout: 0, connectionsCheckingInterval: 5_000 },
    buildApp(options, hub, door) as Parameters<typeof createServer>[1],
  );
  makeRoom(server);
  cutSlowBodies(server, clock);
  try {
    await listen(server, host, port);
  } catch (cause) {
    hub.close();
    throw new HandbackError(
      'input.usage',
      saying('error.not-listening', { host, port: String(port), why: toldOf(cause) }),
      {
        hint: saying('error.not-listening-hint'),
        cause,
      },
    );
  }
  const { port: actual } = server.address() as AddressInfo;
  const query = token ? `?token=${encodeURIComponent(token)}` : '';
  door.addresses = isLoopback(host) ? [] : addressesOf(host, actual);
  const everywhere = host === '0.0.0.0' || host === '::';
  return {
    url: `http://${everywhere ? 'localhost' : named(host)}:${actual}/${query}`,
    elsewhere: door.addresses.map((address) => `${address}${query}`),
    close: () =>
      new Promise((resolve) => {
        hub.close();
        server.close(() => resolve());
        server.closeAllConnections();
      }),
  };
}

function listen(server: Server, host: string, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(port, host, () => {
      server.off('error', reject);
      resolve();
    });
  });
}
