/** What is known of the vehicle, each value with where it came from; the boost curve typed in or learned from a drive. */
import { useSignal } from '@preact/signals';
import type { Profile } from '../src/core/profile.ts';
import type { Unit } from '../src/core/signals.ts';
import type { JobView, LearnedCurve } from '../src/desk/jobs-api.ts';
import { roundTicks, tickTexts } from './axis.ts';
import { draftOf, dropDraft, keepDraft } from './drafts.ts';
import { get, post } from './http.ts';
import { Field, type Wrong } from './jobs-field.tsx';
import type { Part } from './jobs-part.ts';
import { FUELS, INDUCTIONS, Options } from './start.tsx';
import { say } from './state.ts';
import { UnderWay, useBegun } from './under-way.tsx';
import { dateOf, name, t, toldAll, unitText, words } from './words.ts';

type Source = 'entered' | 'handbook' | 'baseline run' | 'default';
const SOURCES: readonly Source[] = ['entered', 'handbook', 'baseline run', 'default'];

const VALUES = [
  ['clutchBandTopRpm', 'rpm'],
  ['handOverRpm', 'rpm'],
  ['engagementDemandPct', '%'],
  ['thermostatC', 'degC'],
  ['fanOnC', 'degC'],
  ['coolantLimitC', 'degC'],
  ['baroKpa', 'kPa'],
] as const;

const OF_SUPERCHARGERS: ReadonlySet<string> = new Set([
  'clutchBandTopRpm',
  'handOverRpm',
  'engagementDemandPct',
]);

export function ProfilePart(part: Part) {
  const { view, path, act } = part;
  const { profile } = view.job;
  /** Key by key: what somebody else entered meanwhile stays. */
  const save = (next: Profile) =>
    act((now) => post<JobView>(path, { profile: next, was: { profile: now.job.profile } }));
  /** A value that is taken away leaves no key behind. */
  const set = (key: keyof Profile, value: unknown) =>
    void act((now) =>
      post<JobView>(path, { profile: { [key]: value }, was: { profile: { [key]: now.job.profile[key] } } }),
    );
  const { suggestion } = view;
  /** Induction and fuel only where they are not known. */
  const takeKind = () =>
    act((now) => {
      const { engine = '', displacementCc = null, profile: known = {} } = now.kind ?? {};
      const { engine: wasEngine, displacementCc: wasCc, profile: was } = now.job;
      return post<JobView>(path, {
        engine,
        displacementCc,
        profile: { ...known, ...was },
        was: { engine: wasEngine, displacementCc: wasCc, profile: was },
      });
    });
  // What an engine without a supercharger has none of is not asked; what is known already stays to be seen.
  const supercharged = profile.induction !== 'turbocharger' && profile.induction !== 'naturally aspirated';
  const asked = VALUES.filter(
    ([key]) => supercharged || !OF_SUPERCHARGERS.has(key) || profile[key] !== undefined,
  );
  return (
    <section aria-labelledby="profile-h">
      <h2 id="profile-h">{t('known.title')}</h2>
      {suggestion && (
        <p class="suggestion">
          {t('known.earlier', { date: dateOf(suggestion.openedAt) })}{' '}
          <button type="button" onClick={() => void save(suggestion.profile)}>
            {t('known.take-over')}
          </button>
        </p>
      )}
      {view.kind && (
        <p class="suggestion">
          {t(view.kind.by === 'descriptor' ? 'known.kind-vin' : 'known.kind-calibration', {
            jobs: view.kind.jobs,
            engine: view.kind.engine,
          })}{' '}
          <button type="button" onClick={() => void takeKind()}>
            {t('known.take-over')}
          </button>
        </p>
      )}
      <div class="fields">
        <Field
          part={part}
          field="engine"
          value={view.job.engine}
          label={t('known.engine')}
          show={(text) => text}
          parse={(text) => text.trim()}
          most={200}
        />
        <Field
          part={part}
          field="displacementCc"
          value={view.job.displacementCc}
          label={t('known.displacement')}
          show={(cc) => (cc === null ? '' : String(cc))}
          parse={ccOf}
          numeric="numeric"
        />
        <label>
          {t('start.induction')}
          <select
            value={profile.induction ?? ''}
            onChange={(e) => set('induction', e.currentTarget.value || undefined)}
          >
            <Options of={INDUCTIONS} group="induction" />
          </select>
        </label>
        <label>
          {t('start.fuel')}
          <select
            value={profile.fuel ?? ''}
            onChange={(e) => set('fuel', e.currentTarget.value || undefined)}
          >
            <Options of={FUELS} group="fuel" />
          </select>
        </label>
        {(supercharged || profile.clutch !== undefined) && (
          <label>
            {t('known.drive')}
            <select
              value={profile.clutch === undefined ? '' : profile.clutch ? 'clutch' : 'always'}
              onChange={(e) =>
                set('clutch', { '': undefined, clutch: true, always: false }[e.currentTarget.value])
              }
            >
              <option value="">{t('app.not-known')}</option>
              <option value="clutch">{t('known.clutch')}</option>
              <option value="always">{t('known.always')}</option>
            </select>
          </label>
        )}
      </div>
      <table class="known" aria-label={t('known.table')}>
        <thead>
          <tr>
            <th scope="col">{t('known.value')}</th>
            <th scope="col">{t('known.figure')}</th>
            <th scope="col">{t('known.where')}</th>
          </tr>
        </thead>
        <tbody>
          {asked.map(([key, unit]) => (
            <ValueRow
              key={key}
              part={part}
              of={key}
              label={t(`profile.${key}`)}
              unit={unit}
              known={profile[key]}
              set={(value) => set(key, value)}
            />
          ))}
        </tbody>
      </table>
      <p class="quiet">{t('known.defaults')}</p>
      <Curve view={view} path={path} save={save} />
    </section>
  );
}

