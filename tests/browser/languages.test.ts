/**
 * The page in another language: a drive with a spoken fault in German from the first click to the finding, and every
 * place in a language 40 % longer than English, on all sizes, with nothing clipped. With HANDBACK_SHOTS=FOLDER
 * pictures of every place are kept, in German as well.
 */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import type { LiveView } from '../../src/words/views.ts';
import { needs } from '../require.ts';
import {
  type BuiltPage,
  builtPage,
  hasChromium,
  inBrowser,
  LAPTOP,
  leave,
  openPage,
  PHONE,
  sentence,
  settled,
  show,
  WITHOUT_CHROMIUM,
} from './browser.ts';
import { CLIPPED } from './clipped.ts';
import { pseudoPlugin } from './pseudo-page.ts';
import { SimulatedDrive } from './simulated.ts';

const it = needs(hasChromium, WITHOUT_CHROMIUM);
const SHOTS = process.env.HANDBACK_SHOTS;

let wordy: BuiltPage;
let drive: SimulatedDrive;
let view: LiveView | null;
let complaints: string[];

const german = inBrowser(async () => drive?.close());

beforeAll(async () => {
  wordy = await builtPage([pseudoPlugin()]);
});
afterAll(async () => {
  wordy?.remove();
});

async function begin(webRoot: string): Promise<void> {
  drive = new SimulatedDrive();
  view = null;
  complaints = [];
  drive.daemon.subscribe((event, data) => {
    if (event === 'view') view = data as LiveView;
  });
  await drive.serve(webRoot);
  await drive.settle(
    drive.daemon.connect({ link: 'sim:twin-charged?route=warm-road-test&fault=clutch-never-closes' }),
  );
}

/** What the page would say aloud, by a machine with an English and a German voice. */
const LISTEN = `globalThis.uttered = [];
Object.defineProperty(globalThis, 'SpeechSynthesisUtterance', { value: class { constructor(text) { this.text = text; } } });
Object.defineProperty(globalThis, 'speechSynthesis', { value: {
  getVoices: () => [
    { lang: 'en-GB', localService: true, default: true },
    { lang: 'de-DE', localService: true, default: false },
  ],
  addEventListener() {},
  cancel() {},
  speak(u) { uttered.push(u.voice.lang + ': ' + u.text); },
} });`;

describe('a drive in German', () => {
  it('is said, shown and judged in German, pressure in bar, after a fault was spoken', async () => {
    await begin(german());
    const page = await openPage(`${drive.url}#/connect`, complaints, {
      locale: 'de-DE',
      before: LISTEN,
    });
    expect(await page.locator('html').getAttribute('lang')).toBe('de');
    await page.getByRole('button', { name: 'Aufzeichnung starten' }).click();
    const dialog = page.getByRole('dialog', { name: 'Aufzeichnung starten' });
    await dialog.getByText('Verbrühungsgefahr').first().waitFor();
    await dialog.getByRole('button', { name: 'Aufzeichnung starten' }).click();
    await drive.standing((state) => state.run !== null);
    await sentence(page, /^Aufzeichnung/);
    drive.page = page;
    expect(await drive.until(() => (view?.boost.engagements.missed ?? 0) > 0, 200)).toBe(true);
    expect(await drive.until(() => drive.said.some((s) => s.finding.system === 'boost'), 120)).toBe(true);
    await page.getByRole('heading', { name: 'Bisher angesagt' }).waitFor();
    const uttered = (await page.evaluate('uttered')) as string[];
    expect(uttered.length).toBeGreaterThan(0);
    expect(uttered.filter((u) => !u.startsWith('de-DE: '))).toEqual([]);
    await page.locator('.strip-boost .unit', { hasText: 'bar' }).waitFor();
    await page.keyboard.press('g');
    await page.locator('.glance-line.bad', { hasText: 'nicht erreicht' }).waitFor();
    await page.keyboard.press('g');
    await page.getByRole('button', { name: 'Stopp' }).click();
    await page.getByRole('button', { name: 'Nochmals für Stopp' }).click();
    await drive.standing((state) => state.run === null);
    await page.getByRole('heading', { name: /Ladedruck.*: Fehler nachgewiesen/ }).waitFor();
    expect(complaints).toEqual([]);
  });

  it('can be changed to English and to other units, and is remembered', async () => {
    await begin(german());
    const page = await openPage(`${drive.url}#/connect`, complaints, { locale: 'de-DE' });
    await page.getByRole('heading', { name: 'Antwortet das Auto?' }).waitFor();
    await page.keyboard.press('l');
    await page.getByRole('heading', { name: 'Is the car talking?' }).waitFor();
    expect(await page.locator('html').getAttribute('lang')).toBe('en');
    await page.keyboard.press('?');
    await page.getByRole('combobox', { name: 'Pressure' }).selectOption('psi');
    await page.reload();
    await page.getByRole('heading', { name: 'Is the car talking?' }).waitFor();
    await page.keyboard.press('?');
    expect(await page.getByRole('combobox', { name: 'Pressure' }).inputValue()).toBe('psi');
    expect(complaints).toEqual([]);
  });
});

