/** Questions to the person in the car, one at a time, at the moment when they can be answered; kept as marks. */
import { signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Ask } from '../src/analysis/types.ts';
import type { MarkView } from '../src/server/api.ts';
import { post } from './http.ts';
import { tell } from './sound.ts';
import { attempt, driving, run, say, second, view } from './state.ts';
import { clockOf } from './words.ts';

const LETTER: Readonly<Record<Ask['id'], string>> = {
  'cabin heat idle': 'H',
  'cabin heat 2000 rpm': 'H',
  fan: 'F',
  noise: 'N',
};
const LATER_MS = 120_000;
/** Until when a question rests, by page clock. */
const resting = signal<ReadonlyMap<string, number>>(new Map());

const answerOf = (id: string) => `${id[0]!.toUpperCase()}${id.slice(1)}: `;

/** The first question of this moment that has no answer yet. */
function due(): Ask | null {
  void second.value;
  const marks = run.value?.marks ?? [];
  const open = (view.value?.asks ?? []).filter(
    (a) =>
      !marks.some((m) => m.text.startsWith(answerOf(a.id))) &&
      (resting.value.get(a.id) ?? 0) < performance.now(),
  );
  return open[0] ?? null;
}

export function Asking() {
  const ask = driving.value || !run.value ? null : due();
  useEffect(() => {
    if (ask) tell({ tone: 'ask', sentence: ask.question });
  }, [ask?.id]);
  if (!ask) return null;
  const answer = (text: string) =>
    attempt(async () => {
      const made = await post<MarkView>('/api/marks', { key: LETTER[ask.id], text: answerOf(ask.id) + text });
      say(`${made.text}, noted at ${clockOf(made.tS)}.`);
    });
  const later = () => {
    resting.value = new Map(resting.value).set(ask.id, performance.now() + LATER_MS);
  };
  return (
    <section class="ask" aria-labelledby="ask-h">
      <h2 id="ask-h">{ask.question}</h2>
      <p class="actions">
        {ask.answers.map((text) => (
          <button key={text} type="button" onClick={() => answer(text)}>
            {text}
          </button>
        ))}
        <button type="button" class="later" onClick={later}>
          later
        </button>
      </p>
    </section>
  );
}
