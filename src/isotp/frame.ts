/**
 * The four frame types of ISO 15765-2 on classic CAN, normal addressing: read and built. Clause numbers here and
 * in the other files of this folder are those of ISO 15765-2:2016, from memory.
 */

export type FlowStatus = 'continue' | 'wait' | 'overflow';

export type Frame =
  | { readonly kind: 'single'; readonly data: Uint8Array }
  /** Its data begin at `from`, and fill the frame. */
  | { readonly kind: 'first'; readonly total: number; readonly from: number }
  | { readonly kind: 'consecutive'; readonly sequence: number; readonly from: number }
  | {
      readonly kind: 'flow';
      readonly status: FlowStatus;
      readonly blockSize: number;
      readonly separationUs: number;
    }
  /** `code` as in FrameFault. */
  | { readonly kind: 'bad'; readonly code: FrameFault; readonly why: string };

export type FrameFault = 'length' | 'flow status' | 'unknown type';

/**
 * Reads the data bytes of one CAN frame, which stand in `bytes` from `from` to `to`; padding of any value after what
 * counts is left out.
 */
export function readFrame(bytes: Uint8Array, from = 0, to = bytes.length): Frame {
  const n = to - from;
  if (n < 1 || n > 8) return bad('length', `a frame of ${n} bytes`);
  const low = bytes[from]! & 0x0f;
  switch (bytes[from]! >> 4) {
    case 0: // 9.6.2.2: a single frame of length 0 or more than fits is ignored.
      if (low < 1 || n < low + 1) return bad('length', `single frame says ${low} bytes, ${n - 1} came`);
      return { kind: 'single', data: bytes.slice(from + 1, from + 1 + low) };
    case 1:
      return readFirst(bytes, from, to, low);
    case 2:
      if (n < 2) return bad('length', 'consecutive frame without data');
      return { kind: 'consecutive', sequence: low, from: from + 1 };
    case 3: {
      if (n < 3) return bad('length', `flow control of ${n} bytes`);
      const status = (['continue', 'wait', 'overflow'] as const)[low];
      if (!status) return bad('flow status', `flow status ${low} is reserved`); // 9.6.5.3
      const separationUs = separationOf(bytes[from + 2]!);
      return { kind: 'flow', status, blockSize: bytes[from + 1]!, separationUs };
    }
    default:
      return bad('unknown type', `frame type ${bytes[from]! >> 4} is reserved`);
  }
}

function readFirst(bytes: Uint8Array, from: number, to: number, low: number): Frame {
  // 9.6.3.2: a first frame fills its CAN frame; what would have fitted a single frame is ignored.
  if (to - from !== 8) return bad('length', `first frame of ${to - from} bytes`);
  const short = (low << 8) | bytes[from + 1]!;
  if (short > 0) {
    if (short < 8) return bad('length', `first frame says ${short} bytes, which fit a single frame`);
    return { kind: 'first', total: short, from: from + 2 };
  }
  // 9.6.3.1: length 0 escapes to 32 bits, for what does not fit 12 bits only (9.6.3.2).
  const [a, b, c, d] = [bytes[from + 2]!, bytes[from + 3]!, bytes[from + 4]!, bytes[from + 5]!];
  const total = ((a << 24) | (b << 16) | (c << 8) | d) >>> 0;
  if (total <= 4095) return bad('length', `first frame with escape says ${total} bytes`);
  return { kind: 'first', total, from: from + 6 };
}

/** 9.6.5.5: 00–7F milliseconds, F1–F9 hundreds of microseconds; 9.6.5.6: reserved values count as 7F. */
export function separationOf(byte: number): number {
  if (byte <= 0x7f) return byte * 1000;
  if (byte >= 0xf1 && byte <= 0xf9) return (byte - 0xf0) * 100;
  return 127_000;
}

/** `padding` null: the frame ends with what counts. ISO 15765-4 asks for eight bytes in diagnostics. */
export function buildFrame(content: readonly number[], padding: number | null): Uint8Array {
  if (padding === null) return Uint8Array.from(content);
  return Uint8Array.from({ length: 8 }, (_, i) => content[i] ?? padding);
}

/** `separation` is the byte as sent, see `separationOf`. */
export function flowFrame(
  status: FlowStatus,
  blockSize: number,
  separation: number,
  padding: number | null,
): Uint8Array {
  const code = { continue: 0, wait: 1, overflow: 2 }[status];
  return buildFrame([0x30 | code, blockSize, separation], padding);
}

function bad(code: FrameFault, why: string): Frame {
  return { kind: 'bad', code, why };
}
