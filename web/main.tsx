/** The page: a header, one place at a time, and what is said for ear and eye. */
import { useSignal, useSignalEffect } from '@preact/signals';
import { type JSX, render } from 'preact';
import { useEffect } from 'preact/hooks';
import { LANGUAGES } from '../src/core/languages.ts';
import { Drive } from './drive.tsx';
import { askEarly, JOBS_PATH, runPaths } from './early.ts';
import { Glance } from './glance.tsx';
import { isNight, startKeys } from './keys.ts';
import { startScreen } from './screen.ts';
import { acknowledge, alarm, cycleSound, mine, modeText, said, soundHere, startSound } from './sound.ts';
import { StartDialog } from './start.tsx';
import {
  attempt,
  companion,
  connection,
  daemon,
  driving,
  ending,
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
import { chooseLanguage, nextLanguage, speakOfMore, startWords, t, told } from './words.ts';
import './style.css';

const PLACES: readonly Exclude<Place, 'glance'>[] = ['jobs', 'connect', 'drive', 'findings', 'compare'];

function App() {
  const { name } = place.value;
  useSignalEffect(() => {
    document.title = `${run.value ? '● ' : ''}${t(`app.place.${place.value.name}`)} · Handback`;
  });
  // Setup waits until the car stands; what is recorded can be watched.
  const waits = driving.value && name !== 'drive' && name !== 'glance';
  if (ending.value === 'over') return <Ended />;
  return (
    <div class={`app at-${name}${driving.value ? ' driving' : ''}`}>
      {/* biome-ignore lint/a11y/useValidAnchor: it leads to a part of the page; only the address stays as it is */}
      <a class="skip" href="#main" onClick={skip}>
        {t('app.skip')}
      </a>
      <Alarm />
      {name !== 'glance' && <Header />}
      {!waits && name !== 'drive' && name !== 'glance' && daemon.value?.readOnly && (
        <p class="read-only" role="note">
          {told(daemon.value, 'readOnly')}
        </p>
      )}
      <main id="main" tabIndex={-1}>
        {waits && <Moving />}
        {!waits && name !== 'drive' && name !== 'glance' && <Later key={name} name={name} />}
        {name === 'drive' && <Drive />}
        {name === 'glance' && <Glance />}
      </main>
      <Notice />
      <Help />
      <StartDialog />
    </div>
  );
}

function Ended() {
  return (
    <main id="main" class="page">
      <h1>Handback</h1>
      <p class="lead" role="status">
        {t('house.ended')}
      </p>
    </main>
  );
}

/** Past the header. The address is the place, so it stays as it is. */
function skip(e: Event): void {
  e.preventDefault();
  document.getElementById('main')?.focus();
}

type Part = () => JSX.Element;
const LATER: Readonly<Record<Exclude<Place, 'drive' | 'glance'>, () => Promise<Part>>> = {
  jobs: () => import('./jobs.tsx').then((m) => m.Jobs),
  connect: () => import('./connect.tsx').then((m) => m.Connect),
  findings: () => import('./findings.tsx').then((m) => m.Findings),
  compare: () => import('./compare.tsx').then((m) => m.Compare),
};

/** Fetched when it is first asked for: the drive needs none of it. */
function Later({ name }: { name: keyof typeof LATER }) {
  const part = useSignal<{ readonly Show: Part } | null>(null);
  useEffect(() => {
    Promise.all([LATER[name](), speakOfMore()]).then(
      ([Show]) => (part.value = { Show }),
      () => say(t('app.part-missing'), true),
    );
  }, []);
  if (part.value) return <part.value.Show />;
  return (
    <div class="page">
      <h1>{t(`app.place.${name}`)}</h1>
      <p class="lead">{t('app.fetching')}</p>
    </div>
  );
}

/** The list of keys, fetched with its words when it is first asked for. */
function Help() {
  const part = useSignal<{ readonly Show: Part } | null>(null);
  useEffect(() => {
    if (!helpOpen.value || part.value) return;
    Promise.all([import('./help.tsx'), speakOfMore()]).then(
      ([{ HelpDialog }]) => (part.value = { Show: HelpDialog }),
      () => {
        helpOpen.value = false;
        say(t('app.part-missing'), true);
      },
    );
  }, [helpOpen.value]);
  return part.value ? <part.value.Show /> : null;
}

function Header() {
  return (
    <header class="top">
      <span class="brand">Handback</span>
      {!driving.value && (
        <nav aria-label={t('app.places')}>
          {PLACES.map((n) => (
            <a key={n} href={`#/${n}`} aria-current={place.value.name === n ? 'page' : undefined}>
              {t(`app.place.${n}`)}
            </a>
          ))}
        </nav>
      )}
      <span class="status">{status()}</span>
      <span class="tools">
        {driving.value && (
          <button type="button" onClick={rideAlong}>
            {t('app.ride-along')}
          </button>
        )}
        <button type="button" onClick={mine.value === false ? soundHere : cycleSound}>
          {mine.value === false ? t('sound.elsewhere') : modeText()}
        </button>
        <button type="button" onClick={() => setTheme(isNight() ? 'day' : 'night')}>
          {t(isNight() ? 'app.day' : 'app.night')}
        </button>
        {!driving.value && (
          <>
            <button
              type="button"
              lang={nextLanguage()}
              aria-label={`${nextLanguage().toUpperCase()}: ${LANGUAGES[nextLanguage()]}`}
              onClick={() => attempt(() => chooseLanguage(nextLanguage()))}
            >
              {nextLanguage().toUpperCase()}
            </button>
            <button type="button" aria-label={t('app.keys')} onClick={() => (helpOpen.value = true)}>
              ?
            </button>
          </>
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
          t('alarm.over')
        ) : (
          <>
            <b>{coolant ? told(coolant, 'sentence') : t('alarm.too-hot')}</b>{' '}
            {/* A climb is told with what to do; what is only at the limit is not. */}
            {coolant?.state !== 'climbing' && t('alarm.stop')}
          </>
        )}
      </p>
      {phase === 'acknowledged' ? (
        <p class="quiet">{t('alarm.silent')}</p>
      ) : (
        <button type="button" onClick={acknowledge}>
          {t(phase === 'over' ? 'alarm.seen' : 'alarm.acknowledge')} <kbd>A</kbd>
        </button>
      )}
    </div>
  );
}

function Moving() {
  return (
    <div class="page">
      <h1>{t('app.moving')}</h1>
      <p class="lead">{t('app.moving-lead')}</p>
      <p class="actions">
        <a class="button main" href="#/drive">
          {t('app.to-drive')}
        </a>
        <button type="button" onClick={rideAlong}>
          {t('app.ride-along-long')}
        </button>
      </p>
    </div>
  );
}

function status(): string {
  if (line.value === 'cut') return t('app.status.cut');
  if (!daemon.value) return t('app.status.looking');
  const link = connection.value;
  const up = link?.phase === 'connected';
  if (!run.value && !up) return t('app.status.none');
  const state = t(
    !run.value ? 'app.status.connected' : up ? 'app.status.recording' : 'app.status.recording-lost',
  );
  const told = link?.simulated ? t('app.status.simulated', { what: state }) : state;
  return companion.value ? t('app.status.companion', { what: told }) : told;
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
            {t('app.undo')}
          </button>
        )}
      </div>
    </>
  );
}

/** Everything that the place in the address needs comes at once. @returns whether it is another than the drive */
function beginEarly(): boolean {
  if (location.hash === '') return false;
  followHash();
  const { name, id } = place.peek();
  if (name === 'drive' || name === 'glance') return false;
  LATER[name]().catch(() => undefined); // asked for again when it is shown
  if (name === 'findings' && id !== null) runPaths(id).forEach(askEarly);
  if (name === 'jobs' && id === null) askEarly(JOBS_PATH);
  return true;
}

theme.subscribe((t) => {
  if (t === 'auto') delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = t;
});
addEventListener('hashchange', followHash);
setInterval(() => {
  if (!document.hidden) second.value++;
}, 1000);
await startWords(beginEarly());
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
const root = document.getElementById('page')!;
root.replaceChildren(); // what moves while this is fetched
render(<App />, root);
