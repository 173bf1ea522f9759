/** What became of an exchange, and why, for people. */
import type { EcuMessage, Exchange, Outcome } from '../adapter.ts';
import type { Conversation } from './prompt.ts';
import type { AtReading } from './read.ts';

export function judge(
  end: Conversation['end'],
  messages: readonly EcuMessage[],
  discards: number,
  reading: AtReading,
  waitedMs: number,
  lost: string | null,
): { outcome: Outcome; why: string | null } {
  if (messages.length > 0) return { outcome: 'answered', why: null };
  if (end === 'lost') return { outcome: 'lost', why: lost };
  if (end === 'timeout')
    return { outcome: 'timeout', why: `no prompt from the adapter within ${waitedMs} ms` };
  if (end === 'unsent')
    return {
      outcome: 'timeout',
      why: 'the line between computer and adapter loses characters: nothing was sent',
    };
  if (end === 'too much') return { outcome: 'garbled', why: 'the adapter sends without end' };
  const word = reading.words.findLast((w) => w.word !== 'progress' && w.word !== 'ok');
  if (!word)
    return discards > 0
      ? { outcome: 'garbled', why: 'the answer could not be read' }
      : { outcome: 'no data', why: 'empty answer' };
  const why = `${word.says} (${word.text})`;
  if (word.word === 'no data') return { outcome: 'no data', why };
  if (word.word === 'bus' || word.word === 'power' || word.word === 'sleep')
    return { outcome: 'bus error', why };
  return { outcome: 'garbled', why };
}

export function notedIn({ words }: AtReading): NonNullable<Exchange['noted']> {
  const said = (word: string) => words.some((w) => w.word === word);
  return [
    ...(said('progress') ? (['searched'] as const) : []),
    ...(said('power') ? (['supply dipped'] as const) : []),
  ];
}
