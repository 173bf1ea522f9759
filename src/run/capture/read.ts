/** A capture file, streamed: portions of records and damage in the order of the file. */
import { createHash } from 'node:crypto';
import { saying } from '../../core/error-says.ts';
import { HandbackError, toldOf } from '../../core/errors.ts';
import type { During } from '../types.ts';
import { isPackedDamage, unpacked } from '../unpack.ts';
import { isVersionLine } from './format.ts';
import { type CaptureItem, CaptureParser, type CaptureSink } from './parser.ts';

/**
 * @yields items in file order, some at a time (one await per record would cost more than the reading). A damaged
 *   first line is damage like any other: the drive behind it is worth reading.
 * @throws HandbackError input.version when it is a capture of a later version; Error from the file system;
 *   the signal's reason
 */
export async function* readCapture(path: string, during?: During): AsyncGenerator<readonly CaptureItem[]> {
  const parser = new CaptureParser();
  let damage: CaptureItem[] = [];
  try {
    for await (const chunk of unpacked(path, during)) {
      const items = parser.push(chunk);
      if (parser.versionOk === false) refuseLater(path, parser.firstLine);
      if (items.length > 0) yield items;
    }
  } catch (e) {
    damage = [packedItem(e, parser)];
  }
  const rest = [...parser.end(), ...damage];
  if (rest.length > 0) yield rest;
}

/**
 * The same without an object a line: everything goes to `sink` as it is read.
 * @returns SHA-256 of the plain bytes, as far as they could be read
 */
export async function pourCapture(path: string, sink: CaptureSink, during?: During): Promise<string> {
  const parser = new CaptureParser();
  const hash = createHash('sha256');
  let damage: CaptureItem[] = [];
  try {
    for await (const chunk of unpacked(path, during, true)) {
      hash.update(chunk);
      parser.feed(chunk, sink);
      if (parser.versionOk === false) refuseLater(path, parser.firstLine);
    }
  } catch (e) {
    damage = [packedItem(e, parser)];
  }
  for (const item of [...parser.end(), ...damage]) sink.item(item);
  return hash.digest('hex');
}

/** What could be read of a damaged compressed file stands. @throws what is no damage of that kind */
function packedItem(thrown: unknown, parser: CaptureParser): CaptureItem {
  if (!isPackedDamage(thrown)) throw thrown;
  return { is: 'packed', line: parser.lines, why: toldOf(thrown) };
}

/** @throws HandbackError input.version */
export function refuseLater(path: string, firstLine: string): void {
  if (/^handback-capture \d+$/.test(firstLine) && !isVersionLine(firstLine))
    throw new HandbackError('input.version', saying('error.other-capture', { path, version: firstLine }), {
      hint: saying('error.update-hint'),
    });
}

/** Whether a file that begins with these bytes is a capture, even when its very first line was damaged. */
export function looksLikeCapture(head: Uint8Array): boolean {
  const text = Buffer.from(head).toString('latin1');
  return text.startsWith('handback-capture ') || /^[^\n]*\n0 anchor start /.test(text);
}
