/** The built page in a real browser against the made-up daemon: what a technician does, and what may go wrong. */
// biome-ignore-all lint/performance/useDomNodeTextContent: what a reader sees is what is tested, not what is hidden
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import type { Locator, Page } from 'playwright-core';
import { beforeEach, describe, expect, vi } from 'vitest';
import { addDialect } from '../../src/adapter/dialects.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { asIs } from '../../src/core/says.ts';
import type { NewObservation } from '../../src/desk/jobs-api.ts';
import { Written } from '../../src/desk/written.ts';
import type { RunningServer } from '../../src/server/server.ts';
import type { LiveView } from '../../src/words/views.ts';
import { plain } from '../adapter/plain.ts';
import { PATIENCE_MS } from '../patience.ts';
import { needs } from '../require.ts';
import { FakeDaemon, type FakeOptions } from '../server/fake-daemon.ts';
import { fakeJobs } from '../server/fake-jobs.ts';
import {
  accessible,
  hasChromium,
  inBrowser,
  LAPTOP,
  LARGE,
  type Look,
  leave,
  openPage,
  PHONE,
  pass,
  passUntil,
  sentence,
  serve,
  sharedBrowser,
  show,
  WITHOUT_CHROMIUM,
} from './browser.ts';

const it = needs(hasChromium, WITHOUT_CHROMIUM);

let clock: ManualClock;
let api: FakeDaemon;
let server: RunningServer;
let observed: NewObservation[];
/** Errors and warnings of every page of a test; there must be none that the test does not expect. */
let complaints: string[];

const webRoot = inBrowser(async () => server?.close());

async function begin(options: Omit<FakeOptions, 'clock'> = {}, port?: number): Promise<void> {
  clock = new ManualClock(1e9);
  api = new FakeDaemon({ clock, ...options });
  server = await serve({ api, jobs: fakeJobs(api, observed), webRoot: webRoot(), clock }, port);
}

beforeEach(async () => {
  complaints = [];
  observed = [];
  if (hasChromium) await begin({ prerollS: 420 });
});

const open = (hash = '', look: Look = {}): Promise<Page> => openPage(server.url + hash, complaints, look);

/** Recording, with all controls: the made-up car drives just then, and a companion says so. */
async function recording(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Try it on the simulated car' }).click();
  await sentence(page, /^Recording/);
  await rideAlong(page);
}

/** Whether the car moves, is looked at once a second; so are the figures. */
async function moves(page: Page): Promise<Locator> {
  const along = page.getByRole('button', { name: 'I ride along' });
  await passUntil(page, () => along.isVisible());
  return along;
}

async function rideAlong(page: Page): Promise<void> {
  await (await moves(page)).click();
  await pass(page, 1000);
}

const range = (page: Page) => page.locator('.range').innerText();

/** The range shown becomes as asked; figures follow at a pace that can be read. */
const ranges = (page: Page, so: (shown: string) => boolean) =>
  passUntil(page, async () => so(await range(page)));

/** A checksum of what the strips show. */
const picture = (page: Page, strip: string) =>
  page.locator(`.strip-${strip} canvas`).evaluate((el) => {
    const canvas = el as unknown as { toDataURL(): string };
    return canvas.toDataURL();
  });

describe('a newcomer', () => {
  it('comes from nothing to a moving chart with one click', async () => {
    const page = await open();
    await page.getByRole('heading', { name: 'Is the car talking?' }).waitFor();
    const first = page.getByRole('button', { name: /Try|Look/ }).first();
    expect(await first.innerText()).toBe('Try it on the simulated car');
    await first.click();
    await sentence(page, /^Recording/);
    const before = await picture(page, 'boost');
    await clock.advance(5000);
    await expect.poll(() => picture(page, 'boost')).not.toBe(before);
    expect(api.calls.map((c) => c.split(' ')[0])).toEqual(['connect', 'start']);
    expect(complaints).toEqual([]);
  });

  it('is shown the adapter first when one is there, and told what to do when it does not open', async () => {
    await server.close();
    await begin({ ports: [{ path: '/dev/ttyX0', identity: 'serial 12', likelyAdapter: true }] });
    const page = await open('#/connect');
    const first = page.getByRole('heading', { level: 2 }).first();
    await expect.poll(() => first.innerText()).toBe('Adapters on this laptop');
    await page.getByRole('button', { name: 'Connect', exact: true }).first().click();
    const alert = page.getByRole('alert');
    await expect.poll(() => alert.innerText()).toBe('/dev/ttyX0 cannot be opened. Plug it in again.');
    const got = page.getByRole('region', { name: 'How far it got' });
    expect(await got.getByRole('listitem').filter({ hasText: 'here it stopped' }).innerText()).toContain(
      'The port opens',
    );
    expect(await got.innerText()).toContain('Close other programs that use the port');
    await got.getByRole('button', { name: 'Try again' }).click();
    await expect.poll(() => api.calls).toEqual(['connect /dev/ttyX0', 'connect /dev/ttyX0']);
  });

  it('chooses what the adapter speaks from all that is known, a third dialect among it', async () => {
    const remove = addDialect('plain', asIs('plain adapter'), plain);
    try {
      const page = await open('#/connect');
      await page.getByText('Another port, dialect or speed').click();
      const speaks = page.getByLabel('Dialect');
      await expect
        .poll(() => speaks.getByRole('option').allInnerTexts())
        .toEqual(['find out', 'AT-command text', 'serial-line CAN', 'plain adapter']);
      await page.getByLabel('Port', { exact: true }).fill('/dev/pts/9');
      await speaks.selectOption({ label: 'plain adapter' });
      await page.locator('form').getByRole('button', { name: 'Connect', exact: true }).click();
      await expect.poll(() => api.calls).toEqual(['connect /dev/pts/9 plain']);
    } finally {
      remove();
    }
  });

  it('reads the cautions before a recording, and its words reach the daemon', async () => {
    await api.connect({ link: 'sim:twin' });
    const page = await open('#/connect');
    await page.getByRole('button', { name: 'Start recording' }).click();
    const dialog = page.getByRole('dialog', { name: 'Start recording' });
    expect(await dialog.innerText()).toContain('Never operate the laptop while driving');
    await dialog.getByLabel('Vehicle').fill('Blue estate');
    await dialog.getByLabel('Induction').selectOption('twin-charged');
    await dialog.getByRole('button', { name: 'Start recording' }).click();
    await sentence(page, /^Recording/);
    expect(api.calls.at(-1)).toContain('"vehicle":"Blue estate"');
    expect(api.calls.at(-1)).toContain('"induction":"twin-charged"');
  });
});

