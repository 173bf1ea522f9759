/** Requests to stop: the end of a session sends several at once, a terminal that is gone takes no more words. */
import { EventEmitter } from 'node:events';
import { expect, it } from 'vitest';
import { type Stoppable, stopRequested } from '../../src/cli/stop.ts';

function bench() {
  let nowMs = 0;
  const exits: number[] = [];
  const stdout = new EventEmitter();
  const from = Object.assign(new EventEmitter(), {
    exit: (status: number) => void exits.push(status),
    stdout,
    stderr: new EventEmitter(),
  });
  const stopped = stopRequested(from as unknown as Stoppable, () => nowMs);
  return { from, stdout, exits, stopped, later: (ms: number) => (nowMs += ms) };
}

it('two signals at once are one request; a later one is impatience, a hang-up never', async () => {
  const b = bench();
  b.from.emit('SIGTERM');
  b.from.emit('SIGHUP');
  b.from.emit('SIGINT');
  await b.stopped;
  expect(b.exits).toEqual([]);
  b.later(2500);
  b.from.emit('SIGHUP');
  expect(b.exits).toEqual([]);
  b.from.emit('SIGINT');
  expect(b.exits).toEqual([1]);
});

it('a closed terminal ends nothing', () => {
  const b = bench();
  expect(() => b.stdout.emit('error', new Error('EPIPE'))).not.toThrow();
});
