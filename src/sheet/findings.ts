/** Each finding so that a colleague can defend it: verdict, value against limit to scale, source, rule, evidence, chart. */
import type { Evidence, Finding, Verdict } from '../analysis/types.ts';
import { findingText } from '../words/finding-text.ts';
import { boostEvidence, coolantEvidence, drawnKey, scale, voltageEvidence } from './charts.ts';
import type { Context } from './context.ts';
import { type Html, html } from './html.ts';
import { mark, verdictWord } from './marks.ts';
import type { SheetRun } from './types.ts';

const ORDER: readonly Verdict[] = ['fault shown', 'shown good', 'not shown'];
const MOST_EVIDENCE = { fault: 12, other: 3 } as const;
/** Charts only where they carry a fault: a drawing for every sensor would hide the ones that matter. */
const CHARTED: ReadonlySet<string> = new Set([
  'boost.clutch-band',
  'boost.above-hand-over',
  'boost.low-speed',
  'boost.hand-over-dip',
  'boost.intermittent',
  'boost.surplus',
]);

export function findingsSection(context: Context): Html {
  const { t, subject } = context;
  if (!subject) return html``;
  const sorted = ORDER.flatMap((v) => context.findings.filter((f) => f.verdict === v));
  const of = (v: Verdict) => sorted.filter((f) => f.verdict === v);
  const rules = new Rules(sorted);
  const lines = new Lines(context, sorted);
  const drawn = new Set<string>();
  const signals = [...new Set(sorted.flatMap((f) => f.signals))];
  return html`<h2>${t('tech.findings')}</h2>
<p class="quiet">${t('tech.findingsOf', { run: context.runName(subject) })}</p>
${of('fault shown').map((f, i) => fault(context, { run: subject, id: `f${i}`, rules, lines, drawn }, f))}
${good(context, of('shown good'), rules, lines)}
${notShown(context, of('not shown'), rules, lines)}
${lines.table(drawn)}
${signals.length > 0 ? html`<p class="quiet">${t('tech.signals')}${t('sheet.colon')} ${signals.map((s) => context.name('signal', s)).join(', ')}.</p>` : ''}
<details class="rules"><summary>${t('tech.rulesInFile', { n: rules.all.length })}</summary><p>${t('tech.ruleText')}</p><ol>${rules.all.map((r) => html`<li>${context.say(r)}</li>`)}</ol></details>`;
}

/** Rules by number, each once. */
class Rules {
  readonly all: readonly Finding['rule'][];
  readonly #keys: readonly string[];

  constructor(findings: readonly Finding[]) {
    const unique = new Map(findings.map((f) => [JSON.stringify(f.rule), f.rule]));
    this.all = [...unique.values()];
    this.#keys = [...unique.keys()];
  }

  of = (f: Finding): number => this.#keys.indexOf(JSON.stringify(f.rule)) + 1;
}

/** What was seen, each line once, whichever findings rest on it; lines of the same words are one line with several times. */
class Lines {
  readonly #context: Context;
  readonly #rows = new Map<
    string,
    { readonly text: Html; readonly seen: Evidence[]; readonly atS: number }
  >();
  readonly #numbers: ReadonlyMap<string, number>;

  constructor(context: Context, findings: readonly Finding[]) {
    this.#context = context;
    for (const f of findings)
      for (const e of chosen(f)) {
        const text = context.say(e.text);
        const row = this.#rows.get(text.text) ?? { text, seen: [], atS: e.fromS };
        this.#rows.set(text.text, row);
        row.seen.push(e);
      }
    const order = [...this.#rows].toSorted(([, a], [, b]) => a.atS - b.atS).map(([key]) => key);
    this.#numbers = new Map(order.map((key, i) => [key, i + 1]));
  }

  #time({ fromS, toS }: Evidence): string {
    const { measures, t } = this.#context;
    if (toS === 0) return '–'; // read from the car when nothing was recorded
    const [from, to] = [measures.clock(fromS), measures.clock(toS)];
    return from === to ? from : `${from} ${t('sheet.to')} ${to}`;
  }

  /** "1–4, 7": the lines that a finding rests on. Empty when it has none. */
  of(f: Finding): string {
    return listOf(chosen(f).flatMap((e) => this.numberOf(e) ?? []));
  }

  readonly numberOf = (e: Evidence): number | undefined => this.#numbers.get(this.#context.say(e.text).text);

