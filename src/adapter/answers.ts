/** Is this message an answer to that request? Late answers to earlier requests must never pass for the present one. */

import type { Discard, EcuMessage } from './adapter.ts';
import type { JoinedFrames } from './frames.ts';

/** Where in a request the ids stand that its answer echoes first. From memory of SAE J1979 and ISO 14229-1. */
const ECHOED: Readonly<Record<number, Echo>> = {
  1: { step: 1, bytes: 1 },
  2: { step: 2, bytes: 1 }, // PID, frame number, PID, frame number, …
  6: { step: 1, bytes: 1 },
  9: { step: 1, bytes: 1 },
  25: { step: Number.POSITIVE_INFINITY, bytes: 1 }, // 19: the sub-function alone
  34: { step: 2, bytes: 2 }, // 22: identifiers of two bytes
};

interface Echo {
  readonly step: number;
  readonly bytes: number;
}

export function answersTo(request: Uint8Array, message: Uint8Array): boolean {
  const service = request[0];
  if (service === undefined || message.length === 0) return false;
  if (message[0] === 0x7f) return message.length >= 3 && message[1] === service;
  if (message[0] !== (service | 0x40)) return false;
  const echo = ECHOED[service];
  if (!echo || request.length <= 1) return true;
  for (let at = 1; at < request.length; at += echo.step) {
    let k = 0;
    while (k < echo.bytes && request[at + k] === message[1 + k]) k++;
    if (k === echo.bytes) return true;
  }
  return false;
}

/** ISO 14229-1, from memory: 7F, service, 78 = response pending. */
export function isPending(answer: Uint8Array): boolean {
  return answer[0] === 0x7f && answer[2] === 0x78;
}

/** Keeps the answers to this request from the control unit asked. */
export function onlyAnswers(
  request: { readonly payload: Uint8Array; readonly ecu: string | null },
  reading: JoinedFrames,
): { messages: EcuMessage[]; discards: Discard[] } {
  const messages: EcuMessage[] = [];
  const discards = [...reading.discards];
  for (const m of reading.messages) {
    const other = request.ecu !== null && m.ecu !== '?' && m.ecu !== request.ecu;
    if (answersTo(request.payload, m.payload) && !other) messages.push(m);
    else
      discards.push({
        tUs: m.tUs,
        bytes: m.payload,
        why: other ? `from ${m.ecu}, asked was ${request.ecu}` : 'answer to another request',
      });
  }
  return { messages, discards };
}
