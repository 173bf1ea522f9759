/** One job on one page, in the order of the visit: complaint, vehicle, codes, drives, observations, photos, sheet. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { ChangedJob, JobView } from '../src/desk/jobs-api.ts';
import { takeOverDrafts } from './drafts.ts';
import { CallError, get, post, sentenceOf } from './http.ts';
import { ComeBack } from './jobs-back.tsx';
import { Codes } from './jobs-codes.tsx';
import { Drives, Record } from './jobs-drives.tsx';
import { Field } from './jobs-field.tsx';
import { HandOver } from './jobs-hand-over.tsx';
import { Measurements } from './jobs-measures.tsx';
import { Observations, Photos } from './jobs-notes.tsx';
import type { Part, Saved } from './jobs-part.ts';
import { ProfilePart } from './jobs-profile.tsx';
import { attempt, jobAtHand, run } from './state.ts';
import { dateOf, t, told, unitText, words } from './words.ts';
import { Writes } from './writes.tsx';

export function JobPage({ id }: { id: string }) {
  const view = useSignal<JobView | null>(null);
  const trouble = useSignal<string | null>(null);
  const last = useRef<Promise<unknown>>(Promise.resolve());
  const path = `/api/jobs/${encodeURIComponent(id)}`;
  useEffect(() => {
    Promise.all([get<JobView>(path), takeOverDrafts(id)]).then(
      ([got]) => {
        view.value = got;
        trouble.value = null;
        jobAtHand.value = { id, vehicle: got.job.vehicle };
      },
      (error) => {
        trouble.value = sentenceOf(error);
      },
    );
  }, [path, run.value?.id ?? null]);
  useEffect(() => {
    // Whoever comes back to this tab may have written in another one.
    const again = () => {
      if (document.hidden || !view.value) return;
      last.current = last.current.then(async () => {
        view.value = await get<JobView>(path).catch(() => view.value);
      });
    };
    document.addEventListener('visibilitychange', again);
    return () => document.removeEventListener('visibilitychange', again);
  }, [path]);
  if (!view.value)
    return (
      <div class="page job">
        <h1>{t('job.title')}</h1>
        <p class={trouble.value ? 'trouble' : 'lead'}>{trouble.value ?? t('app.looking')}</p>
        <p>
          <a href="#/jobs">{t('job.all')}</a>
        </p>
      </div>
    );
  // One after the other: what is changed twice in a second is changed twice, the second on top of the first.
  const act: Part['act'] = (request) => {
    const mine = last.current.then(() =>
      attempt(async () => {
        view.value = await request(view.value!);
      }),
    );
    last.current = mine;
    return mine;
  };
  const set: Part['set'] = (field, value, was) => {
    const mine = last.current.then(async (): Promise<Saved> => {
      try {
        const changed = await post<ChangedJob>(path, { ...one(field, value), was: one(field, was) });
        view.value = changed;
        return { is: changed.conflicts.length > 0 ? 'conflict' : 'saved' };
      } catch (error) {
        const answered = error instanceof CallError && error.status > 0 && error.status < 500;
        return answered ? { is: 'refused', why: sentenceOf(error) } : { is: 'lost' };
      }
    });
    last.current = mine;
    return mine;
  };
  const part: Part = { view: view.value, path, act, set };
  const { job } = view.value;
  return (
    <div class="page job">
      <header>
        <p>
          <a href="#/jobs">{t('job.all')}</a>
        </p>
        <h1>
          {job.vehicle || t('app.unnamed')} {job.practice && <span class="tag">{t('jobs.practice')}</span>}
        </h1>
        <p class="lead">
          {[job.plate, job.reference].filter(Boolean).join(' · ')}
          {(job.plate || job.reference) && '. '}
          {told(view.value, 'stands')}{' '}
          <span class="quiet">{t('job.opened', { date: dateOf(job.openedAt) })}</span>
        </p>
      </header>
      <Writes>
        <Record {...part} />
        <Visit {...part} />
        {(job.closedAt !== null ||
          job.comeBack.complaint ||
          view.value.runs.some((r) => r.purpose === 'come-back')) && <ComeBack {...part} />}
        <Drives {...part} />
        <Codes {...part} />
        <Observations {...part} />
        <Measurements {...part} />
        <ProfilePart {...part} />
        <Photos {...part} />
        <HandOver {...part} />
      </Writes>
    </div>
  );
}

/** "profile.fanOnC" is one key of a field; a value that is taken away leaves none behind. */
function one(field: string, value: unknown): object {
  const [name = '', key] = field.split('.');
  const own = key === undefined ? value : { [key]: value };
  return { [name]: own };
}

