/** Cuts an answer of service 01 that carries several PIDs into its parts. */
import { PIDS, pidText } from './pids.ts';

export interface Part {
  readonly pid: number;
  readonly data: Uint8Array;
}

export type Split =
  | { readonly ok: true; readonly parts: readonly Part[] }
  | { readonly ok: false; readonly why: string; readonly at: number };

/** Attempts before an answer counts as unreadable; real answers need fewer than a dozen. */
const MAX_STEPS = 3000;
/** No PID of service 01 carries more. */
const MAX_UNKNOWN = 64;

/**
 * `payload` begins with 41. `asked` are the PIDs of the request; empty = not known. Parts have no marker of their
 * length, so lengths come from the table, and where editions differ, or a PID is unknown, from the whole answer
 * having to fit: every part an asked PID, none twice. The usual length wins when several fit.
 */
export function splitCurrentData(payload: Uint8Array, asked: Uint8Array): Split {
  if (payload[0] !== 0x41) return { ok: false, why: 'not an answer of service 01', at: 0 };
  if (payload.length < 2) return { ok: false, why: 'no PID in the answer', at: 1 };
  let steps = 0;
  let furthest = 1;
  const parts: Part[] = [];

  const fits = (at: number): boolean => {
    if (at === payload.length) return true;
    furthest = Math.max(furthest, at);
    if (++steps > MAX_STEPS || parts.length > 255) return false;
    const pid = payload[at]!;
    if (parts.some((p) => p.pid === pid) || (asked.length > 0 && !asked.includes(pid))) return false;
    for (const length of lengthsToTry(pid, payload.length - at - 1, asked.length !== 1)) {
      parts.push({ pid, data: payload.slice(at + 1, at + 1 + length) });
      if (fits(at + 1 + length)) return true;
      parts.pop();
    }
    return false;
  };

  if (fits(1)) return { ok: true, parts };
  return { ok: false, why: `the data of PID ${pidText(payload[furthest]!)} do not fit`, at: furthest };
}

function lengthsToTry(pid: number, left: number, company: boolean): readonly number[] {
  const known = PIDS[pid]?.lengths ?? [];
  if (known.length > 0) return known.filter((n) => n <= left);
  // Unknown: all that is left when it was asked alone, else the shortest that lets the rest fit.
  if (!company) return left > 0 ? [left] : [];
  return Array.from({ length: Math.min(left, MAX_UNKNOWN) }, (_, i) => i + 1);
}
