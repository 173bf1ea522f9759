/** Before and after: verdicts of each run, the comparison with its intervals, boost over engine speed. */
import type { Comparison, RunTraces, Shift } from '../compare/types.ts';
import type { Says } from '../core/says.ts';
import type { Context } from './context.ts';
import { verdictTable } from './findings.ts';
import { type Html, html } from './html.ts';
import { drawing, Plot } from './svg.ts';

const OVER_RPM_HEIGHT = 180;

export function beforeAfterSection(context: Context): Html {
  const { t, input } = context;
  if (input.job === null && input.runs.length < 2) return html``;
  return html`<h2>${t('tech.beforeAfter')}</h2>
${input.runs.some((r) => r.meta?.purpose === 'baseline') ? '' : html`<p>${t('tech.noBefore')}</p>`}${context.after ? '' : html`<p>${t('tech.noAfter')}</p>`}
${context.ownRuns.length > 1 ? verdictTable(context) : ''}
${sinceTable(context)}${comparisons(context)}`;
}

/** The car came back: each thing at the end of the visit before, and now. */
function sinceTable(context: Context): Html {
  const { t, since } = context;
  const said = (told: Says | null) => (told ? context.say(told) : '–');
  if (since.length === 0) return html``;
  return html`<table><caption>${t('tech.sinceCaption')}</caption><thead><tr><th scope="col">${t('tech.subject')}</th><th scope="col">${t('tech.sinceBefore')}</th><th scope="col">${t('tech.sinceNow')}</th><th scope="col">${t('tech.change')}</th></tr></thead><tbody>${since.map(
    (r) =>
      html`<tr><th scope="row">${context.say(r.what)}</th><td>${said(r.before)}</td><td>${said(r.now)}</td><td>${context.name('since.change', r.change)}</td></tr>`,
  )}</tbody></table>`;
}

/** The runs before and after the work, and where the car came back the runs of its return against those after. */
function comparisons(context: Context): Html {
  const { t } = context;
  const first = context.input.comparison;
  if (!first) return html``;
  const back = first.comeBack;
  // Without a drive before the work there is only the return to compare.
  const repair = first.runs.some((r) => r.role === 'before') || back === null;
  const sides = {
    id: 'repair',
    caption: t('tech.compareCaption'),
    before: t('tech.before'),
    after: t('tech.after'),
  };
  // Of a car that came back the repair has its own sheet: here its result is enough.
  const ofRepair = back ? regions(context, first, sides) : comparison(context, first, sides);
  return html`${repair ? ofRepair : ''}${
    back
      ? html`<h3>${t('tech.comeBack')}</h3>${comparison(context, back, { id: 'back', caption: t('tech.comeBackCaption'), before: t('tech.after'), after: t('purpose.come-back') })}`
      : ''
  }`;
}

/** What the two sides of a comparison are called. */
interface Sides {
  readonly id: string;
  readonly caption: string;
  readonly before: string;
  readonly after: string;
}

function regions(context: Context, c: Comparison, sides: Sides): Html | string {
  const { t, measures } = context;
  if (!c.charged) return '';
  const pct = (v: number) => `${v > 0 ? '+' : ''}${measures.number(v, 1)}\u00a0%`;
  const rows = c.overall.map((r) => {
    const interval = r.interval ? `${pct(r.interval[0])} ${t('sheet.to')} ${pct(r.interval[1])}` : '–';
    // Nothing is said of engine speeds that only one side drove.
    const at = r.comparedRpm;
    const where = at === null ? '' : ` (${measures.number(at[0])}–${measures.quantity(at[1], 'rpm')})`;
    return html`<tr><th scope="row">${context.say(r.region)}${where}</th><td>${measures.number(r.before.pulls)}, ${measures.number(r.after.pulls)}</td><td>${r.effectPct === null ? '–' : pct(r.effectPct)}</td><td>${interval}</td><td>${t(`effect.${r.verdict}`)}</td></tr>`;
  });
  return html`<table><caption>${sides.caption}. ${t('tech.margin', { pct: c.marginPct })}</caption><thead><tr><th scope="col">${t('tech.region')}</th><th scope="col">${t('tech.pulls')}${t('sheet.colon')} ${sides.before}, ${sides.after}</th><th scope="col">${t('tech.change')}</th><th scope="col">${t('tech.interval')} (95 %)</th><th scope="col">${t('tech.compareVerdict')}</th></tr></thead><tbody>${rows}</tbody></table>`;
}

function comparison(context: Context, c: Comparison, sides: Sides): Html {
  const { t } = context;
  const problems = html`${c.problems.length > 0 ? html`<h3>${t('tech.compareProblems')}</h3><ul>${c.problems.map((p) => html`<li>${context.say(p)}</li>`)}</ul>` : ''}`;
  // Of different cars no line may stand beside another, and nothing that is asked for would tell.
  if (c.problems.some((p) => p.id === 'compare.vehicles')) return problems;
  // Days and air are allowed for in the intervals of the pressure: without one there is nothing to say of them.
  const told = c.charged && c.overall.some((r) => r.interval !== null);
  const notes = (told ? [c.days.sentence, ...c.corrections] : []).map((s) => context.say(s));
  const regionNeeds = c.charged ? c.overall.map((r) => [context.say(r.region), r.needs] as const) : [];
  return html`${regions(context, c, sides)}
${c.charged ? boostOverRpm(context, c.runs, sides) : ''}
${shifts(context, c, sides)}
${needsList(context, [...regionNeeds, ...shiftRows(context, c).map(([name, r]) => [name, r.needs] as const)])}
${c.charged && c.observations.length > 0 ? html`<p>${c.observations.map((o) => html`${context.say(o)} `)}</p>` : ''}
${notes.length > 0 ? html`<p class="rule">${notes.map((n) => html`${n} `)}</p>` : ''}
<details class="rules"><summary>${t('tech.compareRuleInFile')}</summary><p>${context.say(c.rule)}</p></details>
${problems}`;
}

