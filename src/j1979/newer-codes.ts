/**
 * Trouble codes over service 19 (ReadDTCInformation): lists with status bits, and freeze frames (snapshot records).
 * From memory of ISO 14229-1 and SAE J1979-2: functional group 33 is emissions, severity is not looked at.
 */
import { toHex } from '../core/hex.ts';
import type { CodeState } from '../core/snapshot.ts';
import { typedCodeBytes, typedCodeText } from './dtc.ts';
import { encodeNegative } from './negative.ts';
import { NEWER } from './newer.ts';
import { pidText } from './pids.ts';
import { F4, type MessagePart, splitIdentifiers } from './split.ts';

/** Bits of a code's status. */
export const STATUS = {
  failedNow: 0x01,
  pending: 0x04,
  confirmed: 0x08,
  notTestedSinceClear: 0x10,
  notTestedThisDrive: 0x40,
  lamp: 0x80,
} as const;

/** What is asked; the first that a unit answers counts. All of them list codes with their status. */
export const REPORTS = {
  byStatus: 0x02,
  frame: 0x04,
  permanent: 0x15,
  emissionsByStatus: 0x42,
  emissionsPermanent: 0x55,
} as const;

const EMISSIONS = 0x33;
const ANY_SEVERITY = 0xff;
/** Pending, confirmed, or the lamp asked for. */
const WANTED = STATUS.pending | STATUS.confirmed | STATUS.lamp;

/** Requests for pending and stored codes, the likelier first. */
export const CODE_REQUESTS: readonly (readonly number[])[] = [
  [NEWER.readCodes, REPORTS.emissionsByStatus, EMISSIONS, WANTED, ANY_SEVERITY],
  [NEWER.readCodes, REPORTS.byStatus, WANTED],
];
export const PERMANENT_REQUESTS: readonly (readonly number[])[] = [
  [NEWER.readCodes, REPORTS.emissionsPermanent, EMISSIONS],
  [NEWER.readCodes, REPORTS.permanent],
];
const ALL_RECORDS = 0xff;

/** Asks for all freeze frames of one code. Throws RangeError for a text that is no code. */
export function frameRequest(code: string): number[] {
  return [NEWER.readCodes, REPORTS.frame, ...bytesOf(code), ALL_RECORDS];
}

export interface StatusCode {
  /** With its failure type: see `typedCodeText`. */
  readonly code: string;
  /** See STATUS. */
  readonly status: number;
}

export type CodeReport =
  | {
      readonly ok: true;
      readonly permanent: boolean;
      readonly codes: readonly StatusCode[];
      /** What does not add up, though codes could be read; null when all is well. */
      readonly problem: string | null;
    }
  | { readonly ok: false; readonly why: string; readonly at: number };

interface Shape {
  /** Bytes of the answer before the first code. */
  readonly head: number;
  /** Bytes in front of each code: its severity. */
  readonly before: 0 | 1;
}

/** 59, sub-function, then masks (and the group where it was asked for). */
const SHAPES: Readonly<Record<number, Shape>> = {
  [REPORTS.byStatus]: { head: 3, before: 0 },
  [REPORTS.permanent]: { head: 3, before: 0 },
  [REPORTS.emissionsByStatus]: { head: 6, before: 1 },
  [REPORTS.emissionsPermanent]: { head: 5, before: 0 },
};

/** An answer to one of CODE_REQUESTS or PERMANENT_REQUESTS. */
export function decodeReport(payload: Uint8Array): CodeReport {
  const [first, sub = 0] = payload;
  const shape = SHAPES[sub];
  if (first !== (NEWER.readCodes | 0x40) || shape === undefined)
    return { ok: false, why: 'not a list of codes of service 19', at: 0 };
  const { head, before } = shape;
  // A unit without codes may leave out what describes them.
  if (payload.length < 3)
    return { ok: false, why: `an answer of ${payload.length} bytes`, at: payload.length };
  const size = before + 4;
  const rest = payload.subarray(head);
  const codes: StatusCode[] = [];
  for (let i = before; i + 3 < rest.length; i += size) {
    const [high, low, type, status] = rest.subarray(i) as unknown as [number, number, number, number];
    if (high !== 0 || low !== 0) codes.push({ code: typedCodeText(high, low, type), status });
  }
  const permanent = sub === REPORTS.permanent || sub === REPORTS.emissionsPermanent;
  const left = rest.length % size;
  return { ok: true, permanent, codes, problem: left === 0 ? null : `${left} bytes behind the last code` };
}