describe('the drive', () => {
  it('says the state, the next leg, the findings and the health of the link in words', async () => {
    const page = await open();
    await recording(page);
    await sentence(page, /Coolant settled at 90 °C\. Last engagement missed\./);
    const side = page.getByRole('complementary', { name: 'What next' });
    const text = await side.innerText();
    expect(text).toContain('Pull from 1200 to 3800 rpm in 3rd gear');
    expect(text).toContain('No boost at the last engagement.');
    expect(text).toMatch(/2 of 4 driven/);
    expect(text).toMatch(/31 of 41 possible/);
    expect(text).not.toContain('Satellite');
    await api.useReceiver({ port: '/dev/ttyACM0' });
    await side.getByText('Satellite receiver has a fix from 9 satellites.').waitFor();
    const map = page.getByRole('img', {
      name: /Evidence by engine speed and demand: 4 of 18 fields enough, 1 some, 2 with boost missing/,
    });
    expect(await map.count()).toBe(1);
  });

  it('follows or holds: what was zoomed to stays while new data come', async () => {
    const page = await open();
    await recording(page);
    const following = await range(page);
    await clock.advance(3000);
    await ranges(page, (shown) => shown !== following);
    const plot = (await page.locator('.strip-boost .u-over').boundingBox())!;
    await page.mouse.move(plot.x + 100, plot.y + 20);
    await page.mouse.down();
    await page.mouse.move(plot.x + 300, plot.y + 20, { steps: 4 });
    await page.mouse.up();
    const held = await range(page);
    expect(held).not.toBe(following);
    await clock.advance(10_000);
    await sentence(page, /^Recording 7:1\d/);
    expect(await range(page)).toBe(held);
    await page.keyboard.press('f');
    await ranges(page, (shown) => shown !== held);
    expect(await page.getByRole('button', { name: /Following/ }).getAttribute('aria-pressed')).toBe('true');
  });

  it('reads every strip at the pointer', async () => {
    const page = await open();
    await recording(page);
    const plot = (await page.locator('.strip-coolant .u-over').boundingBox())!;
    await page.mouse.move(plot.x + plot.width / 2, plot.y + 10);
    await expect.poll(() => page.locator('.strip-speed .age').innerText()).toMatch(/^at 6:0\d$/);
    expect(await page.locator('.strip-coolant .figure').first().innerText()).toMatch(/^(89|90|91) °C$/);
  });

  it('takes marks by single keys, but not while someone types or holds a modifier', async () => {
    const page = await open();
    await recording(page);
    await page.keyboard.press('n');
    await page.getByText(/^Noise noted at 7:0\d\.$/).waitFor();
    await page.keyboard.press('Control+s');
    await page.keyboard.press('?');
    await page.getByRole('dialog', { name: 'Keys' }).waitFor();
    await page.keyboard.press('h');
    await page.keyboard.press('Escape');
    await page.getByRole('dialog', { name: 'Keys' }).waitFor({ state: 'hidden' });
    await page.keyboard.press('v');
    await page.getByText(/^Vibration noted/).waitFor();
    expect(api.state().run?.marks.map((m) => m.key)).toEqual(['N', 'V']);
  });

  it('says of a mark that did not get through that it is not noted', async () => {
    const page = await open();
    await recording(page);
    await page.route('**/api/marks', (route) => route.abort());
    const complained = complaints.length;
    // Said once each time; what is said next may take its place before it is looked for.
    const notNoted = page.getByText(/^Smell not noted\. Handback does not answer/);
    await expect
      .poll(async () => {
        if (await notNoted.isVisible()) return true;
        await page.keyboard.press('s');
        return notNoted.isVisible();
      })
      .toBe(true);
    complaints.splice(complained);
    await page.unroute('**/api/marks');
    expect(api.state().run?.marks).toEqual([]);
  });

  it('asks what no sensor tells; the answer is a mark and an observation of the open job, and can be taken back', async () => {
    await api.connect({ link: 'sim:twin' });
    await api.startRun({ purpose: 'verification', job: 'blue-estate' });
    const page = await open('#/drive');
    await rideAlong(page);
    const question = 'At 2000 rpm: is the air from the heater hot?';
    const asks = [{ id: 'cabin heat 2000 rpm', question, answers: ['hot', 'lukewarm', 'cold'] }] as const;
    api.tell({ asks });
    const ask = page.getByRole('region', { name: question });
    await ask.getByRole('button', { name: 'lukewarm' }).click();
    const undo = page.getByRole('button', { name: 'Undo' });
    await undo.waitFor();
    const [mark] = api.state().run!.marks;
    expect(mark).toMatchObject({ key: 'H', text: 'Cabin heat 2000 rpm: lukewarm' });
    expect(observed).toMatchObject([
      { kind: 'cabin heat 2000 rpm', answer: 'lukewarm', text: '', runId: 'run-1', tS: mark!.tS },
    ]);
    await undo.click();
    await expect.poll(() => observed).toEqual([]);
    expect(api.state().run!.marks).toEqual([]);
    expect(complaints).toEqual([]);
  });

  it('fades a value that is old and says how old', async () => {
    const page = await open();
    await recording(page);
    // The daemon's clock stands still, so nothing new comes; the page's own goes on.
    await pass(page, 5000);
    await page.locator('.strip-boost .readings.old').waitFor();
    expect(await page.locator('.strip-boost .age').innerText()).toMatch(/^\d+\ss old$/);
    await clock.advance(10_000);
    await passUntil(page, () => page.locator('.strip-boost .readings:not(.old)').isVisible());
  });

  it("shows the driver's glance with one key", async () => {
    const page = await open();
    await recording(page);
    await page.keyboard.press('g');
    await page.locator('.glance').getByText('settled').waitFor();
    const lines = await page.locator('.glance-line').allInnerTexts();
    expect(lines.map((l) => l.replace(/\s+/g, ' ').trim())).toEqual([
      'Coolant settled 89 °C',
      'Boost missed',
      'Next Pull through the clutch band',
    ]);
    await page.keyboard.press('g');
    await sentence(page, /^Recording/);
  });

  it('stops only on the second press, and then leads to the findings', async () => {
    const page = await open();
    await recording(page);
    await page.getByRole('button', { name: 'Stop' }).click();
    expect(api.state().run).not.toBeNull();
    await page.getByRole('button', { name: 'Press again to stop' }).click();
    await page.getByRole('heading', { name: /Twin-charged/ }).waitFor();
    expect(api.state().run).toBeNull();
  });
});

