/** Which address answers which, normal addressing; from memory of ISO 15765-4 (10.3, legislated diagnostics). */

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

/** Every address of a diagnostic answer, hex, upper case: 7E8–7EF and 18DAF1xx. ISO 15765-4, from memory. */
export const RESPONSE_IDS: ReadonlySet<string> = new Set(
  [
    ...Array.from({ length: 8 }, (_, n) => 0x7e8 + n),
    ...Array.from({ length: 256 }, (_, n) => 0x18daf100 + n),
  ].map((id) => id.toString(16).toUpperCase()),
);

/** Is it the address (hex, upper case) of a diagnostic answer? */
export function isResponseId(id: string): boolean {
  return RESPONSE_IDS.has(id);
}
