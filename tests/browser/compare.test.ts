/** The place "before and after" in a real browser: two simulated drives compared, read, moved, chosen. */
// biome-ignore-all lint/performance/useDomNodeTextContent: what a reader sees is what is tested, not what is hidden
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { compareRuns } from '../../src/compare/compare.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { profileSchema } from '../../src/core/profile.ts';
import type { CompareRequest, RunSummary, SeriesView } from '../../src/desk/api.ts';
import { Written } from '../../src/desk/written.ts';
import type { RunningServer } from '../../src/server/server.ts';
import { spelled } from '../../src/words/spelled.ts';
import type { Comparison } from '../../src/words/views.ts';
import { driveSamples } from '../analysis/vehicle.ts';
import { needs } from '../require.ts';
import { FakeDaemon } from '../server/fake-daemon.ts';
import {
  accessible,
  hasChromium,
  inBrowser,
  LAPTOP,
  type Look,
  openPage,
  PHONE,
  passUntil,
  serve,
  WITHOUT_CHROMIUM,
} from './browser.ts';

const it = needs(hasChromium, WITHOUT_CHROMIUM);

const twin = profileSchema.parse({ induction: 'twin-charged', fuel: 'petrol' });
const RUNS: readonly RunSummary[] = [
  { id: 'r-before', purpose: 'baseline', startedAt: '2026-03-02T08:00:00Z' },
  { id: 'r-after', purpose: 'verification', startedAt: '2026-03-05T08:00:00Z' },
].map((r) => ({ ...r, seconds: 1300, vehicle: 'Tarnwick 1.8 twin-charged', closed: true }));

/** The made-up daemon with two drives in its library, truly compared. */
class Library extends FakeDaemon {
  profile = twin;
  readonly #drives = {
    'r-before': [...driveSamples({ seed: 1, fault: 'clutch-never-closes', hz: 2 })],
    'r-after': [...driveSamples({ seed: 2, hz: 2 })],
  };

  override async runs(): Promise<readonly RunSummary[]> {
    return RUNS;
  }

  override async compare(request: CompareRequest, signal?: AbortSignal): Promise<Written<Comparison>> {
    if (request.after.includes('r-slow')) return this.#slow(signal);
    this.calls.push(`compare ${request.before} ${request.after}`);
    const run = (role: 'before' | 'after', id: string) => ({
      id,
      label: id,
      role,
      startedAt: RUNS.find((r) => r.id === id)?.startedAt ?? null,
      vin: null,
      profile: this.profile,
      samples: this.#drives[id as 'r-before'],
    });
    const runs = [
      ...request.before.map((id) => run('before', id)),
      ...request.after.map((id) => run('after', id)),
    ];
    return Written.of(spelled(compareRuns(runs)));
  }

  /** One side that is read for as long as somebody waits. */
  #slow(signal: AbortSignal | undefined): Promise<never> {
    this.asked = [{ what: 'compare', run: null, share: 0.4, leftS: 3.2 }];
    return new Promise((_, given) => {
      signal?.addEventListener('abort', () => {
        this.asked = [];
        given(signal.reason);
      });
    });
  }

  override async series(id: string): Promise<Written<SeriesView>> {
    const view: Record<string, { t: number[]; v: number[] }> = {};
    for (const s of this.#drives[id as 'r-before'] ?? []) {
      view[s.signal] ??= { t: [], v: [] };
      view[s.signal]!.t.push(s.tUs / 1e6);
      view[s.signal]!.v.push(s.value);
    }
    return Written.of(view);
  }
}

let api: Library;
let server: RunningServer;
const complaints: string[] = [];

const webRoot = inBrowser();

beforeAll(async () => {
  if (!hasChromium) return;
  const clock = new ManualClock(1e9);
  api = new Library({ clock });
  server = await serve({ api, webRoot: webRoot(), clock });
});

afterAll(() => server?.close());

function open(hash: string, look: Look = { colours: 'light' }): Promise<Page> {
  return openPage(server.url + hash, complaints, look);
}

