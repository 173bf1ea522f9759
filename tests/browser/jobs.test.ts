/** Jobs in a real browser: opened, written up, deleted and undone, found again; accessible by day and by night. */
import { join } from 'node:path';

import { beforeEach, describe, expect, vi } from 'vitest';
import { systemClock } from '../../src/core/clock.ts';
import type { UnderWay } from '../../src/desk/api.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { unpackJob } from '../../src/job/archive.ts';
import type { RunningServer } from '../../src/server/server.ts';
import { shortRun } from '../job/drives.ts';
import { POINT } from '../job/point.ts';
import { needs } from '../require.ts';
import { scratch } from '../run/files.ts';
import {
  accessible,
  hasChromium,
  inBrowser,
  LAPTOP,
  LOCALE,
  leave,
  leaveAll,
  openPage,
  PHONE,
  passUntil,
  serve,
  WITHOUT_CHROMIUM,
} from './browser.ts';
import { CLIPPED } from './clipped.ts';

const it = needs(hasChromium, WITHOUT_CHROMIUM);

const folder = scratch();
/** Each test begins with an empty library. */
let library: string;
let begun = 0;
let daemon: Daemon;
let server: RunningServer;

const webRoot = inBrowser(async () => {
  await server?.close();
  await daemon?.close();
});
beforeEach(async () => {
  if (!hasChromium) return;
  library = join(folder, `library-${begun++}`);
  daemon = new Daemon({ clock: systemClock, library });
  server = await serve({ api: daemon, jobs: daemon.jobs, sheets: daemon, webRoot: webRoot() });
});

function pageAt(hash: string, size = LAPTOP, colours: 'light' | 'dark' = 'light') {
  return openPage(server.url + hash, [], { size, colours });
}

const newJob = async (): Promise<string> =>
  (
    await daemon.jobs.create({
      vehicle: 'Practice van',
      complaint: 'Howls <b>uphill</b>',
      profile: { induction: 'turbocharger', fuel: 'diesel' },
    })
  ).job.id;

