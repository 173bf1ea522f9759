/** What the browser tests share: the built page, a Chromium, what a page may say for itself, axe-core. */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import {
  type Browser,
  type BrowserContext,
  chromium,
  type Disposable,
  type Page,
  type Request,
} from 'playwright-core';
import type { Plugin } from 'vite';
import { afterAll, afterEach, beforeAll, expect } from 'vitest';
import { LANGUAGE_IDS } from '../../src/core/languages.ts';
import { type RunningServer, type ServerOptions, startServer } from '../../src/server/server.ts';
import { PATIENCE_MS } from '../patience.ts';

export const CHROMIUM = process.env.CHROMIUM ?? '/usr/bin/chromium';
export const hasChromium = existsSync(CHROMIUM);
export const WITHOUT_CHROMIUM = `a Chromium at ${CHROMIUM}, or its path in CHROMIUM`;
export const LAPTOP = { width: 1366, height: 768 };
export const LARGE = { width: 1920, height: 1080 };
/** A browser that speaks English and reads kPa, °C and km/h. */
export const LOCALE = 'en-AU';
export const PHONE = { width: 390, height: 844 };

const PAGE_TIME_MS = Date.UTC(2026, 2, 2, 8);
const ROOT = resolve(import.meta.dirname, '../..');
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** Of two lists of features the browser takes the second, so this one has what Playwright turns off as well. */
const TURNED_OFF = [
  // Lists below an address bar that nobody types in: two pages more for each of ours, and twice as costly as it.
  ...['WebUIOmniboxPopup', 'WebUIOmniboxAimPopup'],
  ...['AvoidUnnecessaryBeforeUnloadCheckSync', 'DestroyProfileOnBrowserClose', 'LensOverlay', 'MediaRouter'],
  ...['HttpsUpgrades', 'HttpsFirstBalancedModeAutoEnable', 'AvoidCorsURLLoaderRestartOnRedirect'],
  ...['PaintHolding', 'ThirdPartyStoragePartitioning', 'TcpPortRandomizationWin', 'OptimizationHints'],
  ...['NetworkTimeServiceQuerying', 'AimEnabled', 'PreconnectToSearch'],
];

export function launch(executablePath = CHROMIUM): Promise<Browser> {
  return chromium.launch({
    executablePath,
    timeout: PATIENCE_MS,
    args: [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--renderer-process-limit=1', // and none begun in advance
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      `--disable-features=${TURNED_OFF.join()}`,
    ],
  });
}

let shared: Promise<Browser> | undefined;
/** The Chromium that the pages of a process share; it ends with the process. */
export const sharedBrowser = (): Promise<Browser> => (shared ??= launch());

export async function closeBrowser(): Promise<void> {
  await (await shared)?.close();
  shared = undefined;
}

export const within = (folder: string): string[] => readdirSync(folder).map((f) => join(folder, f));

export interface BuiltPage {
  readonly folder: string;
  remove(): void;
}

/**
 * dist/web when it is newer than every source of the page, else a fresh build in a temporary folder.
 * @param plugins of the build: with any it is built afresh
 */
export async function builtPage(plugins: Plugin[] = []): Promise<BuiltPage> {
  const newest = (files: string[]) => Math.max(0, ...files.map((f) => statSync(f).mtimeMs));
  const made = join(ROOT, 'dist/web/index.html');
  const sources = [
    ...within(join(ROOT, 'web')),
    ...['', ...LANGUAGE_IDS].flatMap((d) => within(join(ROOT, 'src/words', d))),
    join(ROOT, 'vite.config.ts'),
    join(ROOT, 'package-lock.json'),
  ];
  if (plugins.length === 0 && existsSync(made) && newest([made]) > newest(sources))
    return { folder: join(ROOT, 'dist/web'), remove: () => undefined };
  const folder = mkdtempSync(join(tmpdir(), 'handback-page-'));
  const { build } = await import('vite'); // heavy, and rarely needed
  const env = process.env.NODE_ENV;
  process.env.NODE_ENV = 'production'; // else the page carries what helps its developers
  await build({
    configFile: join(ROOT, 'vite.config.ts'),
    root: join(ROOT, 'web'),
    logLevel: 'error',
    plugins,
    build: { outDir: folder },
  }).finally(() => {
    process.env.NODE_ENV = env;
  });
  return { folder, remove: () => rmSync(folder, { recursive: true }) };
}

