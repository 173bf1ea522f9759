/** Before and after: which runs, what changed and how surely, the charts, both runs on one cursor. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { EffectVerdict, ShiftVerdict } from '../src/compare/types.ts';
import type { RunSummary } from '../src/desk/api.ts';
import type { Comparison, RegionComparison, Shift } from '../src/words/views.ts';
import { Charts } from './compare-charts.tsx';
import { CompareStrips } from './compare-strips.tsx';
import { get, sentenceOf } from './http.ts';
import { jobAtHand, place } from './state.ts';
import { Mark } from './verdict.tsx';
import { clockOf, dateOf, number } from './words.ts';
import './compare.css';

type Roles = Readonly<Record<'before' | 'after' | 'come-back', readonly string[]>>;
const ROLES = ['before', 'after', 'come-back'] as const;

function rolesOf(hash: string): Roles {
  const query = new URLSearchParams(hash.split('?')[1] ?? '');
  return {
    before: query.getAll('before'),
    after: query.getAll('after'),
    'come-back': query.getAll('come-back'),
  };
}

function hashOf(roles: Roles): string {
  const query = new URLSearchParams(ROLES.flatMap((role) => roles[role].map((id) => [role, id])));
  return `#/compare?${query}`;
}

export function Compare() {
  place.value; // a change of the address is a change of place
  const roles = rolesOf(location.hash);
  const query = String(new URLSearchParams(hashOf(roles).split('?')[1]));
  const ready = roles.before.length > 0 && roles.after.length > 0;
  const found = useSignal<{ query: string; comparison: Comparison } | null>(null);
  const trouble = useSignal<string | null>(null);
  useEffect(() => {
    trouble.value = null;
    if (!ready) return;
    let gone = false;
    get<Comparison>(`/api/compare?${query}`).then(
      (comparison) => {
        if (!gone) found.value = { query, comparison };
      },
      (error) => {
        if (!gone) trouble.value = sentenceOf(error);
      },
    );
    return () => {
      gone = true;
    };
  }, [query]);
  const comparison = found.value?.query === query ? found.value.comparison : null;
  return (
    <div class="page compare">
      {jobAtHand.value && (
        <p>
          <a href={`#/jobs/${encodeURIComponent(jobAtHand.value.id)}`}>
            To the job: {jobAtHand.value.vehicle || 'vehicle not named'}
          </a>
        </p>
      )}
      <h1>{comparison ? headline(comparison) : 'Before and after'}</h1>
      <Choice roles={roles} open={!ready} />
      {trouble.value && <p class="trouble">{trouble.value}</p>}
      {ready && !comparison && !trouble.value && <p class="lead">Comparing…</p>}
      {comparison && <Result comparison={comparison} />}
      {comparison?.comeBack && (
        <section aria-labelledby="back-h">
          <h2 id="back-h">Come-back against after the repair</h2>
          <Tables comparison={comparison.comeBack} />
          <Charts comparison={comparison.comeBack} />
        </section>
      )}
    </div>
  );
}

/** The region that changed most surely says it; none is said to be good for want of evidence. */
function headline(c: Comparison): string {
  const regions = c.overall.filter((r) => r.region !== 'all');
  const named = regions.length > 0 ? regions : c.overall;
  const of = (v: EffectVerdict) => named.filter((r) => r.verdict === v).map((r) => r.region);
  const parts = [
    ...(of('worse').length > 0 ? [`worse: ${of('worse').join(', ')}`] : []),
    ...(of('better').length > 0 ? [`better: ${of('better').join(', ')}`] : []),
    ...(of('no worse').length > 0 ? [`no worse: ${of('no worse').join(', ')}`] : []),
    ...(of('not shown').length > 0 ? [`not shown: ${of('not shown').join(', ')}`] : []),
  ];
  return `Boost ${parts.join('; ')}.`;
}

// ---- which runs ---------------------------------------------------------------------------------------------

