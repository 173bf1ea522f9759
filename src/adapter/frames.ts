/** CAN frames of a finished exchange → complete messages per control unit (ISO-TP read after the fact). */
import type { Discard, EcuMessage } from './adapter.ts';

export interface Frame {
  /** Response address, upper-case hex. */
  readonly id: string;
  /** Up to eight bytes, ISO-TP bytes included. */
  readonly data: Uint8Array;
  readonly tUs: number;
  /** What stood on the wire, for the discard. */
  readonly raw: Uint8Array;
}

export interface Reading {
  readonly messages: EcuMessage[];
  readonly discards: Discard[];
}

interface Open {
  readonly total: number;
  readonly parts: Frame[];
  readonly bytes: number[];
  next: number;
}

/**
 * Frames in order of arrival, control units interleaved as they came. Numbers in comments are clauses of
 * ISO 15765-2 from memory. A broken message is discarded whole: half a message is no evidence.
 */
export function joinFrames(frames: readonly Frame[]): Reading {
  const messages: EcuMessage[] = [];
  const discards: Discard[] = [];
  const open = new Map<string, Open>();
  const drop = (f: Frame, why: string) => discards.push({ tUs: f.tUs, bytes: f.raw, why });
  const abandon = (id: string, why: string) => {
    for (const f of open.get(id)?.parts ?? []) drop(f, why);
    open.delete(id);
  };
  for (const f of frames) {
    const pci = f.data[0] ?? 0xff;
    const kind = pci >> 4;
    if (f.data.length > 8 || f.data.length < 2) drop(f, `frame of ${f.data.length} bytes`);
    else if (kind === 0) {
      abandon(f.id, 'cut off by a new message of the same control unit');
      const length = pci & 0x0f;
      // ISO 15765-4: frames are padded to eight bytes; some adapters print only what counts. Anything between
      // means that bytes were lost on the way, and shifted bytes look like values.
      if (length < 1 || length > 7 || (f.data.length !== 8 && f.data.length !== length + 1))
        drop(f, `single frame says ${length} bytes, ${f.data.length - 1} came`);
      else messages.push({ ecu: f.id, payload: f.data.slice(1, 1 + length), tUs: f.tUs });
    } else if (kind === 1) {
      abandon(f.id, 'cut off by a new message of the same control unit');
      const total = ((pci & 0x0f) << 8) | (f.data[1] ?? 0);
      if (f.data.length !== 8 || total < 8) drop(f, `first frame says ${total} bytes, ${f.data.length} came`);
      else open.set(f.id, { total, parts: [f], bytes: [...f.data.subarray(2)], next: 1 });
    } else if (kind === 2) {
      const o = open.get(f.id);
      if (!o) {
        drop(f, 'continuation without a beginning');
        continue;
      }
      const left = o.total - o.bytes.length;
      const want = Math.min(7, left);
      const wrongNumber = (pci & 0x0f) !== o.next;
      if (wrongNumber || (f.data.length !== 8 && f.data.length !== want + 1)) {
        o.parts.push(f);
        abandon(f.id, wrongNumber ? `frame ${pci & 0x0f} where ${o.next} was due` : 'continuation too short');
        continue;
      }
      o.parts.push(f);
      o.bytes.push(...f.data.subarray(1, 1 + want));
      o.next = (o.next + 1) & 0x0f;
      if (o.bytes.length === o.total) {
        messages.push({ ecu: f.id, payload: Uint8Array.from(o.bytes), tUs: f.tUs });
        open.delete(f.id);
      }
    } else drop(f, kind === 3 ? 'flow control from a control unit' : `frame type ${kind}`);
  }
  for (const id of [...open.keys()]) abandon(id, 'message not finished');
  return { messages, discards };
}
