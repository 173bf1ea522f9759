/** Cuts an answer that carries several PIDs into its parts. */
import { toHex } from '../core/hex.ts';
import { PIDS, pidText } from './pids.ts';

export interface MessagePart {
  /** Service 22: the identifier. */
  readonly pid: number;
  /** Service 02: number of the freeze frame. Service 01: null. */
  readonly frame: number | null;
  readonly data: Uint8Array;
}

export type Split =
  | { readonly ok: true; readonly parts: readonly MessagePart[] }
  | { readonly ok: false; readonly why: string; readonly at: number };

/** Attempts before an answer counts as unreadable; real answers need fewer than a dozen. */
const MAX_STEPS = 3000;
/** No PID of service 01 carries more. */
const MAX_UNKNOWN = 64;

/** An answer of service 01: 41, then PID and data, again and again. See `split`. */
export function splitCurrentData(payload: Uint8Array, asked: Uint8Array): Split {
  return split(payload, CURRENT, asked);
}

/** An answer of service 02: 42, then PID, frame number and data, again and again. See `split`. */
export function splitFreezeFrame(payload: Uint8Array, asked: Uint8Array): Split {
  return split(payload, FROZEN, asked);
}

/**
 * An answer of service 22: 62, then identifier (two bytes) and data, again and again. `pid` is the whole identifier.
 * See `split`.
 */
export function splitIdentifiers(payload: Uint8Array, asked: readonly number[]): Split {
  return split(payload, IDENTIFIED, asked);
}

interface Form {
  /** First byte of the answer. */
  readonly first: number;
  readonly idBytes: 1 | 2;
  /** Bytes between id and data. */
  readonly extra: 0 | 1;
}

const CURRENT: Form = { first: 0x41, idBytes: 1, extra: 0 };
const FROZEN: Form = { first: 0x42, idBytes: 1, extra: 1 };
const IDENTIFIED: Form = { first: 0x62, idBytes: 2, extra: 0 };

/**
 * Parts have no marker of their length, so lengths come from the table, and where editions differ, or a PID is
 * unknown, from the whole answer having to fit: every part an asked PID, none twice. The usual length wins when
 * several fit.
 * @param asked PIDs of the request; empty = not known
 */
function split(payload: Uint8Array, form: Form, asked: ArrayLike<number>): Split {
  const { first, idBytes, extra } = form;
  if (payload[0] !== first)
    return { ok: false, why: `not an answer of service ${pidText(first - 0x40)}`, at: 0 };
  if (payload.length < 2) return { ok: false, why: 'no PID in the answer', at: 1 };
  let steps = 0;
  let furthest = 1;
  const parts: MessagePart[] = [];
  const idAt = (at: number): number =>
    idBytes === 1 ? payload[at]! : payload[at]! * 256 + (payload[at + 1] ?? 0);
  const fitsWith = (pid: number, frame: number | null, start: number, length: number): boolean => {
    parts.push({ pid, frame, data: payload.slice(start, start + length) });
    if (fits(start + length)) return true;
    parts.pop();
    return false;
  };

  const fits = (at: number): boolean => {
    if (at === payload.length) return true;
    furthest = Math.max(furthest, at);
    if (++steps > MAX_STEPS) return false;
    const pid = idAt(at);
    if (isIn(parts, pid) || (asked.length > 0 && !includes(asked, pid))) return false;
    const start = at + idBytes + extra;
    const left = payload.length - start;
    if (left < 0) return false;
    const frame = extra === 1 ? payload[at + 1]! : null;
    const known = PIDS[pid >= F4 ? pid - F4 : pid]?.lengths;
    if (known && known.length > 0) {
      for (const length of known) if (length <= left && fitsWith(pid, frame, start, length)) return true;
      return false;
    }
    // Unknown: all that is left when it was asked alone, else the shortest that lets the rest fit.
    if (asked.length === 1) return left > 0 && fitsWith(pid, frame, start, left);
    for (let length = 1; length <= Math.min(left, MAX_UNKNOWN); length++)
      if (fitsWith(pid, frame, start, length)) return true;
    return false;
  };

  if (fits(1)) return { ok: true, parts };
  const why = `${toHex(payload.subarray(furthest))} is no data of PID ${idText(idAt(furthest), idBytes)}`;
  return { ok: false, why: asked.length > 0 ? `${why} that was asked` : why, at: furthest };
}

/** Lists of half a dozen: loops without a closure. */
function includes(list: ArrayLike<number>, id: number): boolean {
  for (let i = 0; i < list.length; i++) if (list[i] === id) return true;
  return false;
}

function isIn(parts: readonly MessagePart[], pid: number): boolean {
  for (let i = 0; i < parts.length; i++) if (parts[i]!.pid === pid) return true;
  return false;
}

const idText = (id: number, bytes: 1 | 2): string =>
  id
    .toString(16)
    .toUpperCase()
    .padStart(2 * bytes, '0');

/** Identifiers F400 to F4FF of service 22 are the PIDs of service 01. SAE J1979-2, from memory. */
export const F4 = 0xf400;
