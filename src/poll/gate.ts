/**
 * The one place that decides what may be sent to the vehicle. Adapters are only ever handed out through it:
 * no other file of the project may import the search for adapters or a driver (a test holds this). It stands twice:
 * here before the driver, where requests are refused with a sentence, and behind it on the link (wire-gate.ts).
 */
import type { Adapter, AdapterInfo, DiagnosticRequest, Exchange } from '../adapter/adapter.ts';
import { connectAdapter, type FindOptions } from '../adapter/find.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, mistakeIn } from '../core/errors.ts';
import { toHex } from '../core/hex.ts';
import type { Says } from '../core/says.ts';
import type { LinkFactory } from '../link/link.ts';
import { clears, onlyReads, WireGate } from './wire-gate.ts';

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

/**
 * Allows one service 04, or one 14 where the vehicle has that in its place. Only `permitClear` makes one; used up by
 * the first request, sent or not.
 */
export interface ClearPermit {
  readonly allows: 'one clearing of codes';
}
const unusedPermits = new WeakSet<ClearPermit>();

/** @throws HandbackError gate.refused with what is missing */
export function permitClear(evidence: ClearEvidence): ClearPermit {
  const { snapshotSavedAs, rpm, speedKmh, typed } = evidence;
  if (snapshotSavedAs.trim() === '') refuse(saying('error.clear-snapshot'));
  if (Number.isNaN(rpm)) refuse(saying('error.clear-rpm-unknown'));
  if (Number.isNaN(speedKmh)) refuse(saying('error.clear-speed-unknown'));
  if (rpm !== 0) refuse(saying('error.clear-running', { rpm }));
  if (speedKmh !== 0) refuse(saying('error.clear-moving', { kmh: speedKmh }));
  if (typed.trim().toLowerCase() !== CLEAR_WORDS) refuse(saying('error.clear-words', { words: CLEAR_WORDS }));
  const permit: ClearPermit = Object.freeze({ allows: 'one clearing of codes' });
  unusedPermits.add(permit);
  return permit;
}

/** An adapter behind the gate. The adapter itself cannot be reached from it. */
export interface GuardedAdapter {
  readonly info: AdapterInfo;
  /** See `Adapter.damaged`. */
  readonly damaged: number;
  /** See `Adapter.formOf`. */
  formOf(payload: Uint8Array): Uint8Array | null;
  /** Rejects with gate.refused, nothing sent, unless the request only reads or carries its permit. */
  request(request: DiagnosticRequest, permit?: ClearPermit): Promise<Exchange>;
  close(): Promise<void>;
}

export function guarded(adapter: Adapter, wire: WireGate): GuardedAdapter {
  return {
    get info() {
      return adapter.info;
    },
    get damaged() {
      return adapter.damaged;
    },
    formOf: (payload) => adapter.formOf(payload),
    async request(request, permit) {
      // A copy: what was checked is what is sent, whatever happens to the caller's bytes meanwhile.
      const payload = Uint8Array.from(request.payload);
      if (!mayBeSent(payload, permit))
        refuse(
          payload.length === 0
            ? saying('error.nothing-to-send')
            : saying('error.only-reads', { bytes: toHex(payload) }),
        );
      const send = async () => {
        try {
          return await adapter.request({ ...request, payload });
        } catch (thrown) {
          throw mistakeIn(`asking ${toHex(payload)}, the driver of dialect "${adapter.info.family}"`, thrown);
        }
      };
      return clears(payload) ? wire.whileClearing(send) : send();
    },
    close: () => adapter.close(),
  };
}

/** Searches for an adapter (see `connectAdapter`) and hands it out behind the gate. */
export async function connectGuarded(factory: LinkFactory, options: FindOptions): Promise<GuardedAdapter> {
  const wire = new WireGate();
  const guard: NonNullable<FindOptions['guard']> = (link, family) => wire.guard(link, family);
  return guarded(await connectAdapter(factory, { ...options, guard }), wire);
}

function mayBeSent(payload: Uint8Array, permit: ClearPermit | undefined): boolean {
  const permitted = permit !== undefined && unusedPermits.delete(permit);
  return onlyReads(payload) || (permitted && clears(payload));
}

function refuse(message: Says): never {
  throw new HandbackError('gate.refused', message);
}
