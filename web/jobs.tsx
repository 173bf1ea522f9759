/** Jobs: which car, which complaint, where does it stand; found again by any words; drives that belong to no job. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { RunSummary } from '../src/desk/api.ts';
import type { JobSummary, JobsView, JobView } from '../src/desk/jobs-api.ts';
import { dropDraft, takeOverDrafts } from './drafts.ts';
import { useFormDraft } from './drafts-form.ts';
import { get, post, send, sentenceOf } from './http.ts';
import { JobPage } from './jobs-page.tsx';
import { offerUndo, UndoBar } from './jobs-undo.tsx';
import { KINDS, Kinds } from './kinds.tsx';
import { EngineAndComplaint } from './start.tsx';
import { attempt, go, jobAtHand, place, readOnly, run, say } from './state.ts';
import { UnderWay, useBegun } from './under-way.tsx';
import { clockOf, dateOf, language, name, t, told, toldAll, units } from './words.ts';
import './jobs.css';

export function Jobs() {
  const { id } = place.value;
  return (
    <>
      {id === null ? <List /> : id === KINDS ? <Kinds /> : <JobPage key={id} id={id} />}
      <UndoBar />
    </>
  );
}

function List() {
  const view = useSignal<JobsView | null>(null);
  const trouble = useSignal<string | null>(null);
  const query = useSignal('');
  const opening = useSignal(false);
  const asked = useRef(0);
  useEffect(() => {
    void takeOverDrafts(NEW); // what was typed for a new job and not opened yet
    jobAtHand.value = null; // whoever looks at all jobs has put the one away
  }, []);
  const load = async () => {
    const turn = ++asked.current;
    try {
      const got = await get<JobsView>(`/api/jobs?q=${encodeURIComponent(query.value)}`);
      if (turn !== asked.current) return;
      view.value = got;
      trouble.value = null;
    } catch (error) {
      if (turn === asked.current) trouble.value = sentenceOf(error);
    }
  };
  useEffect(() => void load(), [query.value, run.value?.id ?? null]);
  const making = view.value?.practice.state === 'making';
  useEffect(() => {
    if (!making) return;
    const timer = setInterval(() => void load(), 2000);
    return () => clearInterval(timer);
  }, [making]);

  const jobs = view.value?.jobs ?? [];
  const all = view.value;
  return (
    <div class="page jobs">
      <header class="jobs-head">
        <h1>{t('jobs.title')}</h1>
        {!readOnly.value && (
          <button type="button" class="main" onClick={() => (opening.value = !opening.value)}>
            {t('jobs.open')}
          </button>
        )}
      </header>
      {opening.value && !readOnly.value && <NewJob />}
      {trouble.value && <p class="trouble">{trouble.value}</p>}
      {!all && !trouble.value && <p>{t('app.looking')}</p>}
      {all && all.total > 0 && (
        <label class="jobs-search">
          <span class="quiet">{t('jobs.find')}</span>
          <input
            type="search"
            value={query.value}
            maxLength={200}
            onInput={(e) => (query.value = e.currentTarget.value)}
          />
        </label>
      )}
      {all &&
        toldAll(all, 'troubles').map((text) => (
          <p class="trouble" key={text}>
            {text}
          </p>
        ))}
      {all?.total === 0 && <Empty making={making} reload={load} />}
      {all && all.total > 0 && jobs.length === 0 && <p class="lead">{t('jobs.none-fits')}</p>}
      <ul class="job-rows">
        {jobs.map((j) => (
          <Row key={j.id} job={j} />
        ))}
      </ul>
      {making && (
        <>
          <p role="status" class="quiet">
            {t('jobs.making', { what: (all && told(all.practice, 'sentence')) ?? '' })}
          </p>
          <UnderWay
            what="practice"
            stop={() => void attempt(async () => void (await post('/api/practice/stop'))).then(load)}
          />
        </>
      )}
      {all && all.loose.length > 0 && <Loose runs={all.loose} jobs={jobs} reload={load} />}
      {all && all.total > 0 && (
        <p>
          <a href={`#/jobs/${KINDS}`}>{t('kinds.title')}</a> <span class="quiet">{t('kinds.what')}</span>
        </p>
      )}
      {all && !readOnly.value && <Foot view={all} reload={load} />}
    </div>
  );
}

function Empty({ making, reload }: { making: boolean; reload: () => Promise<void> }) {
  return (
    <section class="empty-jobs" aria-label={t('jobs.none')}>
      <p class="lead">{t('jobs.none-lead')}</p>
      {!making && !readOnly.value && (
        <p>
          {t('jobs.new-here')}{' '}
          <button type="button" onClick={() => practice(reload)}>
            {t('jobs.practice-add')}
          </button>{' '}
          <span class="quiet">{t('jobs.practice-what')}</span>
        </p>
      )}
    </section>
  );
}

async function practice(reload: () => Promise<void>): Promise<void> {
  await attempt(async () => void (await post('/api/practice')));
  await reload();
}

function Row({ job }: { job: JobSummary }) {
  return (
    <li>
      <a href={`#/jobs/${encodeURIComponent(job.id)}`}>
        <span class="vehicle">
          {job.vehicle || t('app.unnamed')} {job.practice && <span class="tag">{t('jobs.practice')}</span>}
        </span>
        <span>{[job.plate, job.reference].filter(Boolean).join(' · ')}</span>
        <span class="stands">{told(job, 'stands')}</span>
        <span class="quiet">{dateOf(job.touchedAt)}</span>
        <span class="words quiet">{job.complaint}</span>
      </a>
    </li>
  );
}

/** A job begins with what this page shows; its sheet may be turned to the customer's language later. */
const sheetUnits = () => ({
  temperature: units.value.temperature === 'F' ? 'degF' : 'degC',
  pressure: units.value.pressure,
  speed: units.value.speed,
  hidePlate: false,
  hideVin: false,
});

