/**
 * What was found out before a run began and what its samples need to be read: the dialect, and the newest answers about
 * supported PIDs, scaling and identity. Measured values of before the run do not belong to it.
 */
import type { WireEvent } from '../adapter/adapter.ts';
import { toHex } from '../core/hex.ts';
import { classicRequest } from '../j1979/newer.ts';

/** Of one thing the newest is kept; a vehicle has few control units and few things to say of itself. */
const MAX_KEPT = 500;

interface Kept {
  readonly what: string;
  readonly events: readonly WireEvent[];
}

export class Preamble {
  #kept: Kept[] = [];
  #exchange: { readonly what: string; readonly events: WireEvent[] } | null = null;

  add(event: WireEvent): void {
    if (event.kind === 'request')
      this.#exchange = tellsOfVehicle(event.payload)
        ? { what: `${event.ecu} ${toHex(event.payload)}`, events: [event] }
        : null;
    else if (event.kind === 'done') {
      const open = this.#exchange;
      this.#exchange = null;
      if (open && event.outcome === 'answered') this.#keep(open.what, [...open.events, event]);
    } else if (event.kind === 'dialect') this.#keep(DIALECT, [event]);
    else if (event.kind === 'link') this.#keep(`link ${event.state}`, [event]);
    else this.#exchange?.events.push(event);
  }

  events(): readonly WireEvent[] {
    return this.#kept.flatMap((k) => k.events);
  }

  #keep(what: string, events: readonly WireEvent[]): void {
    const others = this.#kept.filter((k) => k.what !== what || what === DIALECT);
    const kept = [...others, { what, events }];
    // A dialect that nothing is left of to be read in says nothing any more.
    const read = kept.filter((k) => !k.what.startsWith('link '));
    const idle = new Set(read.filter((k, i) => k.what === DIALECT && read[i + 1]?.what === DIALECT));
    this.#kept = kept.filter((k) => !idle.has(k)).slice(-MAX_KEPT);
  }
}

const DIALECT = 'dialect';

/** Services 09 and, of 01 (or of 22 in their place), the supported-PID maps and the maxima (4F, 50) that scale other PIDs. */
function tellsOfVehicle(request: Uint8Array): boolean {
  const payload = classicRequest(request);
  if (payload[0] === 0x09) return true;
  return (
    payload[0] === 0x01 &&
    payload.length > 1 &&
    payload.subarray(1).every((pid) => pid % 0x20 === 0 || pid === 0x4f || pid === 0x50)
  );
}