/**
 * What each file of tests in the browser begins and ends with, and each of its tests.
 * @param ended what is to close after a test, once every visit has ended
 * @returns where the page lies
 */
export function inBrowser(ended?: () => Promise<unknown>): () => string {
  let built: BuiltPage | undefined;
  beforeAll(async () => {
    built = await builtPage();
  });
  afterEach(async () => {
    await leaveAll();
    await ended?.();
  });
  afterAll(() => built?.remove());
  return () => built!.folder;
}

let sharedPort = 0;
/** Serves always at the same port, unless it is taken: a page that is opened again keeps its process. */
export async function serve(
  options: Omit<ServerOptions, 'host' | 'port'>,
  port = sharedPort,
): Promise<RunningServer> {
  const at = (port: number) => startServer({ ...options, host: '127.0.0.1', port });
  const server = await at(port).catch(() => at(0));
  sharedPort ||= Number(new URL(server.url).port);
  return server;
}

export interface Look {
  readonly size?: typeof LAPTOP;
  readonly colours?: 'light' | 'dark';
  /** Run in the page before anything of its own. */
  readonly before?: string;
  readonly locale?: string;
}

/**
 * The page's own time: it stands still until `passes(ms)` moves it. What is to run as soon as it can, as Preact's effects
 * are, does, and frames come as they come, unless they are held. With `atOnce` what is due meanwhile runs once, as
 * after a sleep.
 */
const TIME = `(() => {
  const real = {
    Date,
    setTimeout: setTimeout.bind(globalThis),
    clearTimeout: clearTimeout.bind(globalThis),
    requestAnimationFrame: requestAnimationFrame.bind(globalThis),
  };
  const calls = (fn, ...args) => {
    try {
      fn(...args);
    } catch (thrown) {
      reportError(thrown);
    }
  };
  const timers = new Map();
  let passedMs = 0;
  let lastId = 1e9; // the browser's own count from 1
  const set = (fn, ms, everyMs, args) => {
    timers.set(++lastId, { id: lastId, atMs: passedMs + ms, everyMs, fn, args });
    return lastId;
  };
  const clear = (id) => {
    if (!timers.delete(id)) real.clearTimeout(id);
  };
  globalThis.setTimeout = (fn, ms = 0, ...args) =>
    ms > 0 ? set(fn, ms, 0, args) : real.setTimeout(fn, 0, ...args);
  globalThis.setInterval = (fn, ms = 0, ...args) => set(fn, Math.max(ms, 1), Math.max(ms, 1), args);
  globalThis.clearTimeout = clear;
  globalThis.clearInterval = clear;
  performance.now = () => 1000 + passedMs; // no page lives at zero
  globalThis.Date = class Date extends real.Date {
    static now() {
      return ${PAGE_TIME_MS} + passedMs;
    }
    constructor(...args) {
      if (args.length > 0) super(...args);
      else super(globalThis.Date.now());
    }
  };
  const frames = new Map();
  let held = false;
  let asked = false;
  const askFrame = () => {
    if (held || asked) return;
    asked = true;
    real.requestAnimationFrame((atMs) => {
      asked = false;
      if (held) return;
      for (const [id, fn] of [...frames]) if (frames.delete(id)) calls(fn, atMs);
    });
  };
  globalThis.requestAnimationFrame = (fn) => {
    frames.set(++lastId, fn);
    askFrame();
    return lastId;
  };
  globalThis.cancelAnimationFrame = (id) => frames.delete(id);
  globalThis.holdFrames = (hold) => {
    held = hold;
    askFrame();
  };
  const { port1, port2 } = new MessageChannel();
  const others = () => new Promise((go) => {
    port2.onmessage = go;
    port1.postMessage(null);
  });
  globalThis.passes = async (ms, atOnce) => {
    const untilMs = passedMs + ms;
    if (atOnce) for (const timer of timers.values()) timer.atMs = Math.max(timer.atMs, untilMs);
    for (;;) {
      const due = [...timers.values()].filter((timer) => timer.atMs <= untilMs);
      if (due.length === 0) break;
      const next = due.reduce((a, b) => (b.atMs < a.atMs ? b : a)); // of those due at once, the one set first
      passedMs = next.atMs;
      if (next.everyMs > 0) next.atMs += next.everyMs;
      else timers.delete(next.id);
      calls(next.fn, ...next.args);
      await others();
    }
    passedMs = untilMs;
  };
})()`;
/** `hears(S)` in the page: a promise for when it has heard every sample up to that run time. */
const EAR = `(() => {
  let heardS = -1;
  let waiting = [];
  globalThis.hears = (untilS) =>
    new Promise((resolve) => (untilS <= heardS ? resolve() : waiting.push({ untilS, resolve })));
  globalThis.EventSource = class extends EventSource {
    constructor(url) {
      super(url);
      this.addEventListener('samples', (e) => {
        for (const { t } of Object.values(JSON.parse(e.data))) heardS = Math.max(heardS, t.at(-1) ?? -1);
        for (const w of waiting.filter((w) => w.untilS <= heardS)) w.resolve();
        waiting = waiting.filter((w) => w.untilS > heardS);
      });
    }
  };
})()`;

