/** What is known of the vehicle, each value with where it came from; the boost curve typed in or learned from a drive. */
import { useSignal } from '@preact/signals';
import type { Profile } from '../src/core/profile.ts';
import type { JobView, LearnedCurve } from '../src/desk/jobs-api.ts';
import { get, post } from './http.ts';
import type { Part } from './jobs-part.ts';
import { FUELS, INDUCTIONS, Options } from './start.tsx';
import { attempt, say } from './state.ts';
import { dateOf } from './words.ts';

type Source = 'entered' | 'handbook' | 'baseline run' | 'default';
const SOURCES: readonly Source[] = ['entered', 'handbook', 'baseline run', 'default'];

const VALUES = [
  ['clutchBandTopRpm', 'Clutch closes at high demand up to', 'rpm'],
  ['handOverRpm', 'Turbocharger alone above', 'rpm'],
  ['engagementDemandPct', 'Clutch closes from a pedal of', '%'],
  ['thermostatC', 'Thermostat opens at', '°C'],
  ['fanOnC', 'Fan cuts in at', '°C'],
  ['coolantLimitC', 'Coolant limit', '°C'],
  ['baroKpa', 'Barometric pressure here', 'kPa'],
] as const;

const OF_SUPERCHARGERS: ReadonlySet<string> = new Set([
  'clutchBandTopRpm',
  'handOverRpm',
  'engagementDemandPct',
]);

export function ProfilePart({ view, path, act }: Part) {
  const { profile } = view.job;
  const save = (next: Profile) => act(() => post<JobView>(path, { profile: next }));
  /** A value that is taken away leaves no key behind. */
  const set = (key: keyof Profile, value: unknown) =>
    void act((now) => {
      const { [key]: _old, ...rest } = now.job.profile;
      return post<JobView>(path, { profile: value === undefined ? rest : { ...rest, [key]: value } });
    });
  const { suggestion } = view;
  // What an engine without a supercharger has none of is not asked; what is known already stays to be seen.
  const supercharged = profile.induction !== 'turbocharger' && profile.induction !== 'naturally aspirated';
  const asked = VALUES.filter(
    ([key]) => supercharged || !OF_SUPERCHARGERS.has(key) || profile[key] !== undefined,
  );
  return (
    <section aria-labelledby="profile-h">
      <h2 id="profile-h">What is known of the vehicle</h2>
      {suggestion && (
        <p class="suggestion">
          An earlier job of this car ({dateOf(suggestion.openedAt)}) knows it already.{' '}
          <button type="button" onClick={() => void save(suggestion.profile)}>
            Take over what it knows
          </button>
        </p>
      )}
      <div class="fields">
        <label>
          Induction
          <select
            value={profile.induction ?? ''}
            onChange={(e) => set('induction', e.currentTarget.value || undefined)}
          >
            <Options of={INDUCTIONS} />
          </select>
        </label>
        <label>
          Fuel
          <select
            value={profile.fuel ?? ''}
            onChange={(e) => set('fuel', e.currentTarget.value || undefined)}
          >
            <Options of={FUELS} />
          </select>
        </label>
        {(supercharged || profile.clutch !== undefined) && (
          <label>
            Supercharger drive
            <select
              value={profile.clutch === undefined ? '' : profile.clutch ? 'clutch' : 'always'}
              onChange={(e) =>
                set('clutch', { '': undefined, clutch: true, always: false }[e.currentTarget.value])
              }
            >
              <option value="">not known</option>
              <option value="clutch">magnetic clutch</option>
              <option value="always">always driven</option>
            </select>
          </label>
        )}
      </div>
      <table class="known" aria-label="Values and where they came from">
        <thead>
          <tr>
            <th scope="col">Value</th>
            <th scope="col">Figure</th>
            <th scope="col">Where it came from</th>
          </tr>
        </thead>
        <tbody>
          {asked.map(([key, label, unit]) => (
            <ValueRow
              key={key}
              label={label}
              unit={unit}
              known={profile[key]}
              set={(value) => set(key, value)}
            />
          ))}
        </tbody>
      </table>
      <p class="quiet">
        Whatever is left empty is judged by defaults, with wider error bands. Each finding names the limit it
        used.
      </p>
      <Curve view={view} path={path} save={save} />
    </section>
  );
}

interface ValueProps {
  readonly label: string;
  readonly unit: string;
  readonly known: { readonly value: number; readonly source: Source } | undefined;
  readonly set: (value: { value: number; source: Source } | undefined) => void;
}

function ValueRow({ label, unit, known, set }: ValueProps) {
  const change = (text: string) => {
    if (text.trim() === '') return set(undefined);
    const value = Number(text.replace(',', '.'));
    if (!Number.isFinite(value)) return say(`"${text}" is no number.`, true);
    set({ value, source: known?.source === 'handbook' ? 'handbook' : 'entered' });
  };
  return (
    <tr>
      <th scope="row">{label}</th>
      <td>
        <input
          class="number"
          inputMode="decimal"
          aria-label={`${label}, ${unit}`}
          value={known?.value ?? ''}
          onChange={(e) => change(e.currentTarget.value)}
        />{' '}
        {unit}
      </td>
      <td>
        {known ? (
          <select
            aria-label={`Where "${label}" came from`}
            value={known.source}
            onChange={(e) => set({ value: known.value, source: e.currentTarget.value as Source })}
          >
            {SOURCES.map((s) => (
              <option key={s}>{s}</option>
            ))}
          </select>
        ) : (
          <span class="quiet">not known: default</span>
        )}
      </td>
    </tr>
  );
}