describe('findings', () => {
  it('says the whole drive first, then faults with their cause, what is good, and what to drive', async () => {
    await api.startRun({ purpose: 'verification', vehicle: 'Blue estate' });
    await api.stopRun();
    const page = await open('#/findings');
    await page.getByRole('heading', { name: 'Blue estate' }).waitFor();
    expect(await page.locator('.whole').innerText()).toBe(
      'Fault shown at "Boost at every engagement". Shown good: Cooling. Not shown: Fan (not asked).',
    );
    const verdicts = await page
      .locator('.finding')
      .evaluateAll((all) => all.map((el) => (el as unknown as { className: string }).className));
    expect(verdicts).toEqual(['finding fault-shown', 'finding shown-good', 'finding not-shown']);
    expect(await page.locator('.fault-shown p').first().innerText()).toMatch(/^Points to: the clutch closes/);
    expect(await page.locator('.open-list').innerText()).toContain('Drive 20 seconds at light pedal');
    const scale = page.getByRole('img', {
      name: 'Measured −41.0 kPa, interval −44.0 to −38.0 kPa, limit −12.0 kPa (default)',
    });
    expect(await scale.count()).toBe(1);
    const basis = page.locator('.fault-shown .basis');
    expect(await basis.locator('.rule').isVisible()).toBe(false);
    await basis.locator('summary').click();
    expect(await basis.locator('.rule').innerText()).toContain('Carried by manifold absolute pressure');
    expect(complaints).toEqual([]);
  });

  it('shows by engine speed and demand what a drive rules out, and nothing where it does not', async () => {
    await api.startRun({ purpose: 'verification', vehicle: 'Blue estate' });
    await api.stopRun();
    const page = await open('#/findings');
    const map = page.getByRole('region', { name: 'Loss of boost that this drive excludes' });
    await map.getByRole('row').nth(3).waitFor();
    const rows = await map.getByRole('row').allInnerTexts();
    const cells = rows.map((r) => r.split('\t').map((c) => c.replace(/\s+/g, ' ').trim()));
    expect(cells[0]!.slice(1)).toEqual(['750', '1250', '1750', '2250', '2750', '3250']);
    expect(cells[1]![0]).toMatch(/^60 to 100\s%$/);
    expect(cells[1]!.slice(1)).toEqual([
      expect.stringContaining('driven, nothing excluded'),
      'boost was missing',
      'boost was missing',
      expect.stringMatching(/^7\s% or more is excluded from 2250 to 2400 rpm$/),
      expect.stringContaining('driven, nothing excluded'),
      expect.stringContaining('driven, nothing excluded'),
    ]);
    expect(cells[3]!.slice(1)).toEqual(Array(6).fill('not driven'));
  });

  it('always has the chart in sight of whoever moves it, by evidence, by keys and back', async () => {
    await api.startRun({ purpose: 'verification', vehicle: 'Blue estate' });
    await api.stopRun();
    for (const size of [LAPTOP, PHONE]) {
      const page = await open('#/findings', { size });
      const inSight = async () => {
        const box = (await page.locator('.strip-boost').boundingBox())!;
        return box.y >= 0 && box.y + box.height <= size.height;
      };
      await ranges(page, (shown) => shown === '0:00 to 7:00');
      const evidence = page.getByRole('button', { name: '1:30 to 1:36' }).first();
      await evidence.click();
      await ranges(page, (shown) => shown === '1:24 to 1:42');
      await expect.poll(inSight).toBe(true);
      await page.evaluate('scrollTo(0, document.documentElement.scrollHeight)');
      await page.keyboard.press('ArrowRight');
      await ranges(page, (shown) => shown === '1:27 to 1:45');
      await expect.poll(inSight).toBe(true);
      await page.keyboard.press('-');
      await ranges(page, (shown) => shown === '1:18 to 1:54');
      await page.keyboard.press('w');
      await ranges(page, (shown) => shown === '0:00 to 7:00');
      await page.keyboard.press('ArrowLeft'); // there is nothing before the beginning
      await page.keyboard.press('-');
      expect(await range(page)).toBe('0:00 to 7:00');
      await page.keyboard.press('b');
      await leave(page.context());
    }
    expect(complaints).toEqual([]);
  });

  it('says of a simulated drive that ran faster than time that its pulls are too short', async () => {
    await api.connect({ link: 'sim:twin?speedup=6' });
    await api.startRun({ purpose: 'other' });
    const page = await open('#/drive');
    const told = 'driven 6 times faster than time: its pulls are too short to judge.';
    await page.getByText(told).waitFor();
    const { id } = await api.stopRun();
    await page.goto(`${server.url}#/findings/${id}`);
    await page.locator('.ended').getByText(told).waitFor();
  });

  it('looks closer at seconds of an hour, finds back, compares with a time kept', async () => {
    await server.close();
    await begin({ prerollS: 3600 });
    await api.startRun({ purpose: 'other' });
    const { id } = await api.stopRun();
    const page = await open(`#/findings/${id}`);
    await page.locator('.finding').first().waitFor();
    const whole = await range(page);
    expect(whole).toBe('0:00 to 1:00:00');
    await page.getByRole('button', { name: '1:30 to 1:36' }).first().click();
    await ranges(page, (shown) => shown === '1:24 to 1:42');
    await passUntil(page, async () => api.calls.includes('series 12000 66 120'));
    // Of the whole hour each signal has two points for 1.8 s, in which the engine gains 800 rpm.
    const plot = (await page.locator('.strip-engine .u-over').boundingBox())!;
    await page.mouse.move(plot.x + plot.width / 2, plot.y + 10);
    const { rpm } = (await api.series(id, { points: 1e6, fromS: 92.7, toS: 93.1 })).value;
    const shown = page.locator('.strip-engine .figure b').first();
    await passUntil(page, async () => rpm!.v.includes(Number(await shown.innerText())));
    await page.keyboard.press('c');
    await page.mouse.move(plot.x + plot.width * 0.9, plot.y + 10);
    await passUntil(page, () => page.locator('.strip-engine .age', { hasText: /since 1:3\d/ }).isVisible());
    await page.keyboard.press('c');
    await page.mouse.wheel(200, 0);
    await ranges(page, (shown) => shown !== '1:24 to 1:42');
    await page.keyboard.press('b');
    await ranges(page, (shown) => shown === whole);
    expect(complaints).toEqual([]);
  });

  it('draws the part of a run that was read, says which it is, and grows', async () => {
    await server.close();
    await begin({ prerollS: 3600 });
    await api.startRun({ purpose: 'other' });
    const { id } = await api.stopRun();
    const { series, run } = api;
    const grown: (() => void)[] = [];
    const until = (n: number) => new Promise<void>((done) => (grown[n] = done));
    const [second, whole, judged] = [until(0), until(1), until(2)];
    vi.spyOn(api, 'seriesPart').mockImplementation(async (_id, points, after) => {
      if (after > 0.2) await (after > 0.5 ? whole : second);
      const share = after > 0.5 ? 1 : after > 0.2 ? 0.5 : 0.1;
      const toS = share < 1 ? 3600 * share : 0;
      const part = share < 1 ? (await series.call(api, id, { points, toS })).value : {};
      return Written.of({ share, toS, series: part });
    });
    vi.spyOn(api, 'series').mockImplementation((...asked) => whole.then(() => series.call(api, ...asked)));
    vi.spyOn(api, 'run').mockImplementation((...asked) => judged.then(() => run.call(api, ...asked)));
    const page = await open(`#/findings/${id}`);
    const told = (part: string) => passUntil(page, () => page.getByText(part).isVisible());
    await told('the first 6:00 are drawn');
    await page.locator('.strip-engine canvas').waitFor();
    grown[0]!();
    await told('the first 30:00 are drawn');
    grown[1]!();
    await page.getByText('are drawn').waitFor({ state: 'detached' });
    expect(await page.locator('.strip-engine canvas').count()).toBe(1);
    expect(await page.locator('.finding').count()).toBe(0);
    grown[2]!();
    await page.locator('.finding').first().waitFor();
    expect(await range(page)).toMatch(/^0:00 to 1:00:/);
    expect(complaints).toEqual([]);
  });

  it('draws a gap as a gap: no line through it, hatched instead', async () => {
    await api.startRun({ purpose: 'other' });
    const { id } = await api.stopRun();
    const page = await open(`#/findings/${id}`);
    await page.locator('.finding').first().waitFor();
    /** Pixels of the line's colour in the coolant strip between two times of a window of 428 s. */
    const inked = (fromS: number, toS: number) =>
      page.evaluate(`(() => {
        const canvas = document.querySelector('.strip-coolant canvas');
        const over = document.querySelector('.strip-coolant .u-over');
        const ink = getComputedStyle(document.documentElement).getPropertyValue('--ink').trim().slice(1).match(/../g).map((h) => parseInt(h, 16));
        const x = (s) => Math.round(over.offsetLeft + ((s + 4.24) / 432.5) * over.clientWidth);
        const w = x(${toS}) - x(${fromS});
        const { data } = canvas.getContext('2d').getImageData(x(${fromS}), 0, w, canvas.height);
        let n = 0;
        for (let i = 0; i < data.length; i += 4) if (data[i + 3] > 200 && ink.every((c, k) => Math.abs(c - data[i + k]) < 12)) n++;
        return n / w;
      })()`) as Promise<number>;
    await expect.poll(() => inked(130, 147)).toBeGreaterThan(0.8);
    expect(await inked(151.5, 153.5)).toBe(0);
    expect(await inked(160, 180)).toBeGreaterThan(0.8);
  });

  it('says so when the run is not there', async () => {
    const page = await open('#/findings/nothing-like-it');
    await page.getByText('There is no run "nothing-like-it" in the library.').waitFor();
  });

  it('says so, too, when its address was cut in the middle of a letter', async () => {
    const page = await open('#/findings/%E0%A4');
    await page.locator('p.trouble').waitFor();
    await page.getByRole('link', { name: 'Connect' }).click();
    await page.getByRole('heading', { name: 'Is the car talking?' }).waitFor();
  });
});

