/**
 * `npm run bench:page`: the built page in a real Chromium on the real daemon and the simulated car. From the last byte
 * at the port to the pixel, the work of a frame with twelve strips, an hour-long run opened and panned, the script's size.
 * Figures belong to the machine; nothing here passes or fails.
 */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import type { Browser, CDPSession, Page } from 'playwright-core';
import { systemClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { startServer } from '../../src/server/server.ts';
import { builtPage, LOCALE, launch, within } from '../browser/browser.ts';
import { SimulatedDrive } from '../browser/simulated.ts';
import { pageAt, theOneBefore } from './versions.ts';

/** `-- quick`: whether it works at all, on a machine that has other things to do. */
const quick = process.argv[2] === 'quick';
const BEFORE = process.argv[3] ?? theOneBefore();
const ROUNDS = 5;
const LIVE_S = quick ? 8 : 40;
const WARM_UP_S = 5;
const HOUR_S = quick ? 300 : 3600;
const SHORT_S = 20;
const PATIENCE_MS = 120_000;
/** With the four usual ones: twelve, and the link below them. */
const EXTRA = ['load_pct', 'iat_c', 'timing_deg', 'boost_cmd_kpa', 'throttle_pct', 'voltage_v', 'lambda_cmd'];
const TWELVE = [...EXTRA, 'stft1_pct'];

/**
 * Runs in the page before its script. Of each message with samples: when each sample came to be seen, which is the
 * start of the frame after the one in which the boost strip was drawn with it. Of each frame: when it began, and, where
 * strips were drawn in it, its work up to the first task behind it, so that style, layout and painting count as well.
 */
const WATCH = `
  const bench = globalThis.bench = { shown: [], frames: [], work: [], firstStrip: null };
  const at = () => performance.timeOrigin + performance.now();
  let arrived = [], drawn = [], cleared = false, open = false;
  const Stream = EventSource;
  globalThis.EventSource = class extends Stream {
    addEventListener(name, fn) {
      super.addEventListener(name, name !== 'samples' ? fn : (e) => {
        fn(e);
        for (const { t } of Object.values(JSON.parse(e.data))) arrived.push(...t);
      });
    }
  };
  const clear = CanvasRenderingContext2D.prototype.clearRect;
  CanvasRenderingContext2D.prototype.clearRect = function (...box) {
    if (this.canvas.closest('.strip-boost')) cleared = true;
    return clear.apply(this, box);
  };
  const stroke = CanvasRenderingContext2D.prototype.stroke;
  CanvasRenderingContext2D.prototype.stroke = function (...path) {
    if (bench.firstStrip === null && path.length > 0 && this.canvas.closest('.strip-boost')) bench.firstStrip = performance.now();
    return stroke.apply(this, path);
  };
  const frame = requestAnimationFrame;
  const channel = new MessageChannel();
  let beganMs = 0;
  channel.port1.onmessage = () => {
    open = false;
    if (cleared) { bench.work.push(performance.now() - beganMs); drawn.push(...arrived); arrived = []; }
    cleared = false;
  };
  globalThis.requestAnimationFrame = (fn) => frame((nowMs) => {
    if (!open) {
      open = true;
      beganMs = performance.now();
      bench.frames.push(beganMs);
      for (const t of drawn) bench.shown.push([t, at()]);
      drawn = [];
      channel.port2.postMessage(0);
    }
    fn(nowMs);
  });
`;

interface Watched {
  readonly shown: readonly (readonly [number, number])[];
  readonly frames: readonly number[];
  readonly work: readonly number[];
  readonly firstStrip: number | null;
}

const row = (what: string, figure: string): void => console.log(`${what.padEnd(74)} ${figure}`);
const ms = (n: number): string => `${n.toFixed(1)} ms`;
const wait = (s: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, s * 1000));
const wallMs = (): number => performance.timeOrigin + performance.now();

function share(all: readonly number[], p: number): number {
  const sorted = [...all].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.ceil(p * sorted.length) - 1)] ?? Number.NaN;
}

const steps = (times: readonly number[]): number[] => times.slice(1).map((t, i) => t - times[i]!);

const sessions = new WeakMap<Page, CDPSession>();

async function watched(browser: Browser, url: string): Promise<Page> {
  const context = await browser.newContext({
    viewport: { width: 1366, height: 768 },
    colorScheme: 'dark',
    locale: LOCALE,
  });
  context.setDefaultTimeout(PATIENCE_MS);
  const page = await context.newPage();
  const session = await context.newCDPSession(page);
  await session.send('Performance.enable');
  sessions.set(page, session);
  await page.addInitScript(WATCH);
  await page.addInitScript(`localStorage.setItem('handback.strips', '${TWELVE.join(' ')}')`);
  await page.goto(url);
  return page;
}

