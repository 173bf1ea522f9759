/**
 * SAE J1979-2 (from memory): what service 01, 06, 09 and 04 of SAE J1979 ask is asked by services of ISO 14229. An
 * identifier of service 22 is a range and the old number: F4 PID, F6 monitor, F8 information type. Here one is made
 * of the other, both ways, so that everything that knows SAE J1979 knows these answers. Codes and freeze frames have
 * another shape: see newer-codes.ts.
 */
import { infoItemSize } from './info.ts';
import { encodeNegative } from './negative.ts';
import { splitIdentifiers } from './split.ts';

export const NEWER = { readData: 0x22, readCodes: 0x19, clear: 0x14 } as const;

/** Service of SAE J1979: VIN, calibrations, names. */
export const VEHICLE_INFORMATION = 0x09;
/** Service of SAE J1979 → first byte of the identifiers. */
const RANGES: Readonly<Record<number, number>> = { 1: 0xf4, 6: 0xf6, 9: 0xf8 };
const SERVICES: Readonly<Record<number, number>> = { 244: 1, 246: 6, 248: 9 };
/** Clears the codes that are about emissions: group FFFF33 (ISO 14229-1, Annex D, from memory). */
const NEWER_CLEAR = [NEWER.clear, 0xff, 0xff, 0x33] as const;

/** The request itself where SAE J1979-2 has no other. */
export function newerRequest(request: Uint8Array): Uint8Array {
  const [service = 0, ...ids] = request;
  if (service === 0x04 && ids.length === 0) return Uint8Array.from(NEWER_CLEAR);
  const range = RANGES[service];
  if (range === undefined || ids.length === 0) return request;
  return Uint8Array.of(NEWER.readData, ...ids.flatMap((id) => [range, id]));
}

/** The request itself where it is none that `newerRequest` makes. */
export function classicRequest(request: Uint8Array): Uint8Array {
  if (request[0] !== NEWER.readData && request[0] !== NEWER.clear) return request;
  if (isClear(request)) return Uint8Array.of(0x04);
  const [first, ...more] = identifiersOf(request);
  const service = first === undefined ? undefined : SERVICES[first >> 8];
  if (service === undefined || more.some((id) => id >> 8 !== first! >> 8)) return request;
  return Uint8Array.of(service, first! & 0xff, ...more.map((id) => id & 0xff));
}

export function isClear(request: Uint8Array): boolean {
  return request.length === NEWER_CLEAR.length && NEWER_CLEAR.every((b, i) => request[i] === b);
}

/** Identifiers of a request of service 22; none when it is something else. */
export function identifiersOf(request: Uint8Array): number[] {
  if (request[0] !== NEWER.readData || request.length < 3 || request.length % 2 === 0) return [];
  return Array.from(
    { length: (request.length - 1) / 2 },
    (_, i) => request[1 + 2 * i]! * 256 + request[2 + 2 * i]!,
  );
}

/**
 * The answer as SAE J1979 would have it, refusals too. The answer itself where it can't be read as one to this
 * request. Never throws.
 * @param request as it was sent; empty = not known
 */
export function classicAnswer(request: Uint8Array, answer: Uint8Array): Uint8Array {
  const asked = classicRequest(request);
  if (answer[0] === 0x7f && answer.length >= 3)
    return answer[1] === request[0] && asked !== request ? encodeNegative(asked[0]!, answer[2]!) : answer;
  if (answer[0] === (NEWER.clear | 0x40)) return isClear(request) ? Uint8Array.of(0x44) : answer;
  if (answer[0] !== (NEWER.readData | 0x40)) return answer;
  const split = splitIdentifiers(answer, identifiersOf(request));
  if (!split.ok) return answer;
  const [first] = split.parts;
  const range = first!.pid >> 8;
  const service = SERVICES[range];
  if (service === undefined || split.parts.some((p) => p.pid >> 8 !== range)) return answer;
  const body =
    service === 9 && split.parts.length > 1
      ? null
      : split.parts.flatMap((p) => bodyOf(service, p.pid & 0xff, p.data));
  return body === null ? answer : Uint8Array.of(service | 0x40, ...body);
}

function bodyOf(service: number, id: number, data: Uint8Array): number[] {
  if (service === 1 || id % 0x20 === 0) return [id, ...data];
  return service === 6 ? testsOf(id, data) : [id, ...infoOf(id, data)];
}

/** Each result is test, scaling, value, least, most; the monitor stands before the first one only, or before each. */
function testsOf(monitor: number, data: Uint8Array): number[] {
  if (data.length % 8 !== 0) return [monitor, ...data];
  return Array.from({ length: data.length / 8 }, (_, i) => [
    monitor,
    ...data.subarray(8 * i, 8 * i + 8),
  ]).flat();
}

/** Items without a count in front; one that is there all the same is left where it is. */
function infoOf(id: number, data: Uint8Array): number[] {
  const size = infoItemSize(id);
  if (size === null) return [1, ...data];
  const counted = data.length % size === 1 % size && data[0]! * size === data.length - 1;
  return counted ? [...data] : [Math.min(255, Math.ceil(data.length / size)), ...data];
}

/**
 * What SAE J1979-2 makes of an answer of service 01, 06 or 09 on CAN: identifier and data, without 62. For the
 * simulated car. Throws RangeError for another answer.
 */
export function newerRecords(answer: Uint8Array): number[] {
  const [first = 0, id = 0] = answer;
  const service = first & 0xbf;
  const range = RANGES[service];
  if (range === undefined) throw new RangeError('an answer of another service');
  if (service === 1 || id % 0x20 === 0) return [range, ...answer.subarray(1)];
  if (service === 9) return [range, id, ...answer.subarray(3)];
  const tests = Array.from({ length: (answer.length - 1) / 9 }, (_, i) => [
    ...answer.subarray(2 + 9 * i, 10 + 9 * i),
  ]);
  return [range, id, ...tests.flat()];
}
