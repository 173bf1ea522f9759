/**
 * Requests in the form in which nothing else can become of them on the way (see lost.ts): all seven bytes used, so that
 * a line that has lost characters is too short for its frame; and in front an id that, taken for a service, only reads:
 * where exactly the length and the zero behind it are lost, it stands in the service's place.
 */

import { LRUCache } from 'lru-cache';
import { couldAsk } from './lost.ts';

const BITMAPS = [0x00, 0x20, 0x40, 0x60, 0x80, 0xa0, 0xc0, 0xe0] as const;
const MOST = 6;
/** PIDs whose number is that of a reading service. Asked for first; 0A, which few vehicles have, where none is wanted. */
const LEADS: readonly number[] = [0x01, 0x03, 0x06, 0x07, 0x09, 0x0a, 0x02];
const LEAD = 0x0a;
/** No PIDs of SAE J1979 (from memory): units pass over what they do not support, and answer with the others. */
const FILL = [0xc9, 0xca, 0xcb, 0xcc, 0xcd, 0xce] as const;

/** What may become of a request: services that only read, those of SAE J1979-2 among them. */
const READS: readonly number[] = [...LEADS, 0x19, 0x22];
const READ_DATA = 0x22;
const MOST_IDENTIFIERS = 3;

/** Null when there is no such form: six PIDs, none of which may lead; or ids that could be read as a length with another service behind it. */
export function formOf(payload: Uint8Array): Uint8Array | null {
  // What does not read is the gate's to allow.
  if (!READS.includes(payload[0] ?? 0)) return payload;
  const key = payload.join();
  const known = FORMS.get(key);
  if (known !== undefined) return known.form;
  const form = candidates(payload).find(isSafe) ?? null;
  FORMS.set(key, { form });
  return form;
}

/** A drive asks the same few hundred again and again. */
const FORMS = new LRUCache<string, { readonly form: Uint8Array | null }>({ max: 2000 });

/** The likeliest first. */
function candidates(payload: Uint8Array): readonly Uint8Array[] {
  const [service, ...ids] = payload;
  if (service === 0x01) return formOfCurrent(ids);
  if (service === READ_DATA) return formsOfData(ids);
  return service === 0x02 ? formsOfFrozen(payload) : [payload];
}

function formOfCurrent(pids: readonly number[]): Uint8Array[] {
  if (pids.every((pid) => BITMAPS.some((b) => b === pid))) {
    if (pids.length === 1 && pids[0] === 0) return [Uint8Array.of(0x01, 0x00)];
    const others = BITMAPS.filter((b) => b !== 0 && !pids.includes(b));
    const rest = [...pids.filter((pid) => pid !== 0), ...others].slice(0, MOST - 1);
    return [Uint8Array.of(0x01, 0x00, ...rest.sort((a, b) => a - b))];
  }
  const lead = LEADS.find((pid) => pids.includes(pid)) ?? LEAD;
  const others = pids.filter((pid) => pid !== lead);
  if (others.length > MOST - 1) return [];
  const fill = FILL.filter((pid) => !pids.includes(pid));
  // Those with small digits last: in front they could be taken for a length, with enough digits behind them.
  others.sort((a, b) => ease(a) - ease(b) || a - b);
  return [Uint8Array.of(0x01, lead, ...fill.slice(0, MOST - 1 - others.length), ...others)];
}

/** Identifiers of two bytes: as they are, in another order, and filled up with some that no unit supports. */
function formsOfData(bytes: readonly number[]): Uint8Array[] {
  const ids = Array.from({ length: bytes.length / 2 }, (_, i) => bytes.slice(2 * i, 2 * i + 2));
  const fill = FILL.filter((low) => !ids.some(([, own]) => own === low)).map((low) => [0xf4, low]);
  const filled = [...ids, ...fill.slice(0, Math.max(0, MOST_IDENTIFIERS - ids.length))];
  return [ids, filled].flatMap(ordersOf).map((order) => Uint8Array.of(READ_DATA, ...order.flat()));
}

function ordersOf<T>(items: readonly T[]): T[][] {
  if (items.length < 2) return [[...items]];
  return items.flatMap((first, i) =>
    ordersOf(items.filter((_, k) => k !== i)).map((rest) => [first, ...rest]),
  );
}

/** How far back a PID has to stand: those with a digit that could be a short length. */
function ease(pid: number): number {
  return [pid >> 4, pid & 15].some((d) => d >= 2 && d <= 4) ? 1 : 0;
}

/**
 * 02, then ids and frame numbers by turns: the code that the frame belongs to comes first. An id with a digit 1 could be
 * taken for a length with another service behind it: it stands last, and where even that leaves one (11 to 1F) there
 * is no form, and the value is not asked for.
 */
function formsOfFrozen(payload: Uint8Array): Uint8Array[] {
  const pairs: [number, number][] = [];
  for (let i = 1; i + 1 < payload.length; i += 2) pairs.push([payload[i]!, payload[i + 1]!]);
  const [first] = pairs;
  if (!first || pairs.length === 3 || (pairs.length === 1 && first[0] === 0)) return [payload];
  const [pid, frame] = first;
  // The maps among themselves, values among themselves.
  const filled: readonly (readonly [number, number])[] =
    pid % 0x20 === 0
      ? [[0x00, frame], first, [pid === 0xe0 ? 0xc0 : pid + 0x20, frame]]
      : pid === 0x02
        ? [first, pairs[1] ?? [0xca, frame], [0xc9, frame]]
        : [[0x02, frame], first, pairs[1] ?? [0xc9, frame]];
  const last = [[0x02, frame], pairs[1] ?? [0xc9, frame], first] as const;
  return [filled, last].map((form) => Uint8Array.of(0x02, ...form.flat()));
}

/** Every address that a request goes to reads alike: what follows it decides. */
const ADDRESSES = ['t7DF', 't7E7', 'T18DB33F1', 'T18DA10F1'] as const;

function isSafe(payload: Uint8Array): boolean {
  const data = [payload.length, ...payload]
    .map((b) => b.toString(16).toUpperCase().padStart(2, '0'))
    .join('');
  return ADDRESSES.every((address) =>
    [...couldAsk(`${address}8${data.padEnd(16, '0')}`)].every((s) => s === 0 || READS.includes(s)),
  );
}
