/** What no instrument tells: the technician's own observations, each with its time, and photos. */
import { useSignal } from '@preact/signals';
import { complaintKey, complaintsOf } from '../src/core/complaint.ts';
import { OBSERVATIONS, type ObservationKind } from '../src/core/observations.ts';
import type { JobView } from '../src/desk/jobs-api.ts';
import type { Observation, PhotoRef } from '../src/job/job.ts';
import { post, send } from './http.ts';
import { useUnsent } from './jobs-field.tsx';
import type { Part } from './jobs-part.ts';
import { offerUndo } from './jobs-undo.tsx';
import { run, say } from './state.ts';
import { dateOf, name, t } from './words.ts';

export function Observations({ view, path, act }: Part) {
  const { job } = view;
  const { text, set, used } = useUnsent(job.id, 'observation');
  /** @param line of the complaint that is answered; the words typed so far stay for the next note */
  const note = async (kind: ObservationKind, answer: Observation['answer'], line: string | null) => {
    if (kind === 'other' && text.value.trim() === '') return say(t('notes.write-first'), true);
    const sent = line === null ? text.value : complaintKey(line);
    const during = run.value && run.value.job === job.id ? run.value : null;
    const made = await act(() =>
      post<JobView>(`${path}/observations`, {
        kind,
        answer,
        text: sent.trim(),
        runId: during?.id ?? null,
        tS: during?.seconds ?? null,
      }),
    );
    if (made && line === null) used(sent);
  };
  // Each line of the complaint is answered by itself.
  const lines: readonly (string | null)[] =
    job.complaint || job.comeBack.complaint ? complaintsOf(job) : [null];
  const asked = (Object.keys(OBSERVATIONS) as ObservationKind[]).flatMap((kind) =>
    (kind === 'complaint' ? lines : [null]).map((line) => [kind, line] as const),
  );
  const remove = (o: Observation) =>
    act(async () => {
      const changed = await post<JobView>(`${path}/observations/${o.id}/delete`);
      offerUndo(t('notes.out'), async () => {
        await act(() => post<JobView>(`${path}/observations`, o));
      });
      return changed;
    });
  return (
    <section aria-labelledby="seen-h">
      <h2 id="seen-h">{t('notes.title')}</h2>
      {job.observations.length === 0 && <p>{t('notes.none')}</p>}
      <ul class="seen">
        {job.observations.map((o) => (
          <li key={o.id}>
            <b>{t('ask.answer', { what: name('observation', o.kind), answer: name('answer', o.answer) })}</b>
            {o.text && `. ${o.text}`}{' '}
            <span class="quiet">
              {o.tS === null ? dateOf(o.at) : t('notes.at', { date: dateOf(o.at), at: o.tS })}
            </span>{' '}
            <button type="button" onClick={() => void remove(o)}>
              {t('marks.take-out')}
            </button>
          </li>
        ))}
      </ul>
      <label class="seen-text">
        {t('notes.text')}
        <input value={text.value} maxLength={1000} onInput={(e) => set(e.currentTarget.value)} />
      </label>
      <div class="ask">
        {asked.map(([kind, line]) => (
          <fieldset key={`${kind} ${line}`}>
            <legend>
              {t(`notes.ask.${kind}`)}
              {line !== null && `: ${line}`}
            </legend>
            {OBSERVATIONS[kind].map((answer) => (
              <button key={answer} type="button" onClick={() => void note(kind, answer, line)}>
                {answer === 'noted' ? t('notes.note-it') : name('answer', answer)}
              </button>
            ))}
          </fieldset>
        ))}
      </div>
    </section>
  );
}

export function Photos({ view, path, act }: Part) {
  const { job } = view;
  const { text: caption, set, used } = useUnsent(job.id, 'caption');
  const original = useSignal(false);
  const add = async (input: HTMLInputElement) => {
    const file = input.files?.[0];
    input.value = '';
    if (!file) return;
    const sent = caption.value;
    const added = await act(() =>
      send<JobView>(
        `${path}/photos?caption=${encodeURIComponent(sent.trim())}&original=${original.value ? 1 : 0}`,
        file.type,
        file,
      ),
    );
    if (added) used(sent);
  };
  const list = (ref: PhotoRef, listed: boolean) => post<JobView>(`${path}/photos/listed`, { ref, listed });
  const remove = (p: PhotoRef) =>
    act(async () => {
      const changed = await list(p, false);
      offerUndo(t('photos.left-out'), async () => void (await act(() => list(p, true))));
      return changed;
    });
  return (
    <section aria-labelledby="photos-h">
      <h2 id="photos-h">{t('photos.title')}</h2>
      <ul class="photos">
        {job.photos.map((p) => (
          <li key={p.file}>
            <figure>
              <a href={`${path}/photos/${p.file}`} target="_blank" rel="noopener">
                <img
                  src={`${path}/photos/${p.file}`}
                  alt={p.caption || t('photos.of', { date: dateOf(p.at) })}
                  loading="lazy"
                />
              </a>
              <figcaption>
                {p.caption || t('photos.no-caption')} <span class="quiet">{dateOf(p.at)}</span>
              </figcaption>
            </figure>
            <button type="button" onClick={() => void remove(p)}>
              {t('photos.leave-out')}
            </button>
          </li>
        ))}
      </ul>
      <p class="quiet">{t('photos.cleaned')}</p>
      <label class="check">
        <input
          type="checkbox"
          checked={original.value}
          onChange={(e) => {
            original.value = e.currentTarget.checked;
          }}
        />{' '}
        {t('photos.original')}
      </label>
      <div class="fields">
        <label>
          {t('photos.shows')}
          <input value={caption.value} maxLength={500} onInput={(e) => set(e.currentTarget.value)} />
        </label>
        <label class="file-button">
          {t('photos.add')}
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
