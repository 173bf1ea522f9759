/** A whole visit in German, from opening the job to the sheet; `npm run visits` walks six longer ones. */
import { expect } from 'vitest';
import { needs } from '../require.ts';
import { hasChromium, inBrowser, WITHOUT_CHROMIUM } from './browser.ts';
import { walk } from './visits.ts';

const it = needs(hasChromium, WITHOUT_CHROMIUM);
const webRoot = inBrowser();

it('is walked to its end, and a drive too short for any verdict is handed over as that', async () => {
  const walked = await walk(webRoot(), {
    name: 'short',
    link: 'sim:twin-charged?route=short&seed=48',
    seconds: 40,
    lang: 'de',
    heat: 'hot',
    boost: null,
    coolant: null,
  });
  expect(walked.complaints).toEqual([]);
  expect([walked.boost, walked.coolant]).toEqual(['not shown', 'not shown']);
  expect(walked.steps.map((s) => s.step).at(-1)).toBe('sheet');
  expect(walked.steps.reduce((n, s) => n + s.clicks, 0)).toBeLessThanOrEqual(20);
  expect(walked.sheet).toContain('belegen');
});
