/** Keeps the page in step with the daemon: one stream, reloaded after every cut, restart or skipped sample. */
import { batch } from '@preact/signals';
import type { DaemonState, MarkView, RunTrail, SeriesView } from '../src/desk/api.ts';
import type { LiveView, Spoken } from '../src/words/views.ts';
import { WHOLE_POINTS } from './early.ts';
import { get, post } from './http.ts';
import { ofSpoken, ofState, ofView } from './messages.ts';
import { silence, tell } from './sound.ts';
import { daemon, ending, line, say, spoken, tape, view, watchMotion } from './state.ts';
import { Tape } from './tape.ts';
import { ageOf, t } from './words.ts';

/** The server beats every 5 s; without anything for this long the line counts as cut. */
const SILENT_MS = 12_000;
/** Of the run being recorded the newest seconds are fetched whole: they are what is followed. */
const WHOLE_S = 300;
const NEWEST_POINTS = 20_000;
const MAX_HELD_BACK = 3000;

let source: EventSource | null = null;
let heardMs = 0;
let wait = 500;
/** Samples that came while the series was being fetched; null when nothing is being fetched. */
let heldBack: SeriesView[] | null = null;
let heldTrail: RunTrail[] = [];
let loadAgain = false;
/** By which the server knows this page; null while it does not. */
let page: string | null = null;
/** What the server knows of whether nobody sees it; null where that is not certain. */
let toldHidden: boolean | null = false;
/** The server is told one thing after the other. */
let telling: Promise<void> = Promise.resolve();
/** Just connected: the state that comes next says what there is to fetch. */
let joining = false;

export function startStream(): void {
  open();
  setInterval(() => {
    if (source && performance.now() - heardMs > SILENT_MS) cut();
  }, 2000);
  setInterval(() => {
    watchMotion();
    watchClock();
  }, 1000);
  document.addEventListener('visibilitychange', onVisible);
  addEventListener('pagehide', () => source?.close());
  addEventListener('pageshow', (e) => {
    if (e.persisted) cut();
  });
}

function open(): void {
  heardMs = performance.now();
  const s = new EventSource('/api/stream');
  source = s;
  const on = <T>(name: string, take: (data: T) => void) =>
    s.addEventListener(name, (e) => {
      heardMs = performance.now();
      take(JSON.parse((e as MessageEvent<string>).data) as T);
    });
  on<{ page: string }>('hello', (greeted) => {
    wait = 500;
    joining = true;
    page = greeted.page;
    toldHidden = false;
    tellHidden();
  });
  on('beat', () => undefined);
  on<DaemonState>('state', takeState);
  on<SeriesView>('samples', takeSamples);
  on<LiveView>('view', takeView);
  on<RunTrail>('trail', takeTrail);
  on<Spoken>('spoken', takeSpoken);
  on<MarkView>('mark', (made) => {
    const t = tape.value;
    tell({ tone: 'noted', sentence: null });
    if (!t.marks.some((m) => m.tS === made.tS && m.key === made.key)) t.setMarks([...t.marks, made]);
  });
  on('resync', () => void load());
  s.onerror = () => cut();
}

/** The line is gone: say so, and try again by ourselves, soon at first and then every five seconds. */
function cut(): void {
  if (ending.value) return void source?.close();
  source?.close();
  source = null;
  page = null;
  if (line.value === 'live' && daemon.value?.run) tell({ tone: 'lost', sentence: t('said.cut') });
  line.value = 'cut';
  setTimeout(open, wait);
  wait = Math.min(5000, wait * 2);
}

/** What nobody sees need not be sent: the server sends `resync` when somebody does again. */
function tellHidden(): void {
  telling = telling.then(async () => {
    const [to, hidden] = [page, document.hidden];
    if (to === null || hidden === toldHidden) return;
    try {
      await post('/api/stream/hidden', { page: to, hidden });
      if (to === page) toldHidden = hidden;
    } catch {
      if (to !== page) return;
      toldHidden = null;
      if (!hidden) cut(); // seen, it would stand still
    }
  });
}

/** A hidden tab is throttled and may miss sounds: say so to whoever comes back to it. */
const HIDDEN_LONG_MS = 60_000;
let hiddenAtMs: number | null = null;