  /** @param drawn what stands under its drawing, with its number, is not said again */
  table(drawn: ReadonlySet<string>): Html {
    const { t } = this.#context;
    const rows = [...this.#numbers].map(([key, number]) => ({ number, ...this.#rows.get(key)! }));
    const under = rows.filter((r) => r.seen.every((e) => drawn.has(drawnKey(e))));
    const told = rows.filter((r) => !under.includes(r));
    if (rows.length === 0) return html``;
    const note =
      under.length > 0
        ? html` <span class="quiet">(${t('tech.seenDrawn', { lines: listOf(under.map((r) => r.number)) })})</span>`
        : '';
    return html`<table class="evidence"><caption>${t('tech.seen')}${note}</caption><thead><tr><th scope="col">${t('tech.number')}</th><th scope="col">${t('tech.when')}</th><th scope="col">${t('tech.what')}</th></tr></thead><tbody>${told.map(
      (r) =>
        html`<tr><th scope="row">${r.number}</th><td class="when">${[...new Set(r.seen.map((e) => this.#time(e)))].join('; ')}</td><td>${r.text}</td></tr>`,
    )}</tbody></table>`;
  }
}

/** "1–4, 7" */
function listOf(lines: readonly number[]): string {
  const numbers = [...new Set(lines)].sort((a, b) => a - b);
  const runs: [number, number][] = [];
  for (const n of numbers) {
    const last = runs.at(-1);
    if (last && n === last[1] + 1) last[1] = n;
    else runs.push([n, n]);
  }
  return runs.map(([a, b]) => (a === b ? `${a}` : b === a + 1 ? `${a}, ${b}` : `${a}–${b}`)).join(', ');
}

/** The codes' own evidence stands in the table of codes. */
const chosen = (f: Finding): readonly Evidence[] =>
  f.system === 'codes'
    ? []
    : f.evidence.slice(0, f.verdict === 'fault shown' ? MOST_EVIDENCE.fault : MOST_EVIDENCE.other);

interface Place {
  readonly run: SheetRun;
  readonly id: string;
  readonly rules: Rules;
  readonly lines: Lines;
  /** Stretches that have their drawing: a pull is drawn once. */
  readonly drawn: Set<string>;
}

function fault(context: Context, { run, id, rules, lines, drawn }: Place, f: Finding): Html {
  const { t, measures } = context;
  const seen = lines.of(f);
  return html`<article class="finding fault-shown">
<h3>${mark(f.verdict)} ${context.title(f)}${t('sheet.colon')} ${t(`verdict.${f.verdict}`)}</h3>
${f.pointsTo ? html`<p><strong>${t('tech.pointsTo')}${t('sheet.colon')}</strong> ${context.say(f.pointsTo)}. <span class="quiet">${t('tech.hint')}</span></p>` : ''}
${f.measured ? html`<div class="measured">${measuredText(context, f)}${scale(context, f, `${id}-s`)}</div>` : ''}
${chart(context, run, f, id, { drawn, lines })}
<p class="rule">${f.saidAtS === null ? '' : html`${t('tech.saidAt')}${t('sheet.colon')} ${measures.clock(f.saidAtS)}. `}${seen === '' ? '' : html`${t('tech.seenLines', { lines: seen })}${f.evidence.length > chosen(f).length ? html` ${t('tech.evidenceMore', { n: f.evidence.length - chosen(f).length })}` : ''}. `}${t('tech.ruleNo', { n: rules.of(f) })}.</p>
</article>`;
}

function measuredText(context: Context, f: Finding): Html {
  const { t } = context;
  const { measured, limit } = f;
  if (!measured) return html``;
  const { value, interval, bound } = written(context, f);
  return html`<dl><div><dt>${t('tech.measured')}</dt><dd>${value}</dd></div><div><dt>${t('tech.interval')}</dt><dd>${interval}</dd></div>${
    limit
      ? html`<div><dt>${t('tech.limit')}</dt><dd>${bound}</dd></div><div><dt>${t('tech.source')}</dt><dd>${context.say(limit.source)}</dd></div>`
      : html`<div><dt>${t('tech.limit')}</dt><dd>${t('tech.noLimit')}</dd></div>`
  }</dl>`;
}

function written(
  context: Context,
  f: Finding,
): { readonly value: string; readonly interval: string; readonly bound: string } {
  const text = findingText(context.words, f);
  if (!text) return { value: '–', interval: '–', bound: '–' };
  return {
    value: text.measured,
    interval: `${text.lowBare} ${context.t('sheet.to')} ${text.high}`,
    bound: text.limit ?? '–',
  };
}

/** A line each: what was measured against what, and where the limit came from. */
function good(context: Context, findings: readonly Finding[], rules: Rules, lines: Lines): Html {
  const { t } = context;
  if (findings.length === 0) return html``;
  return html`<table class="good"><caption>${t('tech.good')}</caption><thead><tr><th scope="col">${t('tech.finding')}</th><th scope="col">${t('tech.measured')}</th><th scope="col">${t('tech.interval')}</th><th scope="col">${t('tech.limit')}</th><th scope="col">${t('tech.source')}</th><th scope="col">${t('tech.reference')}</th></tr></thead><tbody>${findings.map(
    (f) => {
      const { value, interval, bound } = written(context, f);
      return html`<tr><th scope="row">${mark(f.verdict)} ${context.title(f)}</th><td>${value}</td><td>${interval}</td><td>${bound}</td><td>${f.limit ? context.say(f.limit.source) : '–'}</td><td class="short">${reference(context, f, rules, lines)}</td></tr>`;
    },
  )}</tbody></table>`;
}

function reference(context: Context, f: Finding, rules: Rules, lines: Lines): Html | string {
  const { t } = context;
  const seen = lines.of(f);
  const rule = t('tech.ruleNo', { n: rules.of(f) });
  return seen === '' ? rule : html`${rule}; ${t('tech.lineNo', { lines: seen })}`;
}

/** Findings that ask for the same are one row. */
function notShown(context: Context, open: readonly Finding[], rules: Rules, lines: Lines): Html {
  const { t } = context;
  if (open.length === 0) return html``;
  const rows = new Map<string, { readonly needs: Html; readonly findings: Finding[] }>();
  for (const f of open) {
    const needs = f.needs ? context.say(f.needs) : html``;
    const key = f.measured ? f.id : needs.text;
    const row = rows.get(key) ?? { needs, findings: [] };
    rows.set(key, row);
    row.findings.push(f);
  }
  return html`<table><caption>${t('tech.notShown')}</caption><thead><tr><th scope="col">${t('tech.subject')}</th><th scope="col">${t('tech.needs')}</th><th scope="col">${t('tech.reference')}</th></tr></thead><tbody>${[
    ...rows.values(),
  ].map(
    ({ needs, findings }) =>
      html`<tr><th scope="row">${findings.map((f, i) => html`${i > 0 ? html`<br>` : ''}${mark('not shown')} ${context.title(f)}`)}</th><td>${needs}${measuredSoFar(context, findings[0]!)}</td><td class="short">${findings.map((f, i) => html`${i > 0 ? html`<br>` : ''}${reference(context, f, rules, lines)}`)}</td></tr>`,
  )}</tbody></table>`;
}

function measuredSoFar(context: Context, f: Finding): Html | string {
  if (!f.measured) return '';
  const { t } = context;
  const { value, interval, bound } = written(context, f);
  return html` <span class="quiet">${t('tech.measured')} ${value} (${interval})${f.limit ? html`, ${t('tech.limit')} ${bound}` : ''}.</span>`;
}

function chart(
  context: Context,
  run: SheetRun,
  f: Finding,
  id: string,
  { drawn, lines }: Pick<Place, 'drawn' | 'lines'>,
): Html {
  if (CHARTED.has(f.id))
    return f.evidence.length > 0
      ? boostEvidence(context, run, f, { id: `${id}-c`, drawn, numberOf: lines.numberOf })
      : html``;
  if (f.system === 'coolant' && !drawn.has('coolant')) {
    drawn.add('coolant');
    return coolantEvidence(context, run, f, `${id}-c`);
  }
  return f.id === 'charging.voltage' ? voltageEvidence(context, run, f, `${id}-c`) : html``;
}

/** Findings of which the runs say different things, side by side. */
export function verdictTable(context: Context): Html {
  const { t } = context;
  // A car that came back is held against the end of the visit before; what the repair changed stands below.
  const { ownRuns } = context;
  const last = (purpose: string) => ownRuns.findLast((r) => r.meta?.purpose === purpose);
  const [visit, back] = [last('verification'), last('come-back')];
  const runs = visit && back ? [visit, back] : ownRuns;
  const of = (run: SheetRun, id: string) => run.judgement.findings.find((f) => f.id === id);
  const ids = [...new Set(runs.flatMap((r) => r.judgement.findings.map((f) => f.id)))].filter(
    (id) => new Set(runs.map((r) => of(r, id)?.verdict)).size > 1,
  );
  if (ids.length === 0) return html`<p>${t('tech.verdictsSame')}</p>`;
  const title = (id: string) => {
    const f = runs.map((r) => of(r, id)).find((found) => found !== undefined);
    return f ? context.title(f) : id;
  };
  return html`${acrossPaper(runs).map(
    (some) =>
      html`<table class="matrix"><caption>${t('tech.verdictsCaption')}</caption><thead><tr><th scope="col">${t('tech.finding')}</th>${some.map((r) => html`<th scope="col">${context.runName(r)}</th>`)}</tr></thead><tbody>${ids.map(
        (id) =>
          html`<tr><th scope="row">${title(id)}</th>${some.map((r) => {
            const f = of(r, id);
            return html`<td>${f ? verdictWord(f.verdict, context) : '–'}</td>`;
          })}</tr>`,
      )}</tbody></table>`,
  )}`;
}

/** So many columns of runs fit on paper; chosen by hand. */
const MOST_COLUMNS = 5;

/** Runs in lots of nearly one size, a table each. */
export function acrossPaper(runs: readonly SheetRun[]): readonly (readonly SheetRun[])[] {
  const lots = Math.ceil(runs.length / MOST_COLUMNS);
  const size = Math.ceil(runs.length / lots);
  return Array.from({ length: lots }, (_, i) => runs.slice(i * size, (i + 1) * size));
}
