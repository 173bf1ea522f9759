/**
 * Control units that answer over the services of ISO 14229, as SAE J1979-2 uses them (from memory of both), and over
 * none of SAE J1979. What they know is the same as in content.ts.
 */
import { encodePid } from '../../j1979/decode.ts';
import { typedCodeBytes } from '../../j1979/dtc.ts';
import { encodeNegative, NEGATIVE } from '../../j1979/negative.ts';
import { identifiersOf, isClear, NEWER, newerRecords } from '../../j1979/newer.ts';
import { encodeFrame, encodeReport, REPORTS, STATUS, type StatusCode } from '../../j1979/newer-codes.ts';
import { PIDS } from '../../j1979/pids.ts';
import type { SimVehicle, TroubleCode } from '../types.ts';
import { type Responder, responderOf, type UnitName } from './content.ts';

/** First byte of an identifier → service of SAE J1979 that it stands for. */
const SERVICE: Readonly<Record<number, number>> = { 244: 0x01, 246: 0x06, 248: 0x09 };
/** What a request may carry at most, as many control units have it (common practice, no source). */
const MAX_IDENTIFIERS = 3;
const FAILED_SINCE_CLEAR = 0x20;

type Answer = Uint8Array | 'unknown service' | 'nothing supported';

export function newerResponderOf(name: UnitName, vehicle: SimVehicle): Responder {
  const classic = responderOf(name, vehicle);
  return (request, functional) => {
    const service = request[0];
    if (service === undefined) return null;
    const answer = answerOf(service, request, classic, name, vehicle);
    if (answer !== 'unknown service' && answer !== 'nothing supported') return answer;
    // ISO 14229-1: to a functional request these two refusals are not sent; to a physical one they are.
    if (functional) return null;
    const { serviceNotSupported, outOfRange } = NEGATIVE;
    return encodeNegative(service, answer === 'unknown service' ? serviceNotSupported : outOfRange);
  };
}

function answerOf(
  service: number,
  request: Uint8Array,
  classic: Responder,
  name: UnitName,
  vehicle: SimVehicle,
): Answer {
  switch (service) {
    case NEWER.readData:
      return data(request, classic);
    case NEWER.readCodes:
      return codes(
        request,
        vehicle.codes.filter((c) => c.ecu === name),
        vehicle,
      );
    case NEWER.clear:
      if (!isClear(request)) return 'nothing supported';
      return vehicle.clearCodes()
        ? Uint8Array.of(0x54)
        : encodeNegative(service, NEGATIVE.conditionsNotCorrect);
    default:
      return 'unknown service';
  }
}

/** What is not supported is left out; nothing at all is a refusal. */
function data(request: Uint8Array, classic: Responder): Answer {
  const ids = identifiersOf(request);
  if (ids.length > MAX_IDENTIFIERS) return 'nothing supported';
  const records = ids.flatMap((id) => {
    const service = SERVICE[id >> 8];
    const answer = service === undefined ? null : classic(Uint8Array.of(service, id & 0xff), true);
    return answer === null ? [] : newerRecords(answer);
  });
  return records.length > 0 ? Uint8Array.of(NEWER.readData | 0x40, ...records) : 'nothing supported';
}

function codes(request: Uint8Array, own: readonly TroubleCode[], vehicle: SimVehicle): Answer {
  const [, sub = 0] = request;
  const listed = own.map((c): StatusCode => ({ code: c.code, status: statusOf(c, vehicle.mil) }));
  switch (sub) {
    case REPORTS.emissionsByStatus: // group, then the mask
    case REPORTS.byStatus: {
      const mask = request[sub === REPORTS.byStatus ? 2 : 3] ?? 0;
      return encodeReport(
        sub,
        listed.filter((c) => (c.status & mask) !== 0),
      );
    }
    case REPORTS.permanent:
    case REPORTS.emissionsPermanent:
      return encodeReport(
        sub,
        listed.filter((_, i) => own[i]!.permanent),
      );
    case REPORTS.frame:
      return frame(request, own, vehicle.mil);
    default:
      return 'nothing supported';
  }
}

function statusOf({ state }: TroubleCode, mil: boolean): number {
  if (state === 'cleared') return STATUS.notTestedSinceClear | STATUS.notTestedThisDrive;
  if (state === 'pending') return STATUS.pending | FAILED_SINCE_CLEAR;
  return STATUS.confirmed | FAILED_SINCE_CLEAR | (mil ? STATUS.lamp : 0);
}

/** For each value that was kept the first PID that carries it. */
function frame(request: Uint8Array, own: readonly TroubleCode[], mil: boolean): Answer {
  const asked = request.subarray(2, 5).join();
  const kept = own.find((c) => typedCodeBytes(c.code)?.join() === asked);
  if (!kept) return 'nothing supported';
  const values = kept.freeze ?? {};
  const pids = new Set(
    Object.keys(values).flatMap((signal) => {
      const found = Object.entries(PIDS).find(([, def]) => def?.fields.some((f) => f.signal === signal));
      return found ? [Number(found[0])] : [];
    }),
  );
  const parts = [...pids]
    .sort((a, b) => a - b)
    .flatMap((pid) => {
      const bytes = encodePid(pid, (signal) => values[signal] ?? null);
      return bytes === null ? [] : [{ pid, data: bytes }];
    });
  return encodeFrame({ code: kept.code, status: statusOf(kept, mil) }, parts);
}
