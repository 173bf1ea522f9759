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
  const asked = useSignal<Asked | null>(null);
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
  if (asked.value === null) return null;
  const { share, leftS } = asked.value;
  return (
    <p class="under-way">
      <progress max={1} value={share} aria-label={t('under-way.share', { share })} />{' '}
      <span>
        {leftS === null
          ? t('under-way.share', { share })
          : t('under-way.left', { share, leftS: Math.max(1, leftS) })}
      </span>{' '}
      <button type="button" onClick={stop}>
        {t('under-way.stop')}
      </button>
    </p>
  );
}
