/** `npx tsx tests/bench/hand-over.ts`: how long a workshop waits from the end of the proving drive to the printed sheet. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { systemClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { makePracticeJobs, PRACTICE_JOBS } from '../../src/desk/practice.ts';
import { findChromium, printPdf } from '../../src/sheet/pdf.ts';

const library = mkdtempSync(join(tmpdir(), 'handback-hand-over-'));
let total = 0;
async function timed<T>(what: string, fn: () => T | Promise<T>): Promise<T> {
  const [from, cpu] = [performance.now(), process.cpuUsage()];
  const value = await fn();
  const seconds = (performance.now() - from) / 1000;
  const { user, system } = process.cpuUsage(cpu);
  total += seconds;
  console.log(
    `${what.padEnd(48)} ${seconds.toFixed(1)} s, of it ${((user + system) / 1e6).toFixed(1)} s of this process`,
  );
  return value;
}

try {
  await makePracticeJobs(library, () => undefined, PRACTICE_JOBS.slice(0, 1));
  const daemon = new Daemon({ clock: systemClock, library });
  const [{ id } = { id: '' }] = (await daemon.jobs.list('')).jobs;
  const html = await timed('drives read, judged, checked, compared, sheet made', () =>
    daemon.sheet({ of: { job: id }, choice: {}, pdf: true }),
  );
  if (findChromium() === null) console.log('No Chromium: nothing printed.');
  else writeFileSync(join(library, 'sheet.pdf'), await timed('printed to PDF', () => printPdf(html)));
  const minutes = (await daemon.runs()).map((r) => ((r.seconds ?? 0) / 60).toFixed(0)).join(' and ');
  console.log(
    `Drives of ${minutes} min. From the end of the last one to the printed sheet: ${total.toFixed(1)} s`,
  );
  console.log(`(${cpus().length} cores, load ${loadavg()[0]!.toFixed(1)})`);
  await daemon.close();
} finally {
  rmSync(library, { recursive: true, force: true });
}
