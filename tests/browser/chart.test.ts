// biome-ignore-all lint/performance/useDomNodeTextContent: what a reader sees is what is tested, not what is hidden
/** The chart of a recorded run, worked as a technician would: overview, cursor, scales, arrangement, files, address. */
import { readFileSync } from 'node:fs';
import { parse } from 'csv-parse/sync';
import type { Page } from 'playwright-core';
import { beforeEach, describe, expect, vi } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import type { RunningServer } from '../../src/server/server.ts';
import { needs } from '../require.ts';
import { FakeDaemon } from '../server/fake-daemon.ts';
import { fakeJobs } from '../server/fake-jobs.ts';
import {
  accessible,
  hasChromium,
  inBrowser,
  openPage,
  passUntil,
  serve,
  WITHOUT_CHROMIUM,
} from './browser.ts';

const it = needs(hasChromium, WITHOUT_CHROMIUM);

let api: FakeDaemon;
let server: RunningServer;
let page: Page;
let complaints: string[];

const webRoot = inBrowser(async () => server?.close());
beforeEach(async () => {
  if (!hasChromium) return;
  complaints = [];
  const clock = new ManualClock(1e9);
  api = new FakeDaemon({ clock, prerollS: 420 });
  server = await serve({ api, jobs: fakeJobs(api, []), webRoot: webRoot(), clock });
  await api.startRun({ purpose: 'verification', vehicle: 'Blue estate' });
  const { id } = await api.stopRun();
  page = await openPage(`${server.url}#/findings/${id}?from=90&to=96`, complaints);
  await ranges('1:30 to 1:36');
});

const ranges = (shown: string) =>
  passUntil(page, async () => (await page.locator('.range').innerText()) === shown);
/** Where it is drawn; a strip that was moved is drawn anew, so this waits until it is. */
async function plot(strip: string): Promise<{ x: number; y: number; width: number; height: number }> {
  for (;;) {
    const over = page.locator(`.strip-${strip} .u-over`);
    await over.waitFor();
    const box = await over.boundingBox();
    if (box) return box;
  }
}
const strips = () =>
  page
    .locator('.strip')
    .evaluateAll((all) =>
      all.map((el) => /strip-(\w+)/.exec((el as unknown as { className: string }).className)![1]),
    );
const axisPixels = (strip: string) =>
  page
    .locator(`.strip-${strip} canvas`)
    .evaluate((el) => (el as unknown as { toDataURL(): string }).toDataURL());

async function drag(x0: number, y0: number, x1: number, y1: number): Promise<void> {
  await page.mouse.move(x0, y0);
  await page.mouse.down();
  await page.mouse.move(x1, y1, { steps: 5 });
  await page.mouse.up();
}

/** What a button saves. */
async function saved(name: string): Promise<{ file: string; bytes: Buffer }> {
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name }).click(),
  ]);
  return { file: download.suggestedFilename(), bytes: readFileSync(await download.path()) };
}

