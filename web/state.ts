/** What the page knows: signals that the places read, and the few actions that change them. */
import { computed, signal } from '@preact/signals';
import type { DaemonState, MarkView, RunSummary } from '../src/desk/api.ts';
import type { LiveView, Spoken } from '../src/words/views.ts';
import { post, sentenceOf } from './http.ts';
import { keep, kept, keptText } from './kept.ts';
import { Motion } from './motion.ts';
import { Tape } from './tape.ts';
import { MARKS, t } from './words.ts';

export const daemon = signal<DaemonState | null>(null);
export const view = signal<LiveView | null>(null);
export const spoken = signal<readonly Spoken[]>([]);
/** How the page stands to the daemon; `cut` is said aloud on every place. */
export const line = signal<'joining' | 'live' | 'cut'>('joining');
/** Quit on this page: nothing more comes, and that is well. */
export const ending = signal<'asked' | 'over' | null>(null);
export const tape = signal(new Tape());
/** One short message for ear and eye, the newest only. */
export const notice = signal<{ text: string; bad: boolean; undo?: () => void } | null>(null);
export const run = computed(() => daemon.value?.run ?? null);
/** Nothing can be written into the library: what would change it is not offered. */
export const readOnly = computed(() => (daemon.value?.readOnly ?? null) !== null);
export const connection = computed(() => daemon.value?.connection ?? null);
export const connected = computed(() => connection.value?.phase === 'connected');
/** Ticks once a second while the page is seen, for clocks and ages. */
export const second = signal(0);

/** A speed older than this says nothing about now. */
const FRESH_S = 5;

// ---- where we are -------------------------------------------------------------------------------------------

export type Place = 'jobs' | 'connect' | 'drive' | 'findings' | 'compare' | 'glance';
const PLACES: readonly string[] = ['jobs', 'connect', 'drive', 'findings', 'compare', 'glance'];
/** Without an address the drive, which needs nothing more, until it is known what runs. */
export const place = signal<{ name: Place; id: string | null }>({ name: 'drive', id: null });

