/** Service 09, vehicle information, both ways: number, calibrations, names, in-use counters. From memory of SAE J1979. */
import { toHex } from '../core/hex.ts';
import { decodeBitmap } from './decode.ts';
import { pidText } from './pids.ts';

export const INFO = {
  vin: 0x02,
  calibrationId: 0x04,
  calibrationNumber: 0x06,
  countersSpark: 0x08,
  ecuName: 0x0a,
  countersCompression: 0x0b,
} as const;

interface InfoDef {
  readonly name: string;
  readonly kind: 'bitmap' | 'count' | 'text' | 'hex' | 'counters';
  /** Bytes of one item. */
  readonly size: number;
  readonly counters?: readonly string[];
}

const def = (name: string, kind: InfoDef['kind'], size: number, counters?: readonly string[]): InfoDef =>
  counters ? { name, kind, size, counters } : { name, kind, size };

/** Each monitor counts completions and conditions met. */
const pair = (name: string): string[] => [`${name}: completed`, `${name}: conditions met`];
const DRIVES = ['Drives with monitoring conditions', 'Ignition cycles'];
const SPARK = [
  ...DRIVES,
  ...[
    'Catalyst, bank 1',
    'Catalyst, bank 2',
    'Oxygen sensor, bank 1',
    'Oxygen sensor, bank 2',
    'Exhaust gas recirculation or valve timing',
    'Secondary air',
    'Evaporative system',
    'Secondary oxygen sensor, bank 1',
    'Secondary oxygen sensor, bank 2',
  ].flatMap(pair),
];
const COMPRESSION = [
  ...DRIVES,
  ...[
    'Hydrocarbon catalyst',
    'NOx catalyst',
    'NOx adsorber',
    'Particle filter',
    'Exhaust gas sensor',
    'Exhaust gas recirculation or valve timing',
    'Boost pressure',
    'Fuel system',
  ].flatMap(pair),
];

const INFOS: Readonly<Record<number, InfoDef>> = {
  0: def('Supported information', 'bitmap', 4),
  1: def('Messages of the vehicle identification number', 'count', 1),
  2: def('Vehicle identification number', 'text', 17),
  3: def('Messages of the calibration identifications', 'count', 1),
  4: def('Calibration identification', 'text', 16),
  5: def('Messages of the calibration verification numbers', 'count', 1),
  6: def('Calibration verification number', 'hex', 4),
  7: def('Messages of the in-use counters', 'count', 1),
  8: def('In-use counters, spark ignition', 'counters', 2, SPARK),
  9: def('Messages of the control unit name', 'count', 1),
  10: def('Control unit name', 'text', 20),
  11: def('In-use counters, compression ignition', 'counters', 2, COMPRESSION),
};

/** Bytes of one item; null where the information type is not known. */
export function infoItemSize(infoType: number): number | null {
  return INFOS[infoType]?.size ?? null;
}

export interface VehicleInfo {
  readonly infoType: number;
  readonly name: string;
  /** Texts, hex numbers; for an unknown type its bytes as hex. */
  readonly items: readonly string[];
  readonly counters: readonly { readonly name: string; readonly value: number }[];
  /** Bitmaps: information types supported. */
  readonly supported: readonly number[];
  /** What does not add up, though something could be read; null when all is well. */
  readonly problem: string | null;
}

export type InfoAnswer =
  | { readonly ok: true; readonly info: VehicleInfo }
  | { readonly ok: false; readonly why: string; readonly at: number };

/**
 * What one control unit answered to a request for one information type: one message on CAN (a count of items,
 * then the items), elsewhere several of four bytes each, numbered from 1, in any order of arrival.
 */
export function decodeInfo(payloads: readonly Uint8Array[]): InfoAnswer {
  const first = payloads[0];
  if (first?.[0] !== 0x49) return { ok: false, why: 'not an answer of service 09', at: 0 };
  if (first.length < 3) return { ok: false, why: `an answer of ${first.length} bytes`, at: first.length };
  const infoType = first[1]!;
  const known = INFOS[infoType];
  const name = known?.name ?? `Unknown information type ${pidText(infoType)}`;
  const base = { infoType, name, items: [], counters: [], supported: [], problem: null };
  if (known?.kind === 'bitmap') return bitmap(base, first);
  if (known?.kind === 'count') return { ok: true, info: { ...base, items: [String(first[2])] } };
  const joined = join(payloads, infoType);
  const info = { ...base, ...itemsOf(known, joined.data, joined.declared) };
  return { ok: true, info: { ...info, problem: joined.problem ?? info.problem } };
}

