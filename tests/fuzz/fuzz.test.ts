/** The short version of `npm run fuzz`. */
import { expect, it } from 'vitest';
import { everyLoss, fuzz } from './hostile.ts';

it('ten thousand spoilt lines, frames and messages: nothing thrown, nothing invented, the next good one is read', () => {
  const { lines, frames, messages } = fuzz(10_000, 20261125);
  expect(lines + frames + messages).toBeGreaterThanOrEqual(10_000);
});

// Longer losses can join the head of one unit's line to the tail of another's: text has no checksum.
it('a dozen characters lost in a row, wherever it is, never make another value', () => {
  expect(everyLoss(12)).toBeGreaterThan(2000);
});
