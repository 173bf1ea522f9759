/** A library of a later format in a real browser: whatever is still offered, at every place, is not refused. */
import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect } from 'vitest';
import { systemClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { createJob } from '../../src/job/library.ts';
import { LIBRARY_FILE, LIBRARY_FORMAT } from '../../src/run/library-format.ts';
import { shortRun } from '../job/drives.ts';
import { POINT } from '../job/point.ts';
import { needs } from '../require.ts';
import { scratch } from '../run/files.ts';
import { hasChromium, inBrowser, openPage, serve, WITHOUT_CHROMIUM } from './browser.ts';

const it = needs(hasChromium, WITHOUT_CHROMIUM);
const LATER = 'written by a later Handback (9.1.0';

const library = join(scratch(), 'library');
const webRoot = inBrowser();

interface Visited {
  readonly hash: string;
  /** What is there once everything of it is. */
  readonly whole: string;
  /** What is offered where it can be written. */
  readonly offers: readonly string[];
}

/** A job with something in every part of its page, a drive in it and one that belongs to none. */
async function madeLibrary(): Promise<readonly Visited[]> {
  const { job, folder } = await createJob(library, { vehicle: 'Practice van' }, systemClock);
  const drive = await shortRun({ library: folder }, 'baseline');
  await shortRun({ library }, 'other');
  const daemon = new Daemon({ clock: systemClock, library });
  await daemon.open();
  await daemon.jobs.observe(job.id, { runId: null, tS: null, kind: 'leaks', answer: 'none', text: '' });
  await daemon.jobs.addPhoto(job.id, { bytes: POINT, caption: 'belt', original: true });
  await daemon.close();
  return [
    {
      hash: '#/jobs',
      whole: '.jobs .loose',
      offers: ['Open a job', 'Take in a packed job', 'Delete'],
    },
    {
      hash: `#/jobs/${job.id}`,
      whole: '.job .drive-line',
      offers: [
        'Record baseline',
        'Read codes',
        'note it',
        'Add a photo',
        'Mark as handed over',
        'Delete the job',
        'Leave out',
        'Take out',
      ],
    },
    { hash: '#/drive', whole: '.drive', offers: ['Start recording'] },
    { hash: `#/findings/${drive.id}`, whole: '.findings .mark-list', offers: ['Edit', 'Take out'] },
    { hash: '#/compare', whole: '.compare', offers: [] },
    { hash: '#/connect', whole: '.connect .talking', offers: ['Record without a job'] }, // last: there the car is let go
  ];
}

/** What the page asked to be changed. */
interface Calls {
  open: number;
  readonly refused: string[];
}

/** The library as it is now, behind a page that is connected to a car. */
async function withPage(work: (page: Page, calls: Calls) => Promise<void>): Promise<void> {
  const daemon = new Daemon({ clock: systemClock, library });
  await daemon.open();
  await daemon.connect({ link: 'sim:twin-charged?speedup=20' });
  const server = await serve({ api: daemon, jobs: daemon.jobs, sheets: daemon, webRoot: webRoot() });
  try {
    const page = await openPage(server.url, []);
    const calls: Calls = { open: 0, refused: [] };
    page.on('request', (asked) => {
      if (asked.method() === 'POST') calls.open++;
    });
    page.on('response', async (answer) => {
      if (answer.request().method() !== 'POST') return;
      if (answer.status() === 409) calls.refused.push(`${answer.url()}: ${await answer.text()}`);
      calls.open--;
    });
    await work(page, calls);
  } finally {
    await server.close();
    await daemon.close();
  }
}

const CONTROLS = 'main :is(button, input, select, textarea):enabled';

async function openPlace(page: Page, { hash, whole }: Visited): Promise<void> {
  await page.evaluate(`location.hash = ${JSON.stringify(hash)}`);
  await page.locator(whole).first().waitFor();
  await page.evaluate("for (const d of document.querySelectorAll('main details')) d.open = true");
}

/** Names of all that can be pressed, typed into or chosen from. */
const offered = (page: Page): Promise<string[]> =>
  page.evaluate(
    `[...document.querySelectorAll('${CONTROLS}')].map((c) => c.ariaLabel ?? (c.labels?.[0] ?? c).textContent)`,
  );

/** Does to everything that is offered what a person could, one after the other. */
const USE_ALL = `for (const element of document.querySelectorAll('${CONTROLS}')) {
  if (element.localName === 'button' || /checkbox|radio/.test(element.type)) {
    element.click();
    continue;
  }
  if (element.localName === 'select') element.selectedIndex = element.options.length - 1;
  else if (element.type === 'file') {
    const given = new DataTransfer();
    given.items.add(new File(['x'], 'x.zip', { type: 'application/zip' }));
    element.files = given.files;
  } else element.value = '17';
  for (const kind of ['input', 'change', 'blur']) element.dispatchEvent(new Event(kind, { bubbles: true }));
}`;

describe('a library of a later format', () => {
  it('offers nothing that would be refused, and says why', async () => {
    const places = await madeLibrary();
    await withPage(async (page) => {
      for (const place of places) {
        await openPlace(page, place);
        const names = async () => (await offered(page)).join(' | ');
        for (const name of place.offers) await expect.poll(names).toContain(name);
      }
    });
    const stamp = { format: `handback.library/${LIBRARY_FORMAT + 1}`, by: '9.1.0' };
    writeFileSync(join(library, LIBRARY_FILE), JSON.stringify(stamp));
    await withPage(async (page, calls) => {
      for (const place of places) {
        await openPlace(page, place);
        await page.locator('body').getByText(LATER).first().waitFor();
        const names = await offered(page);
        for (const name of place.offers) expect(names.join(' | ')).not.toContain(name);
        for (const _again of ['', 'what was unfolded by that']) {
          await page.evaluate(USE_ALL);
          await expect.poll(() => calls.open).toBe(0);
          await openPlace(page, place.hash === '#/connect' ? { ...place, whole: '.connect' } : place);
        }
      }
      expect(calls.refused).toEqual([]);
      // What was not offered is refused, and this test would have heard it.
      const headers = { 'content-type': 'application/json', 'x-handback': '1' };
      const call = { method: 'POST', headers, body: '{"vehicle":"x"}' };
      await page.evaluate(`fetch('/api/jobs', ${JSON.stringify(call)}).then((a) => a.text())`);
      await expect.poll(() => calls.refused.join()).toContain(LATER);
    });
    rmSync(library, { recursive: true });
  });
});
