/** The fault memory of a job: a column for each reading, codes with their freeze frames, lamp and readiness in words. */
import type { Unit } from '../src/core/signals.ts';
import type { JobView, SnapshotView } from '../src/desk/jobs-api.ts';
import type { SnapshotRef } from '../src/job/job.ts';
import { post } from './http.ts';
import type { Part } from './jobs-part.ts';
import { offerUndo } from './jobs-undo.tsx';
import { dateOf, name, signalText, t, told, withUnit } from './words.ts';

export const SNAPSHOT_TIMES: readonly SnapshotRef['when'][] = ['before', 'during', 'after', 'come-back'];

type Codes = NonNullable<JobView['codes']>;
type Told = NonNullable<SnapshotView['told']>;

export function Codes({ view, path, act }: Part) {
  const { snapshots, codes } = view;
  const file = ({ file, at }: SnapshotView, when: SnapshotRef['when'], listed: boolean) =>
    post<JobView>(`${path}/snapshots/listed`, { ref: { file, when, at }, listed });
  const remove = (s: SnapshotView) =>
    act(async () => {
      const changed = await file(s, s.when, false);
      offerUndo(t('codes-part.left-out'), async () => void (await act(() => file(s, s.when, true))));
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
            {dateOf(s.at)}. {t('codes-part.filed')}{' '}
            <select
              aria-label={t('codes-part.filed-of', { date: dateOf(s.at) })}
              value={s.when}
              onChange={(e) => {
                const when = e.currentTarget.value as SnapshotRef['when'];
                void act(() => file(s, when, true));
              }}
            >
              {SNAPSHOT_TIMES.map((when) => (
                <option key={when} value={when}>
                  {name('measure-when', when)}
                </option>
              ))}
            </select>{' '}
            <button type="button" onClick={() => void remove(s)}>
              {t('codes-part.leave-out')}
            </button>
            {s.trouble !== null && <p class="trouble">{told(s, 'trouble')}</p>}
          </li>
        ))}
      </ul>
      {codes && <Memory codes={codes} read={snapshots.filter((s) => s.snapshot)} />}
      {open && open.length > 0 && <p>{t('codes-part.not-complete', { monitors: open.join(', ') })}</p>}
    </section>
  );
}

function Memory({ codes, read }: { codes: Codes; read: readonly SnapshotView[] }) {
  const change = read.length > 1 && codes.length > 0;
  const line = (title: string, of: keyof Omit<Told, 'says'>) => (
    <tr>
      <th scope="row">{title}</th>
      {read.map((s) => (
        <td key={s.file}>{(s.told && told(s.told, of)) ?? '–'}</td>
      ))}
      {change && <td />}
    </tr>
  );
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reached by the keyboard
    <div class="scrolls" tabIndex={0}>
      <table class="memory" aria-label={t('codes-part.table')}>
        <thead>
          <tr>
            <th scope="col">{t('codes-part.code')}</th>
            {read.map((s) => (
              <th scope="col" key={s.file}>
                {name('measure-when', s.when)}
                <br />
                {dateOf(s.at)}
              </th>
            ))}
            {change && <th scope="col">{t('codes-part.is')}</th>}
          </tr>
        </thead>
        <tbody>
          {codes.length === 0 && (
            <tr>
              <td colSpan={read.length + 1}>{t('codes-part.no-code')}</td>
            </tr>
          )}
          {codes.map((c) => [
            <tr key={`${c.ecu} ${c.code}`}>
              <th scope="row">
                {c.code} <span class="quiet">{c.ecu}</span> {told(c, 'text')}
              </th>
              {c.states.map((states, i) => (
                <td key={read[i]?.file}>{states.map((id) => name('list', id)).join(', ') || '–'}</td>
              ))}
              {change && (
                <td>
                  <b>{c.change && name('change', c.change)}</b>
                </td>
              )}
            </tr>,
            <Frozen key={`${c.ecu} ${c.code} frozen`} code={c} width={read.length + (change ? 2 : 1)} />,
          ])}
          {line(t('codes-part.lamp'), 'lamp')}
          {line(t('codes-part.readiness'), 'readiness')}
          {line(t('codes-part.unanswered'), 'unanswered')}
          {line(t('codes-part.cleared'), 'cleared')}
        </tbody>
      </table>
    </div>
  );
}

/** What the control unit kept when it stored the code, over the whole width. */
function Frozen({ code: { frozen }, width }: { code: Codes[number]; width: number }) {
  if (frozen.length === 0) return null;
  const values = frozen.map((v) => `${signalText(v.signal)} ${withUnit(v.value, v.unit as Unit)}`);
  return (
    <tr>
      <td class="quiet" colSpan={width}>
        {t('codes-part.frozen', { values: values.join(', ') })}
      </td>
    </tr>
  );
}
