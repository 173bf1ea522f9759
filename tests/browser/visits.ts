/**
 * Whole visits walked through the page on the simulated car, the car's time moved when told. `npm run visits` walks all
 * of them and prints clicks and seconds of each step; the tests walk one.
 */
import type { Page } from 'playwright-core';
import { saying } from '../../src/core/error-says.ts';
import { HandbackError } from '../../src/core/errors.ts';
import type { RunningServer } from '../../src/server/server.ts';
import { de } from '../../src/words/de/de.ts';
import { page as germanPage } from '../../src/words/de/page.ts';
import { more as germanMore } from '../../src/words/de/page-more.ts';
import { en } from '../../src/words/en/en.ts';
import { page as englishPage } from '../../src/words/en/page.ts';
import { more as englishMore } from '../../src/words/en/page-more.ts';
import { hears, leave, openPage, pass, serve } from './browser.ts';
import { SimulatedDrive } from './simulated.ts';

const TEXTS = {
  en: { ...en.messages, ...englishPage.messages, ...englishMore },
  de: { ...de.messages, ...germanPage.messages, ...germanMore },
} as const;
const LOCALES = { en: 'en-AU', de: 'de-DE' } as const;
type Lang = keyof typeof TEXTS;

export interface Visit {
  readonly name: string;
  readonly link: string;
  readonly seconds: number;
  readonly lang: Lang;
  /** What the technician finds besides: the heater's answer at idle. */
  readonly heat: 'hot' | 'cold';
  /** Verdicts of the drive; null: either of those that accuse nothing. */
  readonly boost: 'fault shown' | null;
  readonly coolant: 'fault shown' | null;
  /** The same car comes back with this fault. */
  readonly back?: { readonly link: string; readonly seconds: number };
}

const CAR = 'sim:twin-charged?route=warm-road-test';
/** Before the road test switches the ignition off, so that the codes after it are read from a car that answers. */
const ROAD_TEST_S = 1020;
export const VISITS: readonly Visit[] = [
  {
    name: 'healthy, and a come-back whose clutch never closes',
    link: `${CAR}&seed=41`,
    seconds: 470,
    lang: 'en',
    heat: 'hot',
    boost: null,
    coolant: null,
    back: { link: `${CAR}&fault=clutch-never-closes&seed=42`, seconds: 300 },
  },
  {
    name: 'clutch never closes',
    link: `${CAR}&fault=clutch-never-closes&seed=43`,
    seconds: 300,
    lang: 'en',
    heat: 'hot',
    boost: 'fault shown',
    coolant: null,
  },
  {
    name: 'clutch closes only sometimes',
    link: 'sim:twin-charged?route=road-test&fault=clutch-sometimes=0.4&seed=44',
    seconds: ROAD_TEST_S,
    lang: 'en',
    heat: 'hot',
    boost: 'fault shown',
    coolant: null,
  },
  {
    name: 'leak on the pressure side',
    link: `${CAR}&fault=boost-leak&seed=45`,
    seconds: 470,
    lang: 'en',
    heat: 'hot',
    boost: 'fault shown',
    coolant: null,
  },
  {
    name: 'coolant does not circulate',
    link: `${CAR}&fault=no-circulation&seed=46`,
    seconds: 400,
    lang: 'en',
    heat: 'cold',
    boost: null,
    coolant: 'fault shown',
  },
  {
    name: 'thermostat open, in German',
    link: 'sim:twin-charged?route=road-test&fault=thermostat-open&seed=47',
    seconds: ROAD_TEST_S,
    lang: 'de',
    heat: 'cold',
    boost: null,
    coolant: 'fault shown',
  },
];

export interface Step {
  readonly step: string;
  readonly clicks: number;
  /** Fields filled. */
  readonly fields: number;
  /** Of the page and its daemon, without the drive itself. */
  readonly seconds: number;
}

export interface Walked {
  readonly steps: readonly Step[];
  readonly complaints: readonly string[];
  readonly boost: string | null;
  readonly coolant: string | null;
  /** First sentence of the findings, first line of the sheet, and of the sheet of the come-back. */
  readonly findings: string;
  readonly sheet: string;
  readonly back: string | null;
  /** Changes since the visit before, as the page lists them; empty without a come-back. */
  readonly since: readonly string[];
}

/** What the car must answer is waited for in the car's own time. */
const WITH_THE_CAR = ['connect', 'disconnect', 'startRun', 'stopRun', 'takeSnapshot'];

function withTheCar<T extends object>(api: T, drive: SimulatedDrive): T {
  return new Proxy(api, {
    get(target, key) {
      const own = Reflect.get(target, key) as unknown;
      if (typeof own !== 'function') return own;
      return (...args: unknown[]) => {
        const answer = own.apply(target, args) as unknown;
        return WITH_THE_CAR.includes(String(key)) ? drive.settle(answer as Promise<unknown>) : answer;
      };
    },
  });
}