/** No job bears this name. */
const NEW = '.new';

function NewJob() {
  const draft = useFormDraft(NEW, 'form');
  const submit = async (e: SubmitEvent) => {
    e.preventDefault();
    const form = new FormData(e.currentTarget as HTMLFormElement);
    const text = (field: string) => String(form.get(field) ?? '').trim();
    await attempt(async () => {
      const fields = {
        vehicle: text('vehicle'),
        plate: text('plate'),
        reference: text('reference'),
        complaint: text('complaint'),
        sheet: { ...sheetUnits(), language: language.value },
        profile: {
          ...(text('induction') ? { induction: text('induction') } : {}),
          ...(text('fuel') ? { fuel: text('fuel') } : {}),
        },
      };
      const made = await post<JobView>('/api/jobs', fields);
      dropDraft(NEW, 'form');
      go('jobs', made.job.id);
    });
  };
  return (
    <form
      ref={draft.form}
      class="fields new-job"
      onSubmit={submit}
      onInput={draft.keep}
      aria-label={t('jobs.new')}
    >
      <label>
        {t('job.vehicle')}
        <input name="vehicle" maxLength={200} autocomplete="off" />
      </label>
      <label>
        {t('job.plate')}
        <input name="plate" maxLength={200} autocomplete="off" />
      </label>
      <label>
        {t('job.reference')}
        <input name="reference" maxLength={200} autocomplete="off" />
      </label>
      <EngineAndComplaint />
      <p class="wide">
        <button type="submit" class="main">
          {t('jobs.open-it')}
        </button>
      </p>
    </form>
  );
}

interface LooseProps {
  readonly runs: readonly RunSummary[];
  readonly jobs: readonly JobSummary[];
  readonly reload: () => Promise<void>;
}

