/** No letter is lost: fields of a job at any latency, over a restart of the daemon, a reload, and in two tabs at once. */
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { systemClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import type { RunningServer } from '../../src/server/server.ts';
import { needs } from '../require.ts';
import { scratch } from '../run/files.ts';
import { hasChromium, inBrowser, leave, openPage, passUntil, serve, WITHOUT_CHROMIUM } from './browser.ts';

const it = needs(hasChromium, WITHOUT_CHROMIUM);

const library = join(scratch(), 'library');
let daemon: Daemon;
let server: RunningServer;

async function start(port?: number): Promise<void> {
  daemon = new Daemon({ clock: systemClock, library });
  server = await serve({ api: daemon, jobs: daemon.jobs, sheets: daemon, webRoot: webRoot() }, port);
}

async function stop(): Promise<void> {
  await server.close();
  await daemon.close();
}

const webRoot = inBrowser();
beforeAll(async () => {
  if (hasChromium) await start();
});
afterAll(async () => {
  if (server) await stop();
});

const COMPLAINT = "Customer's complaint";
const FIELDS = [
  ['complaint', "Complaint, in the customer's words", 'Howls uphill, then the pull is gone'],
  ['suspected', 'What is suspected', 'The clutch closes late'],
  ['vehicle', 'Vehicle', 'Practice estate, long'],
  ['plate', 'Plate', 'AB-C 12'],
  ['reference', 'Own reference', 'W-2026-17'],
  ['technician', 'Technician', 'M. Brandt'],
  ['weather', 'Weather and road of the drives', 'Dry, hilly, 8 degrees'],
] as const;

async function newJob(): Promise<string> {
  return (await daemon.jobs.create({ vehicle: COMPLAINT })).job.id;
}

async function opened(id: string): Promise<Page> {
  const page = await openPage(`${server.url}#/jobs/${id}`, []);
  await page.getByRole('heading', { name: 'The visit', exact: true }).waitFor();
  return page;
}

const field = (page: Page, label: string) =>
  page.getByRole('main').getByRole('textbox', { name: label, exact: true });
const jobNow = async (id: string) => (await daemon.jobs.open(id)).job;

/** Every answer to a change comes so much later. */
async function slow(page: Page, ms: number): Promise<void> {
  await page.route('**/api/jobs/**', async (route) => {
    if (route.request().method() !== 'POST') return route.continue();
    const answer = await route.fetch();
    await new Promise((resolve) => setTimeout(resolve, ms));
    await route.fulfill({ response: answer });
  });
}

describe('typing into a job', () => {
  for (const ms of [0, 50, 800])
    it(`loses no letter when answers take ${ms} ms`, async () => {
      const id = await newJob();
      const page = await opened(id);
      await slow(page, ms);
      for (const [, label, text] of FIELDS) {
        await field(page, label).fill('');
        await field(page, label).pressSequentially(text, { delay: 3 });
        await page.keyboard.press('Tab');
      }
      for (const [, label, text] of FIELDS) expect(await field(page, label).inputValue()).toBe(text);
      // A field gone back to while its first save is under way.
      const last = field(page, FIELDS[6][1]);
      await last.press('End');
      await last.pressSequentially(', wind');
      await last.blur();

      const note = field(page, 'In your words (may stay empty)');
      await note.pressSequentially('Hisses at idle');
      await page.getByRole('button', { name: 'note it' }).click();
      await note.press('End');
      await note.pressSequentially(' and smells');
      await page.locator('.seen li').filter({ hasText: 'Hisses at idle' }).waitFor();
      await expect.poll(async () => (await jobNow(id)).observations.length).toBe(1);
      const noted = (await jobNow(id)).observations[0]!.text;
      // Whatever was typed before the click is in the note, whatever came after it still in the field.
      await expect
        .poll(async () => `${noted} ${(await note.inputValue()).trim()}`)
        .toBe('Hisses at idle and smells');

      for (const [name, , text] of FIELDS)
        await expect
          .poll(async () => (await jobNow(id))[name])
          .toBe(name === 'weather' ? `${text}, wind` : text);
      expect(await last.inputValue()).toBe('Dry, hilly, 8 degrees, wind');
      await leave(page.context());
    });

  it('goes on while the daemon is started anew, and says what is not saved yet', async () => {
    const id = await newJob();
    const page = await opened(id);
    const complaint = field(page, FIELDS[0][1]);
    await complaint.pressSequentially('Howls uph');
    const port = Number(new URL(server.url).port);
    await stop();
    await complaint.pressSequentially('ill');
    await complaint.blur();
    await page.getByText('Not saved yet: no answer from Handback. It is kept in this browser').waitFor();
    await field(page, FIELDS[1][1]).pressSequentially('Belt');
    await start(port);
    await passUntil(page, async () => (await jobNow(id)).complaint === 'Howls uphill');
    await expect.poll(() => page.getByText('Not saved yet').count()).toBe(0);
    await field(page, FIELDS[1][1]).pressSequentially(' slips');
    await field(page, FIELDS[1][1]).blur();
    await expect.poll(async () => (await jobNow(id)).suspected).toBe('Belt slips');
    await leave(page.context());
  });

  it('has after a reload what was typed without a connection, and saves it', async () => {
    const id = await newJob();
    const page = await opened(id);
    await page.route('**/api/jobs/**', (route) =>
      route.request().method() === 'POST' ? route.abort() : route.continue(),
    );
    await field(page, FIELDS[0][1]).pressSequentially('Never left the field');
    await field(page, 'What the next photo shows').pressSequentially('Pump, old');
    await page.reload();
    await page.getByText('Not saved yet').waitFor();
    expect(await field(page, FIELDS[0][1]).inputValue()).toBe('Never left the field');
    expect(await field(page, 'What the next photo shows').inputValue()).toBe('Pump, old');
    await page.unroute('**/api/jobs/**');
    await page.reload();
    await expect.poll(async () => (await jobNow(id)).complaint).toBe('Never left the field');
    await expect.poll(() => page.getByText('Not saved yet').count()).toBe(0);
    await leave(page.context());
  });

  it('takes over what a tab that is gone had left, not what another one still holds', async () => {
    const id = await newJob();
    const first = await opened(id);
    const block = (page: Page) =>
      page.route('**/api/jobs/**', (route) =>
        route.request().method() === 'POST' ? route.abort() : route.continue(),
      );
    await block(first);
    await field(first, FIELDS[1][1]).pressSequentially('Half a sen');
    const second = await first.context().newPage();
    await block(second);
    await second.goto(`${server.url}#/jobs/${id}`);
    await second.getByRole('heading', { name: 'The visit', exact: true }).waitFor();
    expect(await field(second, FIELDS[1][1]).inputValue()).toBe('');
    await first.close();
    await second.unroute('**/api/jobs/**');
    await expect
      .poll(async () => {
        await second.reload();
        await second.getByRole('heading', { name: 'The visit', exact: true }).waitFor();
        return field(second, FIELDS[1][1]).inputValue();
      })
      .toBe('Half a sen');
    await expect.poll(async () => (await jobNow(id)).suspected).toBe('Half a sen');
    await leave(second.context());
  });

  it('shows both texts where two tabs wrote into one field, and merges what they wrote into different ones', async () => {
    const id = await newJob();
    const [a, b] = await Promise.all([opened(id), opened(id)]);
    await field(a, FIELDS[0][1]).fill('Written in A');
    await field(a, FIELDS[0][1]).blur();
    await expect.poll(async () => (await jobNow(id)).complaint).toBe('Written in A');
    await field(b, 'Plate').fill('B 7');
    await field(b, 'Plate').blur();
    await expect.poll(async () => (await jobNow(id)).plate).toBe('B 7');
    expect((await jobNow(id)).complaint).toBe('Written in A');

    const suspected = FIELDS[1][1];
    await field(b, suspected).fill('Belt');
    await field(a, suspected).fill('Clutch');
    await field(a, suspected).blur();
    await expect.poll(async () => (await jobNow(id)).suspected).toBe('Clutch');
    await field(b, suspected).blur();
    await b.getByText('this was changed elsewhere meanwhile').waitFor();
    expect(await b.locator('blockquote').textContent()).toBe('Clutch');
    expect(await field(b, suspected).inputValue()).toBe('Belt');
    expect((await jobNow(id)).suspected).toBe('Clutch');
    await b.getByRole('button', { name: 'Keep mine' }).click();
    await expect.poll(async () => (await jobNow(id)).suspected).toBe('Belt');

    await field(a, suspected).fill('Clutch, surely');
    await field(a, suspected).blur();
    await a.getByText('this was changed elsewhere meanwhile').waitFor();
    await a.getByRole('button', { name: 'Take that' }).click();
    await expect.poll(() => field(a, suspected).inputValue()).toBe('Belt');
    expect((await jobNow(id)).suspected).toBe('Belt');

    const fan = field(a, 'Fan cuts in at, °C');
    await fan.fill('ninety');
    await fan.blur();
    await a.getByText('Not saved: “ninety” is no number.').waitFor();
    await fan.fill('96');
    await fan.blur();
    await field(b, 'Thermostat opens at, °C').fill('88');
    await field(b, 'Thermostat opens at, °C').blur();
    await expect
      .poll(async () => (await jobNow(id)).profile)
      .toMatchObject({
        fanOnC: { value: 96 },
        thermostatC: { value: 88 },
      });
    await leave(a.context());
    await leave(b.context());
  });

  it('of a car that came back is kept as an event of its own', async () => {
    const id = await newJob();
    await daemon.jobs.handOver(id, 'Fetched');
    const page = await opened(id);
    const fill = async (label: string, text: string) => {
      await field(page, label).fill(text);
      await field(page, label).blur();
    };
    await fill('What the customer says now', 'Howls again');
    await fill('Odometer when it came back, km', '149 000');
    await expect
      .poll(async () => (await jobNow(id)).comeBack)
      .toEqual({ complaint: 'Howls again', odometerKm: 149_000 });
    await page.getByText('Came back: not driven again yet.').waitFor();
    await fill('Odometer when it came back, km', '');
    await expect.poll(async () => (await jobNow(id)).comeBack).toEqual({ complaint: 'Howls again' });
    await leave(page.context());
  });
});
