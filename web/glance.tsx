/** The driver's glance: three lines that fill the screen, by word and shape; nothing moves but a slow beat. */

import type { Verdict } from '../src/analysis/types.ts';
import { connection, line, run, second, tape, view } from './state.ts';
import { Mark } from './verdict.tsx';

export function Glance() {
  void second.value;
  const seen = view.value;
  const freshS = tape.value.arrivedMs > 0 ? (performance.now() - tape.value.arrivedMs) / 1000 : null;
  const alive = line.value === 'live' && freshS !== null && freshS < 3;
  return (
    <div class="glance">
      <h1 class="unseen">Glance</h1>
      <Line name="Coolant" {...coolant()} />
      <Line name="Boost" {...boost()} />
      <Line name="Next" verdict={null} text={next()} bad={false} />
      <p class="beat">
        <span class={alive && second.value % 2 === 0 ? 'pulse on' : 'pulse'} aria-hidden="true" />
        {alive
          ? 'Recording'
          : !run.value
            ? 'Not recording'
            : line.value === 'cut'
              ? 'Page cut off'
              : connection.value?.phase === 'lost'
                ? 'Link lost'
                : 'No new values'}
        {seen ? '' : '.'}
      </p>
    </div>
  );
}

interface Said {
  readonly verdict: Verdict | null;
  readonly text: string;
  readonly bad: boolean;
}

function Line({ name, verdict, text, bad }: Said & { name: string }) {
  return (
    <p class={bad ? 'glance-line bad' : 'glance-line'}>
      <span class="name">{name}</span>
      <span class="what">
        {verdict && <Mark verdict={verdict} />} {text}
      </span>
    </p>
  );
}

function coolant(): Said {
  const c = view.value?.coolant;
  if (!c || c.valueC === null) return { verdict: 'not shown', text: 'no value', bad: false };
  const bad = c.state === 'climbing' || c.valueC >= c.limitC;
  return {
    verdict: bad ? 'fault shown' : c.state === 'settled' ? 'shown good' : 'not shown',
    text: `${c.state} ${Math.round(c.valueC)} °C`,
    bad,
  };
}

function boost(): Said {
  const last = view.value?.boost.last;
  if (!last || last.held === null) return { verdict: 'not shown', text: 'not yet', bad: false };
  return last.held
    ? { verdict: 'shown good', text: 'held', bad: false }
    : { verdict: 'fault shown', text: 'missed', bad: true };
}

function next(): string {
  const seen = view.value;
  if (!seen) return '–';
  return seen.nextLeg?.title ?? 'All driven';
}
