/** Before and after: which runs, what changed and how surely, the charts, both runs on one cursor. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { Unit } from '../src/core/signals.ts';
import type { RunSummary } from '../src/desk/api.ts';
import type { Comparison, RegionComparison, Shift } from '../src/words/views.ts';
import { Charts } from './compare-charts.tsx';
import { CompareStrips } from './compare-strips.tsx';
import { get, sentenceOf } from './http.ts';
import { jobAtHand, place } from './state.ts';
import { UnderWay } from './under-way.tsx';
import { Mark } from './verdict.tsx';
import { clockOf, dateOf, name, signed, t, told, toldAll, words } from './words.ts';
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
  const leave = useRef<() => void>(() => undefined);
  useEffect(() => {
    trouble.value = null;
    if (!ready) return;
    const away = new AbortController();
    leave.current = () => away.abort();
    let gone = false;
    get<Comparison>(`/api/compare?${query}`, away.signal).then(
      (comparison) => {
        if (!gone) found.value = { query, comparison };
      },
      (error) => {
        if (!gone) trouble.value = away.signal.aborted ? t('under-way.stopped') : sentenceOf(error);
      },
    );
    return () => {
      gone = true;
      away.abort();
    };
  }, [query]);
  const comparison = found.value?.query === query ? found.value.comparison : null;
  return (
    <div class="page compare">
      {jobAtHand.value && (
        <p>
          <a href={`#/jobs/${encodeURIComponent(jobAtHand.value.id)}`}>
            {t('cmp.to-job', { vehicle: jobAtHand.value.vehicle || t('app.unnamed') })}
          </a>
        </p>
      )}
      <h1>{comparison?.charged ? headline(comparison) : t('cmp.title')}</h1>
      <Choice roles={roles} open={!ready} />
      {trouble.value && <p class="trouble">{trouble.value}</p>}
      {ready && !comparison && !trouble.value && (
        <>
          <p class="lead">{t('cmp.comparing')}</p>
          <UnderWay what="compare" stop={() => leave.current()} />
        </>
      )}
      {comparison && <Result comparison={comparison} />}
      {comparison?.comeBack && (
        <section aria-labelledby="back-h">
          <h2 id="back-h">{t('cmp.come-back')}</h2>
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
  const parts = (['worse', 'better', 'no worse', 'not shown'] as const).flatMap((verdict) => {
    const regions = named.filter((r) => r.verdict === verdict).map((r) => told(r, 'region'));
    if (regions.length === 0) return [];
    return [t('cmp.part', { effect: name('effect', verdict), regions: regions.join(', ') })];
  });
  return t('cmp.headline', { parts: parts.join('; ') });
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
      <summary>{t(open ? 'cmp.choose' : 'cmp.which')}</summary>
      {trouble.value && <p class="trouble">{trouble.value}</p>}
      {runs.value?.length === 0 && (
        <p>
          {t('cmp.nothing')} <a href="#/connect">{t('cmp.connect')}</a>
        </p>
      )}
      <ul>
        {runs.value?.map((r) => (
          <li key={r.id}>
            <label>
              <select value={roleOf(r.id)} onChange={(e) => choose(r.id, e.currentTarget.value)}>
                <option value="">{t('cmp.leave-out')}</option>
                {ROLES.map((role) => (
                  <option key={role} value={role}>
                    {t(`cmp.role.${role}`)}
                  </option>
                ))}
              </select>{' '}
              {r.vehicle ?? t('app.unnamed')}, {name('purpose', r.purpose)}, {dateOf(r.startedAt)}
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
        <h2 id="charts-h">{t(c.charged ? 'cmp.by-pull' : 'cmp.rest-coolant')}</h2>
        <Charts comparison={c} />
      </section>
      <CompareStrips comparison={c} />
      <section aria-labelledby="how-h" class="how">
        <h2 id="how-h">{t('cmp.how')}</h2>
        <p>{told(c, 'rule')}</p>
        <p>{told(c.days, 'sentence')}</p>
        {c.charged && toldAll(c, 'corrections').map((s) => <p key={s}>{s}</p>)}
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
        <ul class="problems" aria-label={t('cmp.in-the-way')}>
          {toldAll(c, 'problems').map((p) => (
            <li key={p}>{p}</li>
          ))}
        </ul>
      )}
      {c.charged && (
        <table>
          <caption>{t('cmp.boost')}</caption>
          <thead>
            <tr>
              <th scope="col">{t('cmp.region')}</th>
              <th scope="col">{t('cmp.before')}</th>
              <th scope="col">{t('cmp.after')}</th>
              <th scope="col">{t('cmp.change', { margin: -c.marginPct })}</th>
              <th scope="col">{t('cmp.verdict')}</th>
            </tr>
          </thead>
          <tbody>
            {c.overall.map((r) => (
              <Region key={r.region} region={r} reach={reach} marginPct={c.marginPct} />
            ))}
          </tbody>
        </table>
      )}
      <table>
        <caption>{t(c.charged ? 'cmp.rest' : 'cmp.rest-coolant')}</caption>
        <thead>
          <tr>
            <th scope="col">{t('cmp.what')}</th>
            <th scope="col">{t('cmp.before')}</th>
            <th scope="col">{t('cmp.after')}</th>
            <th scope="col">{t('cmp.difference')}</th>
            <th scope="col">{t('cmp.verdict')}</th>
          </tr>
        </thead>
        <tbody>
          {c.charged && <ShiftRow what={t('cmp.tip-in')} unit="kPa" shift={c.tipIn} />}
          <ShiftRow what={t('cmp.plateau')} unit="degC" shift={c.coolant.plateau} />
          <ShiftRow what={t('cmp.warm-up')} unit="1" shift={c.coolant.warmUp} />
        </tbody>
      </table>
      {c.charged && toldAll(c, 'observations').map((o) => <p key={o}>{o}</p>)}
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

function Verdict({ word, mark }: { word: string; mark: Parameters<typeof Mark>[0]['verdict'] | null }) {
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
    s.mean === null ? t('cmp.no-pull') : t('cmp.pulls', { kpa: s.mean, n: s.pulls });
  const by = { by: signed(r.effectPct ?? 0), boost: withSign(r.effectKpa ?? 0, 'kPa') };
  const change =
    r.effectPct === null
      ? t('cmp.cannot-tell')
      : r.interval
        ? t('cmp.effect-interval', { ...by, low: signed(r.interval[0]), high: signed(r.interval[1]) })
        : t('cmp.effect', by);
  return (
    <>
      <tr>
        <th scope="row">{told(r, 'region')}</th>
        <td data-name={t('cmp.role.before')}>{side(r.before)}</td>
        <td data-name={t('cmp.role.after')}>{side(r.after)}</td>
        <td data-name={t('cmp.change-short')}>
          {change}
          {r.interval && (
            <Scale effect={r.effectPct ?? 0} interval={r.interval} reach={reach} marginPct={marginPct} />
          )}
        </td>
        <td>
          <Verdict word={name('effect', r.verdict)} mark={MARK[r.verdict]} />
        </td>
      </tr>
      <Needs text={told(r, 'needs')} />
    </>
  );
}

function Needs({ text }: { text: string | null }) {
  if (!text) return null;
  return (
    <tr class="needs">
      <td colSpan={5}>
        <b>{t('found.needs')}</b> {text}
      </td>
    </tr>
  );
}

const INTERVAL_WIDTH = 240;

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
  const x = (v: number) =>
    INTERVAL_WIDTH / 2 + (Math.max(-reach, Math.min(reach, v)) / reach) * (INTERVAL_WIDTH / 2 - 8);
  return (
    <svg class="effect" viewBox={`0 0 ${INTERVAL_WIDTH} 26`} aria-hidden="true">
      <line x1="0" x2={INTERVAL_WIDTH} y1="13" y2="13" class="axis" />
      <rect x={x(low)} y="7" width={Math.max(2, x(high) - x(low))} height="12" class="interval" />
      <line x1={x(0)} x2={x(0)} y1="1" y2="25" class="none" />
      <line x1={x(-marginPct)} x2={x(-marginPct)} y1="1" y2="25" class="limit" />
      <circle cx={x(effect)} cy="13" r="4" class="value" />
    </svg>
  );
}

/** Means, so a decimal more than one sample has. */
function ShiftRow({ what, unit, shift: s }: { what: string; unit: Unit; shift: Shift }) {
  const { measures } = words.value;
  const value = (v: number | null) => (v === null ? '–' : measures.quantity(v, unit, false, finer(unit)));
  const change = (v: number) => (s.unit === '%' ? `${signed(v)} %` : withSign(v, unit, finer(unit)));
  return (
    <>
      <tr>
        <th scope="row">{what}</th>
        <td data-name={t('cmp.role.before')}>{value(s.before)}</td>
        <td data-name={t('cmp.role.after')}>{value(s.after)}</td>
        <td data-name={t('cmp.difference-short')}>
          {s.difference === null
            ? t('cmp.cannot-tell')
            : s.interval
              ? t('cmp.interval', {
                  value: change(s.difference),
                  low: change(s.interval[0]),
                  high: change(s.interval[1]),
                })
              : change(s.difference)}
        </td>
        <td>
          <Verdict word={name('effect', s.verdict)} mark={s.verdict === 'not shown' ? 'not shown' : null} />
        </td>
      </tr>
      <Needs text={told(s, 'needs')} />
    </>
  );
}

const CHANGES = ['new', 'back', 'still', 'gone', 'not told'] as const;

function Codes({ codes }: { codes: NonNullable<Comparison['codes']> }) {
  return (
    <section aria-labelledby="codes-h">
      <h2 id="codes-h">{t('cmp.codes')}</h2>
      {codes.length === 0 && <p>{t('cmp.no-codes')}</p>}
      <dl class="codes">
        {CHANGES.map((change) => {
          const some = codes.filter((c) => c.change === change);
          return some.length === 0 ? null : (
            <div key={change}>
              <dt>{name('change', change)}</dt>
              {some.map((c) => (
                <dd key={`${c.ecu} ${c.code}`}>
                  {c.code} {told(c, 'text')} <span class="quiet">({c.ecu})</span>
                </dd>
              ))}
            </div>
          );
        })}
      </dl>
    </section>
  );
}

/** Where the unit has no decimals one is shown of a mean. */
const finer = (unit: Unit): number => (words.value.measures.conversion(unit).digits === 0 ? 1 : 0);

/** A change, with its sign and unit. */
function withSign(value: number, unit: Unit, more = 0): string {
  const text = words.value.measures.quantity(value, unit, true, more);
  return value > 0 ? `+${text}` : text;
}
