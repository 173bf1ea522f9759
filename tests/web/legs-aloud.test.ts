/** What is said aloud of the legs: ticked, taken back, and nothing of them while the coolant is too hot. */
import { expect, it } from 'vitest';
import { page as german } from '../../src/words/de/page.ts';
import { page as english } from '../../src/words/en/page.ts';
import { METRIC } from '../../src/words/measures.ts';
import type { LiveView } from '../../src/words/views.ts';
import { Words } from '../../src/words/words.ts';
import { legsAloud } from '../../web/legs-aloud.ts';

const view = (covered: readonly string[], tooHot = false) =>
  ({
    legs: ['pull-low', 'pull-high'].map((leg) => ({ leg, covered: covered.includes(leg) })),
    coolant: { tooHot },
  }) as unknown as LiveView;
const aloud = (...[before, now]: [LiveView, LiveView]) => {
  const { done, back } = legsAloud(before, now);
  return [done.map((l) => l.leg), back.map((l) => l.leg)];
};

it('a tick is said once, and as loudly taken back', () => {
  expect(aloud(view([]), view(['pull-low']))).toEqual([['pull-low'], []]);
  expect(aloud(view(['pull-low']), view(['pull-low']))).toEqual([[], []]);
  expect(aloud(view(['pull-low']), view(['pull-high']))).toEqual([['pull-high'], ['pull-low']]);
  const args = { leg: 'Above the changeover', left: 'later pulls differ: 3 of 4' };
  const said = (language: typeof english) =>
    new Words(language, METRIC, 'UTC').say({ id: 'said.leg-again', args });
  expect(said(english)).toBe('Above the changeover: open again; later pulls differ: 3 of 4.');
  expect(said(german)).toBe('Above the changeover: wieder offen; later pulls differ: 3 of 4.');
});

it('nothing is said of legs while the coolant is too hot', () => {
  expect(aloud(view([]), view(['pull-low'], true))).toEqual([[], []]);
  expect(aloud(view(['pull-low']), view([], true))).toEqual([[], []]);
});
