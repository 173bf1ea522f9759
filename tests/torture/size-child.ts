/** Run as a program of its own by size.ts: a daemon on a library that is given; opens, charts and judges, or lists. */
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { leaveIndex, listJobs } from '../../src/job/library.ts';

const [what = 'list', library = '', id = ''] = process.argv.slice(2);
const daemon = new Daemon({ clock: new ManualClock(), library });
const before = process.memoryUsage.rss();
let highest = before;
const timer = setInterval(() => {
  highest = Math.max(highest, process.memoryUsage.rss());
}, 20);
const timed = async <T>(of: Promise<T>): Promise<[T, number]> => {
  const t0 = performance.now();
  return [await of, (performance.now() - t0) / 1000];
};
let result: object;
if (what === 'open') {
  const [view, openS] = await timed(daemon.run(id));
  const [series, seriesS] = await timed(daemon.series(id, { points: 4000 }));
  const [part, partS] = await timed(daemon.series(id, { points: 4000, fromS: 600, toS: 660 }));
  const points = Object.values(series.value).reduce((n, s) => n + s.t.length, 0);
  const close = Object.values(part.value).reduce((n, s) => n + s.t.length, 0);
  result = { openS, seriesS, partS, points, close, findings: view.value.judgement.findings.length };
} else if (what === 'index') {
  await leaveIndex(library, await listJobs(library));
  result = {};
} else {
  const cpu = process.cpuUsage();
  const [runs, firstS] = await timed(daemon.runs());
  const { user, system } = process.cpuUsage(cpu);
  const [, againS] = await timed(daemon.runs());
  result = { firstS, firstCpuS: (user + system) / 1e6, againS, runs: runs.length };
}
clearInterval(timer);
highest = Math.max(highest, process.memoryUsage.rss());
process.stdout.write(`${JSON.stringify({ ...result, beforeMb: before / 1e6, highestMb: highest / 1e6 })}\n`);
process.exit(0);
