/** Drive: is it recording, is coolant fine, did the last engagement hold, what next. */
import { useComputed, useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Leg } from '../src/words/views.ts';
import { Asking } from './asks.tsx';
import { Beat } from './glance.tsx';
import { EvidenceMap } from './map.tsx';
import { MarkList } from './marks.tsx';
import { screenAwake } from './screen.ts';
import { alarm, awake, mine, repeatLast, soundMode } from './sound.ts';
import {
  connected,
  connection,
  daemon,
  driving,
  go,
  line,
  mark,
  readOnly,
  run,
  second,
  showSeconds,
  spoken,
  startOpen,
  stopRun,
  tape,
  trySimulated,
  view,
} from './state.ts';
import { Strips } from './strips.tsx';
import { Mark } from './verdict.tsx';
import { ageOf, MARKS, number, t, told } from './words.ts';

export function Drive() {
  const recording = run.value !== null;
  return (
    <div class="drive">
      <Sentence />
      {recording && <Hindrances />}
      {recording || tape.value.runId !== null ? (
        <div class="drive-middle">
          <Strips />
          {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling region must be reachable by keyboard */}
          <aside class="side" aria-label={t('drive.side')} tabIndex={0}>
            <Asking />
            <NextLeg />
            <Said />
            <EvidenceMap />
            <Legs />
            {!driving.value && recording && (
              <MarkList
                marks={run.value?.marks ?? []}
                runId={run.value!.id}
                show={(tS) => showSeconds(tS - 5, tS + 5)}
              />
            )}
            {!driving.value && <Health />}
          </aside>
        </div>
      ) : (
        daemon.value && <NothingYet />
      )}
      {recording && <Marks />}
    </div>
  );
}

/** One large sentence; a bar in front of it when it reports trouble, so that it does not hang on colour. */
function Sentence() {
  const { text, bad } = useComputed(stateSentence).value;
  return (
    <h1 class={bad ? 'sentence bad' : 'sentence'}>
      <span>{text}</span>
      {run.value && <Beat brief />}
      {run.value && !driving.value && (
        <button type="button" class="again" onClick={repeatLast}>
          {t('drive.again')} <kbd>R</kbd>
        </button>
      )}
      {!run.value && tape.value.runId !== null && <AfterTheRun id={tape.value.runId} />}
    </h1>
  );
}

/** What keeps ear or screen from doing their part, each with what to do; nothing when all is well. */
function Hindrances() {
  const hindrances: string[] = [];
  if (soundMode.value !== 'off' && mine.value && !awake.value) hindrances.push(t('drive.touch'));
  const times = Number(/[?&]speedup=([\d.]+)/.exec(connection.value?.link ?? '')?.[1] ?? 1);
  if (times > 1) hindrances.push(t('drive.hurried', { times }));
  if (screenAwake.value === 'refused') hindrances.push(t('drive.screen'));
  if (hindrances.length === 0) return null;
  return (
    <ul class="hindrances">
      {hindrances.map((text) => (
        <li key={text}>{text}</li>
      ))}
    </ul>
  );
}

function stateSentence(): { text: string; bad: boolean } {
  void second.value;
  const link = connection.value;
  const now = run.value;
  if (line.value === 'cut') return { text: t('drive.cut'), bad: true };
  if (!daemon.value) return { text: t('drive.looking'), bad: false };
  if (!now) {
    if (connected.value) return { text: t('drive.connected'), bad: false };
    const lost = link?.phase === 'lost';
    return { text: lost ? told(link, 'sentence') : t('drive.none'), bad: lost };
  }
  const at = tape.value.nowS(performance.now()) || now.seconds;
  const recording = (state: string, bad: boolean) => ({ text: t('drive.recording', { at, state }), bad });
  if (now.trouble) return recording(now.trouble, true);
  if (link && link.phase !== 'connected') return recording(told(link, 'sentence'), true);
  const seen = view.value;
  if (!seen) return recording(t('drive.waiting'), false);
  const bad = seen.coolant.state === 'climbing' || seen.boost.last?.held === false;
  return recording(`${told(seen.coolant, 'sentence')} ${told(seen.boost, 'sentence')}`, bad);
}

