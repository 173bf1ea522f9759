/**
 * The one thing that is kept of what a camera writes about a picture: which way up it is. From memory of Exif 2.3
 * (CIPA DC-008), 4.5 and 4.6: a TIFF header, then the directory in which tag 0112 is the orientation, 1 to 8.
 */
const ORIENTATION = 0x0112;
const SHORT_TYPE = 3;

const PREFIX = 'Exif\0\0';

/** @param exif from its byte order on, or from the prefix that JPEG puts before it. @returns 1, upright, where none is said */
export function orientationIn(exif: Buffer): number {
  const tiff = exif.toString('latin1', 0, PREFIX.length) === PREFIX ? exif.subarray(PREFIX.length) : exif;
  const view = new DataView(tiff.buffer, tiff.byteOffset, tiff.byteLength);
  try {
    const order = view.getUint16(0);
    if (order !== 0x4949 && order !== 0x4d4d) return 1;
    const little = order === 0x4949;
    if (view.getUint16(2, little) !== 42) return 1;
    const directory = view.getUint32(4, little);
    const entries = view.getUint16(directory, little);
    for (let i = 0; i < entries; i++) {
      const entry = directory + 2 + 12 * i;
      if (view.getUint16(entry, little) !== ORIENTATION) continue;
      const value = view.getUint16(entry + 8, little);
      return view.getUint16(entry + 2, little) === SHORT_TYPE && value >= 1 && value <= 8 ? value : 1;
    }
  } catch (e) {
    if (!(e instanceof RangeError)) throw e; // an offset beyond the end: nothing is said
  }
  return 1;
}

/** A directory with the orientation alone. */
export function tiffOf(orientation: number): Buffer {
  const tiff = Buffer.alloc(26);
  tiff.write('MM');
  tiff.writeUInt16BE(42, 2);
  tiff.writeUInt32BE(8, 4);
  tiff.writeUInt16BE(1, 8);
  tiff.writeUInt16BE(ORIENTATION, 10);
  tiff.writeUInt16BE(SHORT_TYPE, 12);
  tiff.writeUInt32BE(1, 14);
  tiff.writeUInt16BE(orientation, 18);
  return tiff;
}
