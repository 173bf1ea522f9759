/** Service 02, freeze frames: what the control unit kept when a code was set. From memory of SAE J1979. */
import { decodePid, type PidReading } from './decode.ts';
import { codeBytes, codeText } from './dtc.ts';
import { splitFreezeFrame } from './split.ts';

export type FreezeAnswer =
  | {
      readonly ok: true;
      readonly parts: readonly {
        readonly frame: number;
        /** The code that stored the frame (PID 02): null when no frame is stored, undefined for other PIDs. */
        readonly code?: string | null;
        readonly reading: PidReading;
      }[];
    }
  | { readonly ok: false; readonly why: string; readonly at: number };

/** @param request the whole request payload (02, PID, frame, …); empty = not known */
export function decodeFreeze(request: Uint8Array, payload: Uint8Array): FreezeAnswer {
  const asked = request.subarray(1).filter((_, i) => i % 2 === 0);
  const split = splitFreezeFrame(payload, asked);
  if (!split.ok) return split;
  const parts = split.parts.map(({ pid, frame, data }) => {
    const part = { frame: frame ?? 0, reading: decodePid(pid, data) };
    if (pid !== 0x02 || data.length !== 2) return part;
    const [high, low] = data as unknown as [number, number];
    return { ...part, code: high === 0 && low === 0 ? null : codeText(high, low) };
  });
  return { ok: true, parts };
}

/** One answer from PIDs and their data bytes (see encodePid). */
export function encodeFreeze(parts: readonly { pid: number; data: Uint8Array }[]): Uint8Array {
  return Uint8Array.from([0x42, ...parts.flatMap(({ pid, data }) => [pid, 0, ...data])]); // of frame 0
}

/** Data of PID 02: the code that stored the frame; null = no frame. Throws RangeError for a text that is no code. */
export function encodeFreezeCode(code: string | null): Uint8Array {
  const bytes = code === null ? [0, 0] : codeBytes(code);
  if (!bytes) throw new RangeError(`${code} is no trouble code`);
  return Uint8Array.from(bytes);
}
