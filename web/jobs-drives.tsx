/** The drives of a job: recording the next one, and those recorded on their line of dates with what they showed. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { RunState, RunSummary } from '../src/desk/api.ts';
import type { JobView, RunVerdicts } from '../src/desk/jobs-api.ts';
import type { SnapshotRef } from '../src/job/job.ts';
import type { Verdict } from '../src/words/views.ts';
import { get, post } from './http.ts';
import { SNAPSHOT_TIMES } from './jobs-codes.tsx';
import type { Part } from './jobs-part.ts';
import { offerUndo } from './jobs-undo.tsx';
import { SheetLink } from './sheet-link.tsx';
import { Cautions } from './start.tsx';
import { attempt, connected, follow, go, run } from './state.ts';
import { Answering, useAnswer } from './under-way.tsx';
import { VerdictWord } from './verdict.tsx';
import { clockOf, dateOf, name, t, told, unitsText } from './words.ts';

type Purpose = RunState['purpose'];

const PURPOSES: readonly Purpose[] = ['baseline', 'verification', 'come-back', 'other'];

export function Record({ view, path, act }: Part) {
  const asking = useSignal<Purpose | null>(null);
  const { job, runs } = view;
  const recording = run.value !== null;
  const ended = runs.filter((r) => r.closed);
  const before = ended.filter((r) => r.purpose === 'baseline');
  const after = ended.filter((r) => r.purpose === 'verification');
  const back = ended.filter((r) => r.purpose === 'come-back');
  const compare = [
    ...before.map((r) => `before=${encodeURIComponent(r.id)}`),
    ...after.map((r) => `after=${encodeURIComponent(r.id)}`),
    ...back.map((r) => `come-back=${encodeURIComponent(r.id)}`),
  ].join('&');
  const next: Purpose =
    job.closedAt !== null
      ? 'come-back'
      : before.length === 0 && after.length === 0 && job.replaced.length === 0
        ? 'baseline'
        : 'verification';
  const button = (purpose: Purpose) => (
    <button
      type="button"
      class={purpose === next ? 'main' : ''}
      disabled={!connected.value || recording}
      onClick={() => (asking.value = purpose)}
    >
      {t(`drives.record.${purpose}`)}
    </button>
  );
  const cameBack = job.closedAt !== null || job.comeBack.complaint || back.length > 0;
  const snapshot = (when: SnapshotRef['when']) => (
    <button
      type="button"
      key={when}
      disabled={!connected.value}
      onClick={() => void act(() => post<JobView>(`${path}/snapshots`, { when }))}
    >
      {t(`drives.read.${when}`)}
    </button>
  );
  return (
    <section class="record" aria-label={t('drives.next')}>
      <p class="actions">
        {button('baseline')}
        {button('verification')}
        {cameBack && button('come-back')}
        {SNAPSHOT_TIMES.filter((when) => when !== 'come-back' || cameBack).map(snapshot)}
      </p>
      {!connected.value && (
        <p>
          <a href="#/connect">{t('drives.connect')}</a> {t('drives.connect-why')}
        </p>
      )}
      {recording && (
        <p>
          {t('drives.recording')} <a href="#/drive">{t('drives.go')}</a>
        </p>
      )}
      <p class="actions">
        {before.length > 0 && after.length > 0 ? (
          <a class="button" href={`#/compare?${compare}`}>
            {t('drives.compare')}
          </a>
        ) : (
          <span class="quiet">
            {t(
              before.length > 0
                ? 'drives.no-after'
                : after.length > 0
                  ? 'drives.no-before'
                  : 'drives.neither',
            )}
          </span>
        )}
        <SheetLink href={`${path}/sheet?units=${unitsText()}`} of={job}>
          {t('job.sheet')}
        </SheetLink>
      </p>
      {asking.value && (
        <BeforeDrive purpose={asking.value} jobId={job.id} close={() => (asking.value = null)} />
      )}
    </section>
  );
}

function BeforeDrive({ purpose, jobId, close }: { purpose: Purpose; jobId: string; close: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  const start = async () => {
    const started = await attempt(
      async () => void (await post<RunState>('/api/run', { purpose, job: jobId })),
    );
    close();
    if (!started) return;
    follow();
    go('drive');
  };
  return (
    <dialog ref={dialog} aria-labelledby="before-h" onClose={close}>
      <h2 id="before-h">{t(`drives.record.${purpose}`)}</h2>
      <Cautions />
      <p class="actions">
        <button type="button" class="main" onClick={() => void start()}>
          {t('start.title')}
        </button>
        <button type="button" onClick={close}>
          {t('start.not-yet')}
        </button>
      </p>
    </dialog>
  );
}

export function Drives(part: Part) {
  const { view, path } = part;
  const key = JSON.stringify([view.runs.map((r) => [r.id, r.purpose, r.closed]), view.job.teaching]);
  const answer = useAnswer<readonly RunVerdicts[]>(`${path}/verdicts`, view.runs.length > 0 ? key : null);
  return (
    <section aria-labelledby="drives-h">
      <h2 id="drives-h">{t('drives.title')}</h2>
      {answer.trouble && <p class="trouble">{answer.trouble}</p>}
      <Answering what="verdicts" run={view.job.id} of={answer} />
      {view.runs.length === 0 && <p>{t('drives.none')}</p>}
      <ol class="line-of-dates">
        {view.runs.map((r, i) => (
          <Drive
            key={r.id}
            {...part}
            drive={r}
            verdicts={answer.is?.find((v) => v.runId === r.id) ?? null}
            sinceS={secondsBetween(view.runs[i - 1], r)}
            isBeingJudged={answer.is === null && answer.state === 'asking'}
          />
        ))}
      </ol>
    </section>
  );
}

interface DriveProps extends Part {
  readonly drive: RunSummary;
  readonly verdicts: RunVerdicts | null;
  readonly isBeingJudged: boolean;
  readonly sinceS: number | null;
}

function Drive({ drive: r, verdicts: v, isBeingJudged, sinceS, view, path, act }: DriveProps) {
  const recording = r.id === run.value?.id;
  const refile = (job: string | null, purpose: string) =>
    act(async () => {
      await post(`/api/runs/${r.id}/file`, { job, purpose });
      if (job === null)
        offerUndo(t('drives.out'), async () => {
          await post(`/api/runs/${r.id}/file`, { job: view.job.id, purpose: r.purpose });
          await act(() => get<JobView>(path));
        });
      return get<JobView>(path);
    });
  const teach = (may: object | null) => act(() => post<JobView>(`${path}/teaching`, { runId: r.id, may }));
  const teaching = v?.teaching ?? null;
  const systems: readonly ('boost' | 'coolant')[] =
    view.job.profile.induction === 'naturally aspirated' ? ['coolant'] : ['boost', 'coolant'];
  return (
    <li>
      {sinceS !== null && <span class="later quiet">{laterText(sinceS)}</span>}
      <h3>
        {dateOf(r.startedAt)}
        <span class="quiet">
          {', '}
          {recording
            ? t('jobs.recording')
            : r.seconds === null
              ? t('jobs.length-unknown')
              : clockOf(r.seconds)}
        </span>
      </h3>
      {!r.closed && !recording && <p>{t('drives.not-closed')}</p>}
      <p class="drive-line">
        <select
          aria-label={t('drives.what-for', { date: dateOf(r.startedAt) })}
          value={r.purpose}
          disabled={recording}
          onChange={(e) => void refile(view.job.id, e.currentTarget.value)}
        >
          {PURPOSES.map((p) => (
            <option key={p} value={p}>
              {name('purpose', p)}
            </option>
          ))}
        </select>
        <a class="button" href={recording ? '#/drive' : `#/findings/${encodeURIComponent(r.id)}`}>
          {t(recording ? 'drives.go-drive' : 'drives.findings')}
        </a>
        {!recording && (
          <button type="button" onClick={() => void refile(null, r.purpose)}>
            {t('drives.take-out')}
          </button>
        )}
      </p>
      {v?.trouble && <p class="trouble">{told(v, 'trouble')}</p>}
      {isBeingJudged && !recording && <p class="quiet">{t('drives.judging')}</p>}
      {v?.boost && v.coolant && (
        <p class="verdict-pair">
          {systems.map((s) => (
            <Pair key={s} system={s} verdict={v[s]!} />
          ))}
        </p>
      )}
      {v?.boost && teaching && (r.purpose === 'baseline' || r.purpose === 'verification') && (
        <fieldset class="teaching">
          <legend>{t('drives.teaching')}</legend>
          {systems.map((system) => (
            <label class="check" key={system}>
              <input
                type="checkbox"
                checked={teaching[system]}
                disabled={v[system] === 'fault shown'}
                onChange={(e) =>
                  void teach({
                    boost: teaching.boost,
                    coolant: teaching.coolant,
                    [system]: e.currentTarget.checked,
                  })
                }
              />
              {name('system', system)}
              {v[system] === 'fault shown' && <span class="quiet"> {t('drives.never')}</span>}
            </label>
          ))}
          <span class="quiet">
            {t(teaching.by === 'technician' ? 'drives.by-you' : 'drives.by-findings')}
          </span>
        </fieldset>
      )}
    </li>
  );
}

function Pair({ system, verdict }: { system: string; verdict: Verdict }) {
  return (
    <span>
      {t('found.system', { system: name('system', system) })} <VerdictWord verdict={verdict} />
    </span>
  );
}

function secondsBetween(earlier: RunSummary | undefined, later: RunSummary): number | null {
  return earlier ? (Date.parse(later.startedAt) - Date.parse(earlier.startedAt)) / 1000 : null;
}

function laterText(seconds: number): string {
  const hours = seconds / 3600;
  if (hours < 1) return t('drives.within-hour');
  if (hours < 36) return t('drives.hours-later', { n: Math.round(hours) });
  return t('drives.days-later', { n: Math.round(hours / 24) });
}