function AfterTheRun({ id }: { id: string }) {
  return (
    <>
      <button type="button" class="main" onClick={() => go('findings', id)}>
        {t('drive.findings')}
      </button>
      {connected.value && !readOnly.value && (
        <button type="button" onClick={() => (startOpen.value = true)}>
          {t('drive.another')}
        </button>
      )}
    </>
  );
}

function NothingYet() {
  const demos = daemon.value?.demos ?? [];
  if (readOnly.value) return <p class="empty">{told(daemon.value!, 'readOnly')}</p>;
  return (
    <div class="empty">
      {connected.value ? (
        <button type="button" class="main" onClick={() => (startOpen.value = true)}>
          {t('start.title')}
        </button>
      ) : (
        <>
          <button type="button" class="main" onClick={() => go('connect')}>
            {t('drive.connect')}
          </button>
          {demos[0] && (
            <button type="button" onClick={() => trySimulated(demos[0]!.link, told(demos[0]!, 'title'))}>
              {t('drive.simulated')}
            </button>
          )}
        </>
      )}
    </div>
  );
}

function Progress({ leg }: { leg: Leg }) {
  return (
    <progress
      max={1}
      value={leg.progress}
      aria-label={t('drive.progress', { leg: told(leg, 'title'), share: leg.progress })}
    >
      {t('drive.share', { share: leg.progress })}
    </progress>
  );
}

function NextLeg() {
  const seen = view.value;
  if (!seen) return null;
  // Nothing is driven on with an engine that gets too hot.
  if (alarm.value === 'ringing' || alarm.value === 'acknowledged')
    return (
      <section class="next" aria-labelledby="next-h">
        <h2 id="next-h">{t('drive.next')}</h2>
        <p class="how">{t('drive.wait-cool')}</p>
      </section>
    );
  const leg = seen.nextLeg;
  const all = seen.legs.every((l) => l.covered);
  const none = t(seen.coolant.tooHot ? 'drive.too-hot' : all ? 'drive.all-driven' : 'drive.nothing-more');
  return (
    <section class="next" aria-labelledby="next-h">
      <h2 id="next-h">{t('drive.next')}</h2>
      {leg ? (
        <>
          <p class="title">
            <span class="on-wide">{told(leg, 'title')}</span>
            <span class="on-narrow">{t('drive.next-is', { leg: told(leg, 'title') })}</span>
          </p>
          <p class="how">{told(leg, 'how')}</p>
          <Progress leg={leg} />
          {leg.left !== null && <p>{told(leg, 'left')}</p>}
          <p class="quiet">
            {told(leg, 'why')} {told(leg, 'counts')}
          </p>
        </>
      ) : (
        <p class="how">{none}</p>
      )}
    </section>
  );
}

const MANY_SAID = 3;

/** What was said, newest first, nothing twice; a click brings its seconds into the strips. */
function Said() {
  const seen = new Set<string>();
  const fresh = (key: string) => !seen.has(key) && seen.add(key) !== undefined;
  // One event may carry several findings and is then said in the same words for each of them.
  const newest = [...spoken.value].reverse().filter((s) => fresh(s.finding.id) && fresh(s.sentence));
  if (newest.length === 0) return null;
  return (
    <section class="said" aria-labelledby="said-h">
      <h2 id="said-h">{t('drive.said')}</h2>
      <ul>
        {newest.slice(0, MANY_SAID).map((s) => (
          <li key={s.finding.id}>
            <button
              type="button"
              onClick={() =>
                showSeconds(
                  s.finding.evidence.at(-1)?.fromS ?? s.atS,
                  s.finding.evidence.at(-1)?.toS ?? s.atS,
                )
              }
            >
              <Mark verdict={s.finding.verdict} />
              <span>
                {told(s, 'sentence')} <span class="quiet">{t('drive.said-at', { at: s.atS })}</span>
              </span>
            </button>
          </li>
        ))}
      </ul>
      {newest.length > MANY_SAID && <a href="#/findings">{t('drive.said-all', { n: newest.length })}</a>}
    </section>
  );
}