describe('sound', () => {
  /** Pitches in the order in which they were asked for; there is no loudspeaker in a test. */
  const pitches = (page: Page) => page.evaluate('globalThis.pitches.splice(0)') as Promise<number[]>;
  const listen = `globalThis.pitches = [];
    globalThis.AudioContext = class { state = 'running'; currentTime = 0; destination = {}; resume() { return Promise.resolve(); } };
    const gain = { setValueAtTime() {}, linearRampToValueAtTime() {} };
    globalThis.GainNode = class { gain = { ...gain }; connect(x) { return x; } };
    globalThis.OscillatorNode = class {
      constructor(_audio, { frequency }) { pitches.push(frequency); }
      connect(x) { return x; } start() {} stop() {}
    };`;

  async function listening(): Promise<Page> {
    const page = await open('', { before: listen });
    await recording(page);
    return page;
  }

  /** Time passes until something sounds. */
  async function sounding(page: Page): Promise<number[]> {
    let heard: number[] = [];
    await passUntil(page, async () => {
      heard = await pitches(page);
      return heard.length > 0;
    });
    return heard;
  }

  /** The newest view of the run, with the coolant as given. */
  function coolant(change: Partial<LiveView['coolant']>): void {
    const seen: LiveView[] = [];
    const stop = api.subscribe((event, data) => {
      if (event === 'view') seen.push(data as LiveView);
    });
    api.tell();
    stop();
    const view = seen.at(-1)!;
    api.emit('view', { ...view, coolant: { ...view.coolant, ...change } });
  }

  it('falls for a missed engagement, unless it is off', async () => {
    const page = await listening();
    await pass(page, 5000); // what was missed before this page came sounds no more
    await pitches(page);
    api.sayAgain();
    expect(await sounding(page)).toEqual([587, 392]);
    await page.keyboard.press('q');
    await page.keyboard.press('q');
    api.sayAgain();
    await page.getByText('No boost at the last engagement').first().waitFor();
    expect(await pitches(page)).toEqual([]);
  });

  it('cannot be silenced for coolant: sounds with the sound off, and again a minute after it was acknowledged', async () => {
    const page = await listening();
    await page.keyboard.press('q');
    await page.keyboard.press('q');
    await page.getByRole('button', { name: 'Sound off, except' }).waitFor();
    await pitches(page);
    coolant({ state: 'climbing', valueC: 101 });
    expect(await sounding(page)).toEqual([880, 660, 880, 660]);
    await pass(page, 6000);
    expect((await pitches(page)).length).toBeGreaterThanOrEqual(8);
    await page.keyboard.press(' ');
    await page.getByText('Silent for a minute').waitFor();
    await pitches(page);
    await pass(page, 45_000);
    expect(await pitches(page)).toEqual([]);
    await pass(page, 20_000);
    expect((await pitches(page)).length).toBeGreaterThanOrEqual(4);
    coolant({ state: 'settled', valueC: 90 });
    await page.getByText('The coolant alarm sounded; the coolant is no longer climbing.').waitFor();
    await pitches(page);
    await pass(page, 10_000);
    expect(await pitches(page)).toEqual([]);
    await page.keyboard.press('a');
    await page.locator('.alarm').waitFor({ state: 'detached' });
  });

  it('sounds at the limit, whatever the state is called', async () => {
    const page = await listening();
    await pitches(page);
    coolant({ state: 'settled', valueC: 105 });
    expect(await sounding(page)).toEqual([880, 660, 880, 660]);
  });
});

