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
import { ageOf, clockOf, MARKS, number } from './words.ts';

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
          <aside class="side" aria-label="What next" tabIndex={0}>
            <Asking />
            <NextLeg />
            <Said />
            <EvidenceMap />
            <Legs />
            {!driving.value && recording && (
              <MarkList
                marks={run.value?.marks ?? []}
                runId={run.value!.id}
                show={(t) => showSeconds(t - 5, t + 5)}
              />
            )}
            {!driving.value && <Health />}
          </aside>
        </div>
      ) : (
        <NothingYet />
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
          Say again <kbd>R</kbd>
        </button>
      )}
      {!run.value && tape.value.runId !== null && <AfterTheRun id={tape.value.runId} />}
    </h1>
  );
}

/** What keeps ear or screen from doing their part, each with what to do; nothing when all is well. */
function Hindrances() {
  const told: string[] = [];
  if (soundMode.value !== 'off' && mine.value && !awake.value)
    told.push('This browser lets no page sound before it was touched: press any key or tap once.');
  if (screenAwake.value === 'refused')
    told.push('This browser does not keep the screen awake: switch the screen saver off.');
  if (told.length === 0) return null;
  return (
    <ul class="hindrances">
      {told.map((t) => (
        <li key={t}>{t}</li>
      ))}
    </ul>
  );
}

function stateSentence(): { text: string; bad: boolean } {
  void second.value;
  const link = connection.value;
  const now = run.value;
  if (line.value === 'cut')
    return {
      text: 'This page has lost Handback. What runs there keeps recording; trying again by itself.',
      bad: true,
    };
  if (!daemon.value) return { text: 'Looking for Handback…', bad: false };
  if (!now)
    return connected.value
      ? { text: 'Connected, not recording.', bad: false }
      : {
          text: link?.phase === 'lost' ? link.sentence : 'No car is connected.',
          bad: link?.phase === 'lost',
        };
  const recording = `Recording ${clockOf(tape.value.nowS(performance.now()) || now.seconds)}.`;
  if (now.trouble) return { text: `${recording} ${now.trouble}`, bad: true };
  if (link && link.phase !== 'connected') return { text: `${recording} ${link.sentence}`, bad: true };
  const seen = view.value;
  if (!seen) return { text: `${recording} Waiting for the first values.`, bad: false };
  const bad = seen.coolant.state === 'climbing' || seen.boost.last?.held === false;
  return { text: `${recording} ${seen.coolant.sentence} ${seen.boost.sentence}`, bad };
}

function AfterTheRun({ id }: { id: string }) {
  return (
    <>
      <button type="button" class="main" onClick={() => go('findings', id)}>
        Findings of this drive
      </button>
      {connected.value && (
        <button type="button" onClick={() => (startOpen.value = true)}>
          Record another
        </button>
      )}
    </>
  );
}

function NothingYet() {
  const demos = daemon.value?.demos ?? [];
  return (
    <div class="empty">
      {connected.value ? (
        <button type="button" class="main" onClick={() => (startOpen.value = true)}>
          Start recording
        </button>
      ) : (
        <>
          <button type="button" class="main" onClick={() => go('connect')}>
            Connect a car
          </button>
          {demos[0] && (
            <button type="button" onClick={() => trySimulated(demos[0]!.link, demos[0]!.title)}>
              Try it on the simulated car
            </button>
          )}
        </>
      )}
    </div>
  );
}

function Progress({ leg }: { leg: Leg }) {
  return (
    <progress max={1} value={leg.progress} aria-label={`${leg.title}: ${Math.round(leg.progress * 100)} %`}>
      {Math.round(leg.progress * 100)} %
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
        <h2 id="next-h">Next</h2>
        <p class="how">Stop where it is safe and wait until the coolant has fallen.</p>
      </section>
    );
  const leg = seen.nextLeg;
  return (
    <section class="next" aria-labelledby="next-h">
      <h2 id="next-h">Next</h2>
      {leg ? (
        <>
          <p class="title">{leg.title}</p>
          <p class="how">{leg.how}</p>
          <Progress leg={leg} />
          <p class="quiet">
            {leg.why} {leg.counts}
          </p>
        </>
      ) : (
        <p class="how">Every leg is driven. Stop where it is safe.</p>
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
      <h2 id="said-h">Said so far</h2>
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
                {s.sentence} <span class="quiet">at {clockOf(s.atS)}</span>
              </span>
            </button>
          </li>
        ))}
      </ul>
      {newest.length > MANY_SAID && <a href="#/findings">All {newest.length} so far</a>}
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
        Legs{' '}
        <span class="quiet">
          {legs.filter((l) => l.covered).length} of {legs.length} driven
        </span>
      </h2>
      <ul>
        {legs.map((leg) => (
          <li key={leg.leg} class={leg.leg === next ? 'now' : ''}>
            <Mark verdict={leg.covered ? 'shown good' : 'not shown'} />
            <span>{leg.title}</span>
            <span class="quiet">
              {leg.covered
                ? 'driven'
                : leg.over
                  ? 'next time'
                  : leg.progress > 0
                    ? `${Math.round(leg.progress * 100)} %`
                    : 'open'}
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
  const t = tape.value;
  const ageS = t.live && t.arrivedMs > 0 ? (performance.now() - t.arrivedMs) / 1000 : null;
  return (
    <section class="health" aria-labelledby="health-h">
      <h2 id="health-h">Link</h2>
      <dl>
        <div>
          <dt>Samples a second</dt>
          <dd>
            {number(health.samplesPerS)}
            {health.linkLimitPerSecond !== null && (
              <span class="quiet"> of {number(health.linkLimitPerSecond)} possible</span>
            )}
          </dd>
        </div>
        <div>
          <dt>Round trip</dt>
          <dd>
            {health.roundTripMs ? (
              <>
                {number(health.roundTripMs.p50)} ms
                <span class="quiet"> 95 % under {number(health.roundTripMs.p95)}</span>
              </>
            ) : (
              '–'
            )}
          </dd>
        </div>
        <div>
          <dt>Newest value</dt>
          <dd>{ageS === null ? '–' : ageS < 1.5 ? 'now' : `${ageOf(ageS)} old`}</dd>
        </div>
        <div>
          <dt>Unanswered</dt>
          <dd>
            {health.timeouts}
            <span class="quiet"> of {health.sent}</span>
          </dd>
        </div>
      </dl>
    </section>
  );
}

function Marks() {
  return (
    <fieldset class="marks" aria-label="Marks">
      {MARKS.map((m) => (
        <button key={m.key} type="button" onClick={() => mark(m.key)}>
          <kbd>{m.key}</kbd> {m.text}
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
      {sure.value ? 'Press again to stop' : 'Stop'}
    </button>
  );
}