describe('the place of jobs', () => {
  it('takes a job from opening through words, drive and observation to deleting and undo', async () => {
    const page = await pageAt('#/jobs');
    await page.getByText('No job is open yet.').waitFor();
    await page.getByRole('button', { name: 'Open a job' }).click();
    const form = page.getByRole('form', { name: 'New job' });
    await form.getByLabel('Vehicle').fill('Practice van');
    await form.getByLabel('Plate').fill('AB-C 12');
    await form.getByLabel('Induction').selectOption('turbocharger');
    await form.getByLabel('Fuel').selectOption('diesel');
    await form.getByLabel("Complaint, in the customer's words").fill('Howls <b>uphill</b>');
    await form.getByRole('button', { name: 'Open it' }).click();
    await page.getByRole('heading', { level: 1, name: 'Practice van' }).waitFor();
    await page.getByText('Opened; nothing driven yet.').waitFor();

    await page.getByLabel('What is suspected').fill('Belt slips');
    await page.getByLabel('What is suspected').blur();
    await page.getByRole('group', { name: 'Leaks' }).getByRole('button', { name: 'none' }).click();
    await page.getByText('Leaks: none').waitFor();
    const id = new URL(page.url()).hash.split('/').at(-1)!;
    await expect.poll(async () => (await daemon.jobs.open(id)).job.suspected).toBe('Belt slips');
    expect((await daemon.jobs.open(id)).job.profile).toEqual({ induction: 'turbocharger', fuel: 'diesel' });

    await shortRun({ library: join(library, id) }, 'baseline');
    await page.reload();
    await page.getByText('Driven before the repair; the drive after it is still to come.').waitFor();
    await page.getByText('Boost:').first().waitFor();
    await page.getByText('the verification is missing').waitFor();

    await page.getByRole('button', { name: 'Delete the job' }).click();
    await page.getByText('The job is in the bin.').waitFor();
    await page.getByRole('button', { name: 'Undo' }).click();
    await page.getByRole('heading', { level: 1, name: 'Practice van' }).waitFor();

    await page.getByRole('link', { name: 'All jobs' }).click();
    await page.getByLabel('Find by vehicle, plate, VIN, date or complaint').fill('abc12');
    await page.getByRole('link', { name: /Practice van/ }).waitFor();
    expect(await page.getByText('Howls <b>uphill</b>').count()).toBe(1);
    await page.getByLabel('Find by vehicle, plate, VIN, date or complaint').fill('nothing like it');
    await page.getByText('No job fits these words.').waitFor();
  });

  it('goes on to a photo, the comparison and the sheet in the language chosen', async () => {
    const id = await newJob();
    await shortRun({ library: join(library, id) }, 'baseline');
    await shortRun({ library: join(library, id) }, 'verification', Date.UTC(2026, 2, 4, 8));
    await shortRun({ library: join(library, id) }, 'come-back', Date.UTC(2026, 2, 9, 8));
    const page = await pageAt(`#/jobs/${id}`);
    await page.getByLabel('What the next photo shows').fill('Belt "before"');
    const point =
      'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==';
    await page
      .getByLabel('Add a photo')
      .setInputFiles({ name: 'IMG.png', mimeType: 'image/png', buffer: Buffer.from(point, 'base64') });
    await page.getByRole('img', { name: 'Belt "before"' }).waitFor();
    await page.getByRole('combobox', { name: 'Language of the sheet' }).selectOption('de');
    await expect.poll(async () => (await daemon.jobs.open(id)).job.sheet).toMatchObject({ language: 'de' });
    await page.keyboard.press('Escape');
    await page.getByRole('button', { name: 'Keys, language and units' }).click();
    await page.getByRole('combobox', { name: 'Pressure' }).selectOption('bar');
    await page.getByRole('button', { name: 'Close' }).click();
    const link = page.getByRole('link', { name: 'Hand-over sheet' }).last();
    expect(await link.getAttribute('href')).toContain('units=C,bar,km/h');

    const [sheet] = await Promise.all([
      page.context().waitForEvent('page'),
      page.getByRole('link', { name: 'Hand-over sheet' }).last().click(),
    ]);
    await sheet.getByRole('heading', { level: 1, name: 'Übergabeblatt' }).waitFor();
    await sheet.getByRole('heading', { name: 'Das Fahrzeug kam zurück' }).waitFor();
    await sheet.getByRole('img', { name: 'Belt "before"' }).waitFor();
    await sheet.close();
    const pdf = await page.getByRole('link', { name: 'As PDF' }).getAttribute('href');
    const answer = await page.request.get(new URL(pdf!, server.url).href);
    expect([answer.status(), answer.headers()['content-type']]).toEqual([200, 'application/pdf']);

    const measure = page.getByRole('form', { name: 'Measurements by hand' });
    await measure.getByLabel('What was measured or looked at').selectOption('cooling-pressure');
    await measure.getByLabel('Measured, bar').fill('1,2');
    await measure.getByLabel('Held for, min').fill('10');
    await measure.getByLabel('Expected at least, bar').fill('1');
    await page.reload();
    expect(await measure.getByLabel('Measured, bar').inputValue()).toBe('1,2');
    expect(await measure.getByLabel('Held for, min').inputValue()).toBe('10');
    await measure.getByLabel('Result').selectOption('pass');
    await measure.getByRole('button', { name: 'Note the measurement' }).click();
    await page.getByText('Cooling system holds pressure: 1.200').waitFor();
    expect((await daemon.jobs.open(id)).job.measurements).toMatchObject([
      { value: 120, unit: 'kPa', heldMin: 10, low: 100, high: null, result: 'pass' },
    ]);
    expect(await measure.getByLabel('Measured, bar').inputValue()).toBe('');
    await accessible(page, 'measurements');

    await page.getByRole('button', { name: 'Mark as handed over' }).click();
    const although = page.getByRole('form', { name: 'Mark as handed over' });
    await although.getByText('the codes were not read after the work').waitFor();
    const hand = although.getByRole('button', { name: 'Hand over with this reason' });
    expect(await hand.isDisabled()).toBe(true);
    await accessible(page, 'hand-over');
    await although.getByRole('textbox').fill('Codes are read on Monday');
    await hand.click();
    await page.getByText('Handed over, too little shown. Reason: Codes are read on Monday').waitFor();
    await page.getByRole('button', { name: 'Open it again' }).click();
    await page.getByText('Came back: driven again.').waitFor();

    await page.getByRole('link', { name: 'Before and after' }).click();
    await page.getByRole('heading', { name: 'Come-back against after the repair' }).waitFor();
    await page.getByRole('link', { name: 'To the job: Practice van' }).click();
    await page.getByRole('link', { name: 'Findings' }).first().click();
    await page.getByRole('link', { name: /To the job/ }).click();
    await page.getByRole('button', { name: 'Leave out' }).first().click();
    await page.getByText('The photo is left out.').waitFor();
    await page.getByRole('button', { name: 'Undo' }).click();
    await page.getByRole('img', { name: 'Belt "before"' }).waitFor();
  });

  it('is accessible, list and job, on laptop and phone, by day and by night', async () => {
    const id = await newJob();
    const at = { library: join(library, id) };
    await shortRun(at, 'baseline');
    await shortRun(at, 'verification', Date.UTC(2026, 2, 4, 8));
    await shortRun(at, 'come-back', Date.UTC(2026, 2, 9, 8));
    const { jobs } = daemon;
    await jobs.addPhoto(id, { bytes: POINT, caption: 'Belt "before"', original: true });
    await jobs.observe(id, { runId: null, tS: null, kind: 'leaks', answer: 'none', text: '' });
    await jobs.measure(id, {
      what: 'cooling-pressure',
      name: '',
      value: 120,
      unit: 'kPa',
      heldMin: 10,
      low: 100,
      high: null,
      source: '',
      result: 'pass',
      when: 'after',
      who: '',
      text: '',
    });
    await jobs.handOver(id, 'Codes are read on Monday');
    await jobs.openAgain(id);
    for (const [size, colours] of [
      [LAPTOP, 'light'],
      [PHONE, 'dark'],
    ] as const) {
      const page = await pageAt('#/jobs', size, colours);
      await page.locator('.job-rows li').first().waitFor();
      await accessible(page, `jobs, ${colours}`);
      await page.goto(`${server.url}#/jobs/${id}`);
      await page.getByRole('heading', { name: 'Hand-over' }).waitFor();
      await accessible(page, `job, ${colours}`);
      await leave(page.context());
    }
  });
});

