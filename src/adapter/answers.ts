/** Is this message an answer to that request? Late answers to earlier requests must never pass for the present one. */

import type { Discard, EcuMessage } from './adapter.ts';
import type { Reading } from './frames.ts';

/** Where in a request the ids stand that its answer echoes first. From memory of SAE J1979: services and their echoes. */
const ECHOED: Readonly<Record<number, { readonly from: number; readonly step: number }>> = {
  1: { from: 1, step: 1 },
  2: { from: 1, step: 2 }, // PID, frame number, PID, frame number, …
  6: { from: 1, step: 1 },
  9: { from: 1, step: 1 },
};

export function answersTo(request: Uint8Array, message: Uint8Array): boolean {
  const service = request[0];
  if (service === undefined || message.length === 0) return false;
  if (message[0] === 0x7f) return message.length >= 3 && message[1] === service;
  if (message[0] !== (service | 0x40)) return false;
  const echo = ECHOED[service];
  if (!echo || request.length <= echo.from) return true;
  for (let i = echo.from; i < request.length; i += echo.step) if (request[i] === message[1]) return true;
  return false;
}

/** Keeps the answers to this request from the control unit asked. */
export function onlyAnswers(
  request: { readonly payload: Uint8Array; readonly ecu: string | null },
  reading: Reading,
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
