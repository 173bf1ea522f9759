/**
 * The thread that reads, judges, compares and renders ended runs (`reading-room.ts` starts it). It runs below the
 * recorder: what is asked of it may take its time, a drive does not come again.
 */
import { constants, setPriority } from 'node:os';
import { parentPort, workerData } from 'node:worker_threads';
import { failureOf, seldom } from '../run/threads.ts';
import type { During } from '../run/types.ts';
import type { RoomAnswered, RoomAsked, RoomData } from './reading-room.ts';
import { StoredRuns } from './stored-runs.ts';
import { Written } from './written.ts';

const port = parentPort!;
// Elsewhere than on Linux the call means the whole process, the recorder with it.
if (process.platform === 'linux') setPriority(constants.priority.PRIORITY_BELOW_NORMAL);

const { library, keep } = workerData as RoomData;
const stored = new StoredRuns(library, keep);
const running = new Map<number, AbortController>();

port.on('message', (asked: RoomAsked) => {
  if ('stop' in asked) running.get(asked.stop)?.abort();
  else void answer(asked);
});

async function answer({ id, what, args }: Exclude<RoomAsked, { stop: number }>): Promise<void> {
  const stop = new AbortController();
  running.set(id, stop);
  const during: During = {
    signal: stop.signal,
    progress: seldom((share) => port.postMessage({ id, progress: share } satisfies RoomAnswered)),
  };
  const ask = stored[what] as (during: During, ...args: readonly unknown[]) => Promise<unknown>;
  try {
    const value = await ask.call(stored, during, ...args);
    if (value instanceof Written)
      port.postMessage({ id, json: value.json } satisfies RoomAnswered, [value.json.buffer as ArrayBuffer]);
    else port.postMessage({ id, value } satisfies RoomAnswered);
  } catch (thrown) {
    port.postMessage({ id, failure: failureOf(thrown) } satisfies RoomAnswered);
  } finally {
    running.delete(id);
  }
}