function bitmap(base: VehicleInfo, payload: Uint8Array): InfoAnswer {
  // Four bytes after the type; elsewhere than on CAN a message number stands in front of them.
  const data = payload.length === 7 ? payload.subarray(3) : payload.subarray(2, 6);
  const supported = decodeBitmap(0, data);
  if (!supported) return { ok: false, why: `a bitmap of ${data.length} bytes`, at: 2 };
  return { ok: true, info: { ...base, supported } };
}

interface Joined {
  readonly data: Uint8Array;
  /** Items as the count byte says; null where there is none. */
  readonly declared: number | null;
  readonly problem: string | null;
}

function join(payloads: readonly Uint8Array[], infoType: number): Joined {
  const own = payloads.filter((p) => p[0] === 0x49 && p[1] === infoType && p.length >= 3);
  if (own.length === 1) return { data: own[0]!.subarray(3), declared: own[0]![2]!, problem: null };
  const sorted = own.toSorted((a, b) => a[2]! - b[2]!);
  const bytes: number[] = [];
  let problem: string | null = null;
  for (const [i, p] of sorted.entries()) {
    if (p[2] !== i + 1 || p.length !== 7) problem ??= `message ${i + 1} of the answer is missing or wrong`;
    bytes.push(...p.subarray(3, 7));
  }
  return { data: Uint8Array.from(bytes), declared: null, problem };
}

function itemsOf(
  known: InfoDef | undefined,
  data: Uint8Array,
  declared: number | null,
): Pick<VehicleInfo, 'items' | 'counters' | 'problem'> {
  if (!known) return { items: [toHex(data)], counters: [], problem: null };
  if (known.kind === 'counters') {
    const n = Math.min(known.counters!.length, data.length >> 1);
    const counters = known
      .counters!.slice(0, n)
      .map((name, i) => ({ name, value: data[2 * i]! * 256 + data[2 * i + 1]! }));
    const problem =
      declared !== null && declared !== data.length / 2 ? counts(declared, data.length / 2) : null;
    return { items: [], counters, problem };
  }
  // A number alone takes all bytes: older editions put padding in front of it.
  const size = known.size === 17 ? Math.max(17, data.length) : known.size;
  const items: string[] = [];
  for (let i = 0; i < data.length; i += size) {
    const item = data.subarray(i, i + size);
    items.push(known.kind === 'hex' ? toHex(item) : textOf(item));
  }
  const whole = known.size === 17 ? data.length >= 17 : data.length > 0 && data.length % size === 0;
  let problem: string | null = null;
  if (!whole) problem = `${data.length} bytes are no whole number of items`;
  else if (declared !== null && declared !== items.length) problem = counts(declared, items.length);
  return { items, counters: [], problem };
}

const counts = (declared: number, carried: number): string => `says ${declared} items, carries ${carried}`;

/** Padding (00, FF, blanks) at both ends goes, inside it becomes one blank; other unprintable bytes show as "?". */
function textOf(bytes: Uint8Array): string {
  let text = '';
  for (const b of bytes)
    text += b === 0 || b === 0xff ? ' ' : b >= 0x20 && b < 0x7f ? String.fromCharCode(b) : '?';
  return text.trim().replace(/ +/g, ' ');
}

/**
 * Seventeen letters and digits, as the vehicle says them; null when the text is nothing like it. Whether it can be a
 * vehicle's number (ISO 3779: no I, O, Q; check digit) is asked by `isVin` of poll/vin.ts: what fails there is shown as not certain.
 */
export function vinOf(info: VehicleInfo): string | null {
  const text = info.infoType === INFO.vin ? info.items[0] : undefined;
  return text !== undefined && /^[0-9A-Z]{17}$/.test(text) ? text : null;
}

/** One answer on CAN. Texts are filled up with 00, the vehicle number in front as it has no room to spare. */
export function encodeInfo(infoType: number, items: readonly (string | Uint8Array)[]): Uint8Array {
  const size = INFOS[infoType]?.size;
  const bytes = items.flatMap((item) => {
    const raw = typeof item === 'string' ? Uint8Array.from(item, (c) => c.charCodeAt(0) & 0x7f) : item;
    const padded = new Uint8Array(Math.max(size ?? 0, raw.length));
    padded.set(raw, infoType === INFO.vin ? padded.length - raw.length : 0);
    return [...padded];
  });
  return Uint8Array.from([0x49, infoType, items.length, ...bytes]);
}

/** One answer on CAN: counters of two bytes each, in the order of the table; missing ones are left out at the end. */
export function encodeCounters(infoType: number, values: readonly number[]): Uint8Array {
  const words = values.flatMap((v) => {
    const raw = Math.min(0xffff, Math.max(0, Math.round(v)));
    return [raw >> 8, raw & 0xff];
  });
  return Uint8Array.from([0x49, infoType, values.length, ...words]);
}