const read = (page: Page): Promise<Watched> => page.evaluate('globalThis.bench') as Promise<Watched>;
const forget = (page: Page): Promise<unknown> =>
  page.evaluate('bench.shown.length = bench.frames.length = bench.work.length = 0');

/** Processor time of the page's main thread since its beginning, ms. */
async function usedSoFar(page: Page): Promise<number> {
  const { metrics } = await sessions.get(page)!.send('Performance.getMetrics');
  return 1000 * (metrics.find((m) => m.name === 'ThreadTime')?.value ?? Number.NaN);
}

/** Processor time of the page's main thread between two calls, ms: other work of the machine does not change it. */
async function processor(page: Page): Promise<() => Promise<number>> {
  const before = await usedSoFar(page);
  return async () => (await usedSoFar(page)) - before;
}

/** Page's clock minus this process's, ms: the quickest of some questions, taken in its middle. */
async function clockOffset(page: Page): Promise<number> {
  let best = { tookMs: Number.POSITIVE_INFINITY, offset: 0 };
  for (let i = 0; i < 30; i++) {
    const sentMs = wallMs();
    const there = (await page.evaluate('performance.timeOrigin + performance.now()')) as number;
    const tookMs = wallMs() - sentMs;
    if (tookMs < best.tookMs) best = { tookMs, offset: there - (sentMs + tookMs / 2) };
  }
  return best.offset;
}

function frames(what: string, seen: Watched, processorMs: number): void {
  const between = steps(seen.frames);
  const spanS = (seen.frames.at(-1)! - seen.frames[0]!) / 1000;
  row(`${what}: frames a second`, (between.length / spanS).toFixed(1));
  row(`${what}: between frames, median / 99 % / longest`, between.length > 0 ? trio(between) : 'none');
  row(`${what}: work of a frame that draws, median / 99 % / longest`, trio(seen.work));
  row(`${what}: processor time of the page, a frame`, ms(processorMs / seen.frames.length));
}

const trio = (all: readonly number[]): string =>
  `${ms(share(all, 0.5))} / ${ms(share(all, 0.99))} / ${ms(share(all, 1))}`;

/** Twelve strips follow the drive while the simulated text adapter brings what a line of 115200 bit/s carries, thrice of what a drive asks for. */
async function live(browser: Browser, webRoot: string): Promise<void> {
  const library = mkdtempSync(join(tmpdir(), 'handback-bench-'));
  const daemon = new Daemon({ clock: systemClock, library, fastRestUs: 0 });
  const server = await startServer({ api: daemon, host: '127.0.0.1', port: 0, webRoot });
  try {
    await daemon.connect({ link: 'sim:twin-charged?route=warm-road-test&answer=2' });
    await daemon.startRun({ purpose: 'other' });
    const page = await watched(browser, `${server.url}#/drive`);
    await page.locator('.strip-boost .figure b').filter({ hasText: /\d/ }).first().waitFor();
    await wait(WARM_UP_S);
    const offsetMs = await clockOffset(page);
    // The run's zero by this process's wall clock; both are read in the same moment.
    const zeroMs = wallMs() - daemon.state().run!.seconds * 1000;
    const used = await processor(page);
    await forget(page);
    await wait(LIVE_S);
    const seen = await read(page);
    const usedMs = await used();
    const late = seen.shown.map(([tS, atMs]) => atMs - offsetMs - (zeroMs + tS * 1000));
    row(`live, ${TWELVE.length + 4} strips: samples a second`, (late.length / LIVE_S).toFixed(0));
    row('live: last byte at the port to pixel, median / 99 % / longest', trio(late));
    frames('live', seen, usedMs);
    await page.context().close();
  } finally {
    await server.close();
    await daemon.close();
    rmSync(library, { recursive: true, force: true });
  }
}

