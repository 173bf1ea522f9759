/** The address of an answer as it stands in a line. */
import { HEX_DIGIT } from '../core/hex.ts';
import { RESPONSE_IDS } from '../isotp/address.ts';

/** By number, so that the address of a frame is not made as a text each time. */
const BY_NUMBER = new Map([...RESPONSE_IDS].map((id) => [Number.parseInt(id, 16), id]));

/** The address of a diagnostic answer that stands as hex digits, either case, in `codes`; null when it is another. */
export function responseIdAt(codes: Uint8Array, from: number, to: number): string | null {
  let id = 0;
  for (let i = from; i < to; i++) id = id * 16 + HEX_DIGIT[codes[i]!]!;
  const text = BY_NUMBER.get(id);
  return text?.length === to - from ? text : null;
}
