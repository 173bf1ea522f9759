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
import { awake, soundOn, startSound, toggleSound } from './sound.ts';
import { StartDialog } from './start.tsx';
import {
  connection,
  daemon,
  followHash,
  helpOpen,
  line,
  notice,
  type Place,
  place,
  run,
  say,
  second,
  setTheme,
  spoken,
  theme,
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
  return (
    <div class={`app at-${name}`}>
      {name !== 'glance' && <Header />}
      <main id="main">
        {name === 'jobs' && <Jobs />}
        {name === 'connect' && <Connect />}
        {name === 'drive' && <Drive />}
        {name === 'findings' && <Findings />}
        {name === 'compare' && <LaterCompare />}
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
      <nav aria-label="Places">
        {NAMES.map(([n, text]) => (
          <a key={n} href={`#/${n}`} aria-current={place.value.name === n ? 'page' : undefined}>
            {text}
          </a>
        ))}
      </nav>
      <span class="status">{status()}</span>
      <span class="tools">
        <button type="button" onClick={toggleSound} aria-pressed={soundOn.value}>
          {!soundOn.value ? 'Sound off' : awake.value ? 'Sound on' : 'Sound: press a key'}
        </button>
        <button type="button" onClick={() => setTheme(isNight() ? 'day' : 'night')}>
          {isNight() ? 'Day' : 'Night'}
        </button>
        <button type="button" aria-label="Keys" onClick={() => (helpOpen.value = true)}>
          ?
        </button>
      </span>
    </header>
  );
}

function status(): string {
  if (line.value === 'cut') return 'Page cut off, trying again';
  if (!daemon.value) return 'Looking for Handback';
  const link = connection.value;
  const simulated = link?.simulated ? 'Simulated car, ' : '';
  if (run.value) return `${simulated}${link?.phase === 'connected' ? 'recording' : 'recording, link lost'}`;
  return link?.phase === 'connected' ? `${simulated}connected` : 'No car connected';
}

/** Speaks to screen readers what is spoken aloud, and shows the newest message of an action. */
function Notice() {
  useSignalEffect(() => {
    const shown = notice.value;
    if (!shown) return;
    const timer = setTimeout(() => (notice.value = null), shown.bad ? 12_000 : 4000);
    return () => clearTimeout(timer);
  });
  const last = spoken.value.at(-1);
  return (
    <>
      <p class="unseen" aria-live="assertive">
        {last ? last.sentence : ''}
      </p>
      <p class={notice.value ? (notice.value.bad ? 'notice bad' : 'notice') : 'notice none'} role="status">
        {notice.value?.text ?? ''}
      </p>
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
