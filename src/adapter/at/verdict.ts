/** What became of an exchange, and why, for people. */
import type { Says } from '../../core/says.ts';
import { say } from '../../core/wire-says.ts';
import type { EcuMessage, Exchange, Outcome } from '../adapter.ts';
import type { Conversation } from './prompt.ts';
import type { AtReading } from './read.ts';

export function judge(
  end: Conversation['end'],
  messages: readonly EcuMessage[],
  discards: number,
  reading: AtReading,
  waitedMs: number,
  lost: Says | null,
): { outcome: Outcome; why: Says | null } {
  if (messages.length > 0) return { outcome: 'answered', why: null };
  if (end === 'lost') return { outcome: 'lost', why: lost };
  if (end === 'timeout') return { outcome: 'timeout', why: say('wire.no-prompt', { ms: waitedMs }) };
  if (end === 'unsent') return { outcome: 'timeout', why: say('wire.loses') };
  if (end === 'too much') return { outcome: 'garbled', why: say('wire.without-end') };
  const word = reading.words.findLast((w) => w.word !== 'progress' && w.word !== 'ok');
  if (!word)
    return discards > 0
      ? { outcome: 'garbled', why: say('wire.unreadable') }
      : { outcome: 'no data', why: say('wire.empty') };
  const why = say('wire.word', { meaning: word.says, word: word.text });
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
