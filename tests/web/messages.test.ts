/** What the page says aloud of legs that ticked: the next one, that all are driven, or neither. */
import { describe, expect, it } from 'vitest';
import type { LiveView } from '../../src/words/views.ts';
import { ofView } from '../../web/messages.ts';

const leg = (name: string, covered: boolean) => ({ leg: name, title: name, covered });
const view = (covered: boolean, next: string | null, tooHot = false) =>
  ({
    ...{ legs: [leg('warm-up', covered)], nextLeg: next === null ? null : leg(next, false) },
    ...{ coolant: { tooHot }, boost: { last: null } },
  }) as unknown as LiveView;

describe('a leg that ticked', () => {
  const said = (now: LiveView) => ofView(view(false, 'warm-up'), now).map((m) => m.sentence?.split(' ')[0]);
  // Without a language each is its key.
  it('is told with the next one, or that all are driven', () => {
    expect(said(view(true, 'pulls'))).toEqual(['said.legs-driven']);
    expect(said(view(true, null))).toEqual(['said.all-driven']);
    expect(said(view(false, 'pulls'))).toEqual([]);
  });
  it('is told alone while the coolant is too hot to drive on', () => {
    expect(said(view(true, null, true))).toEqual(['said.legs-only']);
  });
});