/** Whether a code of a report stands in the list of stored, or of pending ones. */
export function standsIn(state: Exclude<CodeState, 'permanent'>, { status }: StatusCode): boolean {
  return (status & (state === 'stored' ? STATUS.confirmed : STATUS.pending)) !== 0;
}

/** Throws RangeError for a text that is no code, or a sub-function that lists none. */
export function encodeReport(sub: number, codes: readonly StatusCode[]): Uint8Array {
  const shape = SHAPES[sub];
  if (shape === undefined) throw new RangeError(`sub-function ${pidText(sub)} lists no codes`);
  const format = 0x04; // SAE J2012-DA, from memory
  const masks =
    { 3: [0xff], 5: [EMISSIONS, 0xff, format], 6: [EMISSIONS, 0xff, 0xff, format] }[shape.head] ?? [];
  const severity = shape.before === 1 ? [0x02] : [];
  const listed = codes.flatMap(({ code, status }) => [...severity, ...bytesOf(code), status]);
  return Uint8Array.of(NEWER.readCodes | 0x40, sub, ...masks, ...listed);
}

export type FrameAnswer =
  | {
      readonly ok: true;
      readonly code: string;
      readonly frame: number | null;
      readonly parts: readonly MessagePart[];
    }
  | { readonly ok: false; readonly why: string; readonly at: number };

/** 59 04, code, status, then number, count, and as many identifiers with data. The first record; `pid` is a PID. */
export function decodeFrame(payload: Uint8Array): FrameAnswer {
  if (payload[0] !== (NEWER.readCodes | 0x40) || payload[1] !== REPORTS.frame)
    return { ok: false, why: 'not a freeze frame of service 19', at: 0 };
  if (payload.length < 6)
    return { ok: false, why: `an answer of ${payload.length} bytes`, at: payload.length };
  const code = typedCodeText(payload[2]!, payload[3]!, payload[4]!);
  if (payload.length < 8) return { ok: true, code, frame: null, parts: [] };
  // Where further records follow is not written anywhere: as much as reads as identifiers with the usual lengths.
  const count = payload[7]!;
  const parts = recordOf(payload.subarray(8), count);
  if (parts === null)
    return { ok: false, why: `${toHex(payload.subarray(8))} is no frame of ${count} identifiers`, at: 8 };
  const pids = parts.filter((p) => p.pid >= F4 && p.pid <= F4 + 0xff).map((p) => ({ ...p, pid: p.pid - F4 }));
  return { ok: true, code, frame: payload[6]!, parts: pids };
}

/** All of it where that is one record, else the shortest beginning that has so many identifiers, and a record behind it. */
function recordOf(bytes: Uint8Array, count: number): readonly MessagePart[] | null {
  const read = (length: number): readonly MessagePart[] | null => {
    const split = splitIdentifiers(Uint8Array.of(0x62, ...bytes.subarray(0, length)), []);
    return split.ok && (count === 0 || split.parts.length === count) ? split.parts : null;
  };
  const whole = read(bytes.length);
  if (whole !== null || count === 0) return whole;
  for (let length = 3 * count; length < Math.min(bytes.length, MAX_RECORD); length++) {
    const parts = bytes[length + 2] === F4 >> 8 ? read(length) : null;
    if (parts !== null) return parts;
  }
  return null;
}
const MAX_RECORD = 256;

/** Answer of one record, or the refusal where there is none. Throws RangeError for a text that is no code. */
export function encodeFrame(
  { code, status }: StatusCode,
  parts: readonly { pid: number; data: Uint8Array }[],
): Uint8Array {
  if (parts.length === 0) return encodeNegative(NEWER.readCodes, 0x31);
  const record = parts.flatMap(({ pid, data }) => [F4 >> 8, pid, ...data]);
  return Uint8Array.of(
    NEWER.readCodes | 0x40,
    REPORTS.frame,
    ...bytesOf(code),
    status,
    0,
    parts.length,
    ...record,
  );
}

function bytesOf(code: string): [number, number, number] {
  const bytes = typedCodeBytes(code);
  if (!bytes) throw new RangeError(`${code} is no trouble code`);
  return bytes;
}
