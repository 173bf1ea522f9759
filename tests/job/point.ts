/** A PNG of one point, and the same with what somebody wrote into it. */
import { crc32 } from 'node:zlib';

export const POINT = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==',
  'base64',
);

export function pointWith(text: string): Buffer {
  const body = Buffer.from(`tEXtComment\0${text}`, 'latin1');
  const chunk = Buffer.alloc(body.length + 8);
  chunk.writeUInt32BE(body.length - 4);
  body.copy(chunk, 4);
  chunk.writeUInt32BE(crc32(body), body.length + 4);
  return Buffer.concat([POINT.subarray(0, 33), chunk, POINT.subarray(33)]);
}
