/** Jobs: what has been recorded, newest first, and the way into its findings. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { RunSummary } from '../src/server/api.ts';
import { get, sentenceOf } from './http.ts';
import { go, run } from './state.ts';
import { clockOf, dateOf } from './words.ts';

export function Jobs() {
  const runs = useSignal<readonly RunSummary[] | null>(null);
  const trouble = useSignal<string | null>(null);
  const recordingId = run.value?.id ?? null;
  useEffect(() => {
    get<RunSummary[]>('/api/runs').then(
      (all) => {
        runs.value = [...all].sort((a, b) => b.startedAt.localeCompare(a.startedAt));
        trouble.value = null;
      },
      (error) => {
        trouble.value = sentenceOf(error);
      },
    );
  }, [recordingId]);
  return (
    <div class="page jobs">
      <h1>Recorded runs</h1>
      {trouble.value && <p class="trouble">{trouble.value}</p>}
      {runs.value === null && !trouble.value && <p>Looking…</p>}
      {runs.value?.length === 0 && (
        <p class="lead">
          Nothing is recorded yet. <a href="#/connect">Connect a car</a>, or the simulated one, and drive.
        </p>
      )}
      <ul class="runs">
        {runs.value?.map((r) => (
          <li key={r.id}>
            <button type="button" onClick={() => (r.id === recordingId ? go('drive') : go('findings', r.id))}>
              <span class="vehicle">{r.vehicle ?? 'Vehicle not named'}</span>
              <span class="purpose">{r.purpose}</span>
              <span>{dateOf(r.startedAt)}</span>
              <span class="seconds">
                {r.id === recordingId
                  ? 'recording now'
                  : r.seconds === null
                    ? 'length not known'
                    : clockOf(r.seconds)}
                {!r.closed && r.id !== recordingId && ', not closed: cut off, all that came is kept'}
              </span>
            </button>
          </li>
        ))}
      </ul>
    </div>
  );
}