/** A page at rest keeps its process, which takes longer to start than the page to load, and nothing of its last visit. */
const resting = new Map<string, Page[]>();
/** What each page has asked for and has not got yet. */
const underWay = new WeakMap<Page, Set<Request>>();
/** Of pages that are being visited: what is to undo before they rest, and where they rest then. */
const visited = new Map<
  BrowserContext,
  { readonly undo: Disposable[]; readonly rest: Page[]; readonly url: string }
>();

async function freshPage(locale: string): Promise<Page> {
  const context = await (await sharedBrowser()).newContext({ locale });
  context.setDefaultTimeout(PATIENCE_MS);
  await context.addInitScript(TIME);
  await context.addInitScript(EAR);
  return context.newPage();
}

/**
 * A page with everything that it complains about; there must be nothing that the test does not expect. Its time
 * stands still until `pass` moves it: how fast the machine is changes nothing that the page shows.
 */
export async function openPage(
  url: string,
  complaints: string[],
  { size = LAPTOP, colours = 'dark', before, locale = LOCALE }: Look = {},
): Promise<Page> {
  const rest = resting.get(locale) ?? [];
  resting.set(locale, rest);
  const page = rest.pop() ?? (await freshPage(locale));
  const forget = await page.addInitScript('localStorage.clear(); sessionStorage.clear()');
  const undo = before ? [await page.addInitScript(before)] : [];
  visited.set(page.context(), { undo, rest, url });
  page.on('console', (m) => {
    if (m.type() === 'error' || m.type() === 'warning') complaints.push(m.text());
  });
  page.on('pageerror', (e) => complaints.push(String(e)));
  const asked = new Set<Request>();
  underWay.set(page, asked);
  page.on('request', (r) => {
    if (r.resourceType() !== 'eventsource') asked.add(r); // a stream never ends
  });
  page.on('requestfinished', (r) => asked.delete(r));
  page.on('requestfailed', (r) => asked.delete(r));
  await page.setViewportSize(size);
  await page.emulateMedia({ colorScheme: colours });
  await page.goto(url);
  await forget.dispose();
  await page.waitForSelector('h1');
  return page;
}

/** Ends the visit of the page and of all that shares its context. */
export async function leave(context: BrowserContext): Promise<void> {
  const visit = visited.get(context);
  visited.delete(context);
  const [page, ...others] = context.pages();
  if (!visit || !page) return context.close();
  for (const other of others) await other.close();
  for (const event of ['console', 'pageerror', 'request', 'requestfinished', 'requestfailed', 'response'])
    page.removeAllListeners(event);
  await page.unrouteAll({ behavior: 'ignoreErrors' });
  for (const done of visit.undo) await done.dispose();
  // Of the same origin and isolated as the page is, else it would go on in another process.
  const still = new URL('/at-rest', visit.url).href;
  const headers = { 'cross-origin-opener-policy': 'same-origin', 'origin-agent-cluster': '?1' };
  await page.route(still, (route) => route.fulfill({ contentType: 'text/html', headers, body: '' }));
  await page.goto(still);
  await page.unrouteAll();
  await page.mouse.move(0, 0);
  visit.rest.push(page);
}

