/**
 * The gate at the wire itself: every line that a driver hands to the link is read again and sent only when it is a
 * known setting of the adapter or a reading request. A driver that is wrong, or that came from elsewhere, cannot get
 * round it: it is given nothing but this link. How a line is read, and what of it could get lost, each dialect's watch
 * knows; which requests may reach the vehicle is decided here. From memory of SAE J1979, SAE
 * J1979-2 and ISO 14229-1.
 */

import { dialectOf } from '../adapter/dialects.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, mistakeIn } from '../core/errors.ts';
import { identifiersOf, isClear, NEWER } from '../j1979/newer.ts';
import { REPORTS } from '../j1979/newer-codes.ts';
import type { Link, LinkEvent } from '../link/link.ts';

/** Services of SAE J1979 that only read, and how many bytes their request may have. */
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
/** Of service 22: PIDs, monitors, vehicle information. What a maker keeps elsewhere stays unread. */
const READ_RANGES: readonly number[] = [0xf4, 0xf6, 0xf8];
const MOST_IDENTIFIERS = 3;
/** Of service 19, which has none that writes: those that are asked, and the length of the request. */
const CODE_REPORTS: ReadonlyMap<number, number> = new Map([
  [REPORTS.byStatus, 3],
  [REPORTS.frame, 6],
  [REPORTS.permanent, 2],
  [REPORTS.emissionsByStatus, 5],
  [REPORTS.emissionsPermanent, 3],
]);

export function onlyReads(payload: Uint8Array): boolean {
  const [service = -1, sub = -1] = payload;
  if (service === NEWER.readData) {
    const ids = identifiersOf(payload);
    return (
      ids.length > 0 && ids.length <= MOST_IDENTIFIERS && ids.every((id) => READ_RANGES.includes(id >> 8))
    );
  }
  if (service === NEWER.readCodes) return CODE_REPORTS.get(sub) === payload.length;
  const allowed = READ_SERVICES[service];
  return allowed !== undefined && payload.length >= allowed.min && payload.length <= allowed.max;
}

function isReading(service: number): boolean {
  return READ_SERVICES[service] !== undefined || service === NEWER.readData || service === NEWER.readCodes;
}

/** Service 04, or what SAE J1979-2 has in its place. */
export function clears(payload: Uint8Array): boolean {
  return (payload.length === 1 && payload[0] === CLEAR) || isClear(payload);
}

/** One for each connection: lets codes be cleared only while it is told to. */
export class WireGate {
  #clearing = false;

  /** Runs `send` with the clearing of codes allowed on the wire. */
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
      reads: isReading,
    });
    const mayPass = (bytes: Uint8Array): boolean => {
      try {
        return watch.mayPass(bytes);
      } catch (thrown) {
        throw mistakeIn(`before sending, the watch of dialect "${family}"`, thrown);
      }
    };
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
        const copy = new Uint8Array(bytes); // what was looked at is what is sent
        if (!mayPass(copy)) throw new HandbackError('gate.refused', saying('error.not-on-list'));
        await link.write(copy);
      },
    };
  }
}
