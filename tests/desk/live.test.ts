/** The graph of the live side: who gets what and when, and that one who fails takes nobody along. */

import { Subject } from 'rxjs';
import { expect, it } from 'vitest';
import type { WireEvent } from '../../src/adapter/adapter.ts';
import { Judge } from '../../src/analysis/judge.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { schedulerOf } from '../../src/core/scheduler.ts';
import type { Sample } from '../../src/core/signals.ts';
import type { StreamEvent } from '../../src/desk/api.ts';
import { liveGraph } from '../../src/desk/live.ts';
import type { ReceiverEvent } from '../../src/nmea/event.ts';
import { TwoLinks } from '../../src/run/two-links.ts';
import { english } from '../../src/words/spelled.ts';

const START_US = 5_000_000;

function graph(judge: Pick<Judge, 'push' | 'view'>) {
  const clock = new ManualClock(START_US);
  const wire$ = new Subject<WireEvent>();
  const samples$ = new Subject<Sample>();
  const ended$ = new Subject<void>();
  const recorded: (WireEvent | ReceiverEvent)[] = [];
  const drawn: Sample[] = [];
  const seen: (readonly [number, StreamEvent['event'], unknown])[] = [];
  const troubles: string[] = [];
  const waiting: Sample[] = [];
  let completed = false;
  liveGraph(
    { wire$, samples$ },
    {
      recorder: { startUs: START_US, wire: (event) => void recorded.push(event) },
      judge: {
        take: (s) => void waiting.push(s),
        judged: () => waiting.splice(0).flatMap((s) => judge.push(s)),
        view: () => judge.view(),
      },
      columns: { push: (s) => void drawn.push(s) },
      order: new TwoLinks(),
      scheduler: schedulerOf(clock),
      trouble: (what) => void troubles.push(english.say(what)),
    },
    ended$,
  ).subscribe({
    next: ({ event, data }) => seen.push([(clock.nowUs() - START_US) / 1000, event, data]),
    complete: () => {
      completed = true;
    },
  });
  const hear = (value: number) => {
    const tUs = clock.nowUs();
    wire$.next({ kind: 'done', tUs, outcome: 'answered' });
    samples$.next({ signal: 'rpm', tUs, sentUs: tUs, value });
  };
  const of = (event: string) => seen.filter((s) => s[1] === event);
  const isCompleted = () => completed;
  return { clock, hear, ended$, recorded, drawn, of, troubles, isCompleted };
}

it('sends samples together, views seldom, and what waited when the run ends', async () => {
  const g = graph(new Judge({}, null));
  for (let i = 0; i < 100; i++) {
    g.hear(800 + i);
    await g.clock.advance(10);
  }
  g.hear(900);
  g.ended$.next();
  await g.clock.advance(1000);
  g.hear(901);
  expect(g.recorded).toHaveLength(101);
  expect(g.drawn.map((s) => s.value)).toEqual(Array.from({ length: 101 }, (_, i) => 800 + i));
  expect(g.drawn[1]).toMatchObject({ tUs: 10_000, sentUs: 10_000 });
  const sent = g.of('samples').map(([ms, , data]) => [ms, (data as { rpm: { v: number[] } }).rpm.v] as const);
  expect(sent.flatMap(([, v]) => v)).toEqual(g.drawn.map((s) => s.value));
  expect(sent.every(([ms, v]) => ms === 1000 || (ms % 80 === 0 && v.length <= 9))).toBe(true);
  expect(g.of('view').map(([ms]) => ms)).toEqual([240, 480, 720, 960, 1000]);
  expect(g.isCompleted()).toBe(true);
  expect(g.troubles).toEqual([]);
});

it('goes on recording and drawing when the judge fails, and says so', async () => {
  const judge = {
    push: (s: Sample) => {
      if (s.value === 3) throw new Error('division by nothing');
      return [];
    },
    view: () => new Judge({}, null).view(),
  };
  const g = graph(judge);
  for (const value of [1, 2, 3, 4, 5]) {
    g.hear(value);
    await g.clock.advance(90);
  }
  g.ended$.next();
  expect(g.recorded).toHaveLength(5);
  expect(g.drawn).toHaveLength(5);
  expect(g.of('samples')).toHaveLength(5);
  expect(g.troubles).toEqual([expect.stringContaining('recording goes on')]);
  expect(g.troubles[0]).toContain('division by nothing');
  expect(g.isCompleted()).toBe(true);
});
