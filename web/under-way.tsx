/** How far the reading of ended runs is, when it takes longer than a moment, and a button that gives it up. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { UnderWay as Asked } from '../src/desk/api.ts';
import { get } from './http.ts';
import { t } from './words.ts';

const SOON_MS = 1000;
const EVERY_MS = 500;

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
  const done = what === 'view' || what === 'compare' ? 'read' : 'done';
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
