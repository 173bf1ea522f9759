/** What a frame on the bus asks of a control unit, read here anew: not by the gate's own rules. */
import type { CanFrame } from '../../src/sim/ecu/bus.ts';

/** Services of SAE J1979 that read. */
const CLASSIC = new Set([0x01, 0x02, 0x03, 0x06, 0x07, 0x09, 0x0a]);
const READ_DATA = 0x22;
/** Identifiers of SAE J1979-2: PIDs, monitors, vehicle information. */
const IDENTIFIERS = new Set([0xf4, 0xf6, 0xf8]);
/** Of ISO 14229-1 (from memory): every sub-function of it reads. */
const READ_CODES = 0x19;

export type Asked =
  | { readonly is: 'nothing' }
  /** Data to an address that is no diagnostic request's. */
  | { readonly is: 'astray' }
  /** Of service 00, which there is not. */
  | { readonly is: 'service 00' }
  | { readonly is: 'reading' | 'other'; readonly hex: string };

export function askedBy({ id, extended, data }: CanFrame): Asked {
  if (extended ? id >> 8 === 0x18daf1 : id >= 0x7e8 && id <= 0x7ef) return { is: 'nothing' }; // an answer
  const toUnits = extended
    ? id === 0x18db33f1 || (id & 0x1fff00ff) === 0x18da00f1
    : id === 0x7df || (id & 0x7f8) === 0x7e0;
  if (!toUnits) return { is: data.length > 0 ? 'astray' : 'nothing' };
  const [kind = 0] = data;
  // Flow control, or nothing that a unit takes.
  if (kind >> 4 !== 0 || kind === 0 || kind >= data.length) return { is: 'nothing' };
  const payload = data.subarray(1, 1 + kind);
  if (payload[0] === 0) return { is: 'service 00' };
  return { is: isReading(payload) ? 'reading' : 'other', hex: Buffer.from(payload).toString('hex') };
}

function isReading(payload: Uint8Array): boolean {
  const [service = 0] = payload;
  if (CLASSIC.has(service) || service === READ_CODES) return true;
  if (service !== READ_DATA || payload.length % 2 === 0) return false;
  return payload.every((high, i) => i % 2 === 0 || IDENTIFIERS.has(high));
}
