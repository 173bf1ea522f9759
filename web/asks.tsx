/**
 * Questions to the person in the car, one at a time, at the moment when they can be answered. The answer is a mark of
 * the recording, and where the recording belongs to a job an observation of it with the same time.
 */
import { signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { answerIn, markOfAnswer } from '../src/core/answers.ts';
import type { MarkEdit, MarkView } from '../src/desk/api.ts';
import type { NewObservation } from '../src/desk/jobs-api.ts';
import type { Observation } from '../src/job/job.ts';
import type { Ask } from '../src/words/views.ts';
import { post } from './http.ts';
import { tell } from './sound.ts';
import { attempt, driving, run, sayUndo, second, view } from './state.ts';
import { markShown, name, t, told } from './words.ts';

const LETTER: Readonly<Record<Ask['id'], string>> = {
  'cabin heat idle': 'H',
  'cabin heat 2000 rpm': 'H',
  fan: 'F',
  noise: 'N',
};
const LATER_MS = 120_000;
/** Until when a question rests, by page clock. */
const resting = signal<ReadonlyMap<string, number>>(new Map());

type Noted = Pick<Observation, 'kind' | 'answer' | 'text'>;
const OF_NOISE: Readonly<Record<string, Noted>> = {
  gone: { kind: 'noise gone', answer: 'yes', text: '' },
  'still there': { kind: 'noise gone', answer: 'no', text: '' },
};

/** What the job keeps of an answer: ids where it has them, else its words. */
function notedOf(id: Ask['id'], answer: string): Noted {
  if (id === 'cabin heat idle' || id === 'cabin heat 2000 rpm')
    return { kind: id, answer: answer as Observation['answer'], text: '' };
  const known = id === 'noise' ? OF_NOISE[answer] : undefined;
  return known ?? { kind: 'other', answer: 'noted', text: markShown(markOfAnswer(id, answer)) };
}

/** Answered on this page; the mark comes back a moment later. */
const answered = signal<ReadonlySet<string>>(new Set());

/** The first question of this moment that has no answer yet. */
function due(): Ask | null {
  void second.value;
  const marks = run.value?.marks ?? [];
  const open = (view.value?.asks ?? []).filter(
    (a) =>
      !answered.value.has(`${run.value?.id} ${a.id}`) &&
      !marks.some((m) => answerIn(m.text)?.id === a.id) &&
      (resting.value.get(a.id) ?? 0) < performance.now(),
  );
  return open[0] ?? null;
}

export function Asking() {
  const ask = driving.value || !run.value ? null : due();
  useEffect(() => {
    if (ask) tell({ tone: 'ask', sentence: told(ask, 'question') });
  }, [ask?.id]);
  if (!ask) return null;
  const answer = (given: string) =>
    attempt(async () => {
      const { id: runId, job } = run.value!;
      const made = await post<MarkView>('/api/marks', {
        key: LETTER[ask.id],
        text: markOfAnswer(ask.id, given),
      });
      const key = `${runId} ${ask.id}`;
      answered.value = new Set(answered.value).add(key);
      const seen = `/api/jobs/${job}/observations`;
      const id = `o-${runId}-${Math.round(made.tS * 1000)}`.toLowerCase().replaceAll('_', '-').slice(0, 80);
      if (job) {
        const noted: NewObservation = { ...notedOf(ask.id, given), id, runId, tS: made.tS };
        await post(seen, noted);
      }
      const noted = { what: markShown(made.text), at: made.tS };
      sayUndo(job ? t('ask.noted-job', noted) : t('ask.noted', noted), () => {
        answered.value = new Set([...answered.value].filter((k) => k !== key));
        const out: MarkEdit = { ...made, removed: true };
        void attempt(async () => {
          await post(`/api/runs/${encodeURIComponent(runId)}/marks`, out);
          if (job) await post(`${seen}/${id}/delete`);
        });
      });
    });
  const later = () => {
    resting.value = new Map(resting.value).set(ask.id, performance.now() + LATER_MS);
  };
  return (
    <section class="ask" aria-labelledby="ask-h">
      <h2 id="ask-h">{told(ask, 'question')}</h2>
      <p class="actions">
        {ask.answers.map((id) => (
          <button key={id} type="button" onClick={() => answer(id)}>
            {name('answer', id)}
          </button>
        ))}
        <button type="button" class="later" onClick={later}>
          {t('ask.later')}
        </button>
      </p>
    </section>
  );
}
