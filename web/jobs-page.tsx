/** One job on one page, in the order of the visit: complaint, vehicle, codes, drives, observations, photos, sheet. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { JobView } from '../src/desk/jobs-api.ts';
import { get, post, sentenceOf } from './http.ts';
import { Codes } from './jobs-codes.tsx';
import { Drives, Record } from './jobs-drives.tsx';
import { Observations, Photos } from './jobs-notes.tsx';
import type { Part } from './jobs-part.ts';
import { ProfilePart } from './jobs-profile.tsx';
import { offerUndo } from './jobs-undo.tsx';
import { attempt, go, jobAtHand, run, say } from './state.ts';
import { dateOf } from './words.ts';

export function JobPage({ id }: { id: string }) {
  const view = useSignal<JobView | null>(null);
  const trouble = useSignal<string | null>(null);
  const last = useRef<Promise<unknown>>(Promise.resolve());
  const path = `/api/jobs/${encodeURIComponent(id)}`;
  useEffect(() => {
    get<JobView>(path).then(
      (got) => {
        view.value = got;
        trouble.value = null;
        jobAtHand.value = { id, vehicle: got.job.vehicle };
      },
      (error) => {
        trouble.value = sentenceOf(error);
      },
    );
  }, [path, run.value?.id ?? null]);
  if (!view.value)
    return (
      <div class="page job">
        <h1>Job</h1>
        <p class={trouble.value ? 'trouble' : 'lead'}>{trouble.value ?? 'Looking…'}</p>
        <p>
          <a href="#/jobs">All jobs</a>
        </p>
      </div>
    );
  // One after the other: what is changed twice in a second is changed twice, the second on top of the first.
  const act: Part['act'] = (request) => {
    const mine = last.current.then(() =>
      attempt(async () => {
        view.value = await request(view.value!);
      }),
    );
    last.current = mine;
    return mine;
  };
  const part: Part = { view: view.value, path, act };
  const { job, stands } = view.value;
  return (
    <div class="page job">
      <header>
        <p>
          <a href="#/jobs">All jobs</a>
        </p>
        <h1>
          {job.vehicle || 'Vehicle not named'} {job.practice && <span class="tag">practice</span>}
        </h1>
        <p class="lead">
          {[job.plate, job.reference].filter(Boolean).join(' · ')}
          {(job.plate || job.reference) && '. '}
          {stands} <span class="quiet">Opened {dateOf(job.openedAt)}.</span>
        </p>
      </header>
      <Record {...part} />
      <Visit {...part} />
      <Drives {...part} />
      <Codes {...part} />
      <Observations {...part} />
      <ProfilePart {...part} />
      <Photos {...part} />
      <Sheet {...part} />
    </div>
  );
}

/** Saved as one leaves a field; the old words stay until then. */
function Visit({ view: { job }, path, act }: Part) {
  const save = (name: string, value: unknown) => act(() => post<JobView>(path, { [name]: value }));
  const line = (
    name: 'vehicle' | 'plate' | 'vin' | 'reference' | 'technician' | 'workshop',
    label: string,
  ) => (
    <label>
      {label}
      <input
        value={job[name]}
        maxLength={200}
        autocomplete="off"
        onChange={(e) => void save(name, e.currentTarget.value.trim())}
      />
    </label>
  );
  const prose = (name: 'complaint' | 'suspected' | 'weather', label: string) => (
    <label class="wide">
      {label}
      <textarea
        rows={2}
        maxLength={name === 'weather' ? 1000 : 4000}
        value={job[name]}
        onChange={(e) => void save(name, e.currentTarget.value.trim())}
      />
    </label>
  );
  return (
    <section aria-labelledby="visit-h">
      <h2 id="visit-h">The visit</h2>
      <div class="fields">
        {prose('complaint', "Complaint, in the customer's words")}
        {prose('suspected', 'What is suspected')}
        <label class="wide">
          What was replaced or done, one a line
          <textarea
            rows={Math.max(2, job.replaced.length)}
            value={job.replaced.join('\n')}
            onChange={(e) => void save('replaced', linesOf(e.currentTarget.value))}
          />
        </label>
        {line('vehicle', 'Vehicle')}
        {line('plate', 'Plate')}
        {line('vin', 'VIN')}
        {line('reference', 'Own reference')}
        <label>
          Odometer, km
          <input
            inputMode="numeric"
            value={job.odometerKm ?? ''}
            onChange={(e) => {
              const text = e.currentTarget.value.replace(/[\s.,']/g, '');
              const km = text === '' ? null : Number(text);
              if (km !== null && !Number.isFinite(km))
                return say(`"${text}" is no number of kilometres.`, true);
              void save('odometerKm', km);
            }}
          />
        </label>
        {line('technician', 'Technician')}
        {line('workshop', 'Workshop')}
        {prose('weather', 'Weather and road of the drives')}
      </div>
    </section>
  );
}

const linesOf = (text: string): string[] =>
  text
    .split('\n')
    .map((l) => l.trim().slice(0, 200))
    .filter(Boolean)
    .slice(0, 50);

const LANGUAGES = { en: 'English', de: 'Deutsch' } as const;

function Sheet({ view: { job }, path, act }: Part) {
  const { sheet } = job;
  const save = (change: object) =>
    act((now) => post<JobView>(path, { sheet: { ...now.job.sheet, ...change } }));
  const choice = <T extends string>(name: string, label: string, value: T, of: Record<T, string>) => (
    <label>
      {label}
      <select value={value} onChange={(e) => void save({ [name]: e.currentTarget.value })}>
        {(Object.entries(of) as [T, string][]).map(([v, text]) => (
          <option key={v} value={v}>
            {text}
          </option>
        ))}
      </select>
    </label>
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
  const remove = () =>
    attempt(async () => {
      const binned = await post<{ id: string }>(`${path}/delete`);
      jobAtHand.value = null;
      go('jobs');
      offerUndo('The job is in the bin.', async () => {
        const back = await post<{ id: string }>(`/api/bin/${binned.id}/restore`);
        go('jobs', back.id);
      });
    });
  return (
    <section aria-labelledby="sheet-h">
      <h2 id="sheet-h">Hand-over</h2>
      <div class="fields">
        {choice('language', 'Language', sheet.language, LANGUAGES)}
        {choice('temperature', 'Temperature', sheet.temperature, { degC: '°C', degF: '°F' })}
        {choice('pressure', 'Pressure', sheet.pressure, { kPa: 'kPa', bar: 'bar', psi: 'psi' })}
        {choice('speed', 'Speed', sheet.speed, { 'km/h': 'km/h', mph: 'mph' })}
      </div>
      {hide('hidePlate', 'Leave the plate out of sheet and packed job')}
      {hide('hideVin', 'Leave the VIN out of sheet and packed job')}
      <p class="actions">
        <a class="button main" href={`${path}/sheet`} target="_blank" rel="noopener">
          Hand-over sheet
        </a>
        <a class="button" href={`${path}/sheet?as=pdf`} target="_blank" rel="noopener">
          As PDF
        </a>
        <a class="button" href={`${path}/archive?${hidden}`}>
          Pack the job (.zip)
        </a>
        <button
          type="button"
          onClick={() =>
            void act(() => post<JobView>(path, { closedAt: job.closedAt ? null : new Date().toISOString() }))
          }
        >
          {job.closedAt ? 'Open it again' : 'Mark as handed over'}
        </button>
        <button type="button" onClick={() => void remove()}>
          Delete the job
        </button>
      </p>
      {(sheet.hidePlate || sheet.hideVin) && job.photos.length > 0 && (
        <p class="quiet">
          Photos are left out of the sheet then, and packed as they are: see that no plate is in them.
        </p>
      )}
    </section>
  );
}