export async function walk(webRoot: string, visit: Visit): Promise<Walked> {
  const drive = new SimulatedDrive();
  const server = await serve({
    api: withTheCar(drive.daemon, drive),
    jobs: withTheCar(drive.daemon.jobs, drive),
    sheets: drive.daemon,
    webRoot,
  });
  const walker = await Walker.begin(server, drive, visit.lang);
  try {
    return await walker.walk(visit);
  } catch (thrown) {
    if (process.env.HANDBACK_SHOTS)
      await walker.page.screenshot({ path: `${process.env.HANDBACK_SHOTS}/lost.png`, fullPage: true });
    throw thrown;
  } finally {
    await leave(walker.page.context());
    await server.close();
    await drive.close();
  }
}

class Walker {
  readonly page: Page;
  readonly #server: RunningServer;
  readonly #drive: SimulatedDrive;
  readonly #lang: Lang;
  readonly #complaints: string[];
  readonly #steps: Step[] = [];
  #clicks = 0;
  #fields = 0;

  private constructor(
    page: Page,
    server: RunningServer,
    drive: SimulatedDrive,
    lang: Lang,
    complaints: string[],
  ) {
    this.page = page;
    this.#server = server;
    this.#drive = drive;
    this.#lang = lang;
    this.#complaints = complaints;
  }

  static async begin(server: RunningServer, drive: SimulatedDrive, lang: Lang): Promise<Walker> {
    const complaints: string[] = [];
    const page = await openPage(`${server.url}#/jobs`, complaints, { locale: LOCALES[lang] });
    return new Walker(page, server, drive, lang, complaints);
  }