const BOTH = '#/compare?before=r-before&after=r-after';
const settled = (page: Page) => page.locator('.compare-strip canvas').nth(2).waitFor();
const shots = process.env.SHOTS;

describe('before and after', () => {
  it('says in its first line what changed, and each region with its interval', async () => {
    const page = await open(BOTH);
    await settled(page);
    expect(await page.locator('h1').innerText()).toMatch(/better: clutch band/);
    const row = page.getByRole('row').filter({ hasText: 'clutch band' }).first();
    expect(await row.innerText()).toMatch(/pulls.*pulls[\s\S]*\+\d+.* % \(.* to .*\)[\s\S]*better/);
    expect(await page.locator('.compare-chart canvas').count()).toBeGreaterThanOrEqual(4);
    expect(await page.locator('.needs').first().innerText()).toMatch(/To show it/);
    expect(complaints).toEqual([]);
  });

  it('of an engine without a charger shows coolant alone', async () => {
    api.profile = profileSchema.parse({ induction: 'naturally aspirated', fuel: 'petrol' });
    const page = await open(BOTH);
    await page.getByRole('heading', { name: 'Before and after', exact: true }).waitFor();
    await page.locator('.compare-strip canvas').first().waitFor();
    api.profile = twin;
    const text = await page.locator('.compare').innerText();
    expect(text).toContain('This engine has no charger: coolant alone is compared.');
    expect(text).toMatch(/Coolant plateau/i);
    expect(text).not.toMatch(/boost|tip-in|pulls before|changeover/i);
    expect(complaints).toEqual([]);
  });

  it('says how far a long reading is and how long it will take, and gives it up when asked to', async () => {
    const page = await open('#/compare?before=r-before&after=r-slow');
    await passUntil(page, async () => (await page.getByText('40 % read, 3 s left').count()) > 0);
    expect(await page.getByRole('progressbar').getAttribute('value')).toBe('0.4');
    await page.getByRole('button', { name: 'Stop reading' }).click();
    await page.getByText('Stopped. Nothing is lost').waitFor();
    await expect.poll(() => api.asked.length).toBe(0);
    expect(await page.getByRole('progressbar').count()).toBe(0);
    expect(complaints).toEqual([]);
  });

  it('lets a run be moved against the other under one cursor', async () => {
    const page = await open(BOTH);
    await settled(page);
    await page.getByRole('button', { name: 'Starts together' }).click();
    const over = page.locator('.compare-strip .u-over').first();
    await over.hover({ position: { x: 200, y: 40 } });
    const reading = () => page.locator('.shift .quiet').innerText();
    await expect.poll(reading).toMatch(/^at (\S+) before, \1 after$/);
    await page.getByLabel('Run after moved by').fill('60');
    await over.hover({ position: { x: 220, y: 40 } });
    await expect.poll(reading).toMatch(/^at \d+:(\d\d) before, \d+:\1 after$/);
    await expect.poll(reading).not.toMatch(/^at (\S+) before, \1 after$/);
    const all = page.locator('.compare-strip p');
    for (let i = 0; i < 3; i++) expect(await all.nth(i).innerText()).toMatch(/before .*\d.*, after .*\d/);
    expect(complaints).toEqual([]);
  });

  it('asks for runs when none are named, and compares those chosen', async () => {
    const page = await open('#/compare');
    await page
      .locator('.choice')
      .getByLabel(/baseline/)
      .selectOption('before');
    await page
      .locator('.choice')
      .getByLabel(/verification/)
      .selectOption('after');
    await settled(page);
    expect(new URL(page.url()).hash).toBe(BOTH);
    expect(complaints).toEqual([]);
  });

  for (const [name, size] of [
    ['laptop', LAPTOP],
    ['phone', PHONE],
  ] as const)
    for (const colours of ['light', 'dark'] as const)
      it(`reads well on a ${name}, ${colours}: nothing that axe-core objects to, nothing cut off`, async () => {
        const page = await open(BOTH, { size, colours });
        await settled(page);
        if (shots)
          await page.screenshot({ path: join(shots, `compare-${name}-${colours}.png`), fullPage: true });
        await accessible(page, `compare, ${name}, ${colours}`);
      });
});
