/** Cuts an answer that carries several PIDs into its parts. */
import { toHex } from '../core/hex.ts';
import { PIDS, pidText } from './pids.ts';

export interface Part {
  readonly pid: number;
  /** Service 02: number of the freeze frame. Service 01: null. */
  readonly frame: number | null;
  readonly data: Uint8Array;
}

export type Split =
  | { readonly ok: true; readonly parts: readonly Part[] }
  | { readonly ok: false; readonly why: string; readonly at: number };

/** Attempts before an answer counts as unreadable; real answers need fewer than a dozen. */
const MAX_STEPS = 3000;
/** No PID of service 01 carries more. */
const MAX_UNKNOWN = 64;

/** An answer of service 01: 41, then PID and data, again and again. See `split`. */
export function splitCurrentData(payload: Uint8Array, asked: Uint8Array): Split {
  return split(payload, 0x41, 0, asked);
}

/** An answer of service 02: 42, then PID, frame number and data, again and again. See `split`. */
export function splitFreezeFrame(payload: Uint8Array, asked: Uint8Array): Split {
  return split(payload, 0x42, 1, asked);
}

/**
 * Parts have no marker of their length, so lengths come from the table, and where editions differ, or a PID is
 * unknown, from the whole answer having to fit: every part an asked PID, none twice. The usual length wins when
 * several fit.
 * @param extra bytes between PID and data
 * @param asked PIDs of the request; empty = not known
 */
function split(payload: Uint8Array, service: number, extra: 0 | 1, asked: Uint8Array): Split {
  if (payload[0] !== service)
    return { ok: false, why: `not an answer of service ${pidText(service - 0x40)}`, at: 0 };
  if (payload.length < 2) return { ok: false, why: 'no PID in the answer', at: 1 };
  let steps = 0;
  let furthest = 1;
  const parts: Part[] = [];

  const fits = (at: number): boolean => {
    if (at === payload.length) return true;
    furthest = Math.max(furthest, at);
    if (++steps > MAX_STEPS) return false;
    const pid = payload[at]!;
    if (parts.some((p) => p.pid === pid) || (asked.length > 0 && !asked.includes(pid))) return false;
    const start = at + 1 + extra;
    if (start > payload.length) return false;
    const frame = extra === 1 ? payload[at + 1]! : null;
    for (const length of lengthsToTry(pid, payload.length - start, asked.length !== 1)) {
      parts.push({ pid, frame, data: payload.slice(start, start + length) });
      if (fits(start + length)) return true;
      parts.pop();
    }
    return false;
  };

  if (fits(1)) return { ok: true, parts };
  const why = `${toHex(payload.subarray(furthest))} is no data of PID ${pidText(payload[furthest]!)}`;
  return { ok: false, why: asked.length > 0 ? `${why} that was asked` : why, at: furthest };
}

function lengthsToTry(pid: number, left: number, company: boolean): readonly number[] {
  const known = PIDS[pid]?.lengths ?? [];
  if (known.length > 0) return known.filter((n) => n <= left);
  // Unknown: all that is left when it was asked alone, else the shortest that lets the rest fit.
  if (!company) return left > 0 ? [left] : [];
  return Array.from({ length: Math.min(left, MAX_UNKNOWN) }, (_, i) => i + 1);
}