describe('what a job asks that takes long', () => {
  /** Read for as long as somebody waits, until it is restored. */
  function slow(): { readonly asked: UnderWay[]; restore(): void } {
    const asked: UnderWay[] = [];
    const reading = (what: UnderWay['what']) => (run: string, signal?: AbortSignal) => {
      const mine = { what, run, share: 0.4, leftS: 3.2 };
      asked.push(mine);
      return new Promise<never>((_, given) => {
        signal?.addEventListener('abort', () => {
          asked.splice(asked.indexOf(mine), 1);
          given(signal.reason);
        });
      });
    };
    const { jobs } = daemon;
    vi.spyOn(daemon, 'underWay').mockImplementation(() => asked);
    const spies = [
      vi.spyOn(jobs, 'verdicts').mockImplementation(reading('verdicts')),
      vi.spyOn(jobs, 'since').mockImplementation(reading('since')),
      vi.spyOn(jobs, 'handOverNow').mockImplementation(reading('hand-over')),
      vi.spyOn(jobs, 'learn').mockImplementation((job, _run, signal) => reading('learn')(job, signal)),
      vi
        .spyOn(jobs, 'pack')
        .mockImplementation((job, _hide, _file, signal) => reading('archive')(job, signal)),
    ];
    return { asked, restore: () => spies.forEach((spy) => void spy.mockRestore()) };
  }

  for (const [locale, size, words] of [
    [
      LOCALE,
      LAPTOP,
      {
        share: '40 % read',
        left: '40 % read, 3 s left',
        stop: 'Stop reading',
        stopped: 'Stopped. What was read is kept.',
        goOn: 'Go on reading',
        handOver: 'Mark as handed over',
        learn: 'Learn it from a drive',
        all: 'All jobs',
      },
    ],
    [
      'de-DE',
      PHONE,
      {
        share: '40 % gelesen',
        left: '40 % gelesen, noch 3 s',
        stop: 'Lesen abbrechen',
        stopped: 'Abgebrochen. Was gelesen wurde, bleibt.',
        goOn: 'Weiterlesen',
        handOver: 'Als übergeben kennzeichnen',
        learn: 'Von einer Fahrt lernen',
        all: 'Alle Aufträge',
      },
    ],
  ] as const)
    it(`says how far it is and how long it will take, and is given up by a button or by leaving: ${locale}`, async () => {
      const id = await newJob();
      const at = { library: join(library, id) };
      await shortRun(at, 'verification');
      await shortRun(at, 'come-back', Date.UTC(2026, 2, 9, 8));
      const { asked, restore } = slow();
      const names = () => asked.map((a) => a.what).sort();
      const complaints: string[] = [];
      const page = await openPage(`${server.url}#/jobs/${id}`, complaints, {
        size,
        colours: 'light',
        locale,
      });
      const part = (heading: string) => page.locator(`section[aria-labelledby="${heading}"]`);
      const said = (heading: string) => part(heading).getByText(words.left);
      const is = (heading: string) => passUntil(page, async () => (await said(heading).count()) > 0);
      for (const heading of ['drives-h', 'back-h']) {
        await is(heading);
        await part(heading).getByRole('progressbar', { name: words.share, exact: true }).waitFor();
      }
      expect(names()).toEqual(['since', 'verdicts']);
      await page.getByRole('button', { name: words.handOver }).click();
      await is('sheet-h');
      await page.getByLabel(words.learn).selectOption({ index: 1 });
      await is('profile-h');
      expect(await page.evaluate(CLIPPED)).toEqual([]);
      await accessible(page, `a job being read, ${locale}`);

      for (const [heading, left] of [
        ['profile-h', ['hand-over', 'since', 'verdicts']],
        ['sheet-h', ['since', 'verdicts']],
        ['drives-h', ['since']],
      ] as const) {
        await part(heading).getByRole('button', { name: words.stop }).click();
        await expect.poll(names).toEqual(left);
        await expect.poll(() => part(heading).getByRole('progressbar').count()).toBe(0);
      }
      expect((await daemon.jobs.open(id)).job.closedAt).toBeNull();
      await part('drives-h').getByText(words.stopped).waitFor();
      expect(await part('drives-h').locator('.verdict-pair').count()).toBe(0);
      await page.getByRole('link', { name: words.all }).click();
      await expect.poll(names).toEqual([]);

      await page.goBack();
      await is('drives-h');
      await part('drives-h').getByRole('button', { name: words.stop }).click();
      await part('drives-h').getByText(words.stopped).waitFor();
      restore();
      await part('drives-h').getByRole('button', { name: words.goOn }).click();
      await part('drives-h').locator('.verdict-pair').nth(1).waitFor();
      expect(await part('drives-h').getByText(words.stopped).count()).toBe(0);
      expect(complaints).toEqual([]);
    });

  for (const [locale, size, words] of [
    [LOCALE, LAPTOP, { pack: 'Pack the job (.zip)', left: '40 % done, 3 s left', stop: 'Stop' }],
    ['de-DE', PHONE, { pack: 'Auftrag packen (.zip)', left: '40 % fertig, noch 3 s', stop: 'Abbrechen' }],
  ] as const)
    it(`packs with the same, leaves nothing when stopped, and saves the whole: ${locale}`, async () => {
      const id = await newJob();
      await shortRun({ library: join(library, id) }, 'verification');
      const { asked, restore } = slow();
      const packing = () => asked.filter((a) => a.what === 'archive').length;
      const complaints: string[] = [];
      const url = `${server.url}#/jobs/${id}`;
      const page = await openPage(url, complaints, { size, colours: 'light', locale });
      const part = page.locator('section[aria-labelledby="sheet-h"]');
      await part.getByRole('link', { name: words.pack }).click();
      await passUntil(page, async () => (await part.getByText(words.left).count()) > 0);
      await part.getByRole('progressbar', { name: words.left.split(',')[0]!, exact: true }).waitFor();
      expect(await page.evaluate(CLIPPED)).toEqual([]);
      await accessible(page, `a job being packed, ${locale}`);
      await part.getByRole('button', { name: words.stop }).click();
      await expect.poll(packing).toBe(0);
      await expect.poll(() => part.getByRole('progressbar').count()).toBe(0);

      restore();
      const [saved] = await Promise.all([
        page.waitForEvent('download'),
        part.getByRole('link', { name: words.pack }).click(),
      ]);
      expect(saved.suggestedFilename()).toBe(`${id}.zip`);
      const elsewhere = join(folder, `elsewhere-${locale}`);
      expect(await unpackJob(await saved.path(), elsewhere)).toEqual({ id, remarks: [] });
      expect(complaints).toEqual([]);
    });
});