/** Ends every visit. */
export async function leaveAll(): Promise<void> {
  for (const context of visited.keys()) await leave(context);
}

/** Shows the page at another size and in other colours, and lets it draw itself so. */
export async function show(
  page: Page,
  { size, colours }: Required<Pick<Look, 'size' | 'colours'>>,
): Promise<void> {
  await page.emulateMedia({ colorScheme: colours });
  await page.setViewportSize(size);
  await drawn(page, 2);
}

const drawn = async (page: Page, frames: number): Promise<void> => {
  for (let i = 0; i < frames; i++)
    await page.evaluate('new Promise((drawn) => requestAnimationFrame(drawn))');
};

/** Until it waits for no answer, and what came is drawn and asked for nothing more. */
export async function settled(page: Page): Promise<void> {
  const asked = underWay.get(page)!;
  do {
    await expect.poll(() => asked.size, { interval: 5 }).toBe(0);
    await drawn(page, 3);
  } while (asked.size > 0);
}
/** Moves the time of the page, and of what shares its context, on by so much; as a sleep does: `atOnce`. */
export async function pass(page: Page, ms: number, atOnce = false): Promise<void> {
  await Promise.all(
    page
      .context()
      .pages()
      .map((p) => p.evaluate(`passes(${ms}, ${atOnce})`)),
  );
}

/** While held, the page draws no frame, and what waits for one waits. */
export const holdFrames = (page: Page, hold: boolean): Promise<void> => page.evaluate(`holdFrames(${hold})`);

/** Until the page has heard every sample up to that run time. */
export const hears = (page: Page, untilS: number): Promise<void> => page.evaluate(`hears(${untilS})`);

/** Moves the time of the page on, a quarter of a second at a time, until it is so. */
export async function passUntil(page: Page, so: () => Promise<boolean>): Promise<void> {
  await expect
    .poll(async () => {
      if (await so()) return true;
      await pass(page, 250);
      return so();
    })
    .toBe(true);
}

/** The large sentence of the place says so. */
export const sentence = (page: Page, pattern: RegExp): Promise<void> =>
  page.getByRole('heading', { level: 1 }).filter({ hasText: pattern }).waitFor();

/** @param contrast asked for beyond AA, as a ratio (7 = AAA, WCAG 2.2 1.4.6) */
export async function accessible(page: Page, what: string, contrast?: number): Promise<void> {
  if (!(await page.evaluate('"axe" in globalThis'))) await page.evaluate(AXE);
  const rules = {
    'target-size': { enabled: true }, // WCAG 2.2 2.5.8, off by default in axe-core
    ...(contrast ? { 'color-contrast-enhanced': { enabled: true } } : {}),
  };
  const found = (await page.evaluate(
    (options) => (globalThis as unknown as { axe: { run(o: unknown): Promise<unknown> } }).axe.run(options),
    // Of what passes the name of the rule is enough; to list every element of it takes a third of the time.
    { rules, resultTypes: ['violations'], preload: false },
  )) as {
    violations: { id: string; nodes: { html: string; failureSummary: string }[] }[];
    passes: { id: string }[];
  };
  expect(
    found.violations.map(
      (v) => `${what}: ${v.id}: ${v.nodes.map((n) => n.html + n.failureSummary).join(' | ')}`,
    ),
  ).toEqual([]);
  expect(found.passes.map((p) => p.id)).toContain(contrast ? 'color-contrast-enhanced' : 'color-contrast');
  const wide = (await page.evaluate('document.documentElement.scrollWidth - innerWidth')) as number;
  expect(wide, `${what} is wider than the screen`).toBeLessThanOrEqual(0);
}
