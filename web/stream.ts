/** Keeps the page in step with the daemon: one stream, reloaded after every cut, restart or skipped sample. */
import { batch } from '@preact/signals';
import type { LiveView, Spoken } from '../src/analysis/types.ts';
import type { DaemonState, MarkView, RunTrail, SeriesView } from '../src/server/api.ts';
import { get } from './http.ts';
import { heard } from './sound.ts';
import { daemon, line, spoken, tape, view } from './state.ts';
import { Tape } from './tape.ts';

/** The server beats every 5 s; without anything for this long the line counts as cut. */
const SILENT_MS = 12_000;
const POINTS = 20_000;
const MAX_HELD_BACK = 3000;

let source: EventSource | null = null;
let heardMs = 0;
let wait = 500;
/** Samples that came while the series was being fetched; null when nothing is being fetched. */
let heldBack: SeriesView[] | null = null;
let loadAgain = false;
/** Just connected: the state that comes next says what there is to fetch. */
let joining = false;

export function startStream(): void {
  open();
  setInterval(() => {
    if (source && performance.now() - heardMs > SILENT_MS) cut();
  }, 2000);
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
  on('hello', () => {
    wait = 500;
    joining = true;
  });
  on('beat', () => undefined);
  on<DaemonState>('state', takeState);
  on<SeriesView>('samples', takeSamples);
  on<LiveView>('view', takeView);
  on<RunTrail>('trail', (news) => tape.value.addTrail(news));
  on<Spoken>('spoken', takeSpoken);
  on<MarkView>('mark', (made) => {
    const t = tape.value;
    if (!t.marks.some((m) => m.tS === made.tS && m.key === made.key)) t.setMarks([...t.marks, made]);
  });
  on('resync', () => void load());
  s.onerror = () => cut();
}

/** The line is gone: say so, and try again by ourselves, soon at first and then every five seconds. */
function cut(): void {
  source?.close();
  source = null;
  line.value = 'cut';
  setTimeout(open, wait);
  wait = Math.min(5000, wait * 2);
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
  loadAgain = false;
  const id = daemon.value?.run?.id ?? null;
  try {
    const recording = id !== null;
    const [series, said, trail] = await Promise.all([
      recording ? get<SeriesView>(`/api/run/series?points=${POINTS}`) : {},
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
          fresh.add(series, performance.now());
          if (trail) fresh.addTrail(trail);
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

function takeState(state: DaemonState): void {
  const before = daemon.value?.run?.id ?? null;
  const id = state.run?.id ?? null;
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
  else if (state.run.marks.length !== tape.value.marks.length && tape.value.runId === id)
    tape.value.setMarks(state.run.marks);
}

function endOfRun(): void {
  tape.value.live = false;
  view.value = null;
}

function takeSamples(samples: SeriesView): void {
  if (heldBack) {
    if (heldBack.length < MAX_HELD_BACK) heldBack.push(samples);
    else loadAgain = true;
  } else if (tape.value.live) tape.value.add(samples, performance.now());
}

function takeView(next: LiveView): void {
  if (!daemon.value?.run) return;
  const covered = (v: LiveView | null) => v?.legs.filter((l) => l.covered).length ?? null;
  const before = covered(view.value);
  view.value = next;
  tape.value.limitC = next.coolant.limitC;
  if (before !== null && (covered(next) ?? 0) > before) heard('done');
}

function takeSpoken(said: Spoken): void {
  spoken.value = [...spoken.value, said].slice(-500);
  heard(said);
}