function Choice({ roles, open }: { roles: Roles; open: boolean }) {
  const runs = useSignal<readonly RunSummary[] | null>(null);
  const trouble = useSignal<string | null>(null);
  useEffect(() => {
    get<RunSummary[]>('/api/runs').then(
      (all) => {
        runs.value = [...all].sort((a, b) => b.startedAt.localeCompare(a.startedAt));
      },
      (error) => {
        trouble.value = sentenceOf(error);
      },
    );
  }, []);
  const choose = (id: string, role: string) => {
    const next = Object.fromEntries(
      ROLES.map((r) => [r, [...roles[r].filter((x) => x !== id), ...(r === role ? [id] : [])]]),
    ) as unknown as Roles;
    location.hash = hashOf(next);
  };
  const roleOf = (id: string) => ROLES.find((r) => roles[r].includes(id)) ?? '';
  return (
    <details class="choice" open={open}>
      <summary>
        {open ? 'Choose a run before the repair and one after it' : 'Which runs are compared'}
      </summary>
      {trouble.value && <p class="trouble">{trouble.value}</p>}
      {runs.value?.length === 0 && (
        <p>
          Nothing is recorded yet. <a href="#/connect">Connect a car</a>, or the simulated one: first a
          baseline, after the repair a verification.
        </p>
      )}
      <ul>
        {runs.value?.map((r) => (
          <li key={r.id}>
            <label>
              <select value={roleOf(r.id)} onChange={(e) => choose(r.id, e.currentTarget.value)}>
                <option value="">leave out</option>
                {ROLES.map((role) => (
                  <option key={role} value={role}>
                    {role}
                  </option>
                ))}
              </select>{' '}
              {r.vehicle ?? 'Vehicle not named'}, {r.purpose}, {dateOf(r.startedAt)}
              {r.seconds !== null && `, ${clockOf(r.seconds)}`}
            </label>
          </li>
        ))}
      </ul>
    </details>
  );
}

// ---- what changed -------------------------------------------------------------------------------------------

function Result({ comparison: c }: { comparison: Comparison }) {
  return (
    <>
      <Tables comparison={c} />
      <section aria-labelledby="charts-h">
        <h2 id="charts-h">Pull by pull</h2>
        <Charts comparison={c} />
      </section>
      <CompareStrips runs={c.runs} />
      <section aria-labelledby="how-h" class="how">
        <h2 id="how-h">How it was compared</h2>
        <p>{c.rule}</p>
        <p>{c.days.sentence}</p>
        {c.corrections.map((s) => (
          <p key={s}>{s}</p>
        ))}
      </section>
    </>
  );
}

function Tables({ comparison: c }: { comparison: Comparison }) {
  const reach = Math.max(
    2 * c.marginPct,
    ...c.overall.flatMap((r) =>
      r.interval === null ? [] : [Math.min(150, Math.max(...r.interval.map(Math.abs)))],
    ),
  );
  return (
    <>
      {c.problems.length > 0 && (
        <ul class="problems" aria-label="What stands in the way">
          {c.problems.map((p) => (
            <li key={p}>{p}</li>
          ))}
        </ul>
      )}
      <table>
        <caption>Boost at like engine speed and demand</caption>
        <thead>
          <tr>
            <th scope="col">Region</th>
            <th scope="col">Before</th>
            <th scope="col">After</th>
            <th scope="col">Change of the pressure, 95 % interval, margin −{c.marginPct} %</th>
            <th scope="col">Verdict</th>
          </tr>
        </thead>
        <tbody>
          {c.overall.map((r) => (
            <Region key={r.region} region={r} reach={reach} marginPct={c.marginPct} />
          ))}
        </tbody>
      </table>
      <table>
        <caption>Rise, coolant and warm-up</caption>
        <thead>
          <tr>
            <th scope="col">What</th>
            <th scope="col">Before</th>
            <th scope="col">After</th>
            <th scope="col">Difference, 95 % interval</th>
            <th scope="col">Verdict</th>
          </tr>
        </thead>
        <tbody>
          <ShiftRow what="Boost one second after tip-in" unit="kPa" shift={c.tipIn} />
          <ShiftRow what="Coolant plateau" unit="°C" shift={c.coolant.plateau} />
          <ShiftRow what="Heat for one degree of warm-up" unit="" shift={c.coolant.warmUp} />
        </tbody>
      </table>
      {c.codes && <Codes codes={c.codes} />}
    </>
  );
}

const MARK = {
  better: 'shown good',
  'no worse': 'shown good',
  worse: 'fault shown',
  'not shown': 'not shown',
} as const;

function Verdict({
  word,
  mark,
}: {
  word: EffectVerdict | ShiftVerdict;
  mark: Parameters<typeof Mark>[0]['verdict'] | null;
}) {
  return (
    <strong class={`verdict ${mark === null ? '' : mark.replace(' ', '-')}`}>
      {mark !== null && <Mark verdict={mark} />} {word}
    </strong>
  );
}