function Loose({ runs, jobs, reload }: LooseProps) {
  const file = (r: RunSummary, job: string) =>
    attempt(async () => {
      await post(`/api/runs/${r.id}/file`, { job, purpose: r.purpose });
      offerUndo(t('jobs.filed'), async () => {
        await post(`/api/runs/${r.id}/file`, { job: null, purpose: r.purpose });
        await reload();
      });
      await reload();
    });
  const drop = (r: RunSummary) =>
    attempt(async () => {
      const binned = await post<{ id: string }>(`/api/runs/${r.id}/delete`);
      offerUndo(t('jobs.drive-binned'), async () => {
        await post(`/api/bin/${binned.id}/restore`);
        await reload();
      });
      await reload();
    });
  return (
    <section aria-labelledby="loose-h">
      <h2 id="loose-h">{t('jobs.loose')}</h2>
      <ul class="runs">
        {runs.map((r) => {
          const recording = r.id === run.value?.id;
          return (
            <li key={r.id} class="loose">
              <button type="button" onClick={() => (recording ? go('drive') : go('findings', r.id))}>
                <span class="vehicle">{r.vehicle ?? t('app.unnamed')}</span>
                <span class="purpose">{name('purpose', r.purpose)}</span>
                <span>{dateOf(r.startedAt)}</span>
                <span class="seconds">
                  {recording
                    ? t('jobs.recording')
                    : r.seconds === null
                      ? t('jobs.length-unknown')
                      : clockOf(r.seconds)}
                  {!r.closed && !recording && `, ${t('jobs.not-closed')}`}
                </span>
              </button>
              {!recording && !readOnly.value && (
                <span class="loose-tools">
                  {jobs.length > 0 && (
                    <select
                      aria-label={t('jobs.put-label', { date: dateOf(r.startedAt) })}
                      onChange={(e) => void file(r, e.currentTarget.value)}
                    >
                      <option value="">{t('jobs.put')}</option>
                      {jobs.slice(0, 50).map((j) => (
                        <option key={j.id} value={j.id}>
                          {j.vehicle || j.id} {j.plate}
                        </option>
                      ))}
                    </select>
                  )}
                  <button type="button" onClick={() => void drop(r)}>
                    {t('jobs.delete')}
                  </button>
                </span>
              )}
            </li>
          );
        })}
      </ul>
    </section>
  );
}

function Foot({ view, reload }: { view: JobsView; reload: () => Promise<void> }) {
  const { isUnderWay, begin, stop } = useBegun();
  const takeIn = async (input: HTMLInputElement) => {
    const file = input.files?.[0];
    input.value = '';
    if (!file) return;
    await begin(async (signal) => {
      const got = await send<{ id: string; remarks: readonly string[] }>(
        '/api/jobs/import',
        'application/zip',
        file,
        signal,
      );
      say(
        got.remarks.length > 0
          ? t('jobs.taken-in-remarks', { remarks: toldAll(got, 'remarks').join(' ') })
          : t('jobs.taken-in'),
      );
      go('jobs', got.id);
    });
  };
  const restore = (id: string) =>
    attempt(async () => {
      await post(`/api/bin/${id}/restore`);
      await reload();
    });
  return (
    <footer class="jobs-foot">
      <label class="file-button">
        {t('jobs.take-in')}
        <input type="file" accept=".zip,application/zip" onChange={(e) => void takeIn(e.currentTarget)} />
      </label>
      {isUnderWay && <UnderWay what="import" stop={stop} />}
      {view.total > 0 && view.practice.state === 'none' && (
        <button type="button" onClick={() => void practice(reload)}>
          {t('jobs.practice-add')}
        </button>
      )}
      {view.bin.length > 0 && (
        <details>
          <summary>{t('jobs.deleted', { n: view.bin.length })}</summary>
          <ul>
            {view.bin.map((b) => (
              <li key={b.id}>
                {t('jobs.deleted-one', { what: b.title, date: dateOf(b.deletedAt) })}{' '}
                <button type="button" onClick={() => void restore(b.id)}>
                  {t('jobs.bring-back')}
                </button>
              </li>
            ))}
          </ul>
          <p class="quiet">{t('jobs.bin')}</p>
        </details>
      )}
    </footer>
  );
}
