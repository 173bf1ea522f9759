/** The dialogue in front of a recording: what it is for, which car, and the cautions. */
import { useEffect, useRef } from 'preact/hooks';
import type { RunState, StartRunRequest } from '../src/desk/api.ts';
import { post } from './http.ts';
import { attempt, follow, go, startOpen } from './state.ts';
import { name, t } from './words.ts';

const CAUTIONS = [1, 2, 3, 4, 5] as const;
const PURPOSES = ['verification', 'baseline', 'other'] as const;

export function StartDialog() {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    if (startOpen.value) dialog.current?.showModal();
    else dialog.current?.close();
  }, [startOpen.value]);
  const submit = async (e: SubmitEvent) => {
    e.preventDefault();
    const form = new FormData(e.currentTarget as HTMLFormElement);
    const text = (field: string) => String(form.get(field) ?? '').trim();
    const profile = {
      ...(text('induction') ? { induction: text('induction') } : {}),
      ...(text('fuel') ? { fuel: text('fuel') } : {}),
    };
    const request: StartRunRequest = {
      purpose: text('purpose') as StartRunRequest['purpose'],
      ...(text('vehicle') ? { vehicle: text('vehicle') } : {}),
      ...(text('complaint') ? { complaint: text('complaint') } : {}),
      ...(Object.keys(profile).length > 0 ? { profile } : {}),
    };
    const started = await attempt(async () => void (await post<RunState>('/api/run', request)));
    startOpen.value = false;
    if (started) {
      follow();
      go('drive');
    }
  };
  return (
    <dialog ref={dialog} aria-labelledby="start-h" onClose={() => (startOpen.value = false)}>
      <h2 id="start-h">{t('start.title')}</h2>
      <form onSubmit={submit} class="fields">
        <label>
          {t('start.what-for')}
          <select name="purpose">
            {PURPOSES.map((p) => (
              <option key={p} value={p}>
                {name('purpose', p)}
              </option>
            ))}
          </select>
        </label>
        <label>
          {t('start.vehicle')}
          <input name="vehicle" maxLength={200} autocomplete="off" />
        </label>
        <EngineAndComplaint />
        <Cautions />
        <p class="actions wide">
          <button type="submit" class="main">
            {t('start.title')}
          </button>
          <button type="button" onClick={() => (startOpen.value = false)}>
            {t('start.not-yet')}
          </button>
        </p>
      </form>
    </dialog>
  );
}

export function Cautions() {
  return (
    <div class="wide cautions">
      <h3>{t('start.before')}</h3>
      <ul>
        {CAUTIONS.map((c) => (
          <li key={c}>{t(`caution.${c}`)}</li>
        ))}
      </ul>
    </div>
  );
}

export const INDUCTIONS = ['naturally aspirated', 'turbocharger', 'supercharger', 'twin-charged'];
export const FUELS = ['petrol', 'diesel'];

/** What is asked of every car, in a form that reads its fields by name. */
export function EngineAndComplaint() {
  return (
    <>
      <label>
        {t('start.induction')}
        <select name="induction">
          <Options of={INDUCTIONS} group="induction" />
        </select>
      </label>
      <label>
        {t('start.fuel')}
        <select name="fuel">
          <Options of={FUELS} group="fuel" />
        </select>
      </label>
      <label class="wide">
        {t('start.complaint')}
        <textarea name="complaint" rows={2} maxLength={4000} />
      </label>
    </>
  );
}

/** Of a choice that may stay open. */
export function Options({ of, group }: { of: readonly string[]; group: 'induction' | 'fuel' }) {
  return (
    <>
      <option value="">{t('app.not-known')}</option>
      {of.map((text) => (
        <option key={text} value={text}>
          {name(group, text)}
        </option>
      ))}
    </>
  );
}
