/**
 * The gate at the wire itself: every line that a driver hands to the link is read again and sent only when it is a
 * known setting of the adapter or a reading request. A driver that is wrong, or that came from elsewhere, cannot get
 * round it: it is given nothing but this link. From memory of SAE J1979, ISO 15765-2 and ISO 15765-4; the settings by
 * common practice.
 */
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

/** Settings of a text adapter; none of them makes it send anything of its own but what a vehicle search needs. */
const AT_SETTINGS = [
  /^AT(I|Z|WS|D|PC|RV|DP|DPN|AR|@1)$/,
  /^AT[ELSH][01]$/,
  /^ATAT[012]$/,
  /^ATST[0-9A-F]{2}$/,
  /^AT[ST]PA?[0-9A-C]$/,
  /^ATBR[DT][0-9A-F]{2}$/, // line speed and the time to confirm it in
  /^ATCRA([0-9A-F]{3}|[0-9A-F]{8})?$/,
  // requests to all units and to one; with another identifier even a reading request would be some other message
  /^ATSH(7DF|7E[0-7]|(18)?DB33F1|(18)?DA[0-9A-F]{2}F1)$/,
];
const SLCAN_SETTINGS = /^([CVNOLF]|S[0-8]|[Mm][0-9A-F]{8})$/;
const SLCAN_FRAME = /^(?:t(7DF|7E[0-7])|T(18DB33F1|18DA[0-9A-F]{2}F1))([1-8])((?:[0-9A-F]{2})+)$/;

/** One for each connection: lets service 04 through only while it is told to. */
export class WireGate {
  #clearing = false;
  #last = '';

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
  guard(link: Link, family: 'at' | 'slcan'): Link {
    return {
      name: link.name,
      listen: (listener: (event: LinkEvent) => void) => link.listen(listener),
      close: () => link.close(),
      ...(link.setBaud ? { setBaud: link.setBaud } : {}),
      write: async (bytes) => {
        const copy = Uint8Array.from(bytes); // what was looked at is what is sent
        if (!this.#mayPass(copy, family))
          throw new HandbackError(
            'gate.refused',
            'The driver tried to send what is not on the list of what may be sent.',
          );
        this.#last = String.fromCharCode(...copy);
        await link.write(copy);
      },
    };
  }

  /** Whole lines only: what passes in pieces could be put together on the other side. */
  #mayPass(bytes: Uint8Array, family: 'at' | 'slcan'): boolean {
    const text = String.fromCharCode(...bytes.subarray(0, 64));
    if (bytes.length > 64) return false;
    if (family === 'at' && text === ' ') return true; // stops what runs, does nothing otherwise
    // An empty line makes an adapter do the last thing again. Behind a change of line speed it confirms that, and
    // again is that; behind anything else it would send to the vehicle what nobody looked at.
    if (family === 'at' && text === '\r') return this.#last.startsWith('ATBRD');
    const line = /^([0-9A-Za-z@]+)\r$/.exec(text)?.[1];
    if (line === undefined) return false;
    return family === 'at' ? this.#textLine(line) : this.#canLine(line);
  }

  #textLine(line: string): boolean {
    if (AT_SETTINGS.some((setting) => setting.test(line))) return true;
    if (!/^[0-9A-F]{2,15}$/.test(line)) return false;
    // a last odd digit tells how many answers to wait for
    return this.#payload(Buffer.from(line.slice(0, line.length & ~1), 'hex'));
  }

  #canLine(line: string): boolean {
    if (SLCAN_SETTINGS.test(line)) return true;
    const [, , , digit, hex = ''] = SLCAN_FRAME.exec(line) ?? [];
    const data = Buffer.from(hex, 'hex');
    if (digit === undefined || data.length !== Number(digit)) return false;
    const kind = data[0]! >> 4;
    if (kind === 3) return data.length >= 3; // flow control: takes an answer, asks for nothing
    const length = data[0]! & 15;
    return kind === 0 && length >= 1 && length < data.length && this.#payload(data.subarray(1, 1 + length));
  }

  #payload(payload: Uint8Array): boolean {
    return onlyReads(payload) || (this.#clearing && clears(payload));
  }
}