/** 200 % of a screen is half of its pixels. */
const SIZES = {
  laptop: LAPTOP,
  'laptop-200': { width: 683, height: 384 },
  phone: PHONE,
  landscape: { width: 844, height: 390 },
  'phone-200': { width: 320, height: 422 },
} as const;

/** In its places, all of them, on one drive. */
async function everyPlace(look: (hash: string, name: string) => Promise<void>): Promise<void> {
  const run = await drive.settle(drive.daemon.startRun({ purpose: 'verification', vehicle: 'Velm 1.4 T-S' }));
  await drive.until(() => drive.said.some((s) => s.finding.system === 'boost'), 200);
  await look('#/drive', 'drive');
  await look('#/glance', 'glance');
  await drive.settle(drive.daemon.stopRun());
  await look('#/glance', 'glance at rest');
  await look('#/connect', 'connect');
  const { job } = await drive.daemon.jobs.create({
    vehicle: 'Velm 1.4 T-S',
    plate: 'HB 1402',
    complaint: 'No push below 3000, hums when cold',
    profile: { induction: 'twin-charged', fuel: 'petrol' },
  });
  await drive.daemon.jobs.fileRun(run.id, job.id, 'verification');
  await look('#/jobs', 'jobs');
  await look(`#/jobs/${job.id}`, 'job');
  await look(`#/findings/${run.id}`, 'findings');
  await look(`#/compare?before=${run.id}&after=${run.id}`, 'compare');
}

async function shot(page: Page, name: string): Promise<void> {
  if (!SHOTS) return;
  mkdirSync(SHOTS, { recursive: true });
  await page.screenshot({ path: join(SHOTS, `${name}.png`), fullPage: !/drive|glance/.test(name) });
}

describe('a language 40 % longer', () => {
  // Fresh on one size a language; on the others as that turned and zoomed.
  for (const [lang, built, sizes] of [
    ['qps', () => wordy.folder, ['laptop', 'laptop-200', 'phone', 'landscape', 'phone-200']],
    ['de', german, ['phone', 'landscape', 'phone-200', 'laptop', 'laptop-200']],
  ] as const)
    it(`has room on every place and every size (${lang})`, async () => {
      await begin(built());
      const cut: string[] = [];
      await everyPlace(async (hash, name) => {
        let page: Page | null = null;
        for (const size of sizes) {
          const look = { size: SIZES[size], colours: size === 'laptop' ? 'light' : 'dark' } as const;
          if (page) await show(page, look);
          else {
            page = await openPage(drive.url + hash, complaints, { ...look, locale: 'de-DE' });
            await settled(page);
          }
          expect(await page.locator('html').getAttribute('lang')).toBe(lang);
          for (const text of (await page.evaluate(CLIPPED)) as string[]) cut.push(`${name} ${size}: ${text}`);
          await shot(page, `${lang}-${name}-${size}`);
        }
        if (page) await leave(page.context());
      });
      expect(cut).toEqual([]);
      expect(complaints).toEqual([]);
    });
});
