/** The page: a header, one place at a time, and what is said for ear and eye. */
import { useSignal, useSignalEffect } from '@preact/signals';
import { type JSX, render } from 'preact';
import { useEffect } from 'preact/hooks';
import { Connect } from './connect.tsx';
import { Drive } from './drive.tsx';
import { Findings } from './findings.tsx';
import { Glance } from './glance.tsx';
import { HelpDialog } from './help.tsx';
import { Jobs } from './jobs.tsx';
import { isNight, startKeys } from './keys.ts';
import { startScreen } from './screen.ts';
import { acknowledge, alarm, cycleSound, mine, modeText, said, soundHere, startSound } from './sound.ts';
import { StartDialog } from './start.tsx';
import {
  companion,
  connection,
  daemon,
  driving,
  followHash,
  helpOpen,
  line,
  notice,
  type Place,
  place,
  rideAlong,
  run,
  say,
  second,
  setTheme,
  theme,
  view,
} from './state.ts';
import { startStream } from './stream.ts';
import './style.css';

const NAMES: readonly (readonly [Place, string])[] = [
  ['jobs', 'Jobs'],
  ['connect', 'Connect'],
  ['drive', 'Drive'],
  ['findings', 'Findings'],
  ['compare', 'Compare'],
];

function App() {
  const { name } = place.value;
  useSignalEffect(() => {
    const title = NAMES.find(([n]) => n === place.value.name)?.[1] ?? 'Glance';
    document.title = `${run.value ? '● ' : ''}${title} · Handback`;
  });
  // Setup waits until the car stands; what is recorded can be watched.
  const waits = driving.value && name !== 'drive' && name !== 'glance';
  return (
    <div class={`app at-${name}${driving.value ? ' driving' : ''}`}>
      <Alarm />
      {name !== 'glance' && <Header />}
      <main id="main">
        {waits && <Moving />}
        {!waits && name === 'jobs' && <Jobs />}
        {!waits && name === 'connect' && <Connect />}
        {name === 'drive' && <Drive />}
        {!waits && name === 'findings' && <Findings />}
        {!waits && name === 'compare' && <LaterCompare />}
        {name === 'glance' && <Glance />}
      </main>
      <Notice />
      <HelpDialog />
      <StartDialog />
    </div>
  );
}

/** Fetched when it is first asked for: the drive needs none of it. */
function LaterCompare() {
  const part = useSignal<(() => JSX.Element) | null>(null);
  useEffect(() => {
    import('./compare.tsx').then(
      ({ Compare }) => (part.value = () => <Compare />),
      () => say('This part of the page cannot be fetched: is Handback still running?', true),
    );
  }, []);
  return part.value ? part.value() : <h1>Before and after</h1>;
}

function Header() {
  return (
    <header class="top">
      <span class="brand">Handback</span>
      {!driving.value && (
        <nav aria-label="Places">
          {NAMES.map(([n, text]) => (
            <a key={n} href={`#/${n}`} aria-current={place.value.name === n ? 'page' : undefined}>
              {text}
            </a>
          ))}
        </nav>
      )}
      <span class="status">{status()}</span>
      <span class="tools">
        {driving.value && (
          <button type="button" onClick={rideAlong}>
            I ride along: all controls
          </button>
        )}
        <button type="button" onClick={mine.value ? cycleSound : soundHere}>
          {mine.value ? modeText() : 'Another tab sounds: sound here'}
        </button>
        <button type="button" onClick={() => setTheme(isNight() ? 'day' : 'night')}>
          {isNight() ? 'Day' : 'Night'}
        </button>
        {!driving.value && (
          <button type="button" aria-label="Keys" onClick={() => (helpOpen.value = true)}>
            ?
          </button>
        )}
      </span>
    </header>
  );
}

/** Over everything, on every place: what is wrong, what to do, and the one button. */
function Alarm() {
  const phase = alarm.value;
  if (phase === 'off') return null;
  const coolant = view.value?.coolant;
  return (
    <div class={`alarm ${phase}`} role="alert">
      <p>
        {phase === 'over' ? (
          'The coolant alarm sounded; the coolant is no longer climbing.'
        ) : (
          <>
            <b>{coolant?.sentence ?? 'Coolant too hot.'}</b>
            {!coolant?.sentence.includes('Stop') &&
              ' Stop where it is safe. Never open a hot cooling system.'}
          </>
        )}
      </p>
      {phase === 'acknowledged' ? (
        <p class="quiet">Silent for a minute</p>
      ) : (
        <button type="button" onClick={acknowledge}>
          {phase === 'over' ? 'Seen' : 'Acknowledge'} <kbd>A</kbd>
        </button>
      )}
    </div>
  );
}

function Moving() {
  return (
    <div class="page">
      <h1>The car is moving: this waits until it stands</h1>
      <p class="lead">Marks, stop and the glance stay within reach on the drive.</p>
      <p class="actions">
        <a class="button main" href="#/drive">
          To the drive
        </a>
        <button type="button" onClick={rideAlong}>
          I ride along and do not drive
        </button>
      </p>
    </div>
  );
}

function status(): string {
  if (line.value === 'cut') return 'Page cut off, trying again';
  if (!daemon.value) return 'Looking for Handback';
  const link = connection.value;
  const simulated = link?.simulated ? 'Simulated car, ' : '';
  const who = companion.value ? ', companion' : '';
  if (run.value)
    return `${simulated}${link?.phase === 'connected' ? 'recording' : 'recording, link lost'}${who}`;
  return link?.phase === 'connected' ? `${simulated}connected` : 'No car connected';
}

/** Speaks to screen readers what is spoken aloud, and shows the newest message of an action. */
function Notice() {
  useSignalEffect(() => {
    const shown = notice.value;
    if (!shown) return;
    const timer = setTimeout(() => (notice.value = null), shown.undo ? 10_000 : shown.bad ? 12_000 : 4000);
    return () => clearTimeout(timer);
  });
  const shown = notice.value;
  return (
    <>
      <p class="unseen" aria-live="assertive">
        {said.value ?? ''}
      </p>
      <div class={shown ? (shown.bad ? 'notice bad' : 'notice') : 'notice none'} role="status">
        {shown?.text ?? ''}
        {shown?.undo && (
          <button
            type="button"
            onClick={() => {
              shown.undo?.();
              notice.value = null;
            }}
          >
            Undo
          </button>
        )}
      </div>
    </>
  );
}

theme.subscribe((t) => {
  if (t === 'auto') delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = t;
});
addEventListener('hashchange', followHash);
setInterval(() => {
  if (!document.hidden) second.value++;
}, 1000);
startSound();
startScreen();
startKeys();
startStream();
if (location.hash !== '') followHash();
else {
  // Where one starts depends on what runs already, so wait for the first word of the daemon.
  const stop = daemon.subscribe((state) => {
    if (!state) return;
    followHash();
    queueMicrotask(() => stop());
  });
}
render(<App />, document.getElementById('page')!);
