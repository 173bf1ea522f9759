/**
 * How many answers a request brings, learnt from those before: told to the adapter as a digit behind the request, it
 * ends the wait with the last of them. Pure.
 */
import type { DiagnosticRequest, EcuMessage, Outcome } from '../adapter.ts';
import { isPending } from '../answers.ts';

export interface AnswerCounting {
  /** A digit behind the request is honoured. */
  readonly digit: boolean;
  /** The adapter counts frames, not messages. */
  readonly frames: boolean;
  /** The adapter takes "answer pending" for an answer. */
  readonly pendings: boolean;
  /** By control unit and request. */
  readonly seen: ReadonlyMap<string, AnswersSeen>;
}

interface AnswersSeen {
  readonly messages: number;
  readonly frames: number;
  /** "Answer pending" in front of them. */
  readonly pendings: number;
  /** Times in a row that they did not come. */
  readonly missed: number;
}

export const NOTHING_COUNTED: AnswerCounting = {
  digit: false,
  frames: false,
  pendings: false,
  seen: new Map(),
};

const MAX_LEARNED = 500;
/** One damaged answer proves nothing. */
const MISSED = 3;

/** None with a time of its own: then the control unit may first say "pending", and that must not end the wait. */
export function digitFor(
  c: AnswerCounting,
  key: string,
  request: DiagnosticRequest,
  ecu: string | null,
): string {
  if (!c.digit || request.timeoutMs !== undefined) return '';
  const seen = c.seen.get(key);
  const answers = c.frames ? seen?.frames : (request.expect ?? (ecu === null ? seen?.messages : 1));
  if (answers === undefined) return '';
  const count = answers + (c.pendings ? (seen?.pendings ?? 0) : 0);
  return count >= 1 && count <= 15 ? count.toString(16).toUpperCase() : '';
}

/**
 * @param digit with which it was asked
 * @param whole nothing of the answer was damaged: with one message lost the digit would stop at too few from then on
 */
export function countAnswers(
  c: AnswerCounting,
  key: string,
  digit: string,
  messages: readonly EcuMessage[],
  outcome: Outcome,
  whole: boolean,
): AnswerCounting {
  const before = c.seen.get(key);
  const finals = messages.filter((m) => !isPending(m.payload));
  const pendings = messages.length - finals.length;
  const next = pendings > 0 && finals.length === 0 && digit !== '' ? { ...c, pendings: true } : c;
  const final = finals.length > 0 && finals.every((m) => m.payload[0] !== 0x7f);
  const least = before?.messages ?? (whole ? 0 : Number.POSITIVE_INFINITY);
  if (outcome === 'answered' && final && finals.length >= least) {
    const frames = finals.reduce((n, m) => n + framesOf(m.payload.length), 0);
    return learn(next, key, { messages: finals.length, frames, pendings, missed: 0 });
  }
  return before ? learn(next, key, { ...before, missed: before.missed + 1 }) : next;
}

function learn(c: AnswerCounting, key: string, now: AnswersSeen): AnswerCounting {
  const before = c.seen.get(key);
  if (before && JSON.stringify(before) === JSON.stringify(now)) return c;
  const seen = new Map(c.seen.size >= MAX_LEARNED ? [] : c.seen);
  if (now.missed >= MISSED) seen.delete(key);
  else seen.set(key, now);
  return { ...c, seen };
}

/** CAN frames of a message. */
function framesOf(length: number): number {
  return length <= 7 ? 1 : 1 + Math.ceil((length - 6) / 7);
}
