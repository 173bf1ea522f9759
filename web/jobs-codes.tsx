/** Code snapshots of a job and what became of each code between the first and the last. */
import type { JobView, SnapshotView } from '../src/desk/jobs-api.ts';
import { post } from './http.ts';
import type { Part } from './jobs-part.ts';
import { offerUndo } from './jobs-undo.tsx';
import { dateOf, name, t, told } from './words.ts';

export function Codes({ view, path, act }: Part) {
  const { snapshots, codes } = view;
  const list = (s: SnapshotView, listed: boolean) =>
    post<JobView>(`${path}/snapshots/listed`, { ref: { file: s.file, when: s.when, at: s.at }, listed });
  const remove = (s: SnapshotView) =>
    act(async () => {
      const changed = await list(s, false);
      offerUndo(t('codes-part.left-out'), async () => void (await act(() => list(s, true))));
      return changed;
    });
  const last = snapshots.at(-1)?.snapshot;
  const open = last?.units.flatMap(
    (u) =>
      u.readiness?.monitors.filter((m) => m.supported && !m.complete).map((m) => name('monitor', m.name)) ??
      [],
  );
  return (
    <section aria-labelledby="codes-h">
      <h2 id="codes-h">{t('codes-part.title')}</h2>
      {snapshots.length === 0 && <p>{t('codes-part.none-read')}</p>}
      <ul class="snapshots">
        {snapshots.map((s) => (
          <li key={s.file}>
            <b>{t(`codes-part.${s.when}`)}</b>, {dateOf(s.at)}: {told(s, 'trouble') ?? summary(s)}{' '}
            <button type="button" onClick={() => void remove(s)}>
              {t('codes-part.leave-out')}
            </button>
          </li>
        ))}
      </ul>
      {codes && codes.length > 0 && (
        <table aria-label={t('codes-part.table')}>
          <thead>
            <tr>
              <th scope="col">{t('codes-part.code')}</th>
              <th scope="col">{t('codes-part.says')}</th>
              <th scope="col">{t('codes-part.first')}</th>
              <th scope="col">{t('codes-part.last')}</th>
              <th scope="col">{t('codes-part.is')}</th>
            </tr>
          </thead>
          <tbody>
            {codes.map((c) => (
              <tr key={`${c.ecu} ${c.code}`}>
                <th scope="row">
                  {c.code} <span class="quiet">{c.ecu}</span>
                </th>
                <td>{told(c, 'text')}</td>
                <td>{lists(c.before)}</td>
                <td>{lists(c.after)}</td>
                <td>
                  <b>{name('change', c.change)}</b>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {codes?.length === 0 && <p>{t('codes-part.no-code')}</p>}
      {open && open.length > 0 && <p>{t('codes-part.not-complete', { monitors: open.join(', ') })}</p>}
    </section>
  );
}

function summary({ snapshot }: SnapshotView): string {
  if (!snapshot) return '';
  const codes = new Set(
    snapshot.units.flatMap((u) => [...u.stored, ...u.pending, ...u.permanent].map((c) => c.code)),
  );
  const seen = { codes: codes.size === 0 ? t('codes-part.no-codes') : [...codes].join(', ') };
  const lit = snapshot.units.some((u) => u.mil === true);
  const lamp = t(lit ? 'codes-part.lamp-on' : 'codes-part.lamp-off', seen);
  if (snapshot.unanswered.length === 0) return lamp;
  return `${lamp} ${t('codes-part.nobody', { what: snapshot.unanswered.map((service) => name('service', service)).join(', ') })}`;
}

const lists = (ids: readonly string[]): string =>
  ids.map((id) => name('list', id)).join(', ') || t('codes-part.none');
