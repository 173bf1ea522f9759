/** Findings: what was shown, by what. Not shown comes first, with the leg that would show it. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Verdict } from '../src/analysis/types.ts';
import type { MarkEdit, RunSummary, RunView, SeriesView } from '../src/desk/api.ts';
import type { Finding } from '../src/words/views.ts';
import { WHOLE_POINTS } from './closer.ts';
import { get, sentenceOf } from './http.ts';
import { MarkList } from './marks.tsx';
import { follow, go, place, run, showSeconds, spoken, view } from './state.ts';
import { Strips } from './strips.tsx';
import { Tape } from './tape.ts';
import { Mark, Scale, VerdictWord } from './verdict.tsx';
import { dateOf, name, signalsText, t, titleOf, told } from './words.ts';

const ORDER: readonly Verdict[] = ['not shown', 'fault shown', 'shown good'];

export function Findings() {
  const { id } = place.value;
  if (id !== null) return <Ended key={id} id={id} />;
  return run.value ? <Live /> : <Newest />;
}

/** Of the run being recorded: what was said so far, and the legs that are still open. */
function Live() {
  const newest = new Map(spoken.value.map((s) => [s.finding.id, s.finding]));
  const open = view.value?.legs.filter((l) => !l.covered && !l.over) ?? [];
  return (
    <div class="page findings">
      <h1>{t('found.so-far')}</h1>
      <p class="lead">{t('found.so-far-lead')}</p>
      {open.length > 0 && (
        <section aria-labelledby="open-h">
          <h2 id="open-h">
            <VerdictWord verdict="not shown" />
          </h2>
          <ul class="open-legs">
            {open.map((l) => (
              <li key={l.leg}>
                <b>{told(l, 'title')}</b>: {told(l, 'how')}
              </li>
            ))}
          </ul>
        </section>
      )}
      <List findings={[...newest.values()]} show={showInDrive} />
      {newest.size === 0 && <p>{t('found.nothing-said')}</p>}
    </div>
  );
}

function showInDrive(fromS: number, toS: number): void {
  showSeconds(fromS, toS);
  go('drive');
}

/** Without a run named: the one recorded last. */
function Newest() {
  const trouble = useSignal<string | null>(null);
  useEffect(() => {
    get<RunSummary[]>('/api/runs').then(
      (all) => {
        const last = [...all].sort((a, b) => b.startedAt.localeCompare(a.startedAt))[0];
        if (last) location.replace(`#/findings/${encodeURIComponent(last.id)}`);
        else trouble.value = t('found.nothing-recorded');
      },
      (error) => {
        trouble.value = sentenceOf(error);
      },
    );
  }, []);
  return (
    <div class="page findings">
      <h1>{t('found.title')}</h1>
      <p class="lead">{trouble.value ?? t('app.looking')}</p>
    </div>
  );
}

function Ended({ id }: { id: string }) {
  const shown = useSignal<{ view: RunView; tape: Tape } | null>(null);
  const trouble = useSignal<string | null>(null);
  useEffect(() => {
    let gone = false;
    follow(); // the whole run, until someone zooms
    const path = `/api/runs/${encodeURIComponent(id)}`;
    Promise.all([get<RunView>(path), get<SeriesView>(`${path}/series?points=${WHOLE_POINTS}`)]).then(
      ([found, series]) => {
        if (!gone) shown.value = { view: found, tape: tapeOf(found, series) };
      },
      (error) => {
        if (!gone) trouble.value = sentenceOf(error);
      },
    );
    return () => {
      gone = true;
      follow();
    };
  }, [id]);
  if (!shown.value)
    return (
      <div class="page findings">
        <h1>{t('found.title')}</h1>
        <p class={trouble.value ? 'trouble' : 'lead'}>{trouble.value ?? t('found.reading')}</p>
      </div>
    );
  const { summary, judgement, marks } = shown.value.view;
  const edited = (edit: MarkEdit) => {
    const { view: now, tape } = shown.value!;
    const others = now.marks.filter((m) => m.tS !== edit.tS || m.key !== edit.key);
    const after = edit.removed ? others : [...others, edit].sort((a, b) => a.tS - b.tS);
    tape.setMarks(after);
    shown.value = { view: { ...now, marks: after }, tape };
  };
  const show = (from: number, to: number) => {
    showSeconds(from, to);
    document.querySelector('.strips')?.scrollIntoView({ block: 'nearest' });
  };
  return (
    <div class="page findings ended">
      <header>
        {summary.job && (
          <p>
            <a href={`#/jobs/${encodeURIComponent(summary.job)}`}>{t('found.to-job')}</a>
          </p>
        )}
        <h1>{summary.vehicle ?? t('app.unnamed')}</h1>
        <p class="lead">
          {t(summary.closed ? 'found.lead' : 'found.lead-cut', {
            purpose: name('purpose', summary.purpose),
            date: dateOf(summary.startedAt),
            length: judgement.spanS,
          })}
        </p>
        <ul class="systems">
          {(['boost', 'coolant'] as const).map((s) => (
            <li key={s}>
              {t('found.system', { system: name('system', s) })}{' '}
              <VerdictWord verdict={judgement.systems[s].verdict} />
              <span class="quiet">{told(judgement.systems[s], 'needs')}</span>
            </li>
          ))}
          <li>
            Fan:{' '}
            {judgement.systems.fan.asked ? (
              <VerdictWord verdict={judgement.systems.fan.verdict} />
            ) : (
              'not asked'
            )}
            {judgement.systems.fan.needs && <span class="quiet"> {judgement.systems.fan.needs}</span>}
          </li>
        </ul>
      </header>
      <Strips tape={shown.value.tape} />
      <MarkList marks={marks} runId={id} show={(t) => show(t - 5, t + 5)} edited={edited} />
      <List findings={judgement.findings} show={show} />
    </div>
  );
}

