/** Code snapshots of a job and what became of each code between the first and the last. */

import type { JobView, SnapshotView } from '../src/desk/jobs-api.ts';
import { post } from './http.ts';
import type { Part } from './jobs-part.ts';
import { offerUndo } from './jobs-undo.tsx';
import { dateOf } from './words.ts';

type CodeChange = NonNullable<JobView['codes']>[number];

const CHANGE_TEXT: Record<CodeChange['change'], string> = {
  gone: 'gone',
  new: 'new',
  back: 'back again',
  still: 'still there',
  'not told': 'not told: no answer',
};

export function Codes({ view, path, act }: Part) {
  const { snapshots, codes } = view;
  const list = (s: SnapshotView, listed: boolean) =>
    post<JobView>(`${path}/snapshots/listed`, { ref: { file: s.file, when: s.when, at: s.at }, listed });
  const remove = (s: SnapshotView) =>
    act(async () => {
      const changed = await list(s, false);
      offerUndo('The snapshot is left out.', async () => void (await act(() => list(s, true))));
      return changed;
    });
  const last = snapshots.at(-1)?.snapshot;
  const open = last?.units.flatMap(
    (u) => u.readiness?.monitors.filter((m) => m.supported && !m.complete).map((m) => m.name) ?? [],
  );
  return (
    <section aria-labelledby="codes-h">
      <h2 id="codes-h">Codes and readiness</h2>
      {snapshots.length === 0 && (
        <p>No codes are read yet. Read them before the repair and again after the drive.</p>
      )}
      <ul class="snapshots">
        {snapshots.map((s) => (
          <li key={s.file}>
            <b>{s.when === 'before' ? 'Before' : 'After'} the repair</b>, {dateOf(s.at)}:{' '}
            {s.trouble ?? summary(s)}{' '}
            <button type="button" onClick={() => void remove(s)}>
              Leave out
            </button>
          </li>
        ))}
      </ul>
      {codes && codes.length > 0 && (
        <table aria-label="Codes from the first snapshot to the last">
          <thead>
            <tr>
              <th scope="col">Code</th>
              <th scope="col">What it says</th>
              <th scope="col">First</th>
              <th scope="col">Last</th>
              <th scope="col">It is</th>
            </tr>
          </thead>
          <tbody>
            {codes.map((c) => (
              <tr key={`${c.ecu} ${c.code}`}>
                <th scope="row">
                  {c.code} <span class="quiet">{c.ecu}</span>
                </th>
                <td>{c.text}</td>
                <td>{c.before.join(', ') || 'none'}</td>
                <td>{c.after.join(', ') || 'none'}</td>
                <td>
                  <b>{CHANGE_TEXT[c.change]}</b>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {codes?.length === 0 && <p>Neither snapshot holds a code.</p>}
      {open && open.length > 0 && (
        <p>
          Not complete: {open.join(', ')}. "No codes" shows nothing about these: drive on until they are
          complete, then read again.
        </p>
      )}
    </section>
  );
}

function summary({ snapshot }: SnapshotView): string {
  if (!snapshot) return '';
  const codes = new Set(
    snapshot.units.flatMap((u) => [...u.stored, ...u.pending, ...u.permanent].map((c) => c.code)),
  );
  const lamp = snapshot.units.some((u) => u.mil === true) ? 'lamp on' : 'lamp off';
  const silent = snapshot.unanswered.length > 0 ? ` Nobody answered: ${snapshot.unanswered.join(', ')}.` : '';
  return `${codes.size === 0 ? 'no codes' : [...codes].join(', ')}; ${lamp}.${silent}`;
}
