/** The tones rendered by Chromium's own offline audio context and measured: pitch, length, level, order. */
import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import type { Page } from 'playwright-core';
import ts from 'typescript';
import { afterAll, beforeAll, expect } from 'vitest';
import { TONES, type ToneName } from '../../web/tones.ts';
import { PATIENCE_MS } from '../patience.ts';
import { needs } from '../require.ts';
import { hasChromium, sharedBrowser, WITHOUT_CHROMIUM } from './browser.ts';

const it = needs(hasChromium, WITHOUT_CHROMIUM);
const RATE = 44_100;
let page: Page;

beforeAll(async () => {
  if (!hasChromium) return;
  page = await (await sharedBrowser()).newPage();
  page.setDefaultTimeout(PATIENCE_MS);
  const script = ['tones', 'play'].map((name) => {
    const source = readFileSync(resolve(import.meta.dirname, `../../web/${name}.ts`), 'utf8');
    return ts.transpileModule(source, {
      compilerOptions: { module: ts.ModuleKind.ESNext, target: ts.ScriptTarget.ES2022 },
    }).outputText;
  });
  await page.addScriptTag({
    type: 'module',
    content: `${script.join('\n')}\nglobalThis.tones = { TONES, play };`,
  });
  await page.waitForFunction('globalThis.tones !== undefined');
});

afterAll(() => page?.context().close());

/** The samples of one tone that starts at 0.1 s. */
async function rendered(name: ToneName): Promise<Float32Array> {
  // As text, because an array would travel number by number.
  const bytes = (await page.evaluate(`(async () => {
    const audio = new OfflineAudioContext(1, ${1.5 * RATE}, ${RATE});
    tones.play(audio, audio.destination, tones.TONES.${name}, 0.1);
    const bytes = new Uint8Array((await audio.startRendering()).getChannelData(0).buffer);
    return btoa(bytes.reduce((text, byte) => text + String.fromCharCode(byte), ''));
  })()`)) as string;
  return new Float32Array(Uint8Array.from(Buffer.from(bytes, 'base64')).buffer);
}

/** Pitch by counting rising zero crossings between two times. */
function hertzBetween(x: Float32Array, fromS: number, toS: number): number {
  const rises: number[] = [];
  for (let i = Math.ceil(fromS * RATE); i < toS * RATE; i++)
    if (x[i - 1]! < 0 && x[i]! >= 0) rises.push(i - x[i]! / (x[i]! - x[i - 1]!));
  return ((rises.length - 1) * RATE) / (rises.at(-1)! - rises[0]!);
}

const peakBetween = (x: Float32Array, fromS: number, toS: number) =>
  x.subarray(Math.ceil(fromS * RATE), Math.floor(toS * RATE)).reduce((m, v) => Math.max(m, Math.abs(v)), 0);

for (const name of Object.keys(TONES) as ToneName[])
  it(`${name} has its pitches, lengths, level, silence around it and no click`, async () => {
    const x = await rendered(name);
    const { hertz, noteS, restS, level } = TONES[name];
    expect(peakBetween(x, 0, 0.1)).toBe(0);
    hertz.forEach((f, i) => {
      const from = 0.1 + i * (noteS + restS);
      const measured = hertzBetween(x, from + 0.016, from + noteS - 0.016);
      expect(Math.abs(measured / f - 1), `note ${i} of ${name} at ${measured} Hz`).toBeLessThan(0.01);
      const peak = peakBetween(x, from, from + noteS);
      expect(peak).toBeGreaterThan(level * 0.8);
      expect(peak).toBeLessThan(level * 1.3); // a band-limited square overshoots
      if (restS > 0) expect(peakBetween(x, from + noteS + 0.002, from + noteS + restS - 0.002)).toBe(0);
      // No step at either end: the first and last two milliseconds stay below a fifth of the level.
      expect(peakBetween(x, from, from + 0.002)).toBeLessThan(level * 0.25);
    });
    const end = 0.1 + hertz.length * (noteS + restS);
    expect(peakBetween(x, end + 0.002, 1.5)).toBe(0);
  });

it('rises for what is done, falls for what is missed, goes to and fro for the coolant alone', () => {
  const steps = (name: ToneName) =>
    TONES[name].hertz.slice(1).map((f, i) => Math.sign(f - TONES[name].hertz[i]!));
  for (const name of ['covered', 'held', 'back'] as const) expect(new Set(steps(name))).toEqual(new Set([1]));
  expect(steps('missed')).toEqual([-1]);
  expect(steps('lost')).toEqual([0, 0]);
  expect(
    Object.keys(TONES).filter((n) => steps(n as ToneName).includes(-1) && steps(n as ToneName).includes(1)),
  ).toEqual(['coolant']);
});
