/** How far what takes longer than a moment is, and a button that gives it up. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { UnderWay as Asked } from '../src/desk/api.ts';
import { get, sentenceOf } from './http.ts';
import { attempt } from './state.ts';
import { t } from './words.ts';

const SOON_MS = 1000;
const EVERY_MS = 500;

interface Answer<T> {
  /** The newest that came. */
  readonly is: T | null;
  readonly trouble: string | null;
  readonly state: 'asking' | 'answered' | 'stopped';
  stop(): void;
  again(): void;
}

/**
 * The answer to what a place shows, asked for anew when the key changes; given up by a button or by leaving.
 * @param key null: nothing is asked
 */
export function useAnswer<T>(path: string, key: string | null): Answer<T> {
  const is = useSignal<T | null>(null);
  const trouble = useSignal<string | null>(null);
  const state = useSignal<Answer<T>['state']>(key === null ? 'answered' : 'asking');
  const times = useSignal(0);
  const leave = useRef<() => void>(() => undefined);
  useEffect(() => {
    if (key === null) return;
    const away = new AbortController();
    leave.current = () => away.abort();
    let gone = false;
    state.value = 'asking';
    get<T>(path, away.signal).then(
      (answer) => {
        if (gone) return;
        is.value = answer;
        trouble.value = null;
        state.value = 'answered';
      },
      (error) => {
        if (gone) return;
        trouble.value = away.signal.aborted ? null : sentenceOf(error);
        state.value = away.signal.aborted ? 'stopped' : 'answered';
      },
    );
    return () => {
      gone = true;
      away.abort();
    };
  }, [path, key, times.value]);
  return {
    is: is.value,
    trouble: trouble.value,
    state: state.value,
    stop: () => leave.current(),
    again: () => void times.value++,
  };
}

/** Beside an answer: how far it is, or that it was given up, and a button that goes on. */
export function Answering({
  what,
  run,
  of,
}: {
  readonly what: Asked['what'];
  readonly run: string;
  readonly of: Answer<unknown>;
}) {
  if (of.state === 'asking') return <UnderWay what={what} run={run} stop={of.stop} />;
  if (of.state === 'answered') return null;
  return (
    <p class="quiet">
      {t('under-way.left-off')}{' '}
      <button type="button" onClick={of.again}>
        {t('under-way.go-on')}
      </button>
    </p>
  );
}

/** What a person begins, one at a time, and may give up; leaving gives it up too. */
export function useBegun() {
  const begun = useSignal<AbortController | null>(null);
  useEffect(() => () => begun.value?.abort(), []);
  const begin = async (work: (signal: AbortSignal) => Promise<void>): Promise<void> => {
    if (begun.value) return;
    const gone = new AbortController();
    begun.value = gone;
    await attempt(() =>
      work(gone.signal).catch((thrown) => {
        if (!gone.signal.aborted) throw thrown;
      }),
    );
    begun.value = null;
  };
  return { isUnderWay: begun.value !== null, begin, stop: () => begun.value?.abort() };
}

/** The others only read. */
const MADE: ReadonlySet<Asked['what']> = new Set(['sheet', 'import', 'archive', 'practice']);

export function UnderWay({
  what,
  run = null,
  stop,
}: {
  readonly what: Asked['what'];
  readonly run?: string | null;
  readonly stop: () => void;
}) {
  /** Null: nothing is told of it, as of a printer; undefined: too soon. */
  const asked = useSignal<Asked | null | undefined>(undefined);
  useEffect(() => {
    let timer = 0;
    let gone = false;
    const look = async (): Promise<void> => {
      const all = await get<readonly Asked[]>('/api/under-way').catch(() => []);
      if (gone) return;
      asked.value = all.find((a) => a.what === what && a.run === run) ?? null;
      timer = window.setTimeout(look, EVERY_MS);
    };
    timer = window.setTimeout(look, SOON_MS);
    return () => {
      gone = true;
      window.clearTimeout(timer);
    };
  }, [what, run]);
  if (asked.value === undefined) return null;
  const done = MADE.has(what) ? 'done' : 'read';
  return (
    <span class="under-way">
      <Share asked={asked.value} done={done} />{' '}
      <button type="button" onClick={stop}>
        {t('under-way.stop', { done })}
      </button>
    </span>
  );
}

function Share({ asked, done }: { asked: Asked | null; done: string }) {
  if (asked === null)
    return (
      <>
        <progress aria-label={t('under-way.busy')} /> <span>{t('under-way.busy')}</span>
      </>
    );
  const { share, leftS } = asked;
  const bare = t('under-way.share', { share, done });
  return (
    <>
      <progress max={1} value={share} aria-label={bare} />{' '}
      <span>{leftS === null ? bare : t('under-way.left', { share, leftS: Math.max(1, leftS), done })}</span>
    </>
  );
}
