/** A link to a sheet: it is made first, with its progress beside the link, and then shown in a tab of its own. */
import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect } from 'preact/hooks';
import { post } from './http.ts';
import { attempt } from './state.ts';
import { UnderWay } from './under-way.tsx';
import { t } from './words.ts';

interface Props {
  /** Of the daemon, with its query. */
  readonly href: string;
  /** The job. */
  readonly of: string;
  readonly main?: boolean;
  readonly children: ComponentChildren;
}

export function SheetLink({ href, of, main = false, children }: Props) {
  const making = useSignal<AbortController | null>(null);
  /** Made, but the browser opens no tab so long after the click. */
  const made = useSignal<string | null>(null);
  useEffect(() => () => making.value?.abort(), []);
  const make = async (e: MouseEvent) => {
    if (e.ctrlKey || e.metaKey || e.shiftKey || made.value !== null) {
      made.value = null;
      return; // the browser opens it
    }
    e.preventDefault();
    if (making.value) return;
    const gone = new AbortController();
    making.value = gone;
    await attempt(async () => {
      const answer = await post<{ made: string }>(href, {}, gone.signal).catch((thrown) => {
        if (gone.signal.aborted) return null;
        throw thrown;
      });
      if (answer === null) return;
      const url = `${href}&made=${answer.made}`;
      const tab = window.open(url, '_blank');
      if (tab) tab.opener = null;
      else made.value = url;
    });
    making.value = null;
  };
  return (
    <>
      <a
        class={main ? 'button main' : 'button'}
        href={made.value ?? href}
        target="_blank"
        rel="noopener"
        onClick={(e) => void make(e)}
      >
        {made.value === null ? children : t('job.sheet-made')}
      </a>
      {making.value && <UnderWay what="sheet" run={of} stop={() => making.value?.abort()} />}
    </>
  );
}