function Legs() {
  const legs = view.value?.legs ?? [];
  if (legs.length === 0) return null;
  const next = view.value?.nextLeg?.leg;
  return (
    <section class="legs" aria-labelledby="legs-h">
      <h2 id="legs-h">
        {t('drive.legs')}{' '}
        <span class="quiet">
          {t('drive.legs-driven', { n: legs.filter((l) => l.covered).length, of: legs.length })}
        </span>
      </h2>
      <ul>
        {legs.map((leg) => (
          <li key={leg.leg} class={leg.leg === next ? 'now' : ''}>
            <Mark verdict={leg.covered ? 'shown good' : 'not shown'} />
            <span>{told(leg, 'title')}</span>
            <span class="quiet">
              {leg.covered
                ? t('drive.leg-driven')
                : (told(leg, 'left') ??
                  (leg.progress > 0 ? t('drive.share', { share: leg.progress }) : t('drive.leg-open')))}
            </span>
          </li>
        ))}
      </ul>
    </section>
  );
}

function Health() {
  void second.value;
  const health = connection.value?.health;
  if (!health) return null;
  const receiver = daemon.value?.receiver;
  const { live, arrivedMs } = tape.value;
  const ageS = live && arrivedMs > 0 ? (performance.now() - arrivedMs) / 1000 : null;
  return (
    <section class="health" aria-labelledby="health-h">
      <h2 id="health-h">{t('drive.link')}</h2>
      <dl>
        <div>
          <dt>{t('drive.samples')}</dt>
          <dd>
            {number(health.samplesPerS)}
            {health.linkLimitPerSecond !== null && health.linkLimitPerSecond > health.samplesPerS && (
              <span class="quiet"> {t('drive.possible', { n: health.linkLimitPerSecond })}</span>
            )}
          </dd>
        </div>
        <div>
          <dt>{t('drive.round-trip')}</dt>
          <dd>
            {health.roundTripMs ? (
              <>
                {number(health.roundTripMs.p50)} ms
                <span class="quiet"> {t('drive.most-under', { ms: health.roundTripMs.p95 })}</span>
              </>
            ) : (
              '–'
            )}
          </dd>
        </div>
        <div>
          <dt>{t('drive.newest')}</dt>
          <dd>{ageS === null ? '–' : ageS < 1.5 ? t('drive.now') : t('drive.old', { age: ageOf(ageS) })}</dd>
        </div>
        <div>
          <dt>{t('drive.unanswered')}</dt>
          <dd>
            {number(health.timeouts)}
            <span class="quiet"> {t('drive.of', { n: health.sent })}</span>
          </dd>
        </div>
      </dl>
      {receiver && <p>{told(receiver, 'sentence')}</p>}
    </section>
  );
}

function Marks() {
  return (
    <fieldset class="marks" aria-label={t('marks.title')}>
      {MARKS.map((m) => (
        <button key={m} type="button" onClick={() => mark(m)}>
          <kbd>{m}</kbd> {t(`mark.${m}`)}
        </button>
      ))}
      <Stop />
    </fieldset>
  );
}

/** Two presses, because a run stopped by accident is a drive to be driven again. */
function Stop() {
  const sure = useSignal(false);
  useEffect(() => {
    if (!sure.value) return;
    const timer = setTimeout(() => (sure.value = false), 5000);
    return () => clearTimeout(timer);
  }, [sure.value]);
  return (
    <button
      type="button"
      class={sure.value ? 'stop sure' : 'stop'}
      onClick={() => {
        if (sure.value) void stopRun();
        sure.value = !sure.value;
      }}
    >
      {t(sure.value ? 'drive.stop-sure' : 'drive.stop')}
    </button>
  );
}
