/** From the data bytes of one PID to readings, and from values back to data bytes: both over the one table. */
import { type Absence, isAbsence } from '../core/absence.ts';
import { SIGNALS, type SignalName, type Unit } from '../core/signals.ts';
import { type Field, type Maxima, NO_MAXIMA, putRaw, rawOf, rawOfValue, valueOfRaw } from './fields.ts';
import { PIDS, pidText } from './pids.ts';

/** One quantity of one PID, or why it is not there. */
export interface FieldValue {
  /** Null where the bytes as a whole are unknown or malformed. */
  readonly signal: string | null;
  readonly unit: Unit | null;
  /** In `unit`; the code where the signal has named values. */
  readonly value: number | Absence;
  /** The name of a named value; a code without a name is shown by number. */
  readonly text: string | null;
}

export interface PidReading {
  readonly pid: number;
  readonly name: string;
  readonly raw: Uint8Array;
  readonly readings: readonly FieldValue[];
}

/**
 * Never throws. Fields that the answer's own support bits rule out are `unsupported`; a length that no edition
 * gives is one `malformed` reading; an unknown PID or one without quantities has no reading, only its bytes.
 */
export function decodePid(pid: number, data: Uint8Array, maxima: Maxima = NO_MAXIMA): PidReading {
  const def = PIDS[pid];
  const raw = Uint8Array.from(data);
  if (!def) return { pid, name: `Unknown PID ${pidText(pid)}`, raw, readings: [] };
  if (def.lengths.length > 0 && !def.lengths.includes(data.length)) {
    const why = `${data.length} data bytes, expected ${def.lengths.join(' or ')}`;
    const bad: FieldValue = { signal: null, unit: null, value: { absent: 'malformed', why }, text: null };
    return { pid, name: def.name, raw, readings: [bad] };
  }
  return { pid, name: def.name, raw, readings: def.fields.map((field) => reading(field, data, maxima)) };
}

/**
 * The quantities of one PID that are there, as `decodePid` reads them, without their names and their absences.
 * @param data its data stand from `from` to `to`
 * @returns how many
 */
export function decodeNumbers(
  pid: number,
  data: Uint8Array,
  from: number,
  to: number,
  maxima: Maxima,
  take: (signal: SignalName, value: number) => void,
): number {
  const def = PIDS[pid];
  if (!def || (def.lengths.length > 0 && !def.lengths.includes(to - from))) return 0;
  let n = 0;
  for (const field of def.fields) {
    const value = readField(field, data, maxima, from, to);
    if (typeof value !== 'number') continue;
    take(field.signal, value);
    n++;
  }
  return n;
}

const UNSUPPORTED: Absence = { absent: 'unsupported' };

function reading(field: Field, data: Uint8Array, maxima: Maxima): FieldValue {
  const def: { unit: Unit; names?: Readonly<Record<number, string>> } = SIGNALS[field.signal];
  const value = readField(field, data, maxima);
  const text = def.names && !isAbsence(value) ? (def.names[value] ?? `code ${value}`) : null;
  return { signal: field.signal, unit: def.unit, value, text };
}

function readField(
  field: Field,
  data: Uint8Array,
  maxima: Maxima,
  from = 0,
  to = data.length,
): number | Absence {
  const raw = rawOf(field, data, from, to);
  // A shorter edition of the same PID simply lacks the last fields.
  if (raw === null || raw === field.notUsed) return UNSUPPORTED;
  if (field.support !== undefined && ((data[from]! >> field.support) & 1) === 0) return UNSUPPORTED;
  return valueOfRaw(field, raw, maxima);
}

/** A control unit's own values: null where it has none. Named values are given by their code. */
export type ValueOf = (signal: string) => number | null;

/**
 * Data bytes of a PID from values: the nearest count each, held within what the field carries; support bits are
 * set for the values that there are. Null when the PID is unknown, carries no quantity or no value is there.
 */
export function encodePid(pid: number, values: ValueOf, maxima: Maxima = NO_MAXIMA): Uint8Array | null {
  const def = PIDS[pid];
  if (!def || def.lengths.length === 0 || def.fields.length === 0) return null;
  const data = new Uint8Array(Math.max(...def.lengths));
  let any = false;
  let used = 0;
  for (const field of def.fields) {
    const value = values(field.signal);
    if (value === null || !Number.isFinite(value)) {
      if (field.notUsed !== undefined) putRaw(field, field.notUsed, data);
      continue;
    }
    any = true;
    used = Math.max(used, field.at + field.size);
    putRaw(field, rawOfValue(field, value, maxima), data);
    if (field.support !== undefined) data[0] = data[0]! | (1 << field.support);
  }
  if (!any) return null;
  // The usual length, unless a longer edition is needed to carry all values.
  const length = [def.lengths[0]!, ...def.lengths.toSorted((a, b) => a - b)].find((n) => n >= used);
  return data.slice(0, length);
}

/** PIDs of a support bitmap; `base` is its own number (00, 20, …). Null when it is not four bytes. */
export function decodeBitmap(base: number, data: Uint8Array): number[] | null {
  if (data.length !== 4) return null;
  const out: number[] = [];
  for (let i = 0; i < 32; i++) if ((data[i >> 3]! >> (7 - (i & 7))) & 1) out.push(base + 1 + i);
  return out.filter((pid) => pid <= 0xff);
}

/**
 * Four bytes for the PIDs base+1 … base+32; the last bit is also set when any PID beyond is supported, so that
 * the reader goes on.
 */
export function encodeBitmap(base: number, supported: Iterable<number>): Uint8Array {
  const data = new Uint8Array(4);
  for (const pid of supported) {
    if (pid <= base) continue;
    const i = Math.min(pid - base - 1, 31);
    data[i >> 3] = data[i >> 3]! | (0x80 >> (i & 7));
  }
  return data;
}
