/** Bytes received for one request → what each control unit said. Pure: live and replay call this same function. */
import { mistakeIn } from '../core/errors.ts';
import type { Dialect, Discard, EcuMessage } from './adapter.ts';
import { onlyAnswers } from './answers.ts';
import type { DialectEntry } from './dialect.ts';
import { dialectOf } from './dialects.ts';
import { Received, type RxChunk } from './received.ts';

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
  rx: Received | readonly RxChunk[],
): { messages: EcuMessage[]; discards: Discard[] } {
  return onlyAnswers(request, read(dialect, request.payload, Received.of(rx)));
}

const read: DialectEntry['read'] = (dialect, sent, rx) => {
  try {
    return dialectOf(dialect.family).read(dialect, sent, rx);
  } catch (thrown) {
    throw mistakeIn(`reading what came, dialect "${dialect.family}"`, thrown);
  }
};
