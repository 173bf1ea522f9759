/** A copy of a capture without what names the vehicle or tells where it was driven; its digests are made anew. */
import { classicRequest, VEHICLE_INFORMATION } from '../../j1979/newer.ts';
import { withoutPlace } from '../../nmea/sentence.ts';
import { type During, partOf } from '../types.ts';
import { isPackedDamage, unpacked } from '../unpack.ts';
import { DigestChain } from './chain.ts';
import { type CaptureRecord, linesOf, VERSION_LINE, VERSION_LINE_RECEIVER } from './format.ts';
import { readCapture } from './read.ts';

/** What is not to be seen. */
export interface LeftOut {
  /** What finds plate and VIN in texts, in this order. */
  readonly names: readonly RegExp[];
  readonly plate: boolean;
  /** Exchanges that carry it are left out whole. */
  readonly vin: boolean;
  /** What a satellite receiver told. */
  readonly places: boolean;
}

export const textWithout = (names: readonly RegExp[], text: string, instead = '(left out)'): string =>
  names.reduce((out, n) => out.replace(n, instead), text);

/** Whether it holds anything that must not be seen; one without goes along byte for byte. */
export async function holdsAny(path: string, out: LeftOut, during: During): Promise<boolean> {
  if (out.vin) return true;
  if (out.places && (await holdsReceiver(path, partOf(during, 0, 2)))) return true;
  if (out.names.length === 0) return false;
  for await (const items of readCapture(path, partOf(during, 1, 2)))
    for (const item of items)
      if (item.is === 'record' && recordWithout(item.record, out) !== item.record) return true;
  return false;
}

/**
 * The capture without exchanges of service 09 (or 22 in its place), late answers included.
 * @param sha256 of the capture itself
 */
export async function* linesWithout(
  path: string,
  out: LeftOut,
  sha256: string,
  during: During,
): AsyncGenerator<string> {
  const receiver = await holdsReceiver(path, partOf(during, 0, 2));
  const chain = new DigestChain();
  const block = (lines: readonly string[]): string => {
    const text = lines.map((l) => `${l}\n`).join('');
    chain.update(Buffer.from(text));
    return text;
  };
  yield block([
    receiver ? VERSION_LINE_RECEIVER : VERSION_LINE,
    ...linesOf({
      kind: 'note',
      tUs: 0,
      text: `${whatWas(out, receiver)} left out of this copy; SHA-256 of the capture it was made from: ${sha256}`,
    }),
  ]);
  let hidden = false;
  for await (const items of readCapture(path, partOf(during, 1, 2))) {
    let lines = '';
    for (const item of items) {
      if (item.is !== 'record') continue;
      const record = recordWithout(item.record, out);
      if (record === null) continue;
      if (record.kind === 'digest') {
        if (!chain.empty) lines += `${chain.seal(record.tUs)}\n`;
        continue;
      }
      if (record.kind === 'request')
        hidden = out.vin && classicRequest(record.payload)[0] === VEHICLE_INFORMATION;
      const carries = ['request', 'tx', 'rx', 'done'].includes(record.kind);
      if (hidden && carries) continue;
      lines += block(linesOf(record));
    }
    if (lines !== '') yield lines;
  }
}

/** The same record where nothing in it is to be left out; null where nothing of it may be seen. */
function recordWithout(record: CaptureRecord, { names, places }: LeftOut): CaptureRecord | null {
  if (record.kind === 'nmea' && places) {
    const line = withoutPlace(record.line);
    if (line === null) return null;
    return line === record.line ? record : { ...record, line };
  }
  if (!('text' in record)) return record;
  const text = textWithout(names, record.text);
  return text === record.text ? record : { ...record, text };
}

function whatWas({ plate, vin, places }: LeftOut, receiver: boolean): string {
  if (!receiver || !places) return 'what names the vehicle was';
  return plate || vin ? 'what names the vehicle and where it was driven were' : 'where it was driven was';
}

/** Whether anything in it may be a receiver's line. A mark that speaks of one is no harm. */
async function holdsReceiver(path: string, during: During): Promise<boolean> {
  let tail = '';
  try {
    for await (const chunk of unpacked(path, during)) {
      const text = tail + Buffer.from(chunk).toString('latin1');
      if (text.includes(' nmea ')) return true;
      tail = text.slice(-6);
    }
  } catch (e) {
    if ((e as NodeJS.ErrnoException).code === 'ENOENT') return false;
    if (!isPackedDamage(e)) throw e;
  }
  return false;
}
