/**
 * Run as a program of its own by memory.ts: a daemon that records a steady car, with its page server. Two ways:
 * `serve hours N`: as fast as it goes, a line of figures for each simulated hour; `serve seconds N`: in real time, one line.
 */
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { monitorEventLoopDelay } from 'node:perf_hooks';
import { ManualClock, systemClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { WireReader } from '../../src/j1979/reader.ts';
import { readCapture } from '../../src/run/capture/read.ts';
import { startServer } from '../../src/server/server.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import { steadyCar } from './steady-car.ts';

// before them `serve`, which its limits hang on
const [how = 'seconds', amount = '10'] = process.argv.slice(3);
const manual = how === 'hours' ? new ManualClock() : null;
const clock = manual ?? systemClock;
const library = mkdtempSync(join(tmpdir(), 'handback-memory-'));
let answers = 0;
const daemon = new Daemon({
  clock,
  library,
  fastRestUs: 0,
  linkFactory: () =>
    simLinkFactory({
      vehicle: steadyCar(() => clock.nowUs() / 1e6),
      clock,
      front: 'slcan',
      pace: null,
      responseMs: 16,
      jitterMs: 4,
      onAnswer: () => {
        answers++;
      },
    }),
});
const server = await startServer({ api: daemon, host: '127.0.0.1', port: 0, webRoot: library, clock });
const say = (value: object): void => {
  process.stdout.write(`${JSON.stringify(value)}\n`);
};

const settled = <T>(promise: Promise<T>): Promise<T> => (manual ? manual.until(promise) : promise);

await settled(daemon.connect({ link: 'steady', adapter: 'slcan' }));
say({ url: server.url });
answers = 0;
const run = await settled(daemon.startRun({ purpose: 'other' }));
const startedAnswers = answers;
const figures = () => ({
  rssMb: process.memoryUsage.rss() / 1e6,
  heapMb: process.memoryUsage().heapUsed / 1e6,
  heapTotalMb: process.memoryUsage().heapTotal / 1e6,
  externalMb: process.memoryUsage().external / 1e6,
  samples: daemon.state().run?.samples ?? 0,
});

if (manual) {
  const steps = Math.round(Number(amount) * 3600);
  for (let s = 1; s <= steps; s++) {
    await manual.advance(1000);
    if (s % 600 === 0) {
      globalThis.gc?.();
      say({ hour: s / 3600, ...figures() });
    }
  }
} else {
  // A program that has just started is still compiling itself.
  await new Promise((resolve) => setTimeout(resolve, 20_000));
  const delay = monitorEventLoopDelay({ resolution: 5 });
  delay.enable();
  const from = process.cpuUsage();
  const t0 = performance.now();
  await new Promise((resolve) => setTimeout(resolve, Number(amount) * 1000));
  const used = process.cpuUsage(from);
  const seconds = (performance.now() - t0) / 1000;
  say({
    seconds,
    cpuPct: (100 * (used.user + used.system)) / 1e6 / seconds,
    delayP99Ms: (delay.percentile(99) - 5e6) / 1e6,
    delayMaxMs: delay.max / 1e6,
    ...figures(),
  });
}
const given = answers - startedAnswers;
await settled(daemon.stopRun());
await settled(daemon.disconnect());
const capture = join(library, run.id, 'capture.txt');
const reader = new WireReader();
let kept = 0;
let recordedSamples = 0;
for await (const items of readCapture(capture))
  for (const item of items) {
    if (item.is !== 'record') continue;
    const { record } = item;
    if (['anchor', 'mark', 'note', 'sample', 'digest'].includes(record.kind)) continue;
    const read = reader.read(record as Parameters<WireReader['read']>[0]);
    if (record.kind === 'done' && record.tUs > 0) {
      kept += read.messages.length;
      recordedSamples += read.samples.length;
    }
  }
say({ answersGiven: given, answersKept: kept, recordedSamples, captureMb: statSync(capture).size / 1e6 });
await server.close();
await settled(daemon.close());
rmSync(library, { recursive: true, force: true });
process.exit(0);