  async walk(visit: Visit): Promise<Walked> {
    const { page } = this;
    await this.#step('open the job', () => this.#openJob());
    const id = new URL(page.url()).hash.split('/').at(-1)!;
    await this.#step('connect', () => this.#connect(visit.link, true));
    await this.#step('codes before', () => this.#button('drives.read.before'));
    await this.#step('record', () => this.#record('drives.record.verification'));
    await this.#drives(visit.seconds);
    await this.#step('stop', () => this.#stop());
    const findings = await this.#step('findings', () => this.#findings());
    await this.#step('codes after', () => this.#codes(id, 'drives.read.after'));
    await this.#step('notes', () => this.#notes(visit.heat));
    await this.#step('hand over', () => this.#handOver());
    const sheet = await this.#step('sheet', () => this.#sheet());
    const verdicts = (await this.#drive.daemon.jobs.verdicts(id))[0];
    let back: string | null = null;
    let since: string[] = [];
    if (visit.back) {
      const { link, seconds } = visit.back;
      await this.#step('come-back: complaint', () => this.#fill('back.complaint', 'It is back.'));
      await this.#step('come-back: connect', () => this.#connect(link, false));
      await this.#step('come-back: record', () => this.#record('drives.record.come-back'));
      await this.#drives(seconds);
      await this.#step('come-back: stop', () => this.#stop());
      await this.#step('come-back: codes', () => this.#codes(id, 'drives.read.come-back'));
      const rows = page.getByRole('table', { name: this.#w('back.since') }).locator('tbody tr');
      await rows.first().waitFor();
      since = await rows.locator('td:last-child').allInnerTexts();
      back = await this.#step('come-back: sheet', () => this.#sheet());
    }
    return {
      steps: this.#steps,
      complaints: this.#complaints,
      boost: verdicts?.boost ?? null,
      coolant: verdicts?.coolant ?? null,
      findings,
      sheet,
      back,
      since,
    };
  }

  async #step<T>(step: string, take: () => Promise<T>): Promise<T> {
    const from = performance.now();
    [this.#clicks, this.#fields] = [0, 0];
    const out = await take();
    const seconds = (performance.now() - from) / 1000;
    this.#steps.push({ step, clicks: this.#clicks, fields: this.#fields, seconds });
    return out;
  }

  // ---- the steps ------------------------------------------------------------------------------------------------

  async #openJob(): Promise<void> {
    const { page } = this;
    await this.#button('jobs.open');
    await this.#fill('job.vehicle', 'Tarnwick 1.8 (simulated)');
    await this.#fill('job.plate', 'PRA-C9');
    await this.#select('start.induction', 'twin-charged');
    await this.#select('start.fuel', 'petrol');
    await this.#fill('start.complaint', 'It does not pull from low down.');
    await this.#button('jobs.open-it');
    await page.getByRole('heading', { level: 1, name: /Tarnwick/ }).waitFor();
    await this.#fill('job.replaced', 'Magnetic clutch');
    await page.getByLabel(this.#w('job.replaced')).blur();
  }

  async #connect(link: string, first: boolean): Promise<void> {
    const { page } = this;
    const places = page.getByRole('navigation', { name: this.#w('app.places') });
    const way = first
      ? page.getByRole('link', { name: this.#w('drives.connect') })
      : places.getByText(this.#w('app.place.connect'), { exact: true });
    await this.#press(way);
    await page.getByRole('heading', { level: 1, name: this.#w('connect.title') }).waitFor();
    if (!first) await this.#button('connect.disconnect');
    await this.#press(page.getByText(this.#w('connect.by-hand')));
    await this.#fill('connect.port', link);
    await this.#press(page.locator('details form').getByRole('button', { name: this.#w('connect.connect') }));
    const back = this.#w('connect.back-to-job').split('{')[0]!;
    await this.#press(page.getByRole('button', { name: back }));
    await page.getByRole('button', { name: this.#w('drives.read.before'), disabled: false }).waitFor();
    if (first) await page.getByText(this.#w('codes-part.none-read')).waitFor();
  }

  async #codes(id: string, button: string): Promise<void> {
    const { jobs } = this.#drive.daemon;
    const before = (await jobs.open(id)).snapshots.length;
    await this.#toJob(id);
    await this.#button(button);
    // A column for each reading.
    await this.page
      .locator('table.memory thead th')
      .nth(before + 1)
      .waitFor();
  }

  async #record(button: string): Promise<void> {
    const { page } = this;
    await this.#button(button);
    await this.#press(page.getByRole('dialog').getByRole('button', { name: this.#w('start.title') }));
    await this.#drive.standing((state) => state.run !== null);
    await page.locator('.marks').first().waitFor();
  }

  async #drives(seconds: number): Promise<void> {
    const { clock } = this.#drive;
    for (let s = 0; s < seconds; s += 10) {
      await clock.advance(10_000);
      // The page hears of it as it would, so that it is as busy as it would be.
      if (s % 60 === 0) await pass(this.page, 1000);
    }
    await hears(this.page, seconds - 20);
    await pass(this.page, 5000);
  }

  async #stop(): Promise<void> {
    const { page } = this;
    const stop = (id: string) => page.getByRole('button', { name: this.#w(id), exact: true });
    await this.#press(stop('drive.stop'));
    await this.#press(stop('drive.stop-sure'));
    await this.#drive.standing((state) => state.run === null);
    await page.locator('.ended h1').waitFor();
  }

  /** What they say of the whole drive. */
  async #findings(): Promise<string> {
    return ((await this.page.locator('.ended .whole').textContent()) ?? '').trim();
  }

  async #toJob(id: string): Promise<void> {
    const { page } = this;
    if (!page.url().endsWith(`#/jobs/${id}`)) {
      this.#clicks++;
      await page.goto(`${this.#server.url}#/jobs/${id}`);
    }
    await page.getByRole('heading', { level: 2, name: this.#w('codes-part.title') }).waitFor();
  }

  async #notes(heat: Visit['heat']): Promise<void> {
    for (const [group, answer] of [
      ['cabin heat idle', heat],
      ['cabin heat 2000 rpm', heat],
      ['leaks', 'none'],
    ] as const) {
      const ask = this.page.getByRole('group', { name: this.#w(`notes.ask.${group}`) });
      await this.#press(ask.getByRole('button', { name: this.#w(`answer.${answer}`), exact: true }));
      await this.page
        .locator('.seen li', { hasText: this.#w(`observation.${group}`) })
        .first()
        .waitFor();
    }
  }

  async #handOver(): Promise<void> {
    const { page } = this;
    await this.#button('job.mark-handed');
    const again = page.getByRole('button', { name: this.#w('job.open-again') });
    const reason = page.getByLabel(this.#w('job.reason'));
    await again.or(reason).first().waitFor();
    if (await reason.count()) {
      await this.#fill('job.reason', 'The owner was told.');
      await this.#button('job.hand-over-so');
    }
    await again.waitFor();
  }

  async #sheet(): Promise<string> {
    const { page } = this;
    const link = page.getByRole('link', { name: this.#w('job.sheet') }).first();
    const [sheet] = await Promise.all([page.context().waitForEvent('page'), this.#press(link)]);
    const lead = ((await sheet.locator('.lead').textContent()) ?? '').trim();
    await sheet.close();
    return lead;
  }

  // ---- what fingers do ------------------------------------------------------------------------------------------

  #w(id: string): string {
    const text = (TEXTS[this.#lang] as Readonly<Record<string, string>>)[id];
    if (text === undefined)
      throw new HandbackError('internal', saying('error.none-of', { word: id, known: '' }));
    return text;
  }

  async #press(what: ReturnType<Page['getByRole']>): Promise<void> {
    await what.first().click();
    this.#clicks++;
  }

  #button(id: string): Promise<void> {
    return this.#press(this.page.getByRole('button', { name: this.#w(id), exact: true }));
  }

  async #fill(id: string, text: string): Promise<void> {
    await this.page.getByLabel(this.#w(id)).first().fill(text);
    this.#fields++;
  }

  async #select(id: string, value: string): Promise<void> {
    await this.page.getByLabel(this.#w(id)).first().selectOption(value);
    this.#fields++;
  }
}
