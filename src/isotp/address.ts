/** Which address answers which, normal addressing; from memory of ISO 15765-4 (10.3, legislated diagnostics). */

import { HEX_DIGIT } from '../core/hex.ts';

/** Asks every control unit. */
export const FUNCTIONAL = { can11: '7DF', can29: '18DB33F1' } as const;

/** "7E8" → "7E0", "18DAF110" → "18DA10F1"; null when it is not an answer address. Upper-case hex. */
export function requestIdOf(responseId: string): string | null {
  const short = /^7E([89A-F])$/.exec(responseId);
  if (short) return `7E${(Number.parseInt(short[1]!, 16) - 8).toString(16).toUpperCase()}`;
  const long = /^18DAF1([0-9A-F]{2})$/.exec(responseId);
  return long ? `18DA${long[1]}F1` : null;
}

/** "7E0" → "7E8", "18DA10F1" → "18DAF110"; null when it is not a physical request address. */
export function responseIdOf(requestId: string): string | null {
  const short = /^7E([0-7])$/.exec(requestId);
  if (short) return `7E${(Number.parseInt(short[1]!, 16) + 8).toString(16).toUpperCase()}`;
  const long = /^18DA([0-9A-F]{2})F1$/.exec(requestId);
  return long ? `18DAF1${long[1]}` : null;
}

/** Is it the address (hex, upper case) of a diagnostic answer: 7E8–7EF or 18DAF1xx? ISO 15765-4, from memory. */
export function isResponseId(id: string): boolean {
  return RESPONSES.has(id);
}

/** Known ones by number, so that the address of a frame is not made as a text each time. */
const RESPONSE_IDS = new Map<number, string>(
  [
    ...Array.from({ length: 8 }, (_, n) => 0x7e8 + n),
    ...Array.from({ length: 256 }, (_, n) => 0x18daf100 + n),
  ].map((id) => [id, id.toString(16).toUpperCase()]),
);
const RESPONSES: ReadonlySet<string> = new Set(RESPONSE_IDS.values());

/** The address of a diagnostic answer that stands as hex digits, either case, in `codes`; null when it is another. */
export function responseIdAt(codes: Uint8Array, from: number, to: number): string | null {
  let id = 0;
  for (let i = from; i < to; i++) id = id * 16 + HEX_DIGIT[codes[i]!]!;
  const text = RESPONSE_IDS.get(id);
  return text?.length === to - from ? text : null;
}
