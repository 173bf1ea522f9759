/** What was measured by hand: noted with its unit, what was expected and who says so; offered by what was repaired. */
import { useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import {
  heldIsAsked,
  MEASURE_UNITS,
  MEASURES,
  type MeasureId,
  type MeasureUnit,
  NAMED,
  offeredMeasures,
} from '../src/core/hand-measures.ts';
import type { JobView, NewMeasurement } from '../src/desk/jobs-api.ts';
import type { Measurement } from '../src/job/job.ts';
import { conversionOf } from '../src/words/measured.ts';
import { measurementText } from '../src/words/measurement-text.ts';
import { useFormDraft } from './drafts-form.ts';
import { post } from './http.ts';
import type { Part } from './jobs-part.ts';
import { offerUndo } from './jobs-undo.tsx';
import { say } from './state.ts';
import { dateOf, name, t, words } from './words.ts';

const RESULTS = ['pass', 'fail', 'note'] as const;
const TIMES = ['before', 'during', 'after', 'come-back'] as const;

export function Measurements(part: Part) {
  const { view, path, act } = part;
  const { job } = view;
  const remove = (m: Measurement) =>
    act(async () => {
      const changed = await post<JobView>(`${path}/measurements/${m.id}/delete`);
      offerUndo(t('measures.out'), async () => {
        await act(() => post<JobView>(`${path}/measurements`, m));
      });
      return changed;
    });
  return (
    <section aria-labelledby="measures-h">
      <h2 id="measures-h">{t('measure.title')}</h2>
      {job.measurements.length === 0 && <p>{t('measures.none')}</p>}
      <ul class="seen">
        {job.measurements.map((m) => (
          <li key={m.id}>
            <Said of={m} />{' '}
            <button type="button" onClick={() => void remove(m)}>
              {t('marks.take-out')}
            </button>
          </li>
        ))}
      </ul>
      <Form {...part} />
    </section>
  );
}

function Said({ of: m }: { of: Measurement }) {
  const { what, value, expected } = measurementText(m, words.value);
  const result = name('measure-result', m.result);
  return (
    <>
      <b>{t('ask.answer', { what, answer: value === '' ? result : value })}</b>
      {value !== '' && `, ${result}`}
      {expected && ` (${t('ask.answer', { what: t('measure.col.expected'), answer: expected })})`}
      {m.text && `. ${m.text}`}{' '}
      <span class="quiet">
        {[name('measure-when', m.when), m.who, dateOf(m.at)].filter(Boolean).join(', ')}
      </span>
    </>
  );
}

function Form({ view: { job }, path, act }: Part) {
  const draft = useFormDraft(job.id, 'measurement');
  const chosen = useRef<HTMLSelectElement>(null);
  const offered = offeredMeasures([...job.replaced, job.suspected]);
  const what = useSignal<MeasureId>(offered.first[0] ?? 'other');
  const options = (ids: readonly MeasureId[]) =>
    ids.map((id) => (
      <option key={id} value={id}>
        {name('measure', id)}
      </option>
    ));
  const fixed = MEASURES[what.value].unit;
  const looked = what.value !== 'other' && fixed === '';
  const submit = async (e: SubmitEvent) => {
    e.preventDefault();
    const form = new FormData(draft.form.current!);
    const sent = draft.text();
    const text = (field: string) => String(form.get(field) ?? '').trim();
    const unit = (what.value === 'other' ? text('unit') : fixed) as MeasureUnit;
    const figures = [];
    for (const field of ['value', 'low', 'high']) {
      const figure = figureOf(text(field), unit);
      if (Number.isNaN(figure)) return say(t('known.no-number', { text: text(field) }), true);
      figures.push(figure);
    }
    const [value = null, low = null, high = null] = figures;
    const heldMin = figureOf(text('held'), 'min');
    if (Number.isNaN(heldMin)) return say(t('known.no-number', { text: text('held') }), true);
    if (value === null && text('text') === '' && !looked) return say(t('measures.empty'), true);
    const noted: NewMeasurement = {
      what: what.value,
      name: text('name'),
      value,
      unit,
      heldMin,
      low,
      high,
      source: text('source'),
      result: text('result') as Measurement['result'],
      when: text('when') as Measurement['when'],
      who: text('who'),
      text: text('text'),
    };
    if (await act(() => post<JobView>(`${path}/measurements`, noted))) draft.used(sent, KEPT);
  };
  const unitText = conversionOf(words.value.measures, fixed).text;
  const figure = (field: 'value' | 'low' | 'high') => (
    <label>
      {unitText
        ? t('known.with-unit', { what: t(`measures.${field}`), unit: unitText })
        : t(`measures.${field}`)}
      <input name={field} inputMode="decimal" maxLength={20} autocomplete="off" />
    </label>
  );
  return (
    <form
      ref={draft.form}
      class="fields measure"
      aria-label={t('measure.title')}
      onInput={() => {
        what.value = (chosen.current?.value ?? 'other') as MeasureId;
        draft.keep();
      }}
      onSubmit={(e) => void submit(e)}
    >
      <label>
        {t('measures.what')}
        <select name="what" ref={chosen} value={what.value}>
          {offered.first.length > 0 && (
            <optgroup label={t('measures.fits')}>{options(offered.first)}</optgroup>
          )}
          <optgroup label={t('measures.others')}>{options(offered.others)}</optgroup>
        </select>
      </label>
      {NAMED.has(what.value) && (
        <label>
          {t('measures.name')}
          <input name="name" maxLength={200} autocomplete="off" />
        </label>
      )}
      {!looked && figure('value')}
      {what.value === 'other' && (
        <label>
          {t('measures.unit')}
          <select name="unit">
            {MEASURE_UNITS.map((u) => (
              <option key={u} value={u}>
                {conversionOf(words.value.measures, u).text || t('measures.no-unit')}
              </option>
            ))}
          </select>
        </label>
      )}
      {heldIsAsked(what.value) && (
        <label>
          {t('measures.held')}
          <input name="held" inputMode="decimal" maxLength={8} autocomplete="off" />
        </label>
      )}
      {!looked && figure('low')}
      {!looked && figure('high')}
      {!looked && (
        <label>
          {t('measures.source')}
          <input name="source" maxLength={200} autocomplete="off" />
        </label>
      )}
      <label>
        {t('measures.result')}
        <select name="result">
          {RESULTS.map((r) => (
            <option key={r} value={r}>
              {name('measure-result', r)}
            </option>
          ))}
        </select>
      </label>
      <label>
        {t('measures.when')}
        <select name="when">
          {TIMES.map((w) => (
            <option key={w} value={w}>
              {name('measure-when', w)}
            </option>
          ))}
        </select>
      </label>
      <label>
        {t('measures.who')}
        <input name="who" maxLength={200} autocomplete="off" defaultValue={job.technician} />
      </label>
      <label class="wide">
        {t('measures.text')}
        <textarea name="text" rows={2} maxLength={1000} />
      </label>
      <p class="actions wide">
        <button type="submit">{t('measures.add')}</button>
      </p>
    </form>
  );
}

/** What the next measurement most likely shares with this one. */
const KEPT: readonly string[] = ['what', 'unit', 'result', 'when', 'who', 'source'];

/** As it is kept; null for nothing, NaN for what is no number. */
function figureOf(text: string, unit: MeasureUnit): number | null {
  if (text === '') return null;
  const { factor, offset } = conversionOf(words.value.measures, unit);
  const typed = Number(text.replace(',', '.').replace('−', '-'));
  return factor === 1 && offset === 0 ? typed : Number(((typed - offset) / factor).toFixed(4));
}
