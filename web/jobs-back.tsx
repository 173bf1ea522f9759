/** A car that came back: what the customer says now, and what is the same, better, worse or new. */
import type { SinceView } from '../src/desk/jobs-api.ts';
import { Field } from './jobs-field.tsx';
import type { Part } from './jobs-part.ts';
import { Answering, useAnswer } from './under-way.tsx';
import { name, t, told, unitText, words } from './words.ts';

/** The car came back: an event of its own, with what the customer says then. What is empty is no key of it. */
export function ComeBack(part: Part) {
  const { complaint, day, odometerKm } = part.view.job.comeBack;
  const { factor } = words.value.measures.conversion('km');
  const shown = (km: number | null | undefined) => (km == null ? '' : String(Math.round(km * factor)));
  const parse = (text: string) => {
    if (text === shown(odometerKm)) return odometerKm;
    const digits = text.replace(/[\s.,']/g, '');
    const km = digits === '' ? undefined : Math.round(Number(digits) / factor);
    return Number.isNaN(km) ? { wrong: t('job.no-distance', { text }) } : km;
  };
  const show = (text: string | undefined) => text ?? '';
  const orNone = (text: string) => text.trim() || undefined;
  return (
    <section aria-labelledby="back-h">
      <h2 id="back-h">{t('back.title')}</h2>
      <div class="fields">
        <Field
          part={part}
          field="comeBack.complaint"
          value={complaint}
          label={t('back.complaint')}
          show={show}
          parse={orNone}
          rows={2}
          most={4000}
        />
        <Field
          part={part}
          field="comeBack.day"
          value={day}
          label={t('back.day')}
          show={show}
          parse={orNone}
          most={200}
        />
        <Field
          part={part}
          field="comeBack.odometerKm"
          value={odometerKm}
          label={t('back.odometer', { unit: unitText('km') })}
          show={shown}
          parse={parse}
          numeric="numeric"
        />
      </div>
      <Since {...part} />
    </section>
  );
}

function Since({ view, path }: Part) {
  const since = useAnswer<SinceView>(`${path}/since`, `${view.job.changedAt} ${view.runs.length}`);
  const answering = <Answering what="since" run={view.job.id} of={since} />;
  if (since.is === null) return answering; // the drives say what cannot be read
  const { rows } = since.is;
  return (
    <>
      <h3>{t('back.since')}</h3>
      {answering}
      {rows.length === 0 ? (
        <p>{t('back.nothing')}</p>
      ) : (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reached by the keyboard
        <div class="scrolls" tabIndex={0}>
          <table class="memory" aria-label={t('back.since')}>
            <thead>
              <tr>
                <th scope="col">{t('back.what')}</th>
                <th scope="col">{t('back.then')}</th>
                <th scope="col">{t('back.now')}</th>
                <th scope="col">{t('back.is')}</th>
              </tr>
            </thead>
            <tbody>
              {rows.map((r, i) => (
                <tr key={i}>
                  <th scope="row">{told(r, 'what')}</th>
                  <td>{told(r, 'before') ?? '–'}</td>
                  <td>{told(r, 'now') ?? '–'}</td>
                  <td>
                    <b>{name('since.change', r.change)}</b>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </>
  );
}
