/** The two sets of services in which a vehicle may answer, and how to tell: it is asked what it supports. */
import type { EcuMessage, Services } from './adapter.ts';

/** Which PIDs, or identifiers of PIDs, there are. From memory of both standards. */
export const PROBES: Readonly<Record<Services, Uint8Array>> = {
  classic: Uint8Array.of(0x01, 0x00),
  newer: Uint8Array.of(0x22, 0xf4, 0x00),
};

/** PIDs that one request on CAN carries: it has one frame, and an identifier is two bytes. */
export const MOST_PIDS: Readonly<Record<Services, number>> = { classic: 6, newer: 3 };

/** One request for several PIDs. */
export function requestFor(services: Services, pids: readonly number[]): Uint8Array {
  return services === 'classic'
    ? Uint8Array.of(0x01, ...pids)
    : Uint8Array.of(0x22, ...pids.flatMap((pid) => [0xf4, pid]));
}

/** Bytes of the shortest answer to the map (PID 00) and others: service, and for each id and data. */
export function shortestAnswer(services: Services, pids: number): number {
  const id = services === 'classic' ? 1 : 2;
  return 1 + id + 4 + (pids - 1) * (id + 1);
}

/** PIDs 01–1F of an answer to a probe; most significant bit first. */
export function pidsOfProbe(services: Services, payload: Uint8Array | undefined): number[] {
  const from = PROBES[services].length;
  const bits = payload?.subarray(from, from + 4) ?? new Uint8Array();
  const pids: number[] = [];
  for (let pid = 1; pid < 32; pid++)
    if (((bits[(pid - 1) >> 3] ?? 0) >> (7 - ((pid - 1) & 7))) & 1) pids.push(pid);
  return pids;
}

/** General, service, format, range, and not in this session; ISO 14229-1, from memory. Not: busy, pending, not now. */
const REFUSALS: readonly number[] = [0x10, 0x11, 0x12, 0x31, 0x7f];

/** There are answers, and all of them say that there is no such service. */
export function refused(messages: readonly EcuMessage[]): boolean {
  return (
    messages.length > 0 &&
    messages.every((m) => m.payload[0] === 0x7f && REFUSALS.includes(m.payload[2] ?? 0))
  );
}
