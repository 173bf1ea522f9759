/** A photo without what its camera and its owner wrote into it: place, time, device, text, smaller pictures. */
import { cleanJpeg } from './jpeg.ts';
import { cleanPng } from './png.ts';
import { cleanWebp } from './webp.ts';

export const PHOTO_TYPES = { jpg: 'image/jpeg', png: 'image/png', webp: 'image/webp' } as const;
export type PhotoKind = keyof typeof PHOTO_TYPES;

const CLEAN: Readonly<Record<PhotoKind, (bytes: Buffer) => Buffer | null>> = {
  jpg: cleanJpeg,
  png: cleanPng,
  webp: cleanWebp,
};

/** Told by the first bytes, never by a name or by what the sender says; null when it is none of the three. */
export function photoKind(bytes: Uint8Array): PhotoKind | null {
  const head = Buffer.from(bytes.subarray(0, 12)).toString('latin1');
  if (head.startsWith('\xff\xd8\xff')) return 'jpg';
  if (head.startsWith('\x89PNG\r\n\x1a\n')) return 'png';
  if (head.startsWith('RIFF') && head.slice(8, 12) === 'WEBP') return 'webp';
  return null;
}

/** The same picture, the same way up, its pixels untouched; null when the bytes are no whole picture of that kind. */
export const cleanPhoto = (bytes: Uint8Array, kind: PhotoKind): Buffer | null =>
  CLEAN[kind](Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength));