function Region({
  region: r,
  reach,
  marginPct,
}: {
  region: RegionComparison;
  reach: number;
  marginPct: number;
}) {
  const side = (s: RegionComparison['before']) =>
    s.mean === null
      ? 'no pull'
      : `${number(s.mean)} kPa abs., ${s.pulls} ${s.pulls === 1 ? 'pull' : 'pulls'}`;
  const change =
    r.effectPct === null
      ? 'cannot be told'
      : `${signed(r.effectPct)} %${r.interval ? ` (${signed(r.interval[0])} to ${signed(r.interval[1])})` : ''}, ${signed(r.effectKpa ?? 0, 0)} kPa`;
  return (
    <>
      <tr>
        <th scope="row">{r.region}</th>
        <td data-name="before">{side(r.before)}</td>
        <td data-name="after">{side(r.after)}</td>
        <td data-name="change">
          {change}
          {r.interval && (
            <Scale effect={r.effectPct ?? 0} interval={r.interval} reach={reach} marginPct={marginPct} />
          )}
        </td>
        <td>
          <Verdict word={r.verdict} mark={MARK[r.verdict]} />
        </td>
      </tr>
      {r.needs && <Needs text={r.needs} />}
    </>
  );
}

function Needs({ text }: { text: string }) {
  return (
    <tr class="needs">
      <td colSpan={5}>
        <b>To show it:</b> {text}
      </td>
    </tr>
  );
}

const WIDTH = 240;

/** The interval as a bar, the effect as a dot, no change and the margin as lines; cut off where it leaves the scale. */
function Scale({
  effect,
  interval: [low, high],
  reach,
  marginPct,
}: {
  effect: number;
  interval: readonly [number, number];
  reach: number;
  marginPct: number;
}) {
  const x = (v: number) => WIDTH / 2 + (Math.max(-reach, Math.min(reach, v)) / reach) * (WIDTH / 2 - 8);
  return (
    <svg class="effect" viewBox={`0 0 ${WIDTH} 26`} aria-hidden="true">
      <line x1="0" x2={WIDTH} y1="13" y2="13" class="axis" />
      <rect x={x(low)} y="7" width={Math.max(2, x(high) - x(low))} height="12" class="interval" />
      <line x1={x(0)} x2={x(0)} y1="1" y2="25" class="none" />
      <line x1={x(-marginPct)} x2={x(-marginPct)} y1="1" y2="25" class="limit" />
      <circle cx={x(effect)} cy="13" r="4" class="value" />
    </svg>
  );
}

function ShiftRow({ what, unit, shift: s }: { what: string; unit: string; shift: Shift }) {
  const value = (v: number | null) => (v === null ? '–' : `${number(v, 1)} ${unit}`);
  const sign = s.unit === '%' ? '%' : unit;
  return (
    <>
      <tr>
        <th scope="row">{what}</th>
        <td data-name="before">{value(s.before)}</td>
        <td data-name="after">{value(s.after)}</td>
        <td data-name="difference">
          {s.difference === null
            ? 'cannot be told'
            : `${signed(s.difference)} ${sign}${s.interval ? ` (${signed(s.interval[0])} to ${signed(s.interval[1])})` : ''}`}
        </td>
        <td>
          <Verdict word={s.verdict} mark={s.verdict === 'not shown' ? 'not shown' : null} />
        </td>
      </tr>
      {s.needs && <Needs text={s.needs} />}
    </>
  );
}

const CHANGES = {
  new: 'New',
  back: 'Back',
  still: 'Still there',
  gone: 'Gone',
  'not told': 'Not told: one of the snapshots has no answer',
} as const;

function Codes({ codes }: { codes: NonNullable<Comparison['codes']> }) {
  return (
    <section aria-labelledby="codes-h">
      <h2 id="codes-h">Trouble codes</h2>
      {codes.length === 0 && <p>None, before or after.</p>}
      <dl class="codes">
        {Object.entries(CHANGES).map(([change, title]) => {
          const some = codes.filter((c) => c.change === change);
          return some.length === 0 ? null : (
            <div key={change}>
              <dt>{title}</dt>
              {some.map((c) => (
                <dd key={`${c.ecu} ${c.code}`}>
                  {c.code} {c.text} <span class="quiet">({c.ecu})</span>
                </dd>
              ))}
            </div>
          );
        })}
      </dl>
    </section>
  );
}

function signed(x: number, digits = 1): string {
  const text = number(x, digits);
  return x > 0 && Number(text) !== 0 ? `+${text}` : text;
}
