/** CAN frames of a finished exchange → complete messages per control unit. */
import { HEX_DIGIT } from '../core/hex.ts';
import { Reassembler } from '../isotp/reassembler.ts';
import type { Discard, EcuMessage } from './adapter.ts';

/** The frames of one exchange, in order of arrival, as columns: one of these serves exchange after exchange. */
export class Frames {
  count = 0;
  /** Response address, upper-case hex. */
  readonly ids: string[] = [];
  readonly tUs: number[] = [];
  /** Of all frames, one behind the other, ISO-TP bytes included; up to eight each in a good one. */
  bytes = new Uint8Array(512);
  /** Behind the last byte of each. */
  readonly ends: number[] = [];

  /** Empty, to be filled anew. */
  none(): this {
    this.count = 0;
    return this;
  }

  /** Takes the hex digits in `codes` from `from` to `to`, which are nothing else. @returns false when their number is odd */
  add(id: string, tUs: number, codes: Uint8Array, from: number, to: number): boolean {
    if (((to - from) & 1) === 1) return false;
    const k = this.count++;
    let at = this.from(k);
    const end = at + ((to - from) >> 1);
    if (end > this.bytes.length) {
      const bytes = new Uint8Array(2 * end);
      bytes.set(this.bytes);
      this.bytes = bytes;
    }
    for (let i = from; at < end; i += 2)
      this.bytes[at++] = (HEX_DIGIT[codes[i]!]! << 4) | HEX_DIGIT[codes[i + 1]!]!;
    this.ids[k] = id;
    this.tUs[k] = tUs;
    this.ends[k] = end;
    return true;
  }

  from(k: number): number {
    return k === 0 ? 0 : this.ends[k - 1]!;
  }
}

export interface JoinedFrames {
  readonly messages: EcuMessage[];
  readonly discards: Discard[];
}

/**
 * Control units interleaved as they came. A broken message is discarded whole: half a message is no evidence.
 * @param rawOf the bytes on the wire of the frame with this number, for the discard
 * @param padded frames of fewer than eight bytes are damaged (see Dialect)
 */
export function joinFrames(
  frames: Frames,
  rawOf: (frame: number) => Uint8Array,
  padded: boolean,
): JoinedFrames {
  const messages: EcuMessage[] = [];
  const discards: Discard[] = [];
  REASSEMBLER.forget();
  /** Numbers of the frames of each message that is not finished. */
  const unfinished = new Map<string, number[]>();
  const drop = (k: number, why: string) => discards.push({ tUs: frames.tUs[k]!, bytes: rawOf(k), why });
  const abandon = (id: string, why: string) => {
    for (const k of unfinished.get(id) ?? []) drop(k, why);
    unfinished.delete(id);
  };
  for (let k = 0; k < frames.count; k++) {
    const id = frames.ids[k]!;
    const from = frames.from(k);
    const to = frames.ends[k]!;
    const fault =
      to - from === 8
        ? null
        : padded && to - from < 8
          ? `only ${to - from} bytes of a frame`
          : lostBytes(frames, k, unfinished.get(id) ?? NO_FRAMES);
    if (fault) {
      drop(k, fault);
      continue;
    }
    const events = REASSEMBLER.push(id, frames.bytes, frames.tUs[k]!, from, to);
    for (const e of events) if (e.kind === 'error' && e.lost > 0) abandon(id, e.why);
    // A message that cuts off an unfinished one is itself fine: then the error is not the last word.
    const last = events.at(-1);
    if (last?.kind === 'error') drop(k, last.why);
    else if (last?.kind === 'message') {
      messages.push({ ecu: id, payload: last.payload, tUs: last.tUs });
      unfinished.delete(id);
    } else {
      const parts = unfinished.get(id); // none again when the old message was just abandoned
      if (parts) parts.push(k);
      else unfinished.set(id, [k]);
    }
  }
  if (unfinished.size > 0) for (const id of [...unfinished.keys()]) abandon(id, 'message not finished');
  return { messages, discards };
}

/** What has long been received asks for nothing more. */
const REASSEMBLER = new Reassembler({ flow: false });
const NO_FRAMES: readonly number[] = [];

/**
 * ISO 15765-4 (from memory) pads every frame to eight bytes; some adapters print only the bytes that count.
 * Anything else means that bytes were lost on the way to us, and shifted bytes look like values.
 * @param before the frames of its message so far
 */
function lostBytes(frames: Frames, k: number, before: readonly number[]): string | null {
  const from = frames.from(k);
  const length = frames.ends[k]! - from;
  if (length === 8) return null;
  if (length < 2 || length > 8) return `frame of ${length} bytes`;
  const pci = frames.bytes[from]!;
  let due = 8;
  if (pci >> 4 === 0) due = (pci & 0x0f) + 1;
  else if (pci >> 4 === 2) {
    const [first] = before;
    const at = first === undefined ? 0 : frames.from(first);
    const total = first === undefined ? 0 : ((frames.bytes[at]! & 0x0f) << 8) | frames.bytes[at + 1]!;
    due = total - 6 - 7 * (before.length - 1) + 1;
  }
  return length === due ? null : `frame of ${length} bytes where ${Math.min(due, 8)} were due`;
}
