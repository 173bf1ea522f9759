/**
 * The four frame types of ISO 15765-2 on classic CAN, normal addressing: read and built. Clause numbers here and
 * in the other files of this folder are those of ISO 15765-2:2016, from memory.
 */

export type FlowStatus = 'continue' | 'wait' | 'overflow';

export type Frame =
  | { readonly kind: 'single'; readonly data: Uint8Array }
  | { readonly kind: 'first'; readonly total: number; readonly data: Uint8Array }
  | { readonly kind: 'consecutive'; readonly sequence: number; readonly data: Uint8Array }
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
 * Reads the data bytes of one CAN frame; padding of any value after what counts is left out. Of a first or consecutive
 * frame `data` are a view.
 */
export function readFrame(bytes: Uint8Array): Frame {
  if (bytes.length < 1 || bytes.length > 8) return bad('length', `a frame of ${bytes.length} bytes`);
  const low = bytes[0]! & 0x0f;
  switch (bytes[0]! >> 4) {
    case 0: // 9.6.2.2: a single frame of length 0 or more than fits is ignored.
      if (low < 1 || bytes.length < low + 1)
        return bad('length', `single frame says ${low} bytes, ${bytes.length - 1} came`);
      return { kind: 'single', data: bytes.slice(1, 1 + low) };
    case 1:
      return readFirst(bytes, low);
    case 2:
      if (bytes.length < 2) return bad('length', 'consecutive frame without data');
      return { kind: 'consecutive', sequence: low, data: bytes.subarray(1) };
    case 3: {
      if (bytes.length < 3) return bad('length', `flow control of ${bytes.length} bytes`);
      const status = (['continue', 'wait', 'overflow'] as const)[low];
      if (!status) return bad('flow status', `flow status ${low} is reserved`); // 9.6.5.3
      return { kind: 'flow', status, blockSize: bytes[1]!, separationUs: separationOf(bytes[2]!) };
    }
    default:
      return bad('unknown type', `frame type ${bytes[0]! >> 4} is reserved`);
  }
}

function readFirst(bytes: Uint8Array, low: number): Frame {
  // 9.6.3.2: a first frame fills its CAN frame; what would have fitted a single frame is ignored.
  if (bytes.length !== 8) return bad('length', `first frame of ${bytes.length} bytes`);
  const short = (low << 8) | bytes[1]!;
  if (short > 0) {
    if (short < 8) return bad('length', `first frame says ${short} bytes, which fit a single frame`);
    return { kind: 'first', total: short, data: bytes.subarray(2) };
  }
  // 9.6.3.1: length 0 escapes to 32 bits, for what does not fit 12 bits only (9.6.3.2).
  const total = ((bytes[2]! << 24) | (bytes[3]! << 16) | (bytes[4]! << 8) | bytes[5]!) >>> 0;
  if (total <= 4095) return bad('length', `first frame with escape says ${total} bytes`);
  return { kind: 'first', total, data: bytes.subarray(6) };
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
