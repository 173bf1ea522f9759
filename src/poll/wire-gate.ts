/**
 * The gate at the wire itself: every line that a driver hands to the link is read again and sent only when it is a
 * known setting of the adapter or a reading request. A driver that is wrong, or that came from elsewhere, cannot get
 * round it: it is given nothing but this link. How a line is read, and what of it could get lost, each dialect's watch
 * knows; which requests may reach the vehicle is decided here. From memory of SAE J1979.
 */

import { dialectOf } from '../adapter/dialects.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Link, LinkEvent } from '../link/link.ts';

/** Services that only read, and how many bytes their request may have. */
const READ_SERVICES: Readonly<Record<number, { readonly min: number; readonly max: number }>> = {
  1: { min: 2, max: 7 },
  2: { min: 3, max: 7 },
  3: { min: 1, max: 1 },
  6: { min: 2, max: 7 },
  7: { min: 1, max: 1 },
  9: { min: 2, max: 7 },
  10: { min: 1, max: 1 },
};
const CLEAR = 0x04;

export function onlyReads(payload: Uint8Array): boolean {
  const allowed = READ_SERVICES[payload[0] ?? -1];
  return allowed !== undefined && payload.length >= allowed.min && payload.length <= allowed.max;
}

export function clears(payload: Uint8Array): boolean {
  return payload.length === 1 && payload[0] === CLEAR;
}

/** One for each connection: lets service 04 through only while it is told to. */
export class WireGate {
  #clearing = false;

  /** Runs `send` with service 04 allowed on the wire. */
  async whileClearing<T>(send: () => Promise<T>): Promise<T> {
    this.#clearing = true;
    try {
      return await send();
    } finally {
      this.#clearing = false;
    }
  }

  /** The same link with the gate in front of it. */
  guard(link: Link, family: string): Link {
    const watch = dialectOf(family).watch({
      ask: (payload) => (onlyReads(payload) ? 'yes' : this.#clearing && clears(payload) ? 'once' : 'no'),
      reads: (service) => READ_SERVICES[service] !== undefined,
    });
    return {
      name: link.name,
      listen: (listener: (event: LinkEvent) => void) =>
        link.listen((event) => {
          if (event.kind === 'data') watch.heard(event.bytes);
          listener(event);
        }),
      close: () => link.close(),
      ...(link.setBaud ? { setBaud: link.setBaud } : {}),
      write: async (bytes) => {
        const copy = Uint8Array.from(bytes); // what was looked at is what is sent
        if (!watch.mayPass(copy)) throw new HandbackError('gate.refused', saying('error.not-on-list'));
        await link.write(copy);
      },
    };
  }
}