describe('trouble', () => {
  it('says that the page is cut off, and is whole again when the daemon is back', async () => {
    const page = await open();
    await recording(page);
    const port = Number(new URL(server.url).port);
    await server.close();
    await sentence(page, /This page has lost Handback/);
    await begin({ prerollS: 600 }, port);
    await api.connect({ link: 'sim:twin' });
    await api.startRun({ purpose: 'other' });
    await passUntil(page, () => page.getByRole('heading', { name: /^Recording 10:0\d/ }).isVisible());
    expect(await page.locator('.strip-boost .figure').first().innerText()).toMatch(/kPa/);
  });

  it('on a slow line shows words or that they are coming, never their ids, and the language chosen last', async () => {
    const page = await open('#/drive');
    await page.getByRole('button', { name: 'Connect a car' }).waitFor();
    let come: () => void = () => undefined;
    const held = new Promise<void>((resolve) => {
      come = resolve;
    });
    await page.route('**/page-more-*.js', async (route) => {
      await held;
      await route.continue();
    });
    for (const place of ['Connect', 'Jobs', 'Connect']) {
      await page.getByRole('link', { name: place }).click();
      await page.getByRole('heading', { name: place }).waitFor();
      await page.getByText('One moment…').waitFor();
    }
    await page.getByRole('button', { name: 'DE: Deutsch' }).click();
    come();
    await page.getByRole('heading', { name: 'Antwortet das Auto?' }).waitFor();
    expect(await page.locator('body').innerText()).not.toContain('{}');
    expect(complaints).toEqual([]);
  });

  it('keeps two pages in step', async () => {
    const one = await open();
    await recording(one);
    const two = await open('#/drive');
    await sentence(two, /^Recording/);
    await clock.advance(2000);
    await one.getByRole('button', { name: 'Stop' }).click();
    await one.getByRole('button', { name: 'Press again to stop' }).click();
    await sentence(two, /^Connected, not recording/);
    await two.getByRole('button', { name: 'Findings of this drive' }).waitFor();
    expect(complaints).toEqual([]);
  });
});