/** Cubic centimetres; what can only be litres is taken as such. */
function ccOf(text: string): number | null | Wrong {
  const plain = text.trim().replace(',', '.').replace(/\s/g, '');
  if (plain === '') return null;
  const given = Number(plain);
  const cc = Math.round(given < 20 ? given * 1000 : given);
  return cc >= 50 && cc <= 20_000 ? cc : { wrong: t('known.no-displacement', { text }) };
}

interface ValueProps {
  readonly label: string;
  readonly unit: Unit;
  readonly part: Part;
  readonly of: string;
  readonly known: Known | undefined;
  readonly set: (value: Known | undefined) => void;
}
interface Known {
  readonly value: number;
  readonly source: Source;
}

function ValueRow({ part, of, label, unit, known, set }: ValueProps) {
  const { factor, offset, text: unitText, digits } = words.value.measures.conversion(unit);
  const show = (of: Known | undefined) => (of ? typed(of.value * factor + offset, digits) : '');
  const parse = (text: string): Known | undefined | Wrong => {
    if (text.trim() === '') return undefined;
    if (text.trim() === show(known)) return known;
    const value = (Number(text.replace(',', '.')) - offset) / factor;
    if (!Number.isFinite(value)) return { wrong: t('known.no-number', { text }) };
    return { value, source: known?.source === 'handbook' ? 'handbook' : 'entered' };
  };
  return (
    <tr>
      <th scope="row">{label}</th>
      <td>
        <Field
          part={part}
          field={`profile.${of}`}
          value={known}
          label={t('known.with-unit', { what: label, unit: unitText })}
          show={show}
          parse={parse}
          numeric="decimal"
          bare
        />{' '}
        {unitText}
      </td>
      <td>
        {known ? (
          <select
            aria-label={t('known.where-of', { what: label })}
            value={known.source}
            onChange={(e) => set({ value: known.value, source: e.currentTarget.value as Source })}
          >
            {SOURCES.map((s) => (
              <option key={s} value={s}>
                {name('profile-source', s)}
              </option>
            ))}
          </select>
        ) : (
          <span class="quiet">{t('known.unknown')}</span>
        )}
      </td>
    </tr>
  );
}

/** A figure to be typed over: no grouping, no more decimals than there are. */
const typed = (value: number, digits: number): string => String(Number(value.toFixed(Math.max(digits, 1))));

type CurvePoint = { rpm: number; kpa: number };

