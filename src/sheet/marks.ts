/** Verdicts by word and mark: tick, filled bar, open ring; the mark says it without colour. */
import type { Verdict } from '../analysis/types.ts';
import type { Context } from './context.ts';
import { type Html, html, raw } from './html.ts';

const SHAPE: Readonly<Record<Verdict, Html>> = {
  'shown good': raw('<path d="M3 11l5 5 9-12" fill="none" stroke="currentColor" stroke-width="2.5"/>'),
  'fault shown': raw('<rect x="7" y="1" width="6" height="18" fill="currentColor"/>'),
  'not shown': raw('<circle cx="10" cy="10" r="7" fill="none" stroke="currentColor" stroke-width="2"/>'),
};

export const mark = (verdict: Verdict): Html =>
  html`<svg class="mark" viewBox="0 0 20 20" aria-hidden="true">${SHAPE[verdict]}</svg>`;

export const verdictWord = (verdict: Verdict, context: Context): Html =>
  html`<strong class="verdict ${verdict.replace(' ', '-')}">${mark(verdict)} ${context.t(`verdict.${verdict}`)}</strong>`;