describe('seen, told and survived', () => {
  const hide = (page: Page, hidden: boolean) =>
    page.evaluate(`Object.defineProperty(document, 'hidden', { configurable: true, get: () => ${hidden} });
      document.dispatchEvent(new Event('visibilitychange'))`);

  it('an hour in a hidden tab', async () => {
    const page = await open();
    await recording(page);
    await hide(page, true);
    await pass(page, 3_600_000, true);
    await clock.advance(20_000);
    await hide(page, false);
    await page.getByText('This page was hidden for 60 min; sounds may have come late').waitFor();
    await pass(page, 10_000, true);
    await clock.advance(2000);
    await sentence(page, /^Recording 7:2\d/);
  });

  it('hidden it is sent less and still speaks; shown again it fetches what it missed', async () => {
    const page = await open();
    await recording(page);
    const asked: string[] = [];
    page.on('request', (r) => {
      const path = new URL(r.url()).pathname;
      if (path === '/api/stream/hidden') asked.push(r.postData()!.replace(/.*"hidden":/, ''));
      else if (path === '/api/run/series') asked.push('series');
    });
    const answered = page.waitForResponse('**/api/stream/hidden');
    await hide(page, true);
    await answered;
    const words = 'Said while nobody looked.';
    api.emit('spoken', { ...api.spoken().at(-1)!, sentence: words, says: {} });
    await page.getByText(words).first().waitFor();
    await clock.advance(2000);
    expect(asked).toEqual(['true}']);
    await hide(page, false);
    await expect.poll(() => asked.slice(0, 3)).toEqual(['true}', 'false}', 'series']);
  });

  it('a clock that was set, in words, and the recording keeps its own time', async () => {
    const page = await open();
    await recording(page);
    await page.evaluate('const now = Date.now; Date.now = () => now() - 7_200_000');
    await pass(page, 1000);
    await page.getByText("The laptop's clock was set back by 2 h, or it slept.").waitFor();
    await sentence(page, /^Recording 7:0\d/);
  });

  it('no sound before the first touch, and no voice: both told, and what to do', async () => {
    await api.connect({ link: 'sim:twin' });
    await api.startRun({ purpose: 'other' });
    const page = await open('#/drive');
    const untouched = page.getByText('This browser lets no page sound before it was touched');
    await untouched.waitFor();
    await page.getByRole('button', { name: 'Sound waits: press a key or tap' }).waitFor();
    await page.keyboard.press('f');
    await untouched.waitFor({ state: 'detached' });
    await pass(page, 2000); // lists of voices come late
    await page.getByRole('button', { name: 'Tones; no voice here' }).waitFor();
  });

  it('two tabs: one sounds, and the other can take over', async () => {
    const one = await open();
    await recording(one);
    const two = await one.context().newPage();
    await two.goto(`${server.url}#/drive`);
    const take = two.getByRole('button', { name: 'Another tab sounds: sound here' });
    await take.click();
    await take.waitFor({ state: 'detached' });
    await one.getByRole('button', { name: 'Another tab sounds: sound here' }).waitFor();
    await two.close();
    await one.getByRole('button', { name: 'Another tab sounds: sound here' }).waitFor({ state: 'detached' });
  });
});

