/** Run as a program of its own: the room for young objects before and after a thread began, in MB, one line. */
import '../../src/cli/lean.ts';
import { once } from 'node:events';
import { getHeapSpaceStatistics } from 'node:v8';
import { Worker } from 'node:worker_threads';

const kept: object[] = [];

/** Many that die young and some that do not, which is what makes the engine give more room. */
function work(): number {
  const young: object[] = [];
  for (let i = 0; i < 1e6; i++) {
    young[i % 5000] = { i };
    if (i % 25 === 0) kept.push({ i });
  }
  const { physical_space_size } = getHeapSpaceStatistics().find((s) => s.space_name === 'new_space')!;
  return physical_space_size / 1e6;
}

const before = work();
const thread = new Worker('setInterval(() => undefined, 1000)', { eval: true });
await once(thread, 'online');
work();
process.stdout.write(`${JSON.stringify({ before, after: work() })}\n`);
await thread.terminate();