function onVisible(): void {
  tellHidden();
  if (document.hidden) {
    hiddenAtMs = performance.now();
    return;
  }
  const hiddenMs = hiddenAtMs === null ? 0 : performance.now() - hiddenAtMs;
  hiddenAtMs = null;
  if (hiddenMs < HIDDEN_LONG_MS || !daemon.value?.run) return;
  say(t('said.hidden', { age: ageOf(hiddenMs / 1000) }));
}

/** Seconds by which the laptop's wall clock may run apart from its steady clock before it is worth a word. */
const CLOCK_JUMP_S = 30;
let wallMinusSteadyMs = Date.now() - performance.now();

function watchClock(): void {
  const nowMs = Date.now() - performance.now();
  const jumpS = (nowMs - wallMinusSteadyMs) / 1000;
  wallMinusSteadyMs = nowMs;
  if (Math.abs(jumpS) < CLOCK_JUMP_S || !daemon.value?.run) return;
  say(t(jumpS > 0 ? 'said.clock-forward' : 'said.clock-back', { age: ageOf(Math.abs(jumpS)) }));
}

/**
 * Fetches everything of the run being recorded; what streams in meanwhile is put behind it. The state itself comes
 * by the stream only: a fetched one could be older than what was streamed already.
 */
async function load(): Promise<void> {
  if (heldBack) {
    loadAgain = true;
    return;
  }
  heldBack = [];
  heldTrail = [];
  loadAgain = false;
  const id = daemon.value?.run?.id ?? null;
  try {
    const recording = id !== null;
    const fromS = Math.max(0, (daemon.value?.run?.seconds ?? 0) - WHOLE_S);
    const series = '/api/run/series?points=';
    const [older, newest, said, trail] = await Promise.all([
      fromS > 0 ? get<SeriesView>(`${series}${WHOLE_POINTS}&to=${fromS}`) : {},
      recording ? get<SeriesView>(`${series}${NEWEST_POINTS}&from=${fromS}`) : {},
      recording ? get<Spoken[]>('/api/run/spoken') : [],
      recording ? get<RunTrail>('/api/run/trail') : null,
    ]);
    const now = daemon.value?.run ?? null;
    if ((now?.id ?? null) !== id) loadAgain = true;
    else
      batch(() => {
        if (now) {
          const fresh = new Tape();
          fresh.runId = now.id;
          fresh.live = true;
          fresh.limitC = view.value?.coolant.limitC ?? null;
          fresh.addWhole(older, WHOLE_POINTS, performance.now());
          fresh.add(newest, performance.now());
          for (const news of [...(trail ? [trail] : []), ...heldTrail]) fresh.addTrail(news);
          fresh.setMarks(now.marks);
          for (const samples of heldBack ?? []) fresh.add(samples, performance.now());
          tape.value = fresh;
          spoken.value = said;
        } else endOfRun();
        line.value = 'live';
      });
  } catch {
    if (source) cut();
  } finally {
    heldBack = null;
  }
  if (loadAgain && source) await load();
}

function takeTrail(news: RunTrail): void {
  if (heldBack) heldTrail.push(news);
  tape.value.addTrail(news);
}

function takeState(state: DaemonState): void {
  const before = daemon.value?.run?.id ?? null;
  const id = state.run?.id ?? null;
  tell(...ofState(daemon.value, state));
  batch(() => {
    daemon.value = state;
    if (id !== before) {
      view.value = null;
      spoken.value = [];
    }
  });
  if (joining || (id !== null && id !== before)) {
    joining = false;
    void load();
  } else if (!state.run) endOfRun();
  else if (tape.value.runId === id && JSON.stringify(state.run.marks) !== JSON.stringify(tape.value.marks))
    tape.value.setMarks(state.run.marks);
}

function endOfRun(): void {
  tape.value.live = false;
  view.value = null;
  silence();
}

function takeSamples(samples: SeriesView): void {
  if (heldBack) {
    if (heldBack.length < MAX_HELD_BACK) heldBack.push(samples);
    else loadAgain = true;
  } else if (tape.value.live) {
    tape.value.add(samples, performance.now());
    watchMotion();
  }
}

function takeView(next: LiveView): void {
  if (!daemon.value?.run) return;
  const before = view.value;
  view.value = next;
  tape.value.limitC = next.coolant.limitC;
  tell(...ofView(before, next));
}

function takeSpoken(said: Spoken): void {
  spoken.value = [...spoken.value, said].slice(-500);
  tell(ofSpoken(said));
}
