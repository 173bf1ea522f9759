/** What the browser tests share: the built page, a Chromium, what a page may say for itself, axe-core. */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { type Browser, chromium, type Page } from 'playwright-core';
import { expect } from 'vitest';

export const CHROMIUM = process.env.CHROMIUM ?? '/usr/bin/chromium';
export const hasChromium = existsSync(CHROMIUM);
export const WITHOUT_CHROMIUM = `a Chromium at ${CHROMIUM}, or its path in CHROMIUM`;
export const LAPTOP = { width: 1366, height: 768 };
export const LARGE = { width: 1920, height: 1080 };
export const PHONE = { width: 390, height: 844 };

const ROOT = resolve(import.meta.dirname, '../..');
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

export function launch(executablePath = CHROMIUM): Promise<Browser> {
  return chromium.launch({
    executablePath,
    args: [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

export const within = (folder: string): string[] => readdirSync(folder).map((f) => join(folder, f));

export interface BuiltPage {
  readonly folder: string;
  remove(): void;
}

/** dist/web when it is newer than every source of the page, else a fresh build in a temporary folder. */
export async function builtPage(): Promise<BuiltPage> {
  const newest = (files: string[]) => Math.max(0, ...files.map((f) => statSync(f).mtimeMs));
  const made = join(ROOT, 'dist/web/index.html');
  const sources = [
    ...within(join(ROOT, 'web')),
    join(ROOT, 'vite.config.ts'),
    join(ROOT, 'package-lock.json'),
  ];
  if (existsSync(made) && newest([made]) > newest(sources))
    return { folder: join(ROOT, 'dist/web'), remove: () => undefined };
  const folder = mkdtempSync(join(tmpdir(), 'handback-page-'));
  const { build } = await import('vite'); // heavy, and rarely needed
  await build({
    configFile: join(ROOT, 'vite.config.ts'),
    root: join(ROOT, 'web'),
    logLevel: 'error',
    build: { outDir: folder },
  });
  return { folder, remove: () => rmSync(folder, { recursive: true }) };
}

export interface Look {
  readonly size?: typeof LAPTOP;
  readonly colours?: 'light' | 'dark';
}

/** A page with everything that it complains about; there must be nothing that the test does not expect. */
export async function openPage(
  browser: Browser,
  url: string,
  complaints: string[],
  { size = LAPTOP, colours = 'dark' }: Look = {},
): Promise<Page> {
  const context = await browser.newContext({ viewport: size, colorScheme: colours });
  const page = await context.newPage();
  page.on('console', (m) => {
    if (m.type() === 'error' || m.type() === 'warning') complaints.push(m.text());
  });
  page.on('pageerror', (e) => complaints.push(String(e)));
  await page.goto(url);
  await page.waitForSelector('h1');
  return page;
}

/** The large sentence of the place says so. */
export const sentence = (page: Page, pattern: RegExp): Promise<void> =>
  page.getByRole('heading', { level: 1 }).filter({ hasText: pattern }).waitFor();

/** @param contrast asked for beyond AA, as a ratio (7 = AAA, WCAG 2.2 1.4.6) */
export async function accessible(page: Page, what: string, contrast?: number): Promise<void> {
  await page.evaluate(AXE);
  const rules = {
    'target-size': { enabled: true }, // WCAG 2.2 2.5.8, off by default in axe-core
    ...(contrast ? { 'color-contrast-enhanced': { enabled: true } } : {}),
  };
  const found = (await page.evaluate(
    (options) => (globalThis as unknown as { axe: { run(o: unknown): Promise<unknown> } }).axe.run(options),
    { rules },
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
