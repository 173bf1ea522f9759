// biome-ignore-all lint/performance/useDomNodeTextContent: what a reader sees is what is tested, not what is hidden
/** What must stay in sight: the strips on low screens and under the alarm, the time axis; and what is told apart by name. */
import type { Page } from 'playwright-core';
import { beforeEach, describe, expect } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import type { RunningServer } from '../../src/server/server.ts';
import type { LiveView } from '../../src/words/views.ts';
import { needs } from '../require.ts';
import { FakeDaemon } from '../server/fake-daemon.ts';
import { fakeJobs } from '../server/fake-jobs.ts';
import {
  hasChromium,
  inBrowser,
  LAPTOP,
  type Look,
  openPage,
  PHONE,
  passUntil,
  sentence,
  serve,
  settled,
  WITHOUT_CHROMIUM,
} from './browser.ts';

const it = needs(hasChromium, WITHOUT_CHROMIUM);
/** 200 % of a screen is half of its pixels. */
const LAPTOP_200 = { width: 683, height: 384 };
const LANDSCAPE = { width: 844, height: 390 };

let api: FakeDaemon;
let server: RunningServer;
let complaints: string[];

const webRoot = inBrowser(async () => server?.close());
beforeEach(async () => {
  if (!hasChromium) return;
  complaints = [];
  const clock = new ManualClock(1e9);
  api = new FakeDaemon({ clock, prerollS: 420 });
  server = await serve({ api, jobs: fakeJobs(api, []), webRoot: webRoot(), clock });
  await api.connect({ link: 'sim:twin' });
  await api.startRun({ purpose: 'verification', vehicle: 'Blue estate' });
});

/** The drive with all controls, as a companion sees it. */
async function drive(look: Look): Promise<Page> {
  const page = await openPage(`${server.url}#/drive`, complaints, look);
  await sentence(page, /^Recording/);
  const along = page.getByRole('button', { name: 'I ride along' });
  await passUntil(page, () => along.isVisible());
  await along.click();
  await page.getByRole('navigation', { name: 'Places' }).waitFor();
  return page;
}

async function alarm(page: Page): Promise<void> {
  const seen: LiveView[] = [];
  const stop = api.subscribe((event, data) => {
    if (event === 'view') seen.push(data as LiveView);
  });
  api.tell();
  stop();
  const view = seen.at(-1)!;
  const sentence = 'Coolant climbs, 118 °C, and has reached no plateau. Stop when it is safe.';
  api.emit('view', { ...view, coolant: { ...view.coolant, state: 'climbing', valueC: 118, sentence } });
  await page.getByRole('alert').waitFor();
}

const STRIPS = ['engine', 'boost', 'coolant', 'speed', 'link'] as const;

/** Every strip lies between what is above and the marks; every figure lies within its strip. */
async function whole(page: Page): Promise<void> {
  const marks = (await page.getByRole('group', { name: 'Marks' }).boundingBox())!;
  for (const strip of STRIPS) {
    const box = (await page.locator(`.strip-${strip}`).boundingBox())!;
    expect(box.y, strip).toBeGreaterThanOrEqual(0);
    expect(box.y + box.height, strip).toBeLessThanOrEqual(marks.y + 1);
    for (const figure of await page.locator(`.strip-${strip} .figure`).all()) {
      const f = (await figure.boundingBox())!;
      const text = `${strip}: ${await figure.innerText()}`;
      expect(f.y + f.height, text).toBeLessThanOrEqual(box.y + box.height + 1);
      expect(f.x + f.width, text).toBeLessThanOrEqual(box.x + box.width + 1);
    }
    expect(box.height, strip).toBeGreaterThan(24);
  }
}

describe('the drive', () => {
  for (const [name, size] of Object.entries({ LAPTOP, LAPTOP_200, LANDSCAPE }))
    it(`has every strip and figure whole, the alarm over it or not (${name})`, async () => {
      const page = await drive({ size });
      await whole(page);
      await alarm(page);
      await whole(page);
      const demand = page.locator('.strip-engine .figure', { hasText: '% demand' });
      const [banner, line] = [(await page.locator('.alarm').boundingBox())!, (await demand.boundingBox())!];
      expect(line.y).toBeGreaterThanOrEqual(banner.y + banner.height);
      expect(complaints).toEqual([]);
    });

  for (const [name, size] of Object.entries({ LAPTOP, PHONE }))
    it(`keeps the time axis in sight with 20 strips (${name})`, async () => {
      const extra = Array.from({ length: 14 }, (_, i) => `more_${String.fromCharCode(97 + i)}`);
      const before = `localStorage.setItem('handback.strips', 'voltage_v ${extra.join(' ')}')`;
      const page = await drive({ size, before });
      await page.locator('.strip').nth(19).waitFor();
      expect(await page.locator('.strip').count()).toBe(20);
      const rows = page.locator('.strip').first();
      await rows.evaluate((el) => (el as unknown as { scrollIntoView(): void }).scrollIntoView());
      const marks = (await page.getByRole('group', { name: 'Marks' }).boundingBox())!;
      const axis = page.locator('.strip-link');
      const seen = async () => {
        const box = (await axis.boundingBox())!;
        return box.y > 0 && box.y + box.height <= marks.y + 1;
      };
      await expect.poll(seen).toBe(true);
    });

  it('tells a screen reader trend and band of each strip beside its value', async () => {
    const page = await drive({});
    const told = (strip: string) => page.locator(`.strip-${strip} .readings .unseen`).innerText();
    await expect
      .poll(() => told('coolant'))
      .toMatch(/^(rising|falling|steady) .*belongs between 86\s°C and 94\s°C$/);
    expect(await told('speed')).toMatch(/^(rising|falling) by \d+ in 15\ss$|^steady over 15\ss$/);
  });
});

describe('every place', () => {
  it('is reached by a key, has a link past the header, and names its buttons apart', async () => {
    await api.stopRun();
    const page = await openPage(`${server.url}#/connect`, complaints);
    const places = ['jobs', 'connect', 'drive', 'findings', 'compare'];
    for (const [i, place] of places.entries()) {
      await page.keyboard.press(String(i + 1));
      await expect.poll(() => page.url()).toContain(`#/${place}`);
      await page
        .locator(place === 'findings' ? '.whole' : 'h1')
        .first()
        .waitFor();
      await settled(page);
      const names = await page.locator('button:visible').evaluateAll((all) =>
        all.map((el) => {
          const button = el as unknown as { getAttribute(n: string): string | null; textContent: string };
          return (button.getAttribute('aria-label') ?? button.textContent).replace(/\s+/g, ' ').trim();
        }),
      );
      expect(
        names.filter((n, k) => n === '' || names.indexOf(n) !== k),
        place,
      ).toEqual([]);
      await page.evaluate('document.activeElement.blur()');
      await page.locator('.skip').focus();
      await page.keyboard.press('Enter');
      expect(await page.evaluate('document.activeElement.id')).toBe('main');
      expect(page.url()).toContain(`#/${place}`);
    }
    expect(complaints).toEqual([]);
  });
});
