/** What no instrument tells: the technician's own observations, each with its time, and photos. */
import { useSignal } from '@preact/signals';
import type { JobView } from '../src/desk/jobs-api.ts';
import type { Observation, ObservationKind, PhotoRef } from '../src/job/job.ts';
import { post, send } from './http.ts';
import type { Part } from './jobs-part.ts';
import { offerUndo } from './jobs-undo.tsx';
import { run, say } from './state.ts';
import { clockOf, dateOf } from './words.ts';

const KINDS: Record<ObservationKind, { question: string; answers: readonly Observation['answer'][] }> = {
  'noise gone': { question: 'Is the noise gone?', answers: ['yes', 'partly', 'no'] },
  'cabin heat idle': { question: 'Cabin heat, idling', answers: ['hot', 'lukewarm', 'cold'] },
  'cabin heat 2000 rpm': { question: 'Cabin heat, 2000 rpm', answers: ['hot', 'lukewarm', 'cold'] },
  leaks: { question: 'Leaks', answers: ['none', 'found'] },
  smell: { question: 'Smell', answers: ['none', 'found'] },
  complaint: { question: 'Complaint', answers: ['gone', 'still there'] },
  other: { question: 'Something else', answers: ['noted'] },
};

export function Observations({ view, path, act }: Part) {
  const text = useSignal('');
  const { job } = view;
  const note = async (kind: ObservationKind, answer: Observation['answer']) => {
    if (kind === 'other' && text.value.trim() === '') return say('Write what you noticed first.', true);
    const during = run.value && run.value.job === job.id ? run.value : null;
    const made = await act(() =>
      post<JobView>(`${path}/observations`, {
        kind,
        answer,
        text: text.value.trim(),
        runId: during?.id ?? null,
        tS: during?.seconds ?? null,
      }),
    );
    if (made) text.value = '';
  };
  const remove = (o: Observation) =>
    act(async () => {
      const changed = await post<JobView>(`${path}/observations/${o.id}/delete`);
      offerUndo('The observation is taken out.', async () => {
        await act(() => post<JobView>(`${path}/observations`, o));
      });
      return changed;
    });
  return (
    <section aria-labelledby="seen-h">
      <h2 id="seen-h">Observations</h2>
      {job.observations.length === 0 && (
        <p>
          Nothing is noted yet. Feel the heater, listen, look for leaks: the car's computer tells none of it.
        </p>
      )}
      <ul class="seen">
        {job.observations.map((o) => (
          <li key={o.id}>
            <b>
              {KINDS[o.kind].question.replace(/\?$/, '')}: {o.answer}
            </b>
            {o.text && `. ${o.text}`}{' '}
            <span class="quiet">
              {dateOf(o.at)}
              {o.tS !== null && `, at ${clockOf(o.tS)} of the drive`}
            </span>{' '}
            <button type="button" onClick={() => void remove(o)}>
              Take out
            </button>
          </li>
        ))}
      </ul>
      <label class="seen-text">
        In your words (may stay empty)
        <input value={text.value} maxLength={1000} onInput={(e) => (text.value = e.currentTarget.value)} />
      </label>
      <div class="ask">
        {(Object.keys(KINDS) as ObservationKind[]).map((kind) => (
          <fieldset key={kind}>
            <legend>{KINDS[kind].question}</legend>
            {KINDS[kind].answers.map((answer) => (
              <button key={answer} type="button" onClick={() => void note(kind, answer)}>
                {answer === 'noted' ? 'note it' : answer}
              </button>
            ))}
          </fieldset>
        ))}
      </div>
    </section>
  );
}

export function Photos({ view, path, act }: Part) {
  const caption = useSignal('');
  const { job } = view;
  const add = async (input: HTMLInputElement) => {
    const file = input.files?.[0];
    input.value = '';
    if (!file) return;
    const added = await act(() =>
      send<JobView>(`${path}/photos?caption=${encodeURIComponent(caption.value.trim())}`, file.type, file),
    );
    if (added) caption.value = '';
  };
  const list = (ref: PhotoRef, listed: boolean) => post<JobView>(`${path}/photos/listed`, { ref, listed });
  const remove = (p: PhotoRef) =>
    act(async () => {
      const changed = await list(p, false);
      offerUndo('The photo is left out.', async () => void (await act(() => list(p, true))));
      return changed;
    });
  return (
    <section aria-labelledby="photos-h">
      <h2 id="photos-h">Photos</h2>
      <ul class="photos">
        {job.photos.map((p) => (
          <li key={p.file}>
            <figure>
              <a href={`${path}/photos/${p.file}`} target="_blank" rel="noopener">
                <img
                  src={`${path}/photos/${p.file}`}
                  alt={p.caption || `Photo of ${dateOf(p.at)}`}
                  loading="lazy"
                />
              </a>
              <figcaption>
                {p.caption || 'No caption'} <span class="quiet">{dateOf(p.at)}</span>
              </figcaption>
            </figure>
            <button type="button" onClick={() => void remove(p)}>
              Leave out
            </button>
          </li>
        ))}
      </ul>
      <div class="fields">
        <label>
          What the next photo shows
          <input
            value={caption.value}
            maxLength={500}
            onInput={(e) => (caption.value = e.currentTarget.value)}
          />
        </label>
        <label class="file-button">
          Add a photo
          <input
            type="file"
            accept="image/jpeg,image/png,image/webp"
            onChange={(e) => void add(e.currentTarget)}
          />
        </label>
      </div>
    </section>
  );
}
