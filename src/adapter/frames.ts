/** CAN frames of a finished exchange → complete messages per control unit. */
import { Reassembler } from '../isotp/reassembler.ts';
import type { Discard, EcuMessage } from './adapter.ts';

export interface ReceivedFrame {
  /** Response address, upper-case hex. */
  readonly id: string;
  /** Up to eight bytes, ISO-TP bytes included. */
  readonly data: Uint8Array;
  readonly tUs: number;
  /** Where it stood: the bytes on the wire, for the discard. */
  readonly line: { readonly raw: Uint8Array };
}

export interface JoinedFrames {
  readonly messages: EcuMessage[];
  readonly discards: Discard[];
}

/**
 * Frames in order of arrival, control units interleaved as they came. A broken message is discarded whole:
 * half a message is no evidence.
 * @param padded frames of fewer than eight bytes are damaged (see Dialect)
 */
export function joinFrames(frames: readonly ReceivedFrame[], padded: boolean): JoinedFrames {
  const messages: EcuMessage[] = [];
  const discards: Discard[] = [];
  const reassembler = new Reassembler(NO_FLOW);
  const unfinished = new Map<string, ReceivedFrame[]>();
  const drop = (f: ReceivedFrame, why: string) => discards.push({ tUs: f.tUs, bytes: f.line.raw, why });
  const abandon = (id: string, why: string) => {
    for (const f of unfinished.get(id) ?? []) drop(f, why);
    unfinished.delete(id);
  };
  for (const f of frames) {
    const fault =
      padded && f.data.length < 8
        ? `only ${f.data.length} bytes of a frame`
        : lostBytes(f.data, unfinished.get(f.id) ?? NO_FRAMES);
    if (fault) {
      drop(f, fault);
      continue;
    }
    const events = reassembler.push(f.id, f.data, f.tUs);
    for (const e of events) if (e.kind === 'error' && e.lost > 0) abandon(f.id, e.why);
    // A message that cuts off an unfinished one is itself fine: then the error is not the last word.
    const last = events.at(-1);
    if (last?.kind === 'error') drop(f, last.why);
    else if (last?.kind === 'message') {
      messages.push({ ecu: f.id, payload: last.payload, tUs: f.tUs });
      unfinished.delete(f.id);
    } else {
      const parts = unfinished.get(f.id); // none again when the old message was just abandoned
      if (parts) parts.push(f);
      else unfinished.set(f.id, [f]);
    }
  }
  if (unfinished.size > 0) for (const id of [...unfinished.keys()]) abandon(id, 'message not finished');
  return { messages, discards };
}

/** What has long been received asks for nothing more. */
const NO_FLOW = { flow: false } as const;
const NO_FRAMES: readonly ReceivedFrame[] = [];

/**
 * ISO 15765-4 (from memory) pads every frame to eight bytes; some adapters print only the bytes that count.
 * Anything else means that bytes were lost on the way to us, and shifted bytes look like values.
 */
function lostBytes(data: Uint8Array, before: readonly ReceivedFrame[]): string | null {
  if (data.length === 8) return null;
  if (data.length < 2 || data.length > 8) return `frame of ${data.length} bytes`;
  const [pci = 0] = data;
  let due = 8;
  if (pci >> 4 === 0) due = (pci & 0x0f) + 1;
  else if (pci >> 4 === 2) {
    const first = before[0]?.data;
    const total = first ? (((first[0] ?? 0) & 0x0f) << 8) | (first[1] ?? 0) : 0;
    due = total - 6 - 7 * (before.length - 1) + 1;
  }
  return data.length === due ? null : `frame of ${data.length} bytes where ${Math.min(due, 8)} were due`;
}
