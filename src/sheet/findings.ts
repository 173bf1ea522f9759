/** Each finding so that a colleague can defend it: verdict, value against limit to scale, source, rule, evidence, chart. */
import type { Finding, Verdict } from '../analysis/types.ts';
import { boostEvidence, coolantEvidence, finer, scale, voltageEvidence } from './charts.ts';
import { type Context, isDifference } from './context.ts';
import { type Html, html } from './html.ts';
import { mark, verdictWord } from './marks.ts';
import type { SheetRun } from './types.ts';

const ORDER: readonly Verdict[] = ['fault shown', 'not shown', 'shown good'];
const MOST_EVIDENCE = { fault: 12, other: 5 } as const;
/** Charts only where they carry the finding: a drawing for every sensor would hide the ones that matter. */
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
  const told = sorted.filter(
    (f) => f.verdict !== 'not shown' || f.measured !== null || f.evidence.length > 0,
  );
  const open = sorted.filter((f) => f.verdict === 'not shown');
  const rules = [...new Map([...told, ...open].map((f) => [JSON.stringify(f.rule), f.rule])).entries()];
  const ruleOf = (f: Finding) =>
    `${t('tech.ruleOf')} ${context.measures.number(rules.findIndex(([key]) => key === JSON.stringify(f.rule)) + 1)}`;
  return html`<h2>${t('tech.findings')}</h2>
<p class="quiet">${t('tech.findingsOf', { run: context.runName(subject) })}.</p>
${told.map((f, i) => finding(context, subject, f, `f${i}`, ruleOf(f)))}
${open.length > 0 ? notShown(context, open, ruleOf) : ''}
<h2>${t('tech.rules')}</h2>
<ol class="rule">${rules.map(([, r]) => html`<li>${context.say(r)}</li>`)}</ol>`;
}

function finding(context: Context, run: SheetRun, f: Finding, id: string, rule: string): Html {
  const { t, measures } = context;
  const evidence = f.evidence.slice(
    0,
    f.verdict === 'fault shown' ? MOST_EVIDENCE.fault : MOST_EVIDENCE.other,
  );
  const clock = (s: number) => measures.clock(s);
  return html`<article class="finding ${f.verdict.replace(' ', '-')}">
<h3>${mark(f.verdict)} ${context.title(f)}${t('sheet.colon')} ${t(`verdict.${f.verdict}`)}</h3>
${f.pointsTo ? html`<p><strong>${t('tech.pointsTo')}${t('sheet.colon')}</strong> ${context.say(f.pointsTo)}. <span class="quiet">${t('tech.hint')}</span></p>` : ''}
${f.needs ? html`<p><strong>${t('tech.needs')}${t('sheet.colon')}</strong> ${context.say(f.needs)}</p>` : ''}
${f.measured ? html`<div class="measured">${measuredText(context, f)}${scale(context, f, `${id}-s`)}</div>` : ''}
${chart(context, run, f, id)}
${
  evidence.length > 0 && f.system !== 'codes'
    ? html`<table class="evidence"><thead><tr><th scope="col">${t('tech.when')}</th><th scope="col">${t('tech.seen')}</th></tr></thead><tbody>${evidence.map(
        (e) =>
          html`<tr><th scope="row">${clock(e.fromS)} ${t('sheet.to')} ${clock(e.toS)}</th><td>${context.say(e.text)}</td></tr>`,
      )}</tbody></table>${f.evidence.length > evidence.length ? html`<p class="quiet">${t('tech.evidenceMore', { n: f.evidence.length - evidence.length })}</p>` : ''}`
    : ''
}
<p class="rule">${f.saidAtS === null ? '' : html`${t('tech.saidAt')}${t('sheet.colon')} ${clock(f.saidAtS)}. `}<strong>${rule}.</strong>${
    f.signals.length > 0
      ? html` <strong>${t('tech.signals')}${t('sheet.colon')}</strong> ${f.signals.map((s) => context.name('signal', s)).join(', ')}.`
      : ''
  }</p>
</article>`;
}

function measuredText(context: Context, f: Finding): Html {
  const { t, measures } = context;
  const { measured, limit } = f;
  if (!measured) return html``;
  const difference = isDifference(f.id);
  const show = (v: number) => measures.quantity(v, measured.unit, difference, finer(f));
  const bare = (v: number) => measures.bare(v, measured.unit, difference, finer(f));
  const [low, high] = measured.interval;
  return html`<dl><div><dt>${t('tech.measured')}</dt><dd>${show(measured.value)}</dd></div><div><dt>${t('tech.interval')}</dt><dd>${bare(low)} ${t('sheet.to')} ${show(high)}</dd></div>${
    limit
      ? html`<div><dt>${t('tech.limit')}</dt><dd>${show(limit.value)}</dd></div><div><dt>${t('tech.source')}</dt><dd>${context.say(limit.source)}</dd></div>`
      : html`<div><dt>${t('tech.limit')}</dt><dd>${t('tech.noLimit')}</dd></div>`
  }</dl>`;
}

function chart(context: Context, run: SheetRun, f: Finding, id: string): Html {
  if (CHARTED.has(f.id)) return f.evidence.length > 0 ? boostEvidence(context, run, f, `${id}-c`) : html``;
  if (f.id === 'coolant.climb') return coolantEvidence(context, run, f, `${id}-c`);
  const faulty = f.verdict === 'fault shown';
  if (f.system === 'coolant' && faulty) return coolantEvidence(context, run, f, `${id}-c`);
  if (f.id === 'charging.voltage' && faulty) return voltageEvidence(context, run, f, `${id}-c`);
  return html``;
}

function notShown(context: Context, open: readonly Finding[], ruleOf: (f: Finding) => string): Html {
  const { t } = context;
  return html`<h2>${t('tech.notShown')}</h2><p>${t('tech.notShownIntro')}</p>
<table><thead><tr><th scope="col">${t('tech.subject')}</th><th scope="col">${t('tech.needs')}</th><th scope="col">${t('tech.ruleOf')}</th></tr></thead><tbody>${open.map(
    (f) =>
      html`<tr><th scope="row">${mark('not shown')} ${context.title(f)}</th><td>${f.needs ? context.say(f.needs) : ''}</td><td class="short">${ruleOf(f)}</td></tr>`,
  )}</tbody></table>`;
}

/** Verdict of every finding in every run, side by side. */
export function verdictTable(context: Context): Html {
  const { t, input } = context;
  const { runs } = input;
  const ids = [...new Set(runs.flatMap((r) => r.judgement.findings.map((f) => f.id)))];
  const of = (run: SheetRun, id: string) => run.judgement.findings.find((f) => f.id === id);
  const title = (id: string) => {
    const f = runs.map((r) => of(r, id)).find((found) => found !== undefined);
    return f ? context.title(f) : id;
  };
  return html`<table class="matrix"><caption>${t('tech.verdictsCaption')}</caption><thead><tr><th scope="col">${t('tech.finding')}</th>${runs.map((r) => html`<th scope="col">${context.runName(r)}</th>`)}</tr></thead><tbody>${ids.map(
    (id) =>
      html`<tr><th scope="row">${title(id)}</th>${runs.map((r) => {
        const f = of(r, id);
        return html`<td>${f ? verdictWord(f.verdict, context) : '–'}</td>`;
      })}</tr>`,
  )}</tbody></table>`;
}
