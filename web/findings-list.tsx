/** Findings as lists: faults with their cause, what is shown good with its range, what to drive for the rest. */
import type { Says } from '../src/core/says.ts';
import type { Finding, Judgement } from '../src/words/views.ts';
import { measuredText, Scale } from './scale.tsx';
import { systemsTold } from './systems-told.ts';
import { Mark } from './verdict.tsx';
import { name, signalsText, t, titleOf, told } from './words.ts';

type Show = (fromS: number, toS: number) => void;
interface Props {
  readonly findings: readonly Finding[];
  readonly show: Show;
}

/** The whole drive in one sentence for each verdict: faults by name, the rest by system. */
export function wholeSentence(judgement: Judgement): string {
  const { findings, systems } = judgement;
  const of = (verdict: Finding['verdict']) =>
    systemsTold(judgement, verdict).map((s) =>
      s === 'fan' && !systems.fan.asked
        ? t('found.not-asked', { system: name('system', s) })
        : name('system', s),
    );
  // Some are named by what should be so: "Coolant stays settled" is no fault.
  const faults = findings
    .filter((f) => f.verdict === 'fault shown')
    .map((f) => t('found.one-fault', { what: titleOf(f, findings) }));
  const parts = [
    ['found.whole-fault', faults],
    ['found.whole-good', of('shown good')],
    ['found.whole-open', of('not shown')],
  ] as const;
  return parts.flatMap(([id, what]) => (what.length > 0 ? [t(id, { what: what.join(', ') })] : [])).join(' ');
}

export function Faults({ findings, show }: Props) {
  const faults = findings.filter((f) => f.verdict === 'fault shown');
  if (faults.length === 0) return null;
  return (
    <section aria-label={name('verdict', 'fault shown')}>
      {faults.map((f) => (
        <article key={f.id} class="finding fault-shown">
          <h2>
            <Mark verdict={f.verdict} />
            {t('found.heading', { what: titleOf(f, findings), verdict: name('verdict', f.verdict) })}
          </h2>
          {f.pointsTo !== null && (
            <p>
              {t('found.points-to', { what: told(f, 'pointsTo') ?? '' })}{' '}
              <span class="quiet">{t('found.hint')}</span>
            </p>
          )}
          <Scale finding={f} />
          {heldAgainst(f) && <p>{heldAgainst(f)}</p>}
          {seenIn(f)
            .slice(0, 1)
            .map((first) => (
              <p key={first.fromS} class="actions">
                <Seconds of={first} title={titleOf(f, findings)} show={show} /> {told(first, 'text')}
              </p>
            ))}
          <Basis finding={{ ...f, evidence: seenIn(f).slice(1) }} title={titleOf(f, findings)} show={show} />
        </article>
      ))}
    </section>
  );
}

export function Good({ findings, show }: Props) {
  const good = findings.filter((f) => f.verdict === 'shown good');
  if (good.length === 0) return null;
  return (
    <section aria-labelledby="good-h">
      <h2 id="good-h">{t('found.good')}</h2>
      {good.map((f) => (
        <article key={f.id} class="finding shown-good">
          <h3>
            <Mark verdict={f.verdict} />
            {titleOf(f, findings)}
          </h3>
          <p>{goodFor(f)}</p>
          <Basis finding={f} title={titleOf(f, findings)} show={show} scale />
        </article>
      ))}
    </section>
  );
}

/** Its range where it has one, else what was measured against which limit, else what was seen. */
function goodFor(f: Finding): string {
  const ranged = f.evidence.find((e) => says(e, 'text')?.id === 'boost.good-range');
  if (ranged) return [told(ranged, 'text'), heldAgainst(f)].filter(Boolean).join(' ');
  if (f.measured) return `${measuredText(f, false)}.`;
  return f.evidence[0] ? told(f.evidence[0], 'text') : '';
}

/** How far other cars of the kind may differ is no moment of the drive: it is said with the verdict. */
const OF_KIND = new Set(['boost.seen.kind', 'boost.seen.baseline-and-kind']);
const isOfKind = (e: Finding['evidence'][number]): boolean => OF_KIND.has(says(e, 'text')?.id ?? '');
const seenIn = (f: Finding) => f.evidence.filter((e) => !isOfKind(e));