function tapeOf(found: RunView, series: SeriesView): Tape {
  const tape = new Tape();
  tape.runId = found.summary.id;
  tape.path = `/api/runs/${encodeURIComponent(found.summary.id)}`;
  tape.addWhole(series, WHOLE_POINTS, performance.now());
  const pulls = found.judgement.pulls.filter((p) => p.engagement || p.held !== null);
  tape.addTrail({
    engagements: pulls.map((p) => ({ fromS: p.fromS, toS: p.toS, held: p.held, text: '' })),
    expected: found.expected,
    corridor: found.corridor,
  });
  tape.setMarks(found.marks);
  tape.setGaps(found.gaps);
  tape.limitC = found.judgement.findings.find((f) => f.id === 'coolant.climb')?.limit?.value ?? null;
  return tape;
}

type Show = (fromS: number, toS: number) => void;

function List({ findings, show }: { findings: readonly Finding[]; show: Show }) {
  return (
    <>
      {ORDER.map((verdict) => {
        const some = findings.filter((f) => f.verdict === verdict);
        if (some.length === 0) return null;
        return (
          <section key={verdict} aria-label={name('verdict', verdict)}>
            {some.map((f) => (
              <One key={f.id} finding={f} show={show} />
            ))}
          </section>
        );
      })}
    </>
  );
}

const MANY = 6;

function One({ finding: f, show }: { finding: Finding; show: Show }) {
  const all = useSignal(false);
  const evidence = all.value ? f.evidence : f.evidence.slice(0, MANY);
  return (
    <article class={`finding ${f.verdict.replace(' ', '-')}`}>
      <h2>
        <Mark verdict={f.verdict} />
        {t('found.heading', { what: titleOf(f.id), verdict: name('verdict', f.verdict) })}
      </h2>
      {f.pointsTo !== null && (
        <p>
          {t('found.points-to', { what: told(f, 'pointsTo') ?? '' })}{' '}
          <span class="quiet">{t('found.hint')}</span>
        </p>
      )}
      {f.needs !== null && (
        <p>
          <b>{t('found.needs')}</b> {told(f, 'needs')}
        </p>
      )}
      <Scale finding={f} />
      {evidence.length > 0 && (
        <ul class="evidence">
          {evidence.map((e) => (
            <li key={`${e.fromS} ${e.text}`}>
              <button type="button" onClick={() => show(e.fromS, e.toS)}>
                {t('strips.range', { from: e.fromS, to: e.toS })}
              </button>{' '}
              {told(e, 'text')}
            </li>
          ))}
        </ul>
      )}
      {f.evidence.length > MANY && !all.value && (
        <button type="button" onClick={() => (all.value = true)}>
          {t('found.show-all', { n: f.evidence.length })}
        </button>
      )}
      <p class="quiet rule">
        {t('found.rule', {
          rule: told(f, 'rule'),
          signals: signalsText(f.signals) || t('found.no-signal'),
        })}
      </p>
    </article>
  );
}