function Curve({
  view,
  path,
  save,
}: Pick<Part, 'view' | 'path'> & { save: (next: Profile) => Promise<boolean> }) {
  const { profile } = view.job;
  const learned = useSignal<LearnedCurve | null>(null);
  const draft = useSignal<string | null>(draftOf(view.job.id, 'curve')?.text ?? null);
  const setDraft = (text: string | null) => {
    draft.value = text;
    if (text === null) dropDraft(view.job.id, 'curve');
    else keepDraft(view.job.id, 'curve', { text, was: null });
  };
  const known = profile.expectedBoost;
  const shown = draft.value ?? pointsText(known?.points ?? []);
  const points = parsePoints(shown);
  const drives = view.runs.filter((r) => r.closed);
  const { isUnderWay, begin, stop } = useBegun();
  const learn = (runId: string) =>
    begin(async (signal) => {
      const got = await get<LearnedCurve>(`${path}/learn/${encodeURIComponent(runId)}`, signal);
      learned.value = got;
      if (got.points.length >= 2) setDraft(pointsText(got.points));
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
      setDraft(null);
      learned.value = null;
    }
  };
  return (
    <div class="curve">
      <h3>{t('curve.title')}</h3>
      {known ? (
        <p>{t('curve.points', { n: known.points.length, origin: name('profile-source', known.source) })}</p>
      ) : (
        <p class="quiet">{t('curve.unknown')}</p>
      )}
      {Array.isArray(points) && points.length >= 2 && <CurvePicture points={points} />}
      <div class="fields">
        {drives.length > 0 && (
          <label>
            {t('curve.learn')}
            <select value="" onChange={(e) => e.currentTarget.value && void learn(e.currentTarget.value)}>
              <option value="">{t('curve.choose')}</option>
              {drives.map((r) => (
                <option key={r.id} value={r.id}>
                  {name('purpose', r.purpose)}, {dateOf(r.startedAt)}
                </option>
              ))}
            </select>
          </label>
        )}
        <label class="wide">
          {t('curve.pairs', { turns: unitText('rpm'), unit: unitText('kPa') })}
          <textarea
            rows={5}
            value={shown}
            placeholder={pointsText(EXAMPLE)}
            onInput={(e) => setDraft(e.currentTarget.value)}
          />
        </label>
      </div>
      {isUnderWay && <UnderWay what="learn" run={view.job.id} stop={stop} />}
      {learned.value &&
        toldAll(learned.value, 'remarks').map((r) => (
          <p class="trouble" key={r}>
            {r}
          </p>
        ))}
      {draft.value !== null && (
        <p class="actions">
          <button type="button" class="main" onClick={() => void keep()}>
            {t(points.length === 0 ? 'curve.forget' : 'curve.keep')}
          </button>
          <button
            type="button"
            onClick={() => {
              setDraft(null);
              learned.value = null;
            }}
          >
            {t('curve.leave')}
          </button>
          {learned.value && <span class="quiet">{t('curve.learned', { n: learned.value.pulls })}</span>}
        </p>
      )}
    </div>
  );
}

const EXAMPLE: readonly CurvePoint[] = [
  { rpm: 1500, kpa: 60 },
  { rpm: 2500, kpa: 110 },
];

function pointsText(points: readonly CurvePoint[]): string {
  const { factor, digits } = words.value.measures.conversion('kPa');
  return points.map((p) => `${p.rpm} ${typed(p.kpa * factor, digits)}`).join('\n');
}

/** The points, or a sentence naming the line that cannot be read. */
function parsePoints(text: string): CurvePoint[] | string {
  const { factor } = words.value.measures.conversion('kPa');
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
      return t('curve.no-pair', { text: line });
    points.push({ rpm, kpa: kpa / factor });
  }
  if (points.length === 1) return t('curve.two');
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
  const conversion = words.value.measures.conversion('kPa');
  const ticks = roundTicks(0, top, conversion, 3);
  const texts = tickTexts(ticks, conversion);
  const y = (kpa: number) => H - 26 - (Math.max(0, kpa) / top) * (H - 40);
  return (
    <svg
      viewBox={`0 0 ${W} ${H}`}
      class="curve-picture"
      role="img"
      aria-label={t('curve.says', { kpa: top })}
    >
      {ticks.map((k, i) => (
        <g key={k}>
          <line x1={40} x2={W - 20} y1={y(k)} y2={y(k)} class="grid" />
          <text x={36} y={y(k) + 4} text-anchor="end">
            {texts[i]}
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