function heldAgainst(f: Finding): string | null {
  const against = f.evidence.find(isOfKind);
  return against ? told(against, 'text') : null;
}

const says = (holder: { readonly says?: object }, field: string): Says | undefined =>
  (holder.says as Readonly<Record<string, Says>> | undefined)?.[field];

/** One line for each thing to be driven, with all that it would show; first what the verdict of a system waits for. */
export function NotShown({ findings, show }: Props) {
  const open = findings.filter((f) => f.verdict === 'not shown');
  if (open.length === 0) return null;
  return (
    <section aria-labelledby="open-h">
      <h2 id="open-h">{t('found.open')}</h2>
      <ul class="open-list">
        {[...byNeed(open)].map(([key, some]) => (
          <li key={key} class="finding not-shown">
            <Mark verdict="not shown" />
            <span>
              <b>{some.map((f) => titleOf(f, findings)).join(', ')}</b>
              {t('found.need', { need: told(longest(some), 'needs') ?? t('found.no-need') })}
            </span>
          </li>
        ))}
      </ul>
      <details class="basis">
        <summary>{t('found.open-basis')}</summary>
        {open.map((f) => (
          <article key={f.id}>
            <h3>{titleOf(f, findings)}</h3>
            <Details finding={f} title={titleOf(f, findings)} show={show} scale />
          </article>
        ))}
      </details>
    </section>
  );
}

const moreS = (f: Finding): number => Number(says(f, 'needs')?.args.moreS ?? 0);
/** Needs that differ only in how long to drive on are one: whoever drives the longest has driven all. */
const longest = (some: readonly Finding[]): Finding => some.toSorted((a, b) => moreS(b) - moreS(a))[0]!;

/** Nothing to drive: these wait for another finding's repair. */
const WAITS: readonly string[] = ['boost.need.elsewhere', 'boost.need.repair-first'];
const rank = (f: Finding): number => (WAITS.includes(says(f, 'needs')?.id ?? '') ? 2 : f.aside ? 1 : 0);

function byNeed(open: readonly Finding[]): Map<string, Finding[]> {
  const groups = new Map<string, Finding[]>();
  for (const f of open.toSorted((a, b) => rank(a) - rank(b))) {
    const need = says(f, 'needs');
    const key = need ? JSON.stringify([need.id, { ...need.args, moreS: 0 }]) : (f.needs ?? '');
    groups.set(key, [...(groups.get(key) ?? []), f]);
  }
  return groups;
}

interface BasisProps {
  readonly finding: Finding;
  readonly title: string;
  readonly show: Show;
  /** Measured against limit is not drawn elsewhere. */
  readonly scale?: boolean;
}

/** What a verdict rests on, for whoever wants to check it. */
function Basis(props: BasisProps) {
  return (
    <details class="basis">
      <summary>
        {t('found.basis')} <span class="unseen">{props.title}</span>
      </summary>
      <Details {...props} />
    </details>
  );
}

function Details({ finding: f, title, show, scale = false }: BasisProps) {
  return (
    <>
      {scale && <Scale finding={f} />}
      {f.evidence.length > 0 && (
        <ul class="evidence">
          {f.evidence.map((e) => (
            <li key={`${e.fromS} ${e.text}`}>
              <Seconds of={e} title={title} show={show} /> {told(e, 'text')}
            </li>
          ))}
        </ul>
      )}
      <p class="quiet rule">
        {t('found.rule', {
          rule: told(f, 'rule'),
          signals: signalsText(f.signals) || t('found.no-signal'),
        })}
      </p>
    </>
  );
}

function Seconds({
  of: { fromS, toS },
  title,
  show,
}: {
  of: Finding['evidence'][number];
  title: string;
  show: Show;
}) {
  return (
    <button type="button" class="seconds" onClick={() => show(fromS, toS)}>
      {t('strips.range', { from: fromS, to: toS })} <span class="unseen">{title}</span>
    </button>
  );
}
