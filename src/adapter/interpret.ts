/** Bytes received for one request → what each control unit said. Pure: live and replay call this same function. */
import type { Dialect, Discard, EcuMessage } from './adapter.ts';
import { answersTo } from './answers.ts';
import type { RxChunk } from './at/lines.ts';
import { readAt } from './at/read.ts';
import type { Reading } from './frames.ts';
import { readSlcan } from './slcan/read.ts';

/**
 * @param request what was asked; answers to anything else are discarded with that reason.
 * @param rx the bytes between the `request` and the `done` event, in order, with their arrival times.
 * @returns complete messages in order of completion, and every stretch of bytes that could not be read as one.
 * Echo, prompts, acknowledgements, words such as NO DATA and frames of other bus traffic are understood and
 * are no discards. Never throws.
 */
export function interpret(
  dialect: Dialect,
  request: { readonly payload: Uint8Array; readonly ecu: string | null },
  rx: readonly RxChunk[],
): { messages: EcuMessage[]; discards: Discard[] } {
  const reading = dialect.family === 'at' ? readAt(dialect, request.payload, rx) : readSlcan(rx);
  return onlyAnswers(request, reading);
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
