/** Findings: one sentence on the whole drive, then what was shown, by what, beside the chart of it. */
import { batch, useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { MarkEdit, RunSummary, RunView, SeriesPart, SeriesView } from '../src/desk/api.ts';
import { ChartTools } from './chart-tools.tsx';
import { runPaths, WHOLE_POINTS } from './early.ts';
import { Faults, Good, NotShown, wholeSentence } from './findings-list.tsx';
import { ExcludedMap } from './findings-map.tsx';
import { get, sentenceOf } from './http.ts';
import { MarkList } from './marks.tsx';
import {
  chartWanted,
  follow,
  go,
  hold,
  place,
  readBack,
  run,
  showSeconds,
  spoken,
  view,
  type Window,
  win,
} from './state.ts';
import { Strips } from './strips.tsx';
import { Tape } from './tape.ts';
import { UnderWay } from './under-way.tsx';
import { VerdictWord } from './verdict.tsx';
import { dateOf, name, t, told } from './words.ts';

/** Of its capture: so much of a run is drawn first, and so much more each time. Each time costs the reading some 30 ms. */
const FIRST_PART = 0.05;
const NEXT_PART = 0.2;
/** A run judged before is there sooner. */
const PART_AFTER_MS = 150;

export function Findings() {
  const { id } = place.value;
  if (id !== null) return <Ended key={id} id={id} />;
  return run.value ? <Live /> : <Newest />;
}

/** Of the run being recorded: what was said so far, and the legs that are still open. */
function Live() {
  const newest = [...new Map(spoken.value.map((s) => [s.finding.id, s.finding])).values()];
  const open = view.value?.legs.filter((l) => !l.covered && !l.over) ?? [];
  return (
    <div class="page findings">
      <h1>{t('found.so-far')}</h1>
      <p class="lead">{t('found.so-far-lead')}</p>
      <Faults findings={newest} show={showInDrive} />
      <Good findings={newest} show={showInDrive} />
      {newest.length === 0 && <p>{t('found.nothing-said')}</p>}
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
  /** The curves come first, part by part, while the run is still being read, then judged. */
  const shown = useSignal<{ view: RunView | null; tape: Tape; part: SeriesPart | null } | null>(null);
  const trouble = useSignal<string | null>(null);
  const chart = useRef<HTMLDivElement>(null);
  const leave = useRef<() => void>(() => undefined);
  useEffect(() => {
    const away = new AbortController();
    leave.current = () => away.abort();
    let gone = false;
    let stopAddress: () => void = () => undefined;
    follow(); // the whole run, until someone zooms
    const [path, seriesPath] = runPaths(id);
    const curves = get<SeriesView>(seriesPath, away.signal);
    const draw = (found: RunView | null, series: SeriesView, part: SeriesPart | null = null): void => {
      const tape = tapeOf(id, found, series);
      const isFirst = shown.value === null;
      batch(() => {
        readBack.value = tape;
        shown.value = { view: found, tape, part };
        const seen = isFirst ? asked() : null;
        if (seen) hold(...seen);
      });
      if (isFirst) stopAddress = win.subscribe(keepInAddress);
    };
    let whole = false;
    curves.then(
      (series) => {
        whole = true;
        if (!gone && !shown.value?.view) draw(null, series);
      },
      () => undefined, // said below
    );
    const parts = async (): Promise<void> => {
      for (let after = FIRST_PART; after < 1; ) {
        const part = await get<SeriesPart>(
          `${path}/series/part?points=${WHOLE_POINTS}&after=${after}`,
          away.signal,
        );
        if (gone || whole || part.share >= 1) return;
        draw(null, part.series, part);
        after = part.share + NEXT_PART;
      }
    };
    const soon = window.setTimeout(() => {
      if (!whole) parts().catch(() => undefined); // said below
    }, PART_AFTER_MS);
    Promise.all([get<RunView>(path, away.signal), curves]).then(
      ([found, series]) => {
        if (!gone) draw(found, series);
      },
      (error) => {
        if (!gone) trouble.value = away.signal.aborted ? t('under-way.stopped') : sentenceOf(error);
      },
    );
    // Whoever moves the chart wants to see it.
    const stop = chartWanted.subscribe((times) => {
      if (times > 0) chart.current?.scrollIntoView({ block: 'nearest' });
    });
    return () => {
      gone = true;
      window.clearTimeout(soon);
      away.abort();
      stop();
      stopAddress();
      batch(() => {
        chartWanted.value = 0;
        readBack.value = null;
        follow();
      });
    };
  }, [id]);
  const seen = shown.value;
  if (!seen?.view)
    return (
      <div class={`page findings${seen ? ' ended' : ''}`}>
        <header key="head">
          <h1>{t('found.title')}</h1>
          <p class={trouble.value ? 'trouble' : 'lead'}>
            {trouble.value ?? (seen?.part ? t('found.part', { to: seen.part.toS }) : t('found.reading'))}
          </p>
          {trouble.value === null && <UnderWay what="view" run={id} stop={() => leave.current()} />}
        </header>
        {seen && (
          <div class="beside" key="chart" ref={chart}>
            <Strips tape={seen.tape} />
          </div>
        )}
      </div>
    );
  const { view: found, tape } = seen;
  const { summary, judgement, marks, map } = found;
  const { findings } = judgement;
  const edited = (edit: MarkEdit) => {
    const now = shown.value!.view ?? found;
    const others = now.marks.filter((m) => m.tS !== edit.tS || m.key !== edit.key);
    const after = edit.removed ? others : [...others, edit].sort((a, b) => a.tS - b.tS);
    tape.setMarks(after);
    shown.value = { view: { ...now, marks: after }, tape, part: null };
  };
  return (
    <div class="page findings ended">
      <header key="head">
        {summary.job && (
          <p>
            <a href={`#/jobs/${encodeURIComponent(summary.job)}`}>{t('found.to-job')}</a>
          </p>
        )}
        <h1>{summary.vehicle ?? t('app.unnamed')}</h1>
        <p class="quiet">
          {t(summary.closed ? 'found.lead' : 'found.lead-cut', {
            purpose: name('purpose', summary.purpose),
            date: dateOf(summary.startedAt),
            length: summary.seconds ?? judgement.spanS,
          })}
        </p>
        <p class="whole">{wholeSentence(judgement)}</p>
        <Oddities found={found} />
      </header>
      <Faults findings={findings} show={showSeconds} />
      <div class="beside" key="chart" ref={chart}>
        <Strips tape={tape} />
        <ChartTools
          tape={tape}
          title={`${summary.vehicle ?? t('app.unnamed')}, ${dateOf(summary.startedAt)}`}
        />
      </div>
      <Good findings={findings} show={showSeconds} />
      <NotShown findings={findings} show={showSeconds} />
      <ExcludedMap cells={map} findings={findings} />
      <MarkList marks={marks} runId={id} show={(tS) => showSeconds(tS - 5, tS + 5)} edited={edited} />
    </div>
  );
}

/** The seconds that the address asks for. */
function asked(): [number, number] | null {
  const query = new URLSearchParams(location.hash.split('?')[1] ?? '');
  const [from, to] = [Number(query.get('from')), Number(query.get('to'))];
  return query.has('from') && Number.isFinite(from) && to > from ? [from, to] : null;
}

/** The address names what is seen, so that it can be kept, sent and reloaded; the history stays one step a place. */
function keepInAddress({ follow: whole, fromS, spanS }: Window): void {
  const [path] = location.hash.split('?');
  if (!path?.startsWith('#/findings/')) return;
  const query = whole ? '' : `?from=${fromS.toFixed(1)}&to=${(fromS + spanS).toFixed(1)}`;
  history.replaceState(null, '', `${path}${query}`);
}

/** What keeps this recording from being judged like any other. */
function Oddities({ found }: { found: RunView }) {
  const odd = [
    ...(found.speedup === null ? [] : [t('drive.hurried', { times: found.speedup })]),
    ...found.warnings,
  ];
  return (
    <>
      {odd.map((text) => (
        <p key={text} class="trouble">
          {text}
        </p>
      ))}
    </>
  );
}

/** @param found null while it is being judged */
function tapeOf(id: string, found: RunView | null, series: SeriesView): Tape {
  const tape = new Tape();
  tape.runId = id;
  tape.path = `/api/runs/${encodeURIComponent(id)}`;
  tape.addWhole(series, WHOLE_POINTS, performance.now());
  if (!found) return tape;
  tape.lengthS = found.summary.seconds ?? found.judgement.spanS;
  const pulls = found.judgement.pulls.filter((p) => p.engagement || p.held !== null);
  tape.addTrail({
    engagements: pulls.map((p) => ({ fromS: p.fromS, toS: p.toS, held: p.held, text: '' })),
    expected: found.expected,
    corridor: found.corridor,
    baro: found.baro,
    demand: found.demand,
  });
  tape.setMarks(found.marks);
  tape.setGaps(found.gaps);
  tape.limitC = found.judgement.findings.find((f) => f.id === 'coolant.climb')?.limit?.value ?? null;
  return tape;
}
