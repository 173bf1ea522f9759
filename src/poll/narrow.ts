/** An answer that brings more than was wanted, cut down to that: some adapters are asked in a fuller form. */
import type { EcuMessage, Exchange } from '../adapter/adapter.ts';
import { say } from '../core/wire-says.ts';
import { type MessagePart, splitCurrentData, splitFreezeFrame } from '../j1979/split.ts';

/** Messages that bring nothing of what was wanted are left out; one that cannot be cut becomes a discard. */
export function narrowed(x: Exchange, wanted: Uint8Array): Exchange {
  const { asked } = x;
  if (asked.length === wanted.length && asked.every((b, i) => b === wanted[i])) return x;
  const step = wanted[0] === 0x02 ? 2 : 1;
  const ids = (payload: Uint8Array) => payload.subarray(1).filter((_, i) => i % step === 0);
  const split = step === 2 ? splitFreezeFrame : splitCurrentData;
  const messages: EcuMessage[] = [];
  const discards = [...x.discards];
  for (const m of x.messages) {
    if (m.payload[0] === 0x7f) {
      messages.push(m);
      continue;
    }
    const parts = split(m.payload, ids(asked));
    if (!parts.ok) {
      discards.push({ tUs: m.tUs, bytes: m.payload, why: parts.why });
      continue;
    }
    const kept = parts.parts.filter((p) => ids(wanted).includes(p.pid));
    if (kept.length > 0)
      messages.push({ ...m, payload: Uint8Array.of(m.payload[0]!, ...kept.flatMap(bytesOf)) });
  }
  const none = messages.length === 0 && x.messages.length > 0;
  return none
    ? { ...x, outcome: 'no data', why: say('wire.not-in-answer'), messages, discards }
    : { ...x, messages, discards };
}

function bytesOf(part: MessagePart): number[] {
  return [part.pid, ...(part.frame === null ? [] : [part.frame]), ...part.data];
}