/** An hour is driven in a minute, joined late, ended, opened and panned. */
async function hour(browser: Browser, pages: Pages): Promise<void> {
  const drive = new SimulatedDrive();
  try {
    await drive.serve(pages.now);
    await drive.settle(drive.daemon.connect({ link: 'sim:twin-charged?pace=9600' }));
    await drive.settle(drive.daemon.startRun({ purpose: 'other' }));
    await drive.until(() => false, SHORT_S);
    const short = await drive.settle(drive.daemon.stopRun());
    await drive.settle(drive.daemon.startRun({ purpose: 'other' }));
    await drive.until(() => false, HOUR_S);
    const { samples, seconds } = drive.daemon.state().run!;
    row('an hour driven: samples of 22 signals', `${samples} in ${Math.round(seconds)} s`);
    const joining = await watched(browser, `${drive.url}#/drive`);
    row('joined after an hour: from navigation to the first boost line', ms(await firstStrip(joining)));
    await joining.context().close();
    const stopping = drive.daemon.stopRun();
    const { id } = await drive.settle(stopping);
    // What reads runs begins with the first one opened, or when somebody looks at the lists; here it is compiled meanwhile.
    const first = await watched(browser, `${drive.url}#/findings/${short.id}`);
    row(
      `${SHORT_S} s, opened first of all: from navigation to the first boost line`,
      ms(await firstStrip(first)),
    );
    await first.context().close();
    const url = `${drive.url}#/findings/${id}`;
    for (const what of ['opened for the first time (read and judged)', 'opened again']) {
      const page = await watched(browser, url);
      row(`an hour, ${what}: from navigation to the first boost line`, ms(await firstStrip(page)));
      // Left before, it would not be judged: to open it again would be to open it for the first time.
      await page.locator('.whole').waitFor();
      row(
        `an hour, ${what}: until what was found is there`,
        ms((await page.evaluate('performance.now()')) as number),
      );
      if (what === 'opened again') await pan(page);
      await page.context().close();
    }
    await openedAgain(browser, drive.daemon, id, pages);
  } finally {
    await drive.close();
  }
}

interface Pages {
  readonly now: string;
  /** As it was at the commit before. */
  readonly before: string;
}

/** The page as it was and as it is, in turn, on one daemon: seconds, and processor time of the page's main thread. */
async function openedAgain(browser: Browser, daemon: Daemon, id: string, pages: Pages): Promise<void> {
  const seen = {
    before: { atMs: [] as number[], usedMs: [] as number[] },
    now: { atMs: [] as number[], usedMs: [] as number[] },
  };
  for (let round = 0; round < ROUNDS; round++)
    for (const which of ['before', 'now'] as const) {
      const server = await startServer({ api: daemon, host: '127.0.0.1', port: 0, webRoot: pages[which] });
      const page = await watched(browser, `${server.url}#/findings/${id}`);
      seen[which].atMs.push(await firstStrip(page));
      seen[which].usedMs.push(await usedSoFar(page));
      await page.context().close();
      await server.close();
    }
  const { before, now } = seen;
  const ratios = now.atMs.map((at, i) => (at / before.atMs[i]!).toFixed(2)).join(', ');
  row(
    `an hour opened again, median of ${ROUNDS}: at ${BEFORE}, now`,
    `${ms(share(before.atMs, 0.5))}, ${ms(share(now.atMs, 0.5))}`,
  );
  row('  now to before, round by round', ratios);
  row(
    '  processor time of the page until the first line',
    `${ms(share(before.usedMs, 0.5))}, ${ms(share(now.usedMs, 0.5))}`,
  );
}

async function firstStrip(page: Page): Promise<number> {
  for (const fromMs = performance.now(); performance.now() - fromMs < PATIENCE_MS; await wait(0.2)) {
    const { firstStrip: atMs } = await read(page);
    if (atMs !== null) return atMs;
  }
  throw new Error('no boost line came');
}

/** Wheeled sideways without a break over the hour, five minutes seen at once. */
async function pan(page: Page): Promise<void> {
  const plot = (await page.locator('.strip-boost .u-over').boundingBox())!;
  await page.mouse.move(plot.x + plot.width / 2, plot.y + plot.height / 2);
  for (let i = 0; i < 11; i++) await page.mouse.wheel(0, -100);
  await wait(1);
  const used = await processor(page);
  await forget(page);
  const fromMs = performance.now();
  for (let i = 0; performance.now() - fromMs < 10_000; i++)
    await page.mouse.wheel(i % 400 < 200 ? 40 : -40, 0);
  frames('an hour panned', await read(page), await used());
}

const scratch = mkdtempSync(join(tmpdir(), 'handback-page-'));
const built = await builtPage();
const browser = await launch();
try {
  const before = await pageAt(BEFORE, scratch);
  await live(browser, built.folder);
  await hour(browser, { before, now: built.folder });
  const scripts = within(join(built.folder, 'assets')).filter((f) => f.endsWith('.js'));
  const bytes = scripts.map((f) => gzipSync(readFileSync(f)).length);
  row('script of the page, gzip, all parts', `${(bytes.reduce((a, b) => a + b, 0) / 1000).toFixed(1)} kB`);
} finally {
  await browser.close();
  built.remove();
  rmSync(scratch, { recursive: true, force: true });
}
