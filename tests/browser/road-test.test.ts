/**
 * A guided road test in the browser on the simulated car: the real daemon, adapter, judge and page, under a clock that
 * moves when told. Healthy, and with three faults and a link that vanishes; the adapter takes 90 ms an answer where a
 * fault takes long to show. With HANDBACK_SHOTS=FOLDER pictures are kept.
 */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect } from 'vitest';
import type { LiveView } from '../../src/words/views.ts';
import { needs } from '../require.ts';
import { hasChromium, inBrowser, openPage, sentence, WITHOUT_CHROMIUM } from './browser.ts';
import { SimulatedDrive } from './simulated.ts';

const it = needs(hasChromium, WITHOUT_CHROMIUM);
const SHOTS = process.env.HANDBACK_SHOTS;

let drive: SimulatedDrive;
let page: Page;
let view: LiveView | null;
let complaints: string[];

const webRoot = inBrowser(async () => drive?.close());

async function begin(link: string): Promise<void> {
  drive = new SimulatedDrive();
  view = null;
  complaints = [];
  drive.daemon.subscribe((event, data) => {
    if (event === 'view') view = data as LiveView;
  });
  await drive.serve(webRoot());
  await drive.settle(drive.daemon.connect({ link }));
  page = await openPage(`${drive.url}#/connect`, complaints);
  await page.getByRole('button', { name: 'Start recording' }).click();
  const dialog = page.getByRole('dialog', { name: 'Start recording' });
  await dialog.getByRole('button', { name: 'Start recording' }).click();
  await drive.standing((state) => state.run !== null);
  await sentence(page, /^Recording/);
  drive.page = page;
}

async function picture(name: string): Promise<void> {
  if (!SHOTS) return;
  mkdirSync(SHOTS, { recursive: true });
  await page.waitForTimeout(600);
  await page.screenshot({ path: join(SHOTS, `${name}.png`) });
}

const fault = (system: string) =>
  drive.said.some((s) => s.finding.system === system && s.finding.verdict === 'fault shown');
const covered = (leg: string) => view?.legs.find((l) => l.leg === leg)?.covered === true;
const side = () => page.getByRole('complementary', { name: 'What next' });

describe('a guided road test', () => {
  it('healthy: legs tick themselves off, controls shrink while it moves, nothing is accused', async () => {
    await begin('sim:twin-charged?route=warm-road-test');
    // The ignition is on for four seconds: the pressures were not compared, and are asked for again at the end.
    expect(await drive.until(() => view?.nextLeg?.leg === 'key-on-check', 5)).toBe(true);
    await picture('idle');
    expect(await drive.until(() => view?.boost.pulling === true, 120)).toBe(true);
    await picture('pull');
    await page.getByRole('button', { name: 'I ride along' }).waitFor();
    expect(await page.getByRole('navigation', { name: 'Places' }).count()).toBe(0);
    await page.keyboard.press('2'); // setup waits until it stands
    await page.getByRole('heading', { name: 'The car is moving' }).waitFor();
    await page.keyboard.press('3');
    expect(await drive.until(() => covered('clutch-band') && covered('light-demand'), 200)).toBe(true);
    await sentence(page, /Last engagement held/);
    await page.keyboard.press('v');
    await page.getByText(/^Vibration noted at/).waitFor();
    expect(drive.said.filter((s) => s.finding.verdict === 'fault shown')).toEqual([]);
    expect(view?.boost.engagements.missed).toBe(0);
    await page.getByRole('button', { name: 'Stop' }).click();
    await page.getByRole('button', { name: 'Press again to stop' }).click();
    await drive.standing((state) => state.run === null);
    await page.locator('.ended h1').waitFor();
    await picture('end');
    expect(await page.locator('.finding.fault-shown').count()).toBe(0);
    await page.getByRole('button', { name: 'Edit' }).first().click();
    await page.getByRole('textbox', { name: /Words for the mark/ }).fill('Vibration at idle');
    await page.getByRole('button', { name: 'Keep' }).click();
    await page.getByRole('button', { name: /^V Vibration at idle at/ }).waitFor();
    expect(complaints).toEqual([]);
  });

  it('clutch never closes: said as missed at once, in words and on the map', async () => {
    await begin('sim:twin-charged?route=warm-road-test&fault=clutch-never-closes');
    expect(await drive.until(() => (view?.boost.engagements.missed ?? 0) > 0, 200)).toBe(true);
    await sentence(page, /missed/i);
    expect(await drive.until(() => drive.said.some((s) => s.finding.system === 'boost'), 120)).toBe(true);
    await side().getByRole('heading', { name: 'Said so far' }).waitFor();
    await page.keyboard.press('g');
    await page.locator('.glance-line.bad', { hasText: 'missed' }).waitFor();
    await picture('missed-glance');
    await page.keyboard.press('g');
    await picture('missed');
    expect(complaints).toEqual([]);
  });

  it('coolant does not circulate: the alarm stands over everything until it is acknowledged', async () => {
    await begin('sim:twin-charged?route=warm-road-test&fault=no-circulation&answer=90');
    expect(await drive.until(() => fault('coolant'), 500)).toBe(true);
    const alarm = page.getByRole('alert').filter({ hasText: /Stop (when|where it is) safe/ });
    await alarm.waitFor();
    await picture('alarm');
    await page.keyboard.press('g');
    await alarm.waitFor();
    await picture('alarm-glance');
    await page.keyboard.press('a');
    await page.getByText('Silent for a minute').waitFor();
    expect(complaints).toEqual([]);
  });

  it('clutch closes only sometimes: held and missed are told apart', async () => {
    await begin('sim:twin-charged?route=warm-road-test&fault=clutch-sometimes=0.5&seed=6&answer=90');
    const both = () => (view?.boost.engagements.held ?? 0) > 0 && (view?.boost.engagements.missed ?? 0) > 0;
    expect(await drive.until(both, 120)).toBe(true);
    expect(complaints).toEqual([]);
  });

  it('link lost: said, drawn as a gap, and gone on by itself', async () => {
    await begin('sim:twin-charged?route=warm-road-test&quirk=vanishes-after=40');
    const lost = () => drive.daemon.state().connection.phase === 'lost';
    expect(await drive.until(lost, 90)).toBe(true);
    await sentence(page, /Recording .*(No contact|Reconnecting)/);
    await picture('link-lost');
    expect(await drive.until(() => !lost(), 90)).toBe(true);
    await drive.until(() => false, 4);
    await sentence(page, /Coolant/);
    expect(complaints).toEqual([]);
  });
});
