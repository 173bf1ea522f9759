/** Bytes as the trade writes them: upper-case hex pairs without spaces. */

export function toHex(bytes: Uint8Array): string {
  let out = '';
  for (const b of bytes) out += (b < 16 ? '0' : '') + b.toString(16).toUpperCase();
  return out;
}

/** Null when the text is not an even number of hex digits. */
export function fromHex(text: string): Uint8Array | null {
  if (text.length % 2 !== 0 || !/^[0-9A-Fa-f]*$/.test(text)) return null;
  const out = new Uint8Array(text.length / 2);
  for (let i = 0; i < out.length; i++) out[i] = Number.parseInt(text.slice(2 * i, 2 * i + 2), 16);
  return out;
}

/** Value of a hex digit by its character code, either case; -1 for any other byte. */
export const HEX_DIGIT = Int8Array.from({ length: 256 }, (_, code) => {
  const digit = String.fromCharCode(code);
  return /[0-9A-Fa-f]/.test(digit) ? Number.parseInt(digit, 16) : -1;
});

/** Hex digits in `codes` from `from` to `to`, which are nothing else, as bytes; null when their number is odd. */
export function bytesOfHex(codes: Uint8Array, from: number, to: number): Uint8Array | null {
  if (((to - from) & 1) === 1) return null;
  const out = new Uint8Array((to - from) >> 1);
  for (let i = 0, at = from; at < to; i++, at += 2)
    out[i] = (HEX_DIGIT[codes[at]!]! << 4) | HEX_DIGIT[codes[at + 1]!]!;
  return out;
}