describe('practice jobs', () => {
  for (const [locale, size, words] of [
    [LOCALE, LAPTOP, { add: 'Add the practice jobs', share: '40 % done', stop: 'Stop' }],
    ['de-DE', PHONE, { add: 'Übungsaufträge anlegen', share: '40 % fertig', stop: 'Abbrechen' }],
  ] as const)
    it(`show how far they are, and are given up by a button: ${locale}`, async () => {
      const own = new Daemon({
        clock: systemClock,
        library: join(folder, `practice-${locale}`),
        makePractice: (_library, _say, { signal, progress }) => {
          progress(0.4);
          return new Promise((_, given) => signal.addEventListener('abort', () => given(signal.reason)));
        },
      });
      const at = await serve({ api: own, jobs: own.jobs, webRoot: webRoot() });
      try {
        const complaints: string[] = [];
        const page = await openPage(`${at.url}#/jobs`, complaints, {
          size,
          colours: 'light',
          locale,
        });
        await page.getByRole('button', { name: words.add }).click();
        const bar = page.getByRole('progressbar', { name: words.share });
        await passUntil(page, async () => (await bar.count()) > 0);
        expect(await bar.getAttribute('value')).toBe('0.4');
        expect(await page.evaluate(CLIPPED)).toEqual([]);
        await accessible(page, `practice jobs being made, ${locale}`);
        await page.getByRole('button', { name: words.stop, exact: true }).click();
        await page.getByRole('button', { name: words.add }).waitFor();
        expect(await bar.count()).toBe(0);
        const { practice, troubles } = await own.jobs.list('');
        expect([practice.state, troubles, own.underWay()]).toEqual(['none', [], []]);
        expect(complaints).toEqual([]);
      } finally {
        await leaveAll();
        await at.close();
        await own.close();
      }
    });
});
