/** Kinds of engine: which cars count as alike, merged and split with undo; and the questions that stand ready to the pool. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { KindChange, KindRow, KindsApi, KindsView } from '../src/desk/kinds-api.ts';
import { get, post, sentenceOf } from './http.ts';
import { attempt, readOnly } from './state.ts';
import { name, t } from './words.ts';
import './kinds.css';

/** No job bears this name. */
export const KINDS = '.kinds';

type Change = (change: KindChange) => void;
type Answer = Awaited<ReturnType<KindsApi['ask']>>;

export function Kinds() {
  const view = useSignal<KindsView | null>(null);
  const trouble = useSignal<string | null>(null);
  useEffect(() => {
    get<KindsView>('/api/kinds').then(
      (got) => (view.value = got),
      (error) => (trouble.value = sentenceOf(error)),
    );
  }, []);
  const change: Change = (what) =>
    void attempt(async () => {
      view.value = await post<KindsView>('/api/kinds', what);
    });
  const all = view.value;
  return (
    <div class="page kinds">
      <p>
        <a href="#/jobs">{t('kinds.back')}</a>
      </p>
      <h1>{t('kinds.title')}</h1>
      {trouble.value && <p class="trouble">{trouble.value}</p>}
      {!all && !trouble.value && <p>{t('app.looking')}</p>}
      {all && <Pool view={all} />}
      {all && <List view={all} change={change} />}
    </div>
  );
}

/** As people read it: engine, displacement, charging, fuel. */
function kindShown(kind: string): string {
  const [engine = '', cc = '', induction = '', fuel = ''] = kind.split('/');
  const shown = [
    engine.toUpperCase(),
    cc && `${cc} cm³`,
    induction && name('induction', induction),
    fuel && name('fuel', fuel),
  ];
  return shown.filter(Boolean).join(' · ');
}

// ---- merged and split ---------------------------------------------------------------------------------------

function List({ view, change }: { view: KindsView; change: Change }) {
  return (
    <section aria-labelledby="kinds-list">
      <h2 id="kinds-list">{t('kinds.list')}</h2>
      {view.kinds.length === 0 && <p class="lead">{t('kinds.none')}</p>}
      <ul class="kind-rows">
        {view.kinds.map((row) => (
          <Row
            key={row.kind}
            row={row}
            others={view.kinds.filter((k) => row.mayBe.includes(k.kind))}
            change={change}
          />
        ))}
      </ul>
      {view.without > 0 && <p class="quiet">{t('kinds.without', { n: view.without })}</p>}
      {!readOnly.value && (view.canUndo || view.canRedo) && (
        <p class="actions">
          <button type="button" disabled={!view.canUndo} onClick={() => change({ is: 'undo' })}>
            {t('kinds.undo')}
          </button>
          <button type="button" disabled={!view.canRedo} onClick={() => change({ is: 'redo' })}>
            {t('kinds.redo')}
          </button>
        </p>
      )}
    </section>
  );
}

function Row({ row, others, change }: { row: KindRow; others: readonly KindRow[]; change: Change }) {
  const { kind, jobs, descriptors } = row;
  return (
    <li>
      <span class="kind-name">{kindShown(kind)}</span>
      <span class="quiet">{t('kinds.jobs', { n: jobs })}</span>
      {!readOnly.value && others.length > 0 && (
        <select
          aria-label={t('kinds.merge', { kind: kindShown(kind) })}
          value=""
          onChange={(e) => change({ is: 'merge', from: kind, into: e.currentTarget.value })}
        >
          <option value="">{t('kinds.merge-choose')}</option>
          {others.map((o) => (
            <option key={o.kind} value={o.kind}>
              {kindShown(o.kind)}
            </option>
          ))}
        </select>
      )}
      {!readOnly.value && descriptors.length > 1 && (
        <details>
          <summary>{t('kinds.split-head')}</summary>
          {descriptors.map(([descriptor]) => (
            <Split key={descriptor} kind={kind} descriptor={descriptor} change={change} />
          ))}
        </details>
      )}
    </li>
  );
}