describe('for everyone', () => {
  // Each size once; what is shown of wide and of narrow screens by night and by day: colours know no size.
  const walks: [string, [string, Required<Pick<Look, 'size' | 'colours'>>][]][] = [
    [
      'laptop by night, large screen by day',
      [
        ['night, laptop', { size: LAPTOP, colours: 'dark' }],
        ['day, large', { size: LARGE, colours: 'light' }],
      ],
    ],
    [
      'phone, also on its side, and a laptop at 200 %',
      [
        ['night, phone', { size: PHONE, colours: 'dark' }],
        ['night, laptop at 200 %', { size: { width: 683, height: 384 }, colours: 'dark' }],
        ['day, phone on its side', { size: { width: 844, height: 390 }, colours: 'light' }],
      ],
    ],
  ];
  for (const [names, looks] of walks)
    it(`has no violation that axe-core 4.14.1 can find, and nothing wider than the screen (${names})`, async () => {
      const page = await open('#/connect', looks[0]![1]);
      const inEachLook = async (what: string, contrast?: number): Promise<void> => {
        for (const [name, look] of [...looks.slice(1), looks[0]!]) {
          await show(page, look);
          await accessible(page, `${what}, ${name}`, contrast);
        }
      };
      await page.getByRole('button', { name: 'Try it on the simulated car' }).waitFor();
      await inEachLook('connect');
      await page.getByText('Another port, dialect or speed').click();
      await page.getByLabel('Port').fill('/dev/ttyX0');
      await page.getByRole('button', { name: 'Connect', exact: true }).last().click();
      await page.getByRole('heading', { name: 'How far it got' }).waitFor();
      await inEachLook('search that failed');
      await page.getByRole('button', { name: 'Try it on the simulated car' }).click();
      await moves(page);
      await inEachLook('driving', 7);
      await page.getByRole('button', { name: 'I ride along' }).click();
      await inEachLook('drive', 7);
      await visit(page, 'glance', '.glance-line');
      await inEachLook('glance', 7);
      await visit(page, 'findings', '.finding');
      await inEachLook('findings so far');
      await visit(page, 'connect', '.talking');
      await inEachLook('connected');
      await api.stopRun();
      await visit(page, 'findings', '.whole');
      await inEachLook('findings');
      for (const summary of await page.locator('.basis summary').all()) await summary.click();
      await inEachLook('findings with what they rest on');
      await visit(page, 'jobs', '.runs li');
      await inEachLook('jobs');
      await page.keyboard.press('?');
      await page.getByRole('dialog', { name: 'Keys' }).waitFor();
      await inEachLook('help');
      // Chromium's own word on the port that did not open.
      expect(complaints).toEqual([expect.stringContaining('502')]);
    });

  it('answers the four questions of a glance on the first screen of a phone', async () => {
    const page = await open('#/connect', { size: PHONE });
    await page.getByRole('button', { name: 'Try it on the simulated car' }).click();
    await moves(page);
    const marks = (await page.getByRole('group', { name: 'Marks' }).boundingBox())!;
    for (const text of [
      /^Recording .* Coolant .* Last engagement/,
      'Pull from 1200 to 3800 rpm in 3rd gear',
    ]) {
      const box = (await page.getByText(text).first().boundingBox())!;
      expect(box.y + box.height, String(text)).toBeLessThan(marks.y);
    }
    const strip = (await page.locator('.strip-boost').boundingBox())!;
    expect(strip.y + strip.height).toBeLessThan(marks.y + 200);
  });

  it('draws with colours that can be told from the ground, day and night', async () => {
    for (const colours of ['dark', 'light'] as const) {
      const page = await open('#/connect', { colours });
      const inks = (await page.evaluate(`['ground', 'ink', 'quiet', 'now', 'fault'].map((n) =>
        getComputedStyle(document.documentElement).getPropertyValue('--' + n).trim())`)) as string[];
      const [ground, ...drawn] = inks.map(luminance);
      for (const [i, l] of drawn.entries()) {
        const ratio = (Math.max(l, ground!) + 0.05) / (Math.min(l, ground!) + 0.05);
        expect(ratio, `${inks[i + 1]} on ${inks[0]}`).toBeGreaterThanOrEqual(7);
      }
    }
  });

  /** Width of the screens, mm: 14 inches, 15.6 inches, a usual phone. */
  const screens = [
    [LAPTOP, 310],
    [LARGE, 344],
    [PHONE, 65],
  ] as const;
  for (const [size, widthMm] of screens)
    it(`has a glance that is read in one look at 70 cm, ${size.width} pixels on ${widthMm} mm`, async () => {
      const page = await open('#/connect', { size });
      await recording(page);
      await visit(page, 'glance', '.glance-line');
      const capsPx = (await page.evaluate(`(() => {
        const pen = document.createElement('canvas').getContext('2d');
        return [...document.querySelectorAll('.glance .name, .glance .what, .glance .beat, .glance a')].map((el) => {
          const { fontSize, fontWeight, fontFamily } = getComputedStyle(el);
          pen.font = fontWeight + ' ' + fontSize + ' ' + fontFamily;
          return pen.measureText('H').actualBoundingBoxAscent;
        });
      })()`)) as number[];
      expect(capsPx.length).toBe(8);
      const arcMin = (px: number) => (Math.atan((px * widthMm) / size.width / 700) * 180 * 60) / Math.PI;
      // ISO 15008, from memory: 20 minutes of arc are recommended for the height of capitals, 12 the least.
      expect(Math.min(...capsPx.map(arcMin))).toBeGreaterThanOrEqual(20);
      // NHTSA 2013: two seconds a glance; at three to four words a second that is two glances at the most.
      const words = (await page.locator('.glance').innerText()).split(/\s+/);
      expect(words.length).toBeLessThanOrEqual(16);
    });

  it('can be worked by keyboard alone, with the focus to be seen', async () => {
    const page = await open('#/connect');
    await page.getByRole('button', { name: 'Try it on the simulated car' }).waitFor();
    for (let i = 0; i < 20; i++) {
      await page.keyboard.press('Tab');
      const focused = page.locator(':focus');
      expect(
        await focused.evaluate(
          (el) => (globalThis as unknown as StyleWorld).getComputedStyle(el).outlineStyle,
        ),
      ).toBe('solid');
      if ((await focused.innerText()) === 'Try it on the simulated car') break;
    }
    await page.keyboard.press('Enter');
    await sentence(page, /^Recording/);
  });

  it('changes between day and night, and remembers', async () => {
    const page = await open('#/connect', { colours: 'light' });
    const ground = () =>
      page.evaluate(
        () =>
          (globalThis as unknown as StyleWorld).getComputedStyle(
            (globalThis as unknown as StyleWorld).document.body,
          ).backgroundColor,
      );
    const day = await ground();
    await page.keyboard.press('d');
    expect(await ground()).not.toBe(day);
    await page.reload();
    await page.waitForSelector('h1');
    expect(await ground()).not.toBe(day);
  });
});

