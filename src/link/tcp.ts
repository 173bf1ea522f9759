/** A TCP connection as a link: many wireless text adapters offer their serial stream on a port of their own. */

import { connect, type Socket } from 'node:net';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { say } from '../core/wire-says.ts';
import { Inbox } from './inbox.ts';
import type { Link, LinkEvent, LinkFactory } from './link.ts';

const TCP_OPEN_MS = 5000;
const TCP_CLOSE_MS = 500;

class TcpLink implements Link {
  readonly name: string;
  readonly #socket: Socket;
  readonly #clock: Clock;
  readonly #inbox = new Inbox();

  constructor(name: string, socket: Socket, clock: Clock) {
    this.name = name;
    this.#socket = socket;
    this.#clock = clock;
    let why = say('wire.other-end', { link: name });
    socket.on('data', (bytes) => this.#inbox.data(clock.nowUs(), Uint8Array.from(bytes as Buffer)));
    socket.on('error', (err) => {
      why = say('wire.failed', { link: name, why: toldOf(err) });
    });
    socket.on('close', () => this.#inbox.gone(clock.nowUs(), why));
  }

  listen(listener: (event: LinkEvent) => void): void {
    this.#inbox.listen(listener);
  }

  write(bytes: Uint8Array): Promise<void> {
    return new Promise((resolve, reject) => {
      if (this.#inbox.ended)
        reject(new HandbackError('link.lost', saying('error.link-closed', { link: this.name })));
      else
        this.#socket.write(bytes, (err) => {
          if (err)
            reject(
              new HandbackError(
                'link.lost',
                saying('error.link-failed', { link: this.name, why: toldOf(err) }),
                { cause: err },
              ),
            );
          else resolve();
        });
    });
  }

  close(): Promise<void> {
    this.#inbox.end();
    return new Promise((resolve) => {
      if (this.#socket.destroyed) {
        resolve();
        return;
      }
      const timer = this.#clock.after(TCP_CLOSE_MS, () => {
        this.#socket.destroy();
        resolve();
      });
      this.#socket.once('close', () => {
        timer.cancel();
        resolve();
      });
      this.#socket.end();
    });
  }
}

/**
 * @param name `tcp:HOST:PORT`, with brackets around an IPv6 host.
 * @throws HandbackError input.usage when the name is not of that form.
 */
export function tcpLinkFactory(name: string, options: { readonly clock: Clock }): LinkFactory {
  const m = /^tcp:(?:\[([^\]]+)\]|([^:]+)):(\d{1,5})$/.exec(name);
  const host = m?.[1] ?? m?.[2];
  const port = Number(m?.[3]);
  if (!host || port < 1 || port > 65535)
    throw new HandbackError('input.usage', saying('error.no-tcp', { name }), {
      hint: saying('error.no-tcp-hint'),
    });
  const { clock } = options;
  return {
    name,
    baudRates: [],
    open: () =>
      new Promise<Link>((resolve, reject) => {
        const socket = connect({ host, port, noDelay: true });
        const fail = (why: Says, cause?: unknown) => {
          timer.cancel();
          socket.destroy();
          reject(
            new HandbackError('link.open', saying('error.host-silent', { host, port: String(port), why }), {
              hint: saying('error.host-silent-hint'),
              cause,
            }),
          );
        };
        const failed = (err: Error) => fail(toldOf(err), err);
        const timer = clock.after(TCP_OPEN_MS, () =>
          fail(saying('reason.nothing-within', { s: TCP_OPEN_MS / 1000 })),
        );
        socket.once('error', failed);
        socket.once('connect', () => {
          timer.cancel();
          const link = new TcpLink(name, socket, clock);
          socket.off('error', failed);
          resolve(link);
        });
      }),
  };
}
