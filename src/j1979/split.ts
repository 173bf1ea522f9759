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

/** @param asked PIDs of the request; empty = not known */
function split(payload: Uint8Array, form: Form, asked: ArrayLike<number>): Split {
  if (payload[0] !== form.first)
    return { ok: false, why: `not an answer of service ${pidText(form.first - 0x40)}`, at: 0 };
  if (payload.length < 2) return { ok: false, why: 'no PID in the answer', at: 1 };
  if (CUT.of(payload, form, asked)) {
    const { pids, from, to } = CUT;
    const parts = Array.from({ length: CUT.count }, (_, k) => ({
      pid: pids[k]!,
      frame: form.extra === 1 ? payload[from[k]! - 1]! : null,
      data: payload.slice(from[k], to[k]),
    }));
    return { ok: true, parts };
  }
  const at = CUT.furthest;
  const why = `${toHex(payload.subarray(at))} is no data of PID ${idText(idAt(payload, at, form), form.idBytes)}`;
  return { ok: false, why: asked.length > 0 ? `${why} that was asked` : why, at };
}

/** As `splitCurrentData`, as places in the payload: until the next answer is cut. Null when it is not ok. */
export const cutCurrentData = (payload: Uint8Array, asked: Uint8Array): PartPlaces | null =>
  payload[0] === CURRENT.first && payload.length > 1 && CUT.of(payload, CURRENT, asked) ? CUT : null;

/** Of the first `count` parts: id, and where its data begin and end in the payload. */
export interface PartPlaces {
  readonly count: number;
  readonly pids: readonly number[];
  readonly from: readonly number[];
  readonly to: readonly number[];
}

/**
 * Parts have no marker of their length, so lengths come from the table, and where editions differ, or a PID is
 * unknown, from the whole answer having to fit: every part an asked PID, none twice. The usual length wins when
 * several fit.
 */
class Cut implements PartPlaces {
  count = 0;
  readonly pids: number[] = [];
  readonly from: number[] = [];
  readonly to: number[] = [];
  /** How far any attempt came. */
  furthest = 1;
  #steps = 0;

  /** @returns false when no way of cutting fits */
  of(payload: Uint8Array, form: Form, asked: ArrayLike<number>): boolean {
    this.count = 0;
    this.furthest = 1;
    this.#steps = 0;
    return this.#fits(payload, form, asked, 1);
  }

  #fits(payload: Uint8Array, form: Form, asked: ArrayLike<number>, at: number): boolean {
    if (at === payload.length) return true;
    if (at > this.furthest) this.furthest = at;
    if (++this.#steps > MAX_STEPS) return false;
    const pid = idAt(payload, at, form);
    if (includes(this.pids, this.count, pid)) return false;
    if (asked.length > 0 && !includes(asked, asked.length, pid)) return false;
    const start = at + form.idBytes + form.extra;
    const left = payload.length - start;
    if (left < 0) return false;
    const k = this.count;
    const fitsWith = (length: number): boolean => {
      this.pids[k] = pid;
      this.from[k] = start;
      this.to[k] = start + length;
      this.count = k + 1;
      if (this.#fits(payload, form, asked, start + length)) return true;
      this.count = k;
      return false;
    };
    const known = PIDS[pid >= F4 ? pid - F4 : pid]?.lengths;
    if (known && known.length > 0) {
      for (let i = 0; i < known.length; i++) if (known[i]! <= left && fitsWith(known[i]!)) return true;
      return false;
    }
    // Unknown: all that is left when it was asked alone, else the shortest that lets the rest fit.
    if (asked.length === 1) return left > 0 && fitsWith(left);
    for (let length = 1; length <= Math.min(left, MAX_UNKNOWN); length++) if (fitsWith(length)) return true;
    return false;
  }
}

const CUT = new Cut();

const idAt = (payload: Uint8Array, at: number, { idBytes }: Form): number =>
  idBytes === 1 ? payload[at]! : payload[at]! * 256 + (payload[at + 1] ?? 0);

/** Lists of half a dozen: a loop without a closure. */
function includes(list: ArrayLike<number>, count: number, id: number): boolean {
  for (let i = 0; i < count; i++) if (list[i] === id) return true;
  return false;
}

const idText = (id: number, bytes: 1 | 2): string =>
  id
    .toString(16)
    .toUpperCase()
    .padStart(2 * bytes, '0');

/** Identifiers F400 to F4FF of service 22 are the PIDs of service 01. SAE J1979-2, from memory. */
export const F4 = 0xf400;
