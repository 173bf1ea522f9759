/** A link to a sheet: it is made first, with its progress beside the link, and then shown in a tab of its own. */
import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import type { Job } from '../src/job/job.ts';
import { post } from './http.ts';
import { UnderWay, useBegun } from './under-way.tsx';
import { t } from './words.ts';

interface Props {
  /** Of the daemon, with its query. */
  readonly href: string;
  readonly of: Pick<Job, 'id' | 'changedAt'>;
  readonly main?: boolean;
  readonly children: ComponentChildren;
}

export function SheetLink({ href, of, main = false, children }: Props) {
  const { isUnderWay, begin, stop } = useBegun();
  /** Made, but the browser opens no tab so long after the click; of the job as it was then. */
  const made = useSignal<{ readonly url: string; readonly from: string } | null>(null);
  const from = `${href} ${of.id} ${of.changedAt}`;
  const url = made.value?.from === from ? made.value.url : null;
  const make = async (e: MouseEvent) => {
    if (e.ctrlKey || e.metaKey || e.shiftKey || url !== null) {
      made.value = null;
      return; // the browser opens it
    }
    e.preventDefault();
    await begin(async (signal) => {
      const answer = await post<{ made: string }>(href, {}, signal);
      const its = `${href}&made=${answer.made}`;
      const tab = window.open(its, '_blank');
      if (tab) tab.opener = null;
      else made.value = { url: its, from };
    });
  };
  return (
    <>
      <a
        class={main ? 'button main' : 'button'}
        href={url ?? href}
        target="_blank"
        rel="noopener"
        onClick={(e) => void make(e)}
      >
        {url === null ? children : t('job.sheet-made')}
      </a>
      {isUnderWay && <UnderWay what="sheet" run={of.id} stop={stop} />}
    </>
  );
}