function shiftRows(context: Context, c: Comparison): readonly (readonly [name: string, shift: Shift])[] {
  const { t } = context;
  return [
    ...(c.charged ? ([[t('tech.shifts.tipIn'), c.tipIn]] as const) : []),
    [t('tech.shifts.plateau'), c.coolant.plateau],
    [t('tech.shifts.warmUp'), c.coolant.warmUp],
  ];
}

/** What to drive so that more can be told, over the whole width; the same demand of several rows once. */
function needsList(
  context: Context,
  rows: readonly (readonly [name: Html | string, needs: Says | null])[],
): Html | string {
  const { t } = context;
  const byText = new Map<string, { needs: Html; names: (Html | string)[] }>();
  for (const [name, needs] of rows) {
    if (needs === null) continue;
    const said = context.say(needs);
    const known = byText.get(said.text);
    if (known) known.names.push(name);
    else byText.set(said.text, { needs: said, names: [name] });
  }
  if (byText.size === 0) return '';
  return html`<p class="rule"><strong>${t('tech.needs')}${t('sheet.colon')}</strong></p><ul class="rule">${[
    ...byText.values(),
  ].map(
    ({ needs, names }) =>
      html`<li>${names.map((n, i) => html`${i > 0 ? ', ' : ''}${n}`)}${t('sheet.colon')} ${needs}</li>`,
  )}</ul>`;
}

function shifts(context: Context, c: Comparison, sides: Sides): Html {
  const { t, measures } = context;
  // What neither side measured stands with what to drive.
  const rows = shiftRows(context, c).filter(([, s]) => s.before !== null || s.after !== null);
  if (rows.length === 0) return html``;
  const shown = (v: number | null, unit: Shift['unit'], difference: boolean) =>
    v === null ? '–' : measures.quantity(v, unit, difference, 1);
  return html`<table><caption>${t('tech.shiftsCaption')}</caption><thead><tr><th scope="col">${t('tech.subject')}</th><th scope="col">${sides.before}</th><th scope="col">${sides.after}</th><th scope="col">${t('tech.difference')}</th><th scope="col">${t('tech.interval')} (95 %)</th><th scope="col">${t('tech.compareVerdict')}</th></tr></thead><tbody>${rows.map(
    ([name, s]) => {
      // Heat is compared in its own unit and differs in per cent.
      const side = (v: number | null) =>
        s.unit === '%' ? (v === null ? '–' : measures.number(v, 1)) : shown(v, s.unit, false);
      const interval = s.interval
        ? `${measures.bare(s.interval[0], s.unit, true, 1)} ${t('sheet.to')} ${shown(s.interval[1], s.unit, true)}`
        : '–';
      return html`<tr><th scope="row">${name}</th><td>${side(s.before)}</td><td>${side(s.after)}</td><td>${shown(s.difference, s.unit, true)}</td><td>${interval}</td><td>${t(`effect.${s.verdict}`)}</td></tr>`;
    },
  )}</tbody></table>`;
}

/** Every pull one line: dashed before, solid after, so that the paper need not carry colour. */
function boostOverRpm(context: Context, runs: readonly RunTraces[], sides: Sides): Html {
  const { t, measures } = context;
  const pulls = runs.flatMap((r) => r.pulls.map((p) => ({ ...p, after: r.role === 'after' })));
  const rpms = pulls.flatMap((p) => p.rpm);
  const boosts = pulls.flatMap((p) => p.boostKpa);
  if (rpms.length < 2) return html``;
  const unit = measures.conversion('kPa');
  const of = (v: number) => v * unit.factor;
  const up = (v: number, step: number) => Math.ceil(v / step) * step;
  const most = (values: readonly number[]) => values.reduce((a, b) => Math.max(a, b), 0);
  const least = (values: readonly number[]) => values.reduce((a, b) => Math.min(a, b), 0);
  const plot = new Plot(
    `boost-rpm-${sides.id}`,
    { width: 720, height: OVER_RPM_HEIGHT, left: 46, right: 12, top: 18, bottom: 30 },
    {
      from: 1000,
      to: Math.max(4000, up(most(rpms), 500)),
      label: `${t('tech.axis.rpm')}, ${measures.rpm}`,
      text: (v) => measures.number(v),
      space: 60,
    },
    {
      from: of(-up(-least(boosts), 20)),
      to: of(up(most(boosts) + 5, 20)),
      label: `${t('tech.axis.boost')}, ${unit.text}`,
      text: (v) => measures.number(v, unit.digits === 2 ? 1 : 0),
      space: 24,
    },
  );
  plot.zero();
  for (const p of pulls) {
    plot.line(
      p.rpm,
      p.boostKpa.map(of),
      p.after ? { width: 1.6 } : { width: 1.3, dash: '5 3', ink: '#8a2a00' },
    );
    for (const [i, rpm] of p.rpm.entries()) plot.dot(rpm, of(p.boostKpa[i]!), p.after, 1.5);
  }
  const count = (after: boolean) => pulls.filter((p) => p.after === after).length;
  const alt = t('tech.boostRpmAlt', {
    before: count(false),
    after: count(true),
    dashed: sides.before,
    solid: sides.after,
  });
  return html`<figure class="wide"><figcaption>${t('tech.boostRpm')}</figcaption><div class="scroll" tabindex="0" role="group" aria-label="${t('tech.boostRpm')}">${drawing(`boost-rpm-${sides.id}-svg`, 720, OVER_RPM_HEIGHT, t('tech.boostRpm'), alt, plot.body())}</div><p class="key">${alt}</p></figure>`;
}
