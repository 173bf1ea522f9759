/** WebP (RFC 9649, from memory): a RIFF of chunks, padded to even lengths; VP8X says which of them there are. */
import { orientationIn, tiffOf } from './orientation.ts';

const KEPT: ReadonlySet<string> = new Set(['VP8 ', 'VP8L', 'VP8X', 'ALPH', 'ANIM', 'ANMF', 'ICCP']);
const PICTURES = ['VP8 ', 'VP8L', 'ANMF'];
/** Bits of the first byte of VP8X. */
const HAS_EXIF = 0x08;
const HAS_XMP = 0x04;
/** Before the chunks of an animation's frame: place, size, time, flags. */
const FRAME_HEAD = 16;

/** Null when the bytes are no whole picture. */
export function cleanWebp(bytes: Buffer): Buffer | null {
  const end = 8 + bytes.readUInt32LE(4);
  const chunks = end <= bytes.length ? chunksOf(bytes.subarray(12, end)) : null;
  if (!chunks?.some((c) => PICTURES.includes(c.type))) return null;
  const exif = chunks.find((c) => c.type === 'EXIF')?.data;
  const orientation = exif ? orientationIn(exif) : 1;
  const extended = chunks.find((c) => c.type === 'VP8X');
  // Only the extended form says that there is camera data.
  const turned = orientation !== 1 && extended !== undefined;
  const kept: Buffer[] = [];
  for (const { type, data } of chunks) {
    if (!KEPT.has(type)) continue;
    if (type === 'ANMF') {
      const frame = frameOf(data);
      if (!frame) return null;
      kept.push(chunk(type, frame));
    } else kept.push(chunk(type, type === 'VP8X' ? flagged(data, turned) : data));
  }
  if (turned) kept.push(chunk('EXIF', tiffOf(orientation)));
  const body = Buffer.concat([Buffer.from('WEBP'), ...kept]);
  return chunk('RIFF', body);
}

interface Chunk {
  readonly type: string;
  readonly data: Buffer;
}

function chunksOf(bytes: Buffer): Chunk[] | null {
  const chunks: Chunk[] = [];
  for (let at = 0; at < bytes.length; ) {
    if (at + 8 > bytes.length) return null;
    const length = bytes.readUInt32LE(at + 4);
    const end = at + 8 + length;
    if (end > bytes.length) return null;
    chunks.push({ type: bytes.toString('latin1', at, at + 4), data: bytes.subarray(at + 8, end) });
    at = end + (length % 2);
  }
  return chunks;
}

/** Unknown chunks may lie within a frame, too. */
function frameOf(data: Buffer): Buffer | null {
  const chunks = data.length < FRAME_HEAD ? null : chunksOf(data.subarray(FRAME_HEAD));
  if (!chunks) return null;
  const kept = chunks.filter((c) => KEPT.has(c.type)).map((c) => chunk(c.type, c.data));
  return Buffer.concat([data.subarray(0, FRAME_HEAD), ...kept]);
}

function flagged(data: Buffer, exif: boolean): Buffer {
  const copy = Buffer.from(data);
  copy[0] = ((copy[0] ?? 0) & ~(HAS_EXIF | HAS_XMP)) | (exif ? HAS_EXIF : 0);
  return copy;
}

function chunk(type: string, data: Buffer): Buffer {
  const head = Buffer.alloc(8);
  head.write(type, 'latin1');
  head.writeUInt32LE(data.length, 4);
  return Buffer.concat([head, data, Buffer.alloc(data.length % 2)]);
}
