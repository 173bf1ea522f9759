/** What a field of an answer is, as data, with the one reader and the one writer of fields. */
import { SIGNALS, type SignalName } from '../core/signals.ts';

/**
 * One quantity in the data bytes of a PID. Its value is `(raw - zero) * mul / div`, kept as whole numbers so
 * that the result is the double nearest to the decimal that the standard prints.
 */
export interface Field {
  readonly signal: SignalName;
  /** Offset of the most significant byte, after the PID byte. */
  readonly at: number;
  readonly size: 1 | 2 | 4;
  /** Two's complement. */
  readonly signed?: boolean;
  /** Only these bits of the raw number, after shifting right by `shift`. */
  readonly mask?: number;
  readonly shift?: number;
  /** Raw count that stands for zero. */
  readonly zero?: number;
  readonly mul?: number;
  readonly div?: number;
  /** Bit of the first data byte that says whether this field is supported. */
  readonly support?: number;
  /** Raw count that means "not used". */
  readonly notUsed?: number;
  /** The value's full scale when PID 4F or 50 gave a maximum that is not zero. */
  readonly max?: Maximum;
}

/** Byte `byte` of PID `pid` times `step` is the value that `full` counts above `zero` stand for. */
export interface Maximum {
  readonly pid: 0x4f | 0x50;
  readonly byte: number;
  readonly step: number;
  readonly full: number;
}

/** Answers to PIDs 4F and 50 seen earlier from the same control unit, by PID. */
export type Maxima = ReadonlyMap<number, Uint8Array>;

export const NO_MAXIMA: Maxima = new Map();

type Scaling = Pick<Field, 'size' | 'signed' | 'zero' | 'mul' | 'div' | 'mask' | 'notUsed'>;

/** Scalings that many PIDs share; from memory of SAE J1979, checked against an outside decoder in tests/outside. */
export const PERCENT: Scaling = { size: 1, mul: 100, div: 255 };
export const TRIM: Scaling = { size: 1, zero: 128, mul: 100, div: 128 };
export const TORQUE: Scaling = { size: 1, zero: 125 };
export const TEMP: Scaling = { size: 1, zero: 40 };
export const HOT: Scaling = { size: 2, zero: 400, div: 10 };
export const BYTE: Scaling = { size: 1 };
export const WORD: Scaling = { size: 2 };
export const LONG: Scaling = { size: 4 };
export const TENS: Scaling = { size: 2, mul: 10 };
export const HUNDREDTHS: Scaling = { size: 2, div: 100 };
export const PER32: Scaling = { size: 2, div: 32 };
export const LAMBDA: Scaling = { size: 2, div: 32768 };

/** `f('ect_c', 1, TEMP, 0)`: signal, offset, scaling, support bit. */
export function f(signal: SignalName, at: number, scaling: Scaling, support?: number): Field {
  return { signal: listed(signal), at, ...scaling, ...(support === undefined ? {} : { support }) };
}

/** Tests run what does not compile too: then this is said, and not that something has no names. */
function listed(signal: SignalName): SignalName {
  if (!Object.hasOwn(SIGNALS, signal))
    throw new RangeError(`the signal ${signal} needs its line in core/signals.ts`);
  return signal;
}

/** A few bits of one byte; `width` bits from bit `shift` up. */
export function bits(signal: SignalName, at: number, shift: number, width = 1, support?: number): Field {
  const field = { signal: listed(signal), at, size: 1, shift, mask: 2 ** width - 1 } as const;
  return support === undefined ? field : { ...field, support };
}

/** The raw count of a field in the data from `from` to `to`, or null where they are too short for it. */
export function rawOf(field: Field, data: Uint8Array, from = 0, to = data.length): number | null {
  const at = from + field.at;
  if (at + field.size > to) return null;
  let raw = 0;
  for (let i = 0; i < field.size; i++) raw = raw * 256 + data[at + i]!;
  if (field.signed && raw >= 2 ** (8 * field.size - 1)) raw -= 2 ** (8 * field.size);
  return field.mask === undefined ? raw : (raw >>> (field.shift ?? 0)) & field.mask;
}

export function valueOfRaw(field: Field, raw: number, maxima: Maxima): number {
  if (field.max === undefined) return ((raw - (field.zero ?? 0)) * (field.mul ?? 1)) / (field.div ?? 1);
  const { zero, mul, div } = scaleOf(field, maxima);
  return ((raw - zero) * mul) / div;
}

/** The nearest raw count for a value, held within what the field can carry. */
export function rawOfValue(field: Field, value: number, maxima: Maxima): number {
  const { zero, mul, div } = scaleOf(field, maxima);
  const span = field.mask === undefined ? 2 ** (8 * field.size) : field.mask + 1;
  const low = field.signed ? -span / 2 : 0;
  // A measured value must not come out as the count that means "not used": it stays one below.
  const high = low + span - 1 - (field.notUsed === undefined ? 0 : 1);
  return Math.min(high, Math.max(low, Math.round((value * div) / mul + zero)));
}

/** Writes a raw count; bits around a masked field are left as they are. */
export function putRaw(field: Field, raw: number, data: Uint8Array): void {
  if (field.mask !== undefined) {
    data[field.at] = data[field.at]! | ((raw & field.mask) << (field.shift ?? 0));
    return;
  }
  let rest = raw < 0 ? raw + 2 ** (8 * field.size) : raw;
  for (let i = field.size - 1; i >= 0; i--) {
    data[field.at + i] = rest % 256;
    rest = Math.floor(rest / 256);
  }
}

/** Value of one count: what "finer" means when two PIDs carry the same signal. */
export function resolutionOf(field: Field): number {
  return (field.mul ?? 1) / (field.div ?? 1);
}

function scaleOf(field: Field, maxima: Maxima): { zero: number; mul: number; div: number } {
  const zero = field.zero ?? 0;
  const steps = field.max ? (maxima.get(field.max.pid)?.[field.max.byte] ?? 0) : 0;
  if (field.max && steps > 0) return { zero, mul: steps * field.max.step, div: field.max.full };
  return { zero, mul: field.mul ?? 1, div: field.div ?? 1 };
}
