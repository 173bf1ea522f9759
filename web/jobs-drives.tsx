/** The drives of a job: recording the next one, and those recorded on their line of dates with what they showed. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { Verdict } from '../src/analysis/types.ts';
import type { RunState, RunSummary } from '../src/desk/api.ts';
import type { JobView, RunVerdicts } from '../src/desk/jobs-api.ts';
import { get, post, sentenceOf } from './http.ts';
import type { Part } from './jobs-part.ts';
import { offerUndo } from './jobs-undo.tsx';
import { Cautions } from './start.tsx';
import { attempt, connected, follow, go, run } from './state.ts';
import { VerdictWord } from './verdict.tsx';
import { clockOf, dateOf } from './words.ts';

type Purpose = RunState['purpose'];

const PURPOSE_TEXT: Record<Purpose, string> = {
  baseline: 'baseline, before the repair',
  verification: 'verification, after the repair',
  'come-back': 'come-back',
  other: 'other',
};
const PURPOSES = Object.keys(PURPOSE_TEXT) as Purpose[];

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
      : before.length === 0 && after.length === 0
        ? 'baseline'
        : 'verification';
  const button = (purpose: Purpose, text: string) => (
    <button
      type="button"
      class={purpose === next ? 'main' : ''}
      disabled={!connected.value || recording}
      onClick={() => (asking.value = purpose)}
    >
      {text}
    </button>
  );
  const snapshot = (when: 'before' | 'after') => (
    <button
      type="button"
      disabled={!connected.value}
      onClick={() => void act(() => post<JobView>(`${path}/snapshots`, { when }))}
    >
      Read codes, {when} the repair
    </button>
  );
  return (
    <section class="record" aria-label="What to do next">
      <p class="actions">
        {button('baseline', 'Record baseline')}
        {button('verification', 'Record verification')}
        {(job.closedAt !== null || runs.some((r) => r.purpose === 'come-back')) &&
          button('come-back', 'Record come-back')}
        {snapshot('before')}
        {snapshot('after')}
      </p>
      {!connected.value && (
        <p>
          <a href="#/connect">Connect the car</a> to record a drive or to read its codes.
        </p>
      )}
      {recording && (
        <p>
          A drive is being recorded. <a href="#/drive">Go to it</a>
        </p>
      )}
      <p class="actions">
        {before.length > 0 && after.length > 0 ? (
          <a class="button" href={`#/compare?${compare}`}>
            Before and after
          </a>
        ) : (
          <span class="quiet">
            Before and after needs a drive of each:{' '}
            {before.length > 0
              ? 'the verification is missing.'
              : after.length > 0
                ? 'the baseline is missing.'
                : 'both are missing.'}
          </span>
        )}
        <a class="button" href={`${path}/sheet`} target="_blank" rel="noopener">
          Hand-over sheet
        </a>
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
      <h2 id="before-h">Record the {purpose}</h2>
      <Cautions />
      <p class="actions">
        <button type="button" class="main" onClick={() => void start()}>
          Start recording
        </button>
        <button type="button" onClick={close}>
          Not yet
        </button>
      </p>
    </dialog>
  );
}

export function Drives(part: Part) {
  const { view, path } = part;
  const verdicts = useSignal<ReadonlyMap<string, RunVerdicts> | null>(null);
  const trouble = useSignal<string | null>(null);
  const key = JSON.stringify([view.runs.map((r) => [r.id, r.purpose, r.closed]), view.job.teaching]);
  useEffect(() => {
    if (view.runs.length === 0) return;
    let gone = false;
    get<RunVerdicts[]>(`${path}/verdicts`).then(
      (got) => {
        if (gone) return;
        verdicts.value = new Map(got.map((v) => [v.runId, v]));
        trouble.value = null;
      },
      (error) => {
        if (!gone) trouble.value = sentenceOf(error);
      },
    );
    return () => {
      gone = true;
    };
  }, [key]);
  return (
    <section aria-labelledby="drives-h">
      <h2 id="drives-h">Drives</h2>
      {trouble.value && <p class="trouble">{trouble.value}</p>}
      {view.runs.length === 0 && (
        <p>
          Nothing is driven yet. Drive it once before the repair if that is safe: then there is something to
          compare with.
        </p>
      )}
      <ol class="line-of-dates">
        {view.runs.map((r, i) => (
          <Drive
            key={r.id}
            {...part}
            drive={r}
            verdicts={verdicts.value?.get(r.id) ?? null}
            sinceS={secondsBetween(view.runs[i - 1], r)}
            judged={verdicts.value !== null}
          />
        ))}
      </ol>
    </section>
  );
}

interface DriveProps extends Part {
  readonly drive: RunSummary;
  readonly verdicts: RunVerdicts | null;
  readonly judged: boolean;
  readonly sinceS: number | null;
}

function Drive({ drive: r, verdicts: v, judged, sinceS, view, path, act }: DriveProps) {
  const recording = r.id === run.value?.id;
  const refile = (job: string | null, purpose: string) =>
    act(async () => {
      await post(`/api/runs/${r.id}/file`, { job, purpose });
      if (job === null)
        offerUndo('The drive is out of the job.', async () => {
          await post(`/api/runs/${r.id}/file`, { job: view.job.id, purpose: r.purpose });
          await act(() => get<JobView>(path));
        });
      return get<JobView>(path);
    });
  const teach = (may: object | null) => act(() => post<JobView>(`${path}/teaching`, { runId: r.id, may }));
  const teaching = v?.teaching ?? null;
  return (
    <li>
      {sinceS !== null && <span class="later quiet">{laterText(sinceS)}</span>}
      <h3>
        {dateOf(r.startedAt)}
        <span class="quiet">
          {recording
            ? ', recording now'
            : r.seconds === null
              ? ', length not known'
              : `, ${clockOf(r.seconds)}`}
        </span>
      </h3>
      {!r.closed && !recording && <p>Not closed: it was cut off, all that came is kept.</p>}
      <p class="drive-line">
        <select
          aria-label={`What the drive of ${dateOf(r.startedAt)} was for`}
          value={r.purpose}
          disabled={recording}
          onChange={(e) => void refile(view.job.id, e.currentTarget.value)}
        >
          {PURPOSES.map((p) => (
            <option key={p} value={p}>
              {PURPOSE_TEXT[p]}
            </option>
          ))}
        </select>
        <a class="button" href={recording ? '#/drive' : `#/findings/${encodeURIComponent(r.id)}`}>
          {recording ? 'Go to the drive' : 'Findings'}
        </a>
        {!recording && (
          <button type="button" onClick={() => void refile(null, r.purpose)}>
            Take out of the job
          </button>
        )}
      </p>
      {v?.trouble && <p class="trouble">{v.trouble}</p>}
      {!judged && !recording && <p class="quiet">Judging…</p>}
      {v?.boost && v.coolant && (
        <p class="verdict-pair">
          <Pair system="Boost" verdict={v.boost} /> <Pair system="Coolant" verdict={v.coolant} />
        </p>
      )}
      {v?.boost && teaching && (r.purpose === 'baseline' || r.purpose === 'verification') && (
        <fieldset class="teaching">
          <legend>Later drives of this job are judged by this one for</legend>
          {(['boost', 'coolant'] as const).map((system) => (
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
              {system}
              {v[system] === 'fault shown' && <span class="quiet"> (never: it shows a fault)</span>}
            </label>
          ))}
          <span class="quiet">
            {teaching.by === 'technician' ? 'Chosen by you.' : 'Chosen by what the drive showed good.'}
          </span>
        </fieldset>
      )}
    </li>
  );
}

function Pair({ system, verdict }: { system: string; verdict: Verdict }) {
  return (
    <span>
      {system}: <VerdictWord verdict={verdict} />
    </span>
  );
}

function secondsBetween(earlier: RunSummary | undefined, later: RunSummary): number | null {
  return earlier ? (Date.parse(later.startedAt) - Date.parse(earlier.startedAt)) / 1000 : null;
}

function laterText(seconds: number): string {
  const hours = seconds / 3600;
  if (hours < 1) return 'within the hour';
  if (hours < 36) return `${Math.round(hours)} h later`;
  return `${Math.round(hours / 24)} days later`;
}
