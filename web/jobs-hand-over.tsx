/** The end of a visit: the sheet, and the car handed over, with a reason where something speaks against it. */
import { useSignal } from '@preact/signals';
import { LANGUAGES } from '../src/core/languages.ts';
import type { HandOverView, JobView } from '../src/desk/jobs-api.ts';
import { get, post, receive } from './http.ts';
import { useUnsent } from './jobs-field.tsx';
import type { Part } from './jobs-part.ts';
import { offerUndo } from './jobs-undo.tsx';
import { SheetLink } from './sheet-link.tsx';
import { attempt, go, jobAtHand } from './state.ts';
import { UnderWay, useBegun } from './under-way.tsx';
import { name, t, unitsText } from './words.ts';

export function HandOver({ view: { job }, path, act }: Part) {
  const { sheet } = job;
  const save = (change: object) =>
    act((now) =>
      post<JobView>(path, { sheet: { ...now.job.sheet, ...change }, was: { sheet: now.job.sheet } }),
    );
  const hide = (name: 'hidePlate' | 'hideVin', label: string) => (
    <label class="check">
      <input
        type="checkbox"
        checked={sheet[name]}
        onChange={(e) => void save({ [name]: e.currentTarget.checked })}
      />
      {label}
    </label>
  );
  const hidden = `hidePlate=${sheet.hidePlate ? 1 : 0}&hideVin=${sheet.hideVin ? 1 : 0}`;
  const doubts = useSignal<HandOverView['doubts']>([]);
  const { text: reason, set: setReason } = useUnsent(job.id, 'reason');
  const openAgain = () => act(() => post<JobView>(`${path}/open-again`));
  const give = async (why: string) => {
    if (!(await act(() => post<JobView>(`${path}/hand-over`, { reason: why })))) return;
    doubts.value = [];
    setReason('');
  };
  const { isUnderWay, begin, stop } = useBegun();
  const mark = () =>
    begin(async (signal) => {
      const now = await get<HandOverView>(`${path}/hand-over`, signal);
      doubts.value = now.doubts;
      if (now.doubts.length === 0) await give('');
    });
  const remove = () =>
    attempt(async () => {
      const binned = await post<{ id: string }>(`${path}/delete`);
      jobAtHand.value = null;
      go('jobs');
      offerUndo(t('job.binned'), async () => {
        const back = await post<{ id: string }>(`/api/bin/${binned.id}/restore`);
        go('jobs', back.id);
      });
    });
  return (
    <section aria-labelledby="sheet-h">
      <h2 id="sheet-h">{t('job.hand-over')}</h2>
      <div class="fields">
        <label>
          {t('job.sheet-language')}
          <select value={sheet.language} onChange={(e) => void save({ language: e.currentTarget.value })}>
            {Object.entries(LANGUAGES).map(([id, own]) => (
              <option key={id} value={id} lang={id}>
                {own}
              </option>
            ))}
          </select>
        </label>
      </div>
      {hide('hidePlate', t('job.hide-plate'))}
      {hide('hideVin', t('job.hide-vin'))}
      <p class="actions">
        <SheetLink href={`${path}/sheet?units=${unitsText()}`} of={job} main>
          {t('job.sheet')}
        </SheetLink>
        <SheetLink href={`${path}/sheet?as=pdf&units=${unitsText()}`} of={job}>
          {t('job.pdf')}
        </SheetLink>
        <Pack id={job.id} href={`${path}/archive?${hidden}`} />
        <button type="button" onClick={() => void (job.closedAt ? openAgain() : mark())}>
          {t(job.closedAt ? 'job.open-again' : 'job.mark-handed')}
        </button>
        <button type="button" onClick={() => void remove()}>
          {t('job.delete')}
        </button>
      </p>
      {isUnderWay && <UnderWay what="hand-over" run={job.id} stop={stop} />}
      {doubts.value.length > 0 && !job.closedAt && (
        <form
          class="although"
          aria-label={t('job.mark-handed')}
          onSubmit={(e) => {
            e.preventDefault();
            void give(reason.value.trim());
          }}
        >
          <p>{t('job.although')}</p>
          <ul>
            {doubts.value.map((d) => (
              <li key={d}>{name('visit.doubt', d)}</li>
            ))}
          </ul>
          <label>
            {t('job.reason')}
            <textarea
              rows={2}
              maxLength={1000}
              required
              value={reason.value}
              onInput={(e) => setReason(e.currentTarget.value)}
            />
          </label>
          <p class="actions">
            <button type="submit" disabled={reason.value.trim() === ''}>
              {t('job.hand-over-so')}
            </button>
            <button type="button" onClick={() => (doubts.value = [])}>
              {t('job.not-handed')}
            </button>
          </p>
        </form>
      )}
      {(sheet.hidePlate || sheet.hideVin) && job.photos.length > 0 && (
        <p class="quiet">{t('job.photos-out')}</p>
      )}
    </section>
  );
}

/** The job as one file: it is made first, with its progress beside the link, and saved then. */
function Pack({ id, href }: { id: string; href: string }) {
  const { isUnderWay, begin, stop } = useBegun();
  const pack = (e: MouseEvent) => {
    if (e.ctrlKey || e.metaKey || e.shiftKey) return; // the browser fetches it
    e.preventDefault();
    void begin(async (signal) => {
      const url = URL.createObjectURL(await receive(href, signal));
      const file = document.createElement('a');
      file.href = url;
      file.download = `${id}.zip`;
      file.click();
      setTimeout(() => URL.revokeObjectURL(url), SAVED_MS);
    });
  };
  return (
    <>
      <a class="button" href={href} onClick={pack}>
        {t('job.pack')}
      </a>
      {isUnderWay && <UnderWay what="archive" run={id} stop={stop} />}
    </>
  );
}

/** The browser has taken it by then. Chosen by hand. */
const SAVED_MS = 60_000;