function Split({ kind, descriptor, change }: { kind: string; descriptor: string; change: Change }) {
  const submit = (e: SubmitEvent) => {
    e.preventDefault();
    const engine = String(new FormData(e.currentTarget as HTMLFormElement).get('engine') ?? '').trim();
    if (engine !== '') change({ is: 'split', from: kind, descriptor, engine });
  };
  return (
    <form class="fields" onSubmit={submit}>
      <label class="wide">
        {t('kinds.split', { descriptor })}
        <input name="engine" maxLength={200} autocomplete="off" />
      </label>
      <button type="submit">{t('kinds.split-do')}</button>
    </form>
  );
}

// ---- questions ----------------------------------------------------------------------------------------------

function Pool({ view }: { view: KindsView }) {
  // All kinds at once make a long table.
  const chosen = useSignal(view.kinds[0]?.kind ?? '');
  // One that was merged away is asked no more.
  const kind = view.kinds.some((k) => k.kind === chosen.value) ? chosen.value : '';
  const job = useSignal('');
  return (
    <section aria-labelledby="kinds-pool">
      <h2 id="kinds-pool">{t('kinds.asked')}</h2>
      {view.pool === null ? (
        <>
          <p class="lead">{t('kinds.no-pool')}</p>
          <pre class="command">{MAKE}</pre>
        </>
      ) : view.engine ? (
        <>
          <p class="quiet folder">{t('kinds.pool', { folder: view.pool })}</p>
          <p>
            <label>
              {t('kinds.kind')}{' '}
              <select value={kind} onChange={(e) => (chosen.value = e.currentTarget.value)}>
                <option value="">{t('kinds.all')}</option>
                {view.kinds.map((k) => (
                  <option key={k.kind} value={k.kind}>
                    {kindShown(k.kind)}
                  </option>
                ))}
              </select>
            </label>
          </p>
          <Question of="healthy-boost" kind={kind} />
          <Question of="healthy-coolant" kind={kind} />
          <Question of="repairs" kind={kind} />
          <p>
            <label>
              {t('kinds.car-choose')}{' '}
              <select value={job.value} onChange={(e) => (job.value = e.currentTarget.value)}>
                <option value="">{t('kinds.choose')}</option>
                {view.cars.map((c) => (
                  <option key={c.job} value={c.job}>
                    {c.vehicle || c.job} {c.plate}
                  </option>
                ))}
              </select>
            </label>
          </p>
          {job.value !== '' && <Question key={job.value} of="car" kind="" job={job.value} />}
        </>
      ) : (
        <p class="lead">{t('kinds.no-engine')}</p>
      )}
    </section>
  );
}

const MAKE = 'handback pool add pool\nhandback pool add pool --yes';

type Name = 'healthy-boost' | 'healthy-coolant' | 'repairs' | 'car';
type Cells = Readonly<Record<string, number | string | null>>;

/** Asked when it is opened, not before. */
function Question({ of, kind, job = '' }: { of: Name; kind: string; job?: string }) {
  const open = useSignal(false);
  const answer = useSignal<Answer | null>(null);
  const trouble = useSignal<string | null>(null);
  useEffect(() => {
    if (!open.value) return;
    let late = false;
    answer.value = null;
    trouble.value = null;
    const query = new URLSearchParams({ question: of, kind, job });
    get<Answer>(`/api/pool/ask?${query}`).then(
      (got) => {
        if (!late) answer.value = got;
      },
      (error) => {
        if (!late) trouble.value = sentenceOf(error);
      },
    );
    return () => {
      late = true;
    };
  }, [open.value, kind, job]);
  return (
    <details onToggle={(e) => (open.value = e.currentTarget.open)}>
      <summary>{t(`kinds.${of}`)}</summary>
      {trouble.value && <p class="trouble">{trouble.value}</p>}
      {open.value && !answer.value && !trouble.value && <p role="status">{t('kinds.asking')}</p>}
      {answer.value && <Table of={of} answer={answer.value} kind={kind} />}
    </details>
  );
}