export function followHash(): void {
  const [name = '', id] = location.hash.replace(/^#\/?/, '').replace(/\?.*/, '').split('/');
  if (name !== place.peek().name) scrollTo(0, 0); // a place begins at its top
  if (PLACES.includes(name)) place.value = { name: name as Place, id: id ? decoded(id) : null };
  else place.value = { name: run.value ? 'drive' : 'connect', id: null };
}

/** As it stands where it was cut or typed wrongly: there is nothing of that name, and the place says so. */
function decoded(id: string): string {
  try {
    return decodeURIComponent(id);
  } catch {
    return id;
  }
}

export function go(name: Place, id?: string): void {
  location.hash = id === undefined ? `#/${name}` : `#/${name}/${encodeURIComponent(id)}`;
}

// ---- whether the car moves ----------------------------------------------------------------------------------

const motion = new Motion();
const moving = signal(false);
/** The run for which a companion said once that the driver does not touch this. */
const companionRun = signal<string | null>(null);
/** Controls shrink to marks and stop. */
export const driving = computed(
  () => moving.value && run.value !== null && companionRun.value !== run.value.id,
);
export const companion = computed(() => run.value !== null && companionRun.value === run.value.id);

export function rideAlong(): void {
  companionRun.value = run.value?.id ?? null;
}

/** Called when samples came, and once a second. */
export function watchMotion(): void {
  const t = tape.value;
  if (!run.value || !t.live) {
    motion.reset();
    moving.value = false;
    return;
  }
  const newest = t.columns.get('speed_kmh')?.at(Number.POSITIVE_INFINITY) ?? null;
  const fresh = newest !== null && t.lastS - newest.t < FRESH_S;
  moving.value = motion.step(fresh ? newest.v : null, performance.now());
}

// ---- which seconds the strips show --------------------------------------------------------------------------

export interface Window {
  readonly follow: boolean;
  readonly spanS: number;
  /** Left edge while held. */
  readonly fromS: number;
}
export const win = signal<Window>({ follow: true, spanS: 120, fromS: 0 });
/** The ended run that the strips show; null while they show the one being recorded. Its window stays within the run. */
export const readBack = signal<Tape | null>(null);
/** Time under the pointer, or null. */
export const cursorS = signal<number | null>(null);

const MIN_SPAN_S = 2;
const MAX_SPAN_S = 6 * 3600;

const shown = (): Tape => readBack.peek() ?? tape.peek();

/** All of a run, with a little room on either side. */
function wholeOf(lastS: number): [number, number] {
  const end = Math.max(10, lastS);
  return [-0.01 * end, 1.01 * end];
}

/** What follows shows now at its right edge; of an ended run it shows the whole. */
export function windowEdges(nowMs: number): [number, number] {
  const { follow, spanS, fromS } = win.peek(); // what shows it is drawn anew with the strips, not with each step
  const ended = readBack.peek();
  if (follow && ended) return wholeOf(ended.lastS);
  const from = follow ? tape.value.nowS(nowMs) - spanS : fromS;
  return [from, from + spanS];
}

export function hold(fromS: number, toS: number): void {
  const spanS = Math.min(MAX_SPAN_S, Math.max(MIN_SPAN_S, toS - fromS));
  const ended = readBack.peek();
  if (!ended) {
    win.value = { follow: false, spanS, fromS };
    return;
  }
  const [least, most] = wholeOf(ended.lastS);
  if (spanS >= most - least) follow();
  else win.value = { follow: false, spanS, fromS: Math.min(most - spanS, Math.max(least, fromS)) };
}

export function follow(): void {
  win.value = { ...win.value, follow: true };
}

export function toggleFollow(): void {
  if (win.value.follow) hold(...windowEdges(performance.now()));
  else follow();
}

/** Larger than 1 shows more time. While a run is followed its right edge stays at now. */
export function zoom(factor: number, aboutS?: number): void {
  const [from, to] = windowEdges(performance.now());
  const spanS = Math.min(MAX_SPAN_S, Math.max(MIN_SPAN_S, (to - from) * factor));
  if (win.value.follow && !readBack.peek()) win.value = { ...win.value, spanS };
  else {
    const about = aboutS ?? (from + to) / 2;
    const start = about - ((about - from) / (to - from)) * spanS;
    hold(start, start + spanS);
  }
}

export function pan(share: number): void {
  const [from, to] = windowEdges(performance.now());
  hold(from + share * (to - from), to + share * (to - from));
}

export function showWhole(): void {
  if (readBack.peek()) follow();
  else hold(...wholeOf(tape.value.nowS(performance.now())));
}

/** Where the keys have put the cursor, or null; the pointer takes it over. */
export const stepS = signal<number | null>(null);

/** Moves the cursor by a share of what is seen, from where it is or from the middle; what is seen goes with it. */
export function step(share: number): void {
  const [from, to] = windowEdges(performance.now());
  const at = cursorS.peek();
  const start = at === null || at < from || at > to ? (from + to) / 2 : at;
  const next = Math.min(Math.max(0, start + share * (to - from)), shown().nowS(performance.now()));
  if (next < from || next > to) hold(next - (to - from) / 2, next + (to - from) / 2);
  stepS.value = next;
  cursorS.value = next;
}

/** Rises when someone asks for other seconds: where the chart is out of sight, it is brought back. */
export const chartWanted = signal(0);

/** A time kept to compare with what the pointer is on, or null. */
export const pinS = signal<number | null>(null);

export function togglePin(): void {
  pinS.value = pinS.value === null ? (cursorS.value ?? shown().nowS(performance.now())) : null;
}

/** Where one was before each jump to the seconds of a finding, so that one finds back. */
const jumps = signal<readonly { readonly hash: string; readonly win: Window; readonly top: number }[]>([]);
export const canGoBack = computed(() => jumps.value.length > 0);
const MOST_JUMPS = 20;

const pathOf = (hash: string): string => hash.split('?')[0]!;

export function back(): void {
  const from = jumps.value.at(-1);
  if (!from) return;
  jumps.value = jumps.value.slice(0, -1);
  const stays = pathOf(location.hash) === pathOf(from.hash);
  if (!stays) location.hash = from.hash;
  win.value = from.win;
  if (stays) scrollTo(0, from.top);
}

/** Brings some seconds into the middle, with room around them. */
export function showSeconds(fromS: number, toS: number): void {
  jumps.value = [...jumps.value, { hash: location.hash, win: win.value, top: scrollY }].slice(-MOST_JUMPS);
  const room = Math.max(6, (toS - fromS) * 0.5);
  hold(fromS - room, toS + room);
  chartWanted.value++;
}

// ---- preferences --------------------------------------------------------------------------------------------

export type Theme = 'auto' | 'day' | 'night';
export const theme = signal<Theme>(kept('theme', ['auto', 'day', 'night'], 'auto'));
export const keysOn = signal(kept('keys', ['on', 'off'], 'on') === 'on');

export function setTheme(next: Theme): void {
  theme.value = next;
  keep('theme', next);
}

export function setKeysOn(on: boolean): void {
  keysOn.value = on;
  keep('keys', on ? 'on' : 'off');
}

const MOST_EXTRA = 15;
/** Signals shown below the usual strips. */
export const extraStrips = signal<readonly string[]>(keptList('strips'));

export function toggleStrip(name: string): void {
  const now = extraStrips.value;
  if (now.includes(name)) extraStrips.value = now.filter((n) => n !== name);
  else if (now.length < MOST_EXTRA) extraStrips.value = [...now, name];
  keep('strips', extraStrips.value.join(' '));
}

function keptList(name: string): string[] {
  return (keptText(name) ?? '').split(' ').filter((n) => /^[a-z0-9_]+$/.test(n));
}

// ---- actions ------------------------------------------------------------------------------------------------

/** The job whose page was opened last: a car connected from there is recorded for it. */
export const jobAtHand = signal<{ readonly id: string; readonly vehicle: string } | null>(null);

export const helpOpen = signal(false);
export const startOpen = signal(false);

export function say(text: string, bad = false): void {
  notice.value = { text, bad };
}

/** What was done can be taken back for a while: better than asking before. */
export function sayUndo(text: string, undo: () => void): void {
  notice.value = { text, bad: false, undo };
}

/** Runs an action; a failure becomes the notice. Resolves to whether it worked. */
export async function attempt(
  action: () => Promise<void>,
  failed: (why: string) => string = (why) => why,
): Promise<boolean> {
  try {
    await action();
    return true;
  } catch (error) {
    say(failed(sentenceOf(error)), true);
    return false;
  }
}

export function mark(key: string): Promise<boolean> {
  const known = MARKS.find((m) => m === key);
  const text = known ? t(`mark.${known}`) : '';
  const what = text || key;
  return attempt(
    async () => {
      const made = await post<MarkView>('/api/marks', { key, ...(known ? { text } : {}) });
      say(t('said.marked', { what, at: made.tS }));
    },
    (why) => t('said.not-marked', { what, why }),
  );
}

export function stopRun(): Promise<boolean> {
  return attempt(async () => {
    const ended = await post<RunSummary>('/api/run/stop');
    const after = ended.seconds ?? 0;
    if (ended.missing === undefined) say(t('said.ended', { after }));
    else say(t('said.ended-missing', { after, missing: ended.missing }), true);
    go('findings', ended.id);
  });
}

/** One click from nothing to a moving chart; with a job at hand back to it, where the drive's purpose is chosen. */
export function trySimulated(link: string, title: string): Promise<boolean> {
  return attempt(async () => {
    if (connection.value && connection.value.phase !== 'disconnected') await post('/api/disconnect');
    await post('/api/connect', { link });
    if (jobAtHand.value) return go('jobs', jobAtHand.value.id);
    await post('/api/run', { purpose: 'verification', vehicle: title });
    follow();
    go('drive');
  });
}