type CurvePoint = { rpm: number; kpa: number };

function Curve({ view, path, save }: Omit<Part, 'act'> & { save: (next: Profile) => Promise<boolean> }) {
  const { profile } = view.job;
  const learned = useSignal<LearnedCurve | null>(null);
  const draft = useSignal<string | null>(null);
  const known = profile.expectedBoost;
  const shown = draft.value ?? pointsText(known?.points ?? []);
  const points = parsePoints(shown);
  const drives = view.runs.filter((r) => r.closed);
  const learn = (runId: string) =>
    attempt(async () => {
      const got = await get<LearnedCurve>(`${path}/learn/${encodeURIComponent(runId)}`);
      learned.value = got;
      if (got.points.length >= 2) draft.value = pointsText(got.points);
    });
  const keep = async () => {
    if (typeof points === 'string') return say(points, true);
    const { expectedBoost: _old, ...rest } = profile;
    const source: Source = learned.value ? 'baseline run' : 'handbook';
    const done =
      points.length === 0
        ? await save(rest as Profile)
        : await save({ ...rest, expectedBoost: { source, points } } as Profile);
    if (done) {
      draft.value = null;
      learned.value = null;
    }
  };
  return (
    <div class="curve">
      <h3>Boost expected at full demand</h3>
      {known ? (
        <p>
          {known.points.length} points, from: <b>{known.source}</b>.
        </p>
      ) : (
        <p class="quiet">
          Not known. Type it from the handbook, or learn it from a drive in which the boost was good.
        </p>
      )}
      {Array.isArray(points) && points.length >= 2 && <CurvePicture points={points} />}
      <div class="fields">
        {drives.length > 0 && (
          <label>
            Learn it from a drive
            <select value="" onChange={(e) => e.currentTarget.value && void learn(e.currentTarget.value)}>
              <option value="">choose…</option>
              {drives.map((r) => (
                <option key={r.id} value={r.id}>
                  {r.purpose}, {dateOf(r.startedAt)}
                </option>
              ))}
            </select>
          </label>
        )}
        <label class="wide">
          Engine speed in rpm and boost in kPa, one pair a line
          <textarea
            rows={5}
            value={shown}
            placeholder={'1500 60\n2500 110'}
            onInput={(e) => (draft.value = e.currentTarget.value)}
          />
        </label>
      </div>
      {learned.value?.remarks.map((r) => (
        <p class="trouble" key={r}>
          {r}
        </p>
      ))}
      {draft.value !== null && (
        <p class="actions">
          <button type="button" class="main" onClick={() => void keep()}>
            {points.length === 0 ? 'Forget the curve' : 'Keep this curve'}
          </button>
          <button
            type="button"
            onClick={() => {
              draft.value = null;
              learned.value = null;
            }}
          >
            Leave it as it was
          </button>
          {learned.value && (
            <span class="quiet">
              Learned from {learned.value.pulls} pulls; correct it where you know better.
            </span>
          )}
        </p>
      )}
    </div>
  );
}

const pointsText = (points: readonly CurvePoint[]): string =>
  points.map((p) => `${p.rpm} ${p.kpa}`).join('\n');

/** The points, or a sentence naming the line that cannot be read. */
function parsePoints(text: string): CurvePoint[] | string {
  const points: CurvePoint[] = [];
  for (const line of text.split('\n').map((l) => l.trim())) {
    if (line === '') continue;
    const [rpm, kpa, ...more] = line.split(/[\s;]+/).map((n) => Number(n.replace(',', '.')));
    if (
      rpm === undefined ||
      kpa === undefined ||
      more.length > 0 ||
      !Number.isFinite(rpm) ||
      !Number.isFinite(kpa)
    )
      return `"${line}" is no pair of engine speed and boost.`;
    points.push({ rpm, kpa });
  }
  if (points.length === 1) return 'A curve needs two points at least.';
  return points.sort((a, b) => a.rpm - b.rpm);
}

const W = 600;
const H = 180;

function CurvePicture({ points }: { points: readonly CurvePoint[] }) {
  const rpms = points.map((p) => p.rpm);
  const low = Math.floor(Math.min(...rpms) / 500) * 500;
  const high = Math.max(low + 500, Math.ceil(Math.max(...rpms) / 500) * 500);
  const top = Math.max(20, Math.ceil(Math.max(...points.map((p) => p.kpa)) / 20) * 20);
  const x = (rpm: number) => 40 + ((rpm - low) / (high - low)) * (W - 60);
  const y = (kpa: number) => H - 26 - (Math.max(0, kpa) / top) * (H - 40);
  return (
    <svg
      viewBox={`0 0 ${W} ${H}`}
      class="curve-picture"
      role="img"
      aria-label={`Boost up to ${top} kPa over engine speed`}
    >
      {[0, top / 2, top].map((k) => (
        <g key={k}>
          <line x1={40} x2={W - 20} y1={y(k)} y2={y(k)} class="grid" />
          <text x={36} y={y(k) + 4} text-anchor="end">
            {k}
          </text>
        </g>
      ))}
      {[low, (low + high) / 2, high].map((r) => (
        <text key={r} x={x(r)} y={H - 8} text-anchor="middle">
          {r}
        </text>
      ))}
      <polyline points={points.map((p) => `${x(p.rpm)},${y(p.kpa)}`).join(' ')} />
      {points.map((p) => (
        <circle key={p.rpm} cx={x(p.rpm)} cy={y(p.kpa)} r={3.5} />
      ))}
    </svg>
  );
}
