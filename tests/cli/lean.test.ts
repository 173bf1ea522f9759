/** The limits that a program which runs for hours sets for itself, also once it has begun threads. */
import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import { expect, it } from 'vitest';

/** In MB; the engine gives 33 by itself. */
function roomForYoung(...args: readonly string[]): { readonly before: number; readonly after: number } {
  const child = ['--import', 'tsx', join(import.meta.dirname, 'lean-child.ts'), ...args];
  return JSON.parse(execFileSync(process.execPath, child, { encoding: 'utf8' }));
}

it('a daemon keeps the little room for young objects that it begins with, also after a thread has begun', () => {
  const { before, after } = roomForYoung('serve');
  expect(before).toBeLessThan(8);
  expect(after).toBeLessThan(8);
});

it('what is over in seconds has all the room that the engine gives', () => {
  expect(roomForYoung('judge').after).toBeGreaterThan(16);
});
