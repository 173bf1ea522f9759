/** PNG (W3C Portable Network Graphics, third edition, from memory): a signature, then chunks of length, type, data, check. */
import { crc32 } from 'node:zlib';
import { orientationIn, tiffOf } from './orientation.ts';

const SIGNATURE_BYTES = 8;
/** What decides how the picture looks. Text, time, camera data, animation and what is unknown are none of it. */
const KEPT: ReadonlySet<string> = new Set(
  'IHDR PLTE IDAT IEND tRNS gAMA cHRM sRGB iCCP cICP mDCV cLLI sBIT bKGD pHYs'.split(' '),
);

/** Null when the bytes are no whole picture. */
export function cleanPng(bytes: Buffer): Buffer | null {
  const kept: Buffer[] = [bytes.subarray(0, SIGNATURE_BYTES)];
  let orientation = 1;
  const seen = new Set<string>();
  for (let at = SIGNATURE_BYTES; !seen.has('IEND'); ) {
    if (at + 12 > bytes.length) return null;
    const end = at + 12 + bytes.readUInt32BE(at);
    if (end > bytes.length) return null;
    const type = bytes.toString('latin1', at + 4, at + 8);
    if (seen.size === 0 && type !== 'IHDR') return null;
    if (type === 'eXIf') orientation = orientationIn(bytes.subarray(at + 8, end - 4));
    if (KEPT.has(type)) kept.push(bytes.subarray(at, end));
    seen.add(type);
    at = end;
  }
  if (!seen.has('IDAT')) return null;
  if (orientation !== 1) kept.splice(2, 0, chunk('eXIf', tiffOf(orientation)));
  return Buffer.concat(kept);
}

function chunk(type: string, data: Buffer): Buffer {
  const whole = Buffer.alloc(12 + data.length);
  whole.writeUInt32BE(data.length);
  whole.write(type, 4, 'latin1');
  data.copy(whole, 8);
  whole.writeUInt32BE(crc32(whole.subarray(4, 8 + data.length)), 8 + data.length);
  return whole;
}
