/**
 * Is the adapter still as it was set up? What an exchange shows, and what is mended before the next one. Pure.
 *
 *   an exchange ends …                        then is due …
 *   without a prompt, or unsent               resync; where that fails at a raised speed, slow down
 *   by a restart, or twice in a row badly     slow down where the speed was raised, set up
 *   K-line, long without an answer            wake
 */
import type { Outcome } from '../adapter.ts';
import type { Conversation } from './prompt.ts';

export interface Health {
  /** No prompt is known to wait at the other end; nothing is asked until one does. */
  readonly outOfStep: boolean;
  readonly slowDown: boolean;
  readonly wake: boolean;
  readonly setUp: boolean;
  readonly badInARow: number;
  readonly answeredUs: number;
}

export const WELL: Health = {
  outOfStep: false,
  slowDown: false,
  wake: false,
  setUp: false,
  badInARow: 0,
  answeredUs: 0,
};

/** A K-line session ends when nothing passes for P3 = 5 s (ISO 14230-2 and ISO 9141-2, from memory). */
const SESSION_US = 5e6;
/** Unreadable answers in a row that mean that the settings are lost. Chosen by hand. */
const BAD_IN_A_ROW = 2;

export interface Mend {
  readonly what: 'resync' | 'slow down' | 'wake' | 'set up';
  /** @param raised the line is faster than it was found */
  readonly due: (h: Health, raised: boolean) => boolean;
  readonly after: (h: Health, wentWell: boolean) => Health;
}

/** In this order, each at most once before a request. */
export const MENDS: readonly Mend[] = [
  {
    what: 'resync',
    due: (h) => h.outOfStep,
    after: (h, well) => ({ ...h, outOfStep: !well }),
  },
  {
    // Out of step at a raised speed: it may have restarted, and then it is back at its own.
    what: 'slow down',
    due: (h, raised) => h.slowDown || (h.outOfStep && raised),
    after: (h, well) => ({ ...h, slowDown: false, setUp: true, outOfStep: !well }),
  },
  {
    // The adapter takes the session for open still; closed, the next request wakes the vehicle anew.
    what: 'wake',
    due: (h) => h.wake && !h.outOfStep,
    after: (h) => ({ ...h, wake: false }),
  },
  {
    what: 'set up',
    due: (h) => h.setUp && !h.outOfStep,
    after: (h, well) => ({ ...h, setUp: !well }),
  },
];

export interface Ended {
  readonly end: Conversation['end'];
  readonly outcome: Outcome;
  readonly nowUs: number;
  /** It said that it had restarted. */
  readonly restarted: boolean;
  readonly kline: boolean;
  readonly raised: boolean;
}

export function afterExchange(h: Health, x: Ended): Health {
  const answered = x.outcome === 'answered';
  // Once in a while, not before every request.
  const wake = !answered && x.kline && x.nowUs - h.answeredUs > SESSION_US;
  const bad = x.outcome === 'garbled' || x.outcome === 'timeout';
  const badInARow = bad ? h.badInARow + 1 : 0;
  const forgot = x.restarted || badInARow >= BAD_IN_A_ROW;
  return {
    outOfStep: x.end === 'timeout' || x.end === 'too much' || x.end === 'unsent',
    slowDown: forgot ? x.raised : h.slowDown,
    wake: wake || h.wake,
    setUp: forgot || h.setUp,
    badInARow: forgot ? 0 : badInARow,
    answeredUs: answered || wake ? x.nowUs : h.answeredUs,
  };
}