describe('the chart of a recorded run', () => {
  it('keeps what is seen in the address, and shows it again after a reload', async () => {
    await page.keyboard.press('-');
    await ranges('1:27 to 1:39');
    await expect.poll(() => page.url()).toMatch(/from=87\.0&to=99\.0$/);
    await page.reload();
    await ranges('1:27 to 1:39');
    await page.keyboard.press('w');
    await ranges('0:00 to 7:00'); // as long as the run, without the room beside it
    await expect.poll(() => page.url()).toMatch(/findings\/run-1$/);
    expect(complaints).toEqual([]);
  });

  it('is drawn while the run is still being judged, can be moved then, and stays where it is when that is done', async () => {
    let judge: () => void = () => undefined;
    const judged = new Promise<void>((done) => {
      judge = done;
    });
    const run = api.run.bind(api);
    vi.spyOn(api, 'run').mockImplementation(async (id) => {
      await judged;
      return run(id);
    });
    await page.reload();
    await page.locator('.strip-boost canvas').waitFor();
    await page.getByText('Reading the run…').waitFor();
    const bare = await axisPixels('boost');
    await page.keyboard.press('-');
    await expect.poll(() => page.url()).toMatch(/from=87\.0&to=99\.0$/);
    await passUntil(page, async () => (await axisPixels('boost')) !== bare);
    await page.locator('.strip-boost canvas').evaluate((el) => {
      (el as unknown as { id: string }).id = 'the-same';
    });
    judge();
    await page.getByText('Reading the run…').waitFor({ state: 'detached' });
    await ranges('1:27 to 1:39');
    expect(await page.locator('.strip-boost canvas#the-same').count()).toBe(1);
    expect(complaints).toEqual([]);
  });

  it('frames other seconds in the overview, and moves the frame', async () => {
    const box = (await page.locator('.overview').boundingBox())!;
    const x = (s: number) => box.x + (s / 420) * box.width;
    const y = box.y + 20;
    await drag(x(210), y, x(315), y);
    await passUntil(page, async () =>
      /^3:(29|30|31) to 5:1[456]$/.test(await page.locator('.range').innerText()),
    );
    await drag(x(260), y, x(155), y);
    await passUntil(page, async () =>
      /^1:4[456] to 3:(29|30|31)$/.test(await page.locator('.range').innerText()),
    );
  });

  it('reads all signals at a cursor moved by keys, and what they did over a stretch', async () => {
    await page.getByText('All values at the cursor').click();
    const row = (signal: string) => page.locator('.figures-table tr', { hasText: signal });
    const cells = async (signal: string) => (await row(signal).innerText()).split('\t').map((c) => c.trim());
    // The pull from 1:30 to 1:36 takes the engine from 1200 to 3800 rpm: 26,000 rpm a minute.
    await passUntil(page, async () => (await cells('engine speed'))[5] !== '–');
    const [, at, least, mean, most, slope] = await cells('engine speed');
    expect(at).toBe('–');
    expect(Number(least)).toBeCloseTo(1200, -2);
    expect(Number(mean!.replace(',', ''))).toBeCloseTo(2500, -2);
    expect(Number(most)).toBeCloseTo(3800, -2);
    expect(Number(slope!.replaceAll(',', '')) / 1000).toBeCloseTo(26, 0);
    for (let i = 0; i < 5; i++) await page.keyboard.press('.');
    await passUntil(page, async () => (await cells('engine speed'))[1] !== '–');
    // From the middle, 1:33, five steps of a hundredth of six seconds: 1200 + 2600 × 3.3 / 6.
    const [, value] = await cells('engine speed');
    expect(Math.abs(Number(value) - 2630)).toBeLessThan(80);
    await passUntil(page, async () => /at 1:33/.test(await page.locator('.strip-coolant .age').innerText()));
    await accessible(page, 'chart with figures');
  });

  it('shows a part of a scale that was dragged over, and all of it again', async () => {
    const before = await axisPixels('coolant');
    const box = await plot('coolant');
    const x = box.x + box.width / 2;
    await drag(x, box.y + 10, x + 2, box.y + 60);
    await expect.poll(() => axisPixels('coolant')).not.toBe(before);
    await ranges('1:30 to 1:36'); // time stays
    await page.getByText('Arrange the strips').click();
    await page.getByRole('button', { name: 'Coolant: whole scale' }).click();
    expect(
      await page.getByRole('button', { name: 'Boost over its expected band: whole scale' }).isDisabled(),
    ).toBe(true);
    await page.mouse.move(0, 0);
    await expect.poll(() => axisPixels('coolant')).toBe(before);
  });

  it('hides, orders and resizes strips, puts two signals on one, and remembers', async () => {
    expect(await strips()).toEqual(['engine', 'boost', 'coolant', 'speed', 'link']);
    await page.getByText('Arrange the strips').click();
    await page.getByRole('checkbox', { name: 'Vehicle speed' }).uncheck();
    await page.getByRole('button', { name: 'Coolant: up' }).click();
    await expect.poll(strips).toEqual(['engine', 'coolant', 'boost', 'link']);
    const before = (await plot('coolant')).height;
    await page.getByRole('button', { name: 'Coolant: taller' }).click();
    await expect.poll(async () => (await plot('coolant')).height).toBeGreaterThan(before + 5);
    await page.getByRole('combobox', { name: 'Second signal with Coolant' }).selectOption('speed_kmh');
    await page.locator('.strip-coolant .label', { hasText: 'Coolant, vehicle speed' }).waitFor();
    await passUntil(page, async () =>
      /km\/h/.test(await page.locator('.strip-coolant .figures').innerText()),
    );
    await accessible(page, 'chart arranged');
    await page.reload();
    await ranges('1:30 to 1:36');
    await expect.poll(strips).toEqual(['engine', 'coolant', 'boost', 'link']);
    await page.getByText('Arrange the strips').click();
    await page.getByRole('button', { name: 'As usual' }).click();
    await expect.poll(strips).toEqual(['engine', 'boost', 'coolant', 'speed', 'link']);
    expect(complaints).toEqual([]);
  });

  it('saves what is seen as a table and as pictures', async () => {
    const table = await saved('Table (CSV)');
    expect(table.file).toBe('run-1_1-30_1-36.csv');
    const rows = parse(table.bytes, { columns: true }) as Record<string, string>[];
    const { rpm } = (await api.series('run-1', { points: 1e6, fromS: 90, toS: 96 })).value;
    expect(rows.flatMap((r) => (r.rpm === '' ? [] : [Number(r.rpm)]))).toEqual(rpm!.v);
    const svg = await saved('Picture (SVG)');
    const text = svg.bytes.toString();
    expect(text).toContain('Blue estate');
    expect(text.match(/<path d="M/g)!.length).toBe(5); // demand, engine speed, boost, coolant, vehicle speed
    expect(text).not.toMatch(/NaN|undefined/);
    const png = await saved('Picture (PNG)');
    expect([...png.bytes.subarray(0, 4)]).toEqual([0x89, 0x50, 0x4e, 0x47]);
    expect(png.bytes.readUInt32BE(16)).toBe(2400);
    expect(complaints).toEqual([]);
  });

  it('zooms where two fingers part', async () => {
    await page.locator('.strip-boost').evaluate((el) => {
      const target = el as unknown as {
        dispatchEvent(e: unknown): void;
        getBoundingClientRect(): { x: number };
      };
      const touch = (type: string, pointerId: number, clientX: number) =>
        target.dispatchEvent(
          new (globalThis as unknown as { PointerEvent: new (t: string, o: object) => unknown }).PointerEvent(
            type,
            {
              pointerId,
              clientX: target.getBoundingClientRect().x + clientX,
              pointerType: 'touch',
              bubbles: true,
            },
          ),
        );
      touch('pointerdown', 11, 200);
      touch('pointerdown', 12, 300);
      touch('pointermove', 12, 400);
      touch('pointerup', 12, 400);
      touch('pointerup', 11, 200);
    });
    // Twice as far apart: half of the time, about the finger that rests.
    await passUntil(page, async () => (await page.locator('.range').innerText()) !== '1:30 to 1:36');
    await expect.poll(() => page.url()).toMatch(/from=/);
    const [, from, to] = /from=([\d.]+)&to=([\d.]+)/.exec(page.url())!.map(Number);
    expect(to! - from!).toBeCloseTo(3, 1);
  });
});
