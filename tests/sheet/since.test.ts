/** A car that came back: each thing against the end of the visit before, and nothing claimed that one side did not show. */
import { expect, it } from 'vitest';
import type { Judgement, Verdict } from '../../src/analysis/types.ts';
import { asIs } from '../../src/core/says.ts';
import { type Job, newJob } from '../../src/job/job.ts';
import { type SinceRuns, sinceVisit } from '../../src/sheet/since.ts';
import { english } from '../../src/words/spelled.ts';
import { snapshotOf } from './jobs.ts';

const DAY = '2026-03-0';
const job = (more: Partial<Job> = {}): Job => ({ ...newJob('j', `${DAY}3T08:00:00.000Z`), ...more });
const judged = (found: Readonly<Record<string, Verdict>>): Judgement => {
  const findings = Object.entries(found).map(([id, verdict]) => ({ id, verdict, system: id.split('.')[0] }));
  const of = (system: string): Verdict => {
    const own = findings.filter((f) => f.system === system).map((f) => f.verdict);
    const shown = own.every((v) => v === 'shown good') ? 'shown good' : 'not shown';
    return own.includes('fault shown') ? 'fault shown' : shown;
  };
  const systems = { boost: { verdict: of('boost') }, coolant: { verdict: of('coolant') } };
  return { findings, systems } as unknown as Judgement;
};
const runs = (more: Partial<SinceRuns> = {}): SinceRuns => ({
  before: null,
  now: null,
  backAt: `${DAY}9T08:00:00.000Z`,
  backIds: new Set(['back']),
  comparison: null,
  ...more,
});
const told = (...args: Parameters<typeof sinceVisit>) =>
  sinceVisit(...args).map((r) => [
    english.say(r.what),
    r.before && english.say(r.before),
    r.now && english.say(r.now),
    r.change,
  ]);

it('says nothing of a car that did not come back', () => {
  const before = judged({ 'boost.clutch-band': 'shown good' });
  expect(told(job(), runs({ before, backAt: null }), [])).toEqual([]);
});

it('goes fault by fault: worse, new, the same, better, and not to be told of what one side did not show', () => {
  const before = judged({
    'boost.clutch-band': 'fault shown',
    'boost.leak': 'not shown',
    'boost.late': 'fault shown',
    'coolant.climb': 'shown good',
    'coolant.fan': 'fault shown',
    'sensor.ect_c': 'shown good',
  });
  const now = judged({
    'boost.clutch-band': 'fault shown',
    'boost.leak': 'fault shown',
    'boost.late': 'shown good',
    'coolant.climb': 'fault shown',
    'coolant.fan': 'not shown',
    'sensor.ect_c': 'fault shown',
  });
  const changes = Object.fromEntries(
    sinceVisit(job(), runs({ before, now }), []).map((r) => [
      `${r.what.id} ${r.what.args.signal ?? ''}`.trim(),
      r.change,
    ]),
  );
  expect(changes).toEqual({
    'finding.boost.clutch-band': 'same',
    'finding.boost.leak': 'new',
    'finding.boost.late': 'better',
    'finding.coolant.climb': 'worse',
    'finding.coolant.fan': 'not told',
    'since.sensor ect_c': 'worse',
  });
});

it('names no changeover of an engine that has a turbocharger alone, and calls nothing new that was not shown', () => {
  const before = judged({ 'boost.low-speed': 'not shown', 'boost.above-hand-over': 'not shown' });
  const now = judged({ 'boost.low-speed': 'not shown', 'boost.above-hand-over': 'fault shown' });
  expect(told(job(), runs({ before, now }), [])).toEqual([
    ['Boost at higher engine speed', 'not shown', 'fault shown', 'new'],
  ]);
  expect(english.say({ id: 'since.change.new', args: {} })).toBe('found now');
  const twin = judged({ 'boost.clutch-band': 'not shown', 'boost.above-hand-over': 'fault shown' });
  expect(told(job(), runs({ before, now: { ...twin } }), []).map(([what]) => what)).toEqual([
    'Boost at higher engine speed',
  ]);
  expect(told(job(), runs({ before: twin, now: twin }), []).map(([what]) => what)).toEqual([
    'Boost above the changeover',
  ]);
});

it('calls boost that is good both times worse where the comparison shows a loss', () => {
  const good = judged({ 'boost.clutch-band': 'shown good', 'coolant.climb': 'shown good' });
  const overall = [
    { verdict: 'no worse', region: asIs('all') },
    { verdict: 'worse', region: asIs('low') },
  ];
  const comparison = { overall } as unknown as SinceRuns['comparison'];
  expect(told(job(), runs({ before: good, now: good, comparison }), [])).toEqual([
    ['Boost', 'shown good', 'shown good; compared at the same operating points: worse (low)', 'worse'],
    ['Cooling', 'shown good', 'shown good', 'same'],
  ]);
  expect(told(job(), runs({ before: null, now: good }), []).map((r) => r[3])).toEqual([
    'not told',
    'not told',
  ]);
});

it('reads codes and lamp of the last reading after the work against the one at the come-back', () => {
  const listed = (code: string) => ({ code, text: '', source: null });
  const read = [
    { when: 'before', at: '1', snapshot: snapshotOf({ stored: [listed('P0299')], mil: true }) },
    { when: 'after', at: '2', snapshot: snapshotOf({ stored: [listed('P0128')], mil: false }) },
    { when: 'come-back', at: '3', snapshot: snapshotOf({ pending: [listed('P0299')], mil: true }) },
  ] as const;
  expect(told(job(), runs({ backAt: null }), read)).toEqual([
    ['Engine lamp (MIL)', 'off', 'on', 'worse'],
    [expect.stringMatching(/^P0299: /), 'not there', 'pending', 'new'],
    [expect.stringMatching(/^P0128: /), 'stored', 'not there', 'better'],
  ]);
});

it('takes the last answer and the last measurement of each side', () => {
  const seen = (at: string, kind: string, answer: string, runId: string | null = null, text = '') =>
    ({
      id: at,
      at: `${DAY}${at}T09:00:00.000Z`,
      runId,
      tS: null,
      kind,
      answer,
      text,
    }) as Job['observations'][number];
  const measured = (what: string, result: string, when: string) =>
    ({ what, result, when, name: '' }) as Job['measurements'][number];
  const visit = job({
    observations: [
      seen('3', 'leaks', 'found'),
      seen('4', 'leaks', 'none'),
      seen('4', 'noise gone', 'partly', 'first'),
      seen('4', 'complaint', 'gone', 'first', 'It whistles.'),
      seen('9', 'leaks', 'found'),
      seen('9', 'noise gone', 'yes', 'back'),
      seen('9', 'smell', 'found', 'back'),
      seen('9', 'complaint', 'still there', 'back', 'It whistles.'),
    ],
    measurements: [
      measured('air-gap', 'pass', 'after'),
      measured('air-gap', 'fail', 'come-back'),
      measured('belt', 'pass', 'after'),
    ],
  });
  expect(told(visit, runs(), [])).toEqual([
    ['Leaks', 'none', 'found', 'worse'],
    ['Complaint: It whistles.', 'gone', 'still there', 'worse'],
    ['Clutch air gap', 'passed', 'failed', 'worse'],
    ['Smell', null, 'found', 'new'],
    ['Noise gone', 'partly', 'yes', 'better'],
  ]);
});