const asIs = (text: string): string => text;
const trimmed = (text: string): string => text.trim();

function Visit(part: Part) {
  const { job } = part.view;
  const line = (
    name:
      | 'vehicle'
      | 'plate'
      | 'vin'
      | 'reference'
      | 'technician'
      | 'workshop'
      | 'nextCheck'
      | 'workshopPhone',
    label: string,
  ) => (
    <Field part={part} field={name} value={job[name]} label={label} show={asIs} parse={trimmed} most={200} />
  );
  const prose = (name: 'complaint' | 'suspected' | 'weather' | 'labour', label: string) => (
    <Field
      part={part}
      field={name}
      value={job[name]}
      label={label}
      show={asIs}
      parse={trimmed}
      rows={2}
      most={name === 'weather' ? 1000 : 4000}
    />
  );
  const perKm = words.value.measures.conversion('km').factor;
  const shownKm = (km: number | null) => (km === null ? '' : String(Math.round(km * perKm)));
  const distance = (known: number | null) => (text: string) => {
    if (text === shownKm(known)) return known;
    const digits = text.replace(/[\s.,']/g, '');
    if (digits === '') return null;
    const km = Math.round(Number(digits) / perKm);
    return Number.isFinite(km) ? km : { wrong: t('job.no-distance', { text }) };
  };
  const odometer = (name: 'odometerKm' | 'odometerOutKm', label: string) => (
    <Field
      part={part}
      field={name}
      value={job[name]}
      label={label}
      show={shownKm}
      parse={distance(job[name])}
      numeric="numeric"
    />
  );
  return (
    <section aria-labelledby="visit-h">
      <h2 id="visit-h">{t('job.visit')}</h2>
      <div class="fields">
        {prose('complaint', t('start.complaint'))}
        {prose('suspected', t('job.suspected'))}
        <Field
          part={part}
          field="replaced"
          value={job.replaced}
          label={t('job.replaced')}
          show={(lines) => lines.join('\n')}
          parse={linesOf}
          rows={Math.max(2, job.replaced.length)}
        />
        {line('vehicle', t('job.vehicle'))}
        {line('plate', t('job.plate'))}
        {line('vin', t('job.vin'))}
        {line('reference', t('job.reference'))}
        {odometer('odometerKm', t('job.odometer', { unit: unitText('km') }))}
        {line('technician', t('job.technician'))}
        {line('workshop', t('job.workshop'))}
        {prose('weather', t('job.weather'))}
      </div>
      <details class="more">
        <summary>{t('job.more')}</summary>
        <div class="fields">
          <Field
            part={part}
            field="parts"
            value={job.parts}
            label={t('job.parts')}
            show={partsText}
            parse={partsOf}
            rows={Math.max(2, job.parts.length)}
          />
          {prose('labour', t('job.labour'))}
          {line('nextCheck', t('job.next-check'))}
          {line('workshopPhone', t('job.phone'))}
          {odometer('odometerOutKm', t('job.odometer-out', { unit: unitText('km') }))}
        </div>
      </details>
    </section>
  );
}

const linesOf = (text: string): string[] =>
  text
    .split('\n')
    .map((l) => l.trim().slice(0, 200))
    .filter(Boolean)
    .slice(0, 50);

type Parts = JobView['job']['parts'];

const partsText = (parts: Parts): string =>
  parts.map((p) => [p.name, p.number, p.warranty].join('; ').replace(/(; )+$/, '')).join('\n');

const partsOf = (text: string): Parts =>
  linesOf(text).map((l) => {
    const [name = '', number = '', ...warranty] = l.split(';').map((w) => w.trim());
    return { name, number, warranty: warranty.join('; ') };
  });