interface Column {
  readonly head: string;
  readonly text: boolean;
  cell(row: Cells): string;
}

function Table({ of, answer, kind }: { of: Name; answer: Answer; kind: string }) {
  const rows = answer.rows.map(
    (row): Cells => Object.fromEntries(answer.columns.map((c, i) => [c, row[i] ?? null])),
  );
  if (rows.length === 0) return <p>{t('kinds.no-rows')}</p>;
  const columns = [...(kind === '' && of !== 'car' ? [KIND()] : []), ...COLUMNS[of]()];
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a table that scrolls is reached by the keyboard
    // biome-ignore lint/a11y/useSemanticElements: the question above is its heading
    <div class="figures-scroll" role="region" tabIndex={0} aria-label={t(`kinds.${of}`)}>
      <table class="figures-table">
        <thead>
          <tr>
            {columns.map((c) => (
              <th key={c.head} scope="col" class={c.text ? 'text' : undefined}>
                {c.head}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((row, i) => (
            <tr key={i}>
              {columns.map((c) => (
                <td key={c.head} class={c.text ? 'text' : undefined}>
                  {c.cell(row)}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

const text = (head: string, key: string, show = (x: string) => x): Column => ({
  head,
  text: true,
  cell: (row) => (row[key] === null ? '–' : show(String(row[key]))),
});
const figure = (head: string, show: (...of: number[]) => string, ...keys: string[]): Column => ({
  head,
  text: false,
  cell: (row) => {
    const of = keys.map((k) => row[k]);
    return of.every((x) => typeof x === 'number') ? show(...of) : '–';
  },
});

const KIND = (): Column => text(t('kinds.kind'), 'kind', kindShown);
const n = (head: string, key: string): Column => figure(head, (x = 0) => t('kinds.n', { n: x }), key);
const kpa = (head: string, key: string): Column => figure(head, (x = 0) => t('kinds.kpa', { kpa: x }), key);
const kpaRange = (): Column =>
  figure(
    t('kinds.from-to'),
    (least = 0, most = 0) => t('kinds.kpa-range', { least, most }),
    'least_kpa',
    'most_kpa',
  );
const point = (): Column[] => [
  figure(t('kinds.rpm'), (rpm = 0) => t('kinds.at-rpm', { rpm }), 'rpm'),
  figure(t('kinds.demand'), (pct = 0) => t('kinds.at-demand', { pct }), 'demand_pct'),
];

const COLUMNS: Readonly<Record<Name, () => readonly Column[]>> = {
  'healthy-boost': () => [
    ...point(),
    kpa(t('kinds.boost'), 'boost_kpa'),
    kpaRange(),
    n(t('kinds.cars'), 'cars'),
  ],
  'healthy-coolant': () => [
    figure(t('kinds.plateau'), (c = 0) => t('kinds.c', { c }), 'plateau_c'),
    figure(
      t('kinds.from-to'),
      (least = 0, most = 0) => t('kinds.c-range', { least, most }),
      'least_c',
      'most_c',
    ),
    n(t('kinds.cars'), 'cars'),
  ],
  repairs: () => [
    text(t('kinds.part'), 'part_name'),
    n(t('kinds.cases'), 'cases'),
    n(t('kinds.came-back'), 'came_back'),
    n(t('kinds.again'), 'done_again'),
    figure(t('kinds.days'), (x = 0) => t('kinds.n', { n: Math.round(x) }), 'days_to_return'),
  ],
  car: () => [
    ...point(),
    kpa(t('kinds.mine'), 'boost_kpa'),
    kpa(t('kinds.its-kind'), 'kind_kpa'),
    figure(t('kinds.difference'), (x = 0) => t('kinds.kpa-sign', { kpa: x }), 'difference_kpa'),
    kpaRange(),
    n(t('kinds.cars'), 'cars'),
  ],
};
