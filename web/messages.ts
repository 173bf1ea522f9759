/** What changed in the drive, as messages for the ear. Pure; verdicts are the daemon's, this only says them. */

import type { DaemonState } from '../src/desk/api.ts';
import type { LiveView, Spoken } from '../src/words/views.ts';
import type { Message } from './announcer.ts';
import { legsAloud } from './legs-aloud.ts';
import { t, told } from './words.ts';

/** Legs that ticked themselves off, or were taken back, and how the last engagement went. */
export function ofView(before: LiveView | null, now: LiveView): Message[] {
  if (!before) return [];
  const out: Message[] = [];
  const { done, back } = legsAloud(before, now);
  if (done.length > 0) {
    const legs = done.map((l) => told(l, 'title')).join(', ');
    const sentence = now.nextLeg
      ? t('said.legs-driven', { legs, next: told(now.nextLeg, 'title') })
      : t(now.legs.every((l) => l.covered) ? 'said.all-driven' : 'said.nothing-more', { legs });
    out.push({ tone: 'covered', sentence });
  }
  for (const l of back) {
    const said = { leg: told(l, 'title'), left: told(l, 'left') ?? '' };
    out.push({ tone: 'missed', sentence: t(l.over ? 'said.leg-left' : 'said.leg-again', said) });
  }
  const last = now.boost.last;
  const was = before.boost.last;
  if (last && (last.fromS !== was?.fromS || last.held !== was.held)) {
    if (last.held === true) out.push({ tone: 'held', sentence: null });
    if (last.held === false) out.push({ tone: 'missed', sentence: t('said.missed') });
  }
  return out;
}

export function ofSpoken(spoken: Spoken): Message {
  const { finding } = spoken;
  const sentence = told(spoken, 'sentence');
  if (finding.verdict === 'shown good') return { tone: 'covered', sentence };
  if (finding.system === 'coolant' && finding.verdict === 'fault shown') return { tone: 'coolant', sentence };
  return { tone: 'missed', sentence };
}

/** The link and the recording themselves. Only while something is recorded: before that nothing can be lost. */
export function ofState(before: DaemonState | null, now: DaemonState): Message[] {
  if (!before?.run || !now.run || before.run.id !== now.run.id) return [];
  const out: Message[] = [];
  const was = before.connection.phase === 'connected';
  const is = now.connection.phase === 'connected';
  if (was && !is) out.push({ tone: 'lost', sentence: t('said.link-lost') });
  if (!was && is) out.push({ tone: 'back', sentence: t('said.link-back') });
  if (now.run.trouble && !before.run.trouble)
    out.push({ tone: 'lost', sentence: t('said.trouble', { why: now.run.trouble }) });
  return out;
}
