/**
 * The one place that decides what may be sent to the vehicle. Adapters are only ever handed out through it:
 * no other file of the project may import the search for adapters or a driver (a test holds this).
 */
import type { Adapter, AdapterInfo, DiagnosticRequest, Exchange } from '../adapter/adapter.ts';
import { connectAdapter, type FindOptions } from '../adapter/find.ts';
import { HandbackError } from '../core/errors.ts';
import { toHex } from '../core/hex.ts';
import type { LinkFactory } from '../link/link.ts';

/** Services that only read, and how many bytes their request may have. From memory of SAE J1979. */
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

/** What the technician types to confirm that codes are to be cleared. */
export const CLEAR_WORDS = 'clear codes';

export interface ClearEvidence {
  /** Where the snapshot of all codes was saved before. */
  readonly snapshotSavedAs: string;
  /** Read from the vehicle just now; NaN when no control unit told. */
  readonly rpm: number;
  readonly speedKmh: number;
  /** What the technician typed. */
  readonly typed: string;
}

/** Allows one service 04. Only `permitClear` makes one; used up by the first request, sent or not. */
export interface ClearPermit {
  readonly allows: 'one service 04';
}
const unusedPermits = new WeakSet<ClearPermit>();

/** @throws HandbackError gate.refused with what is missing */
export function permitClear(evidence: ClearEvidence): ClearPermit {
  const { snapshotSavedAs, rpm, speedKmh, typed } = evidence;
  if (snapshotSavedAs.trim() === '') refuse('Codes are cleared only after a snapshot of them was saved.');
  if (Number.isNaN(rpm)) refuse('Codes are cleared only with the engine off; its speed could not be read.');
  if (Number.isNaN(speedKmh)) refuse('Codes are cleared only at standstill; the speed could not be read.');
  if (rpm !== 0) refuse(`Codes are cleared only with the engine off; it turns at ${rpm} rpm.`);
  if (speedKmh !== 0) refuse(`Codes are cleared only at standstill; the vehicle moves at ${speedKmh} km/h.`);
  if (typed.trim().toLowerCase() !== CLEAR_WORDS)
    refuse(`Codes are cleared only after "${CLEAR_WORDS}" was typed.`);
  const permit: ClearPermit = Object.freeze({ allows: 'one service 04' });
  unusedPermits.add(permit);
  return permit;
}

/** An adapter behind the gate. The adapter itself cannot be reached from it. */
export interface GuardedAdapter {
  readonly info: AdapterInfo;
  /** Rejects with gate.refused, nothing sent, unless the request only reads or carries its permit. */
  request(request: DiagnosticRequest, permit?: ClearPermit): Promise<Exchange>;
  close(): Promise<void>;
}

export function guarded(adapter: Adapter): GuardedAdapter {
  return {
    get info() {
      return adapter.info;
    },
    async request(request, permit) {
      // A copy: what was checked is what is sent, whatever happens to the caller's bytes meanwhile.
      const payload = Uint8Array.from(request.payload);
      if (!mayBeSent(payload, permit))
        refuse(
          `Not sent: ${toHex(payload) || 'an empty request'} is no reading request. Handback only reads.`,
        );
      return adapter.request({ ...request, payload });
    },
    close: () => adapter.close(),
  };
}

/** Searches for an adapter (see `connectAdapter`) and hands it out behind the gate. */
export async function connectGuarded(factory: LinkFactory, options: FindOptions): Promise<GuardedAdapter> {
  return guarded(await connectAdapter(factory, options));
}

function mayBeSent(payload: Uint8Array, permit: ClearPermit | undefined): boolean {
  const permitted = permit !== undefined && unusedPermits.delete(permit);
  const [service] = payload;
  if (service === undefined) return false;
  if (service === CLEAR) return permitted && payload.length === 1;
  const allowed = READ_SERVICES[service];
  return allowed !== undefined && payload.length >= allowed.min && payload.length <= allowed.max;
}

function refuse(message: string): never {
  throw new HandbackError('gate.refused', message);
}