/** Relative luminance of #rrggbb (WCAG 2.2). */
function luminance(colour: string): number {
  const [r, g, b] = [1, 3, 5].map((i) => {
    const c = Number.parseInt(colour.slice(i, i + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!;
}

/** The little of the browser's world that code sent into the page needs; these tests know no DOM types. */
interface StyleWorld {
  getComputedStyle(el: unknown): { outlineStyle: string; backgroundColor: string };
  document: { body: unknown };
}

async function visit(page: Page, place: string, selector: string): Promise<void> {
  await page.goto(`${server.url}#/${place}`);
  await page.locator(selector).first().waitFor();
}

describe('the script that a drive needs', () => {
  for (const locale of ['en-AU', 'de-DE'])
    it(`stays under 80 kB, its language (${locale}) with it`, async () => {
      const context = await (await sharedBrowser()).newContext({ viewport: LAPTOP, locale });
      context.setDefaultTimeout(PATIENCE_MS);
      const page = await context.newPage();
      const fetched: string[] = [];
      page.on('response', (r) => {
        const { pathname } = new URL(r.url());
        if (pathname.endsWith('.js')) fetched.push(pathname);
      });
      await page.goto(`${server.url}#/drive`);
      await page.waitForSelector('h1');
      const bytes = fetched.map((f) => gzipSync(readFileSync(join(webRoot(), f))).length);
      expect(bytes.length).toBeGreaterThan(2);
      expect(bytes.reduce((a, b) => a + b, 0)).toBeLessThan(80_000);
    });
});
