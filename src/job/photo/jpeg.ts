/** JPEG (ITU-T T.81, annex B, from memory): segments up to the scans, and what follows each scan, up to the end of the first picture. */
import { orientationIn, tiffOf } from './orientation.ts';

const SOI = 0xd8;
const EOI = 0xd9;
const SOS = 0xda;
const APP0 = 0xe0;
const APP1 = 0xe1;
const APP2 = 0xe2;
const APP14 = 0xee;
const EXIF = 'Exif\0\0';

/** Null when the bytes are no picture. One whose scans are cut is one: browsers show what there is of it. */
export function cleanJpeg(bytes: Buffer): Buffer | null {
  const kept: Buffer[] = [];
  let orientation = 1;
  let framed = false;
  let scanned = false;
  // Behind the end of the picture lie others, with all that their camera wrote.
  for (let at = 2; ; ) {
    const segment = segmentAt(bytes, at);
    if (!segment) break;
    const marker = segment[1]!;
    at = segment.byteOffset - bytes.byteOffset + segment.length;
    if (marker === APP1 && segment.toString('latin1', 4, 10) === EXIF)
      orientation = orientationIn(segment.subarray(4));
    framed ||= isFrame(marker);
    if (isNeeded(marker, segment)) kept.push(segment);
    if (marker !== SOS) continue;
    scanned = true;
    const end = endOfScan(bytes, at);
    kept.push(bytes.subarray(at, end));
    at = end;
  }
  if (!framed || !scanned) return null;
  return Buffer.concat([Buffer.of(0xff, SOI), ...exifOf(orientation), ...kept, Buffer.of(0xff, EOI)]);
}

/** From its marker on; null at the end of the picture, and where no whole segment is. */
function segmentAt(bytes: Buffer, from: number): Buffer | null {
  let at = from;
  while (bytes[at] === 0xff && bytes[at + 1] === 0xff) at++; // fill bytes before a marker
  const marker = bytes[at + 1];
  if (bytes[at] !== 0xff || marker === SOI || marker === EOI || at + 4 > bytes.length) return null;
  const length = bytes.readUInt16BE(at + 2);
  return length < 2 || at + 2 + length > bytes.length ? null : bytes.subarray(at, at + 2 + length);
}

/** To the next marker that is neither a stuffed FF nor a restart. */
function endOfScan(bytes: Buffer, from: number): number {
  for (let at = bytes.indexOf(0xff, from); at >= 0; at = bytes.indexOf(0xff, at + 1)) {
    const next = bytes[at + 1];
    if (next === undefined) return at;
    if (next !== 0 && next !== 0xff && (next < 0xd0 || next > 0xd7)) return at;
  }
  return bytes.length;
}

/** Baseline, progressive and the others; C4, C8 and CC are tables. */
const isFrame = (marker: number): boolean =>
  marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);

/** What decides how the picture looks: pixels and tables, JFIF, the colour transform, the colour profile. */
function isNeeded(marker: number, segment: Buffer): boolean {
  const name = (length: number) => segment.toString('latin1', 4, 4 + length);
  if (marker === APP0) return name(5) === 'JFIF\0' && segment.length === 18; // longer: it carries a small picture
  if (marker === APP2) return name(12) === 'ICC_PROFILE\0';
  if (marker === APP14) return name(5) === 'Adobe';
  return marker >= 0xc0 && marker < APP0;
}

function exifOf(orientation: number): Buffer[] {
  if (orientation === 1) return [];
  const body = Buffer.concat([Buffer.from(EXIF, 'latin1'), tiffOf(orientation)]);
  const head = Buffer.of(0xff, APP1, 0, 0);
  head.writeUInt16BE(body.length + 2, 2);
  return [head, body];
}
