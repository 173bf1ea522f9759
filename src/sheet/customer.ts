/** Page one: for the customer, in plain words. What was done, tested, shown, not shown, and what to watch for. */

import { clearedRecently } from '../analysis/codes.ts';
import type { SystemName, Verdict } from '../analysis/types.ts';
import { type Context, verdictOf } from './context.ts';
import { type Html, html } from './html.ts';
import { mark, verdictWord } from './marks.ts';

const SYSTEMS = ['boost', 'coolant', 'charging', 'codes'] as const;
type CustomerSystem = (typeof SYSTEMS)[number];
const MOST_OPEN = 7;
const MOST_FAULTS = 4;
/** The customer reads of the notes of this many at most; all stand on the technician's pages. */
const MOST_NOTES = 6;

export function customerPage(context: Context): Html {
  const { words } = context;
  const c = words.customer;
  const rows = SYSTEMS.flatMap((system): { system: CustomerSystem; verdict: Verdict }[] => {
    const verdict = verdictOf(system, context);
    return verdict === null ? [] : [{ system, verdict }];
  });
  const sensors = context.findings.filter((f) => f.system === 'sensor' && f.verdict === 'fault shown');
  const lead = leadOf(
    rows.map((r) => r.verdict),
    sensors.length > 0,
  );
  return html`<section class="customer" aria-labelledby="h-customer">
<header class="head">
<div><h1 id="h-customer">${words.title}</h1><p class="who">${words.forCustomer}</p></div>
${identity(context)}
</header>
${warnings(context)}
<p class="lead">${c.lead[lead]}</p>
<div class="columns">
<div>
<h2>${c.complaint}</h2>
${complaint(context)}
</div>
<div>
<h2>${c.done}</h2>
${done(context)}
</div>
</div>
<h2>${c.tested}</h2>
${tested(context)}
<h2>${c.showed}</h2>
<table class="results"><thead><tr><th scope="col">${c.subject}</th><th scope="col">${c.result}</th><th scope="col">${c.meaning}</th></tr></thead>
<tbody>${rows.map((r) => row(context, r.system, r.verdict))}${sensors.map(
    (f) =>
      html`<tr><th scope="row">${words.systems.sensor}</th><td>${verdictWord('fault shown', context)}</td><td>${context.plain(f.id)?.fault ?? context.title(f)}</td></tr>`,
  )}</tbody></table>
<p class="legend">${c.legend}</p>
${noted(context)}
${open(context)}
<h2>${c.watch}</h2>
${watch(context, rows)}
<p class="small-print">${c.limits}</p>
<div class="signs"><p>${c.signTechnician}</p><p>${c.signCustomer}</p></div>
</section>`;
}

function leadOf(
  verdicts: readonly Verdict[],
  sensorFault: boolean,
): keyof Context['words']['customer']['lead'] {
  if (sensorFault || verdicts.includes('fault shown')) return 'fault';
  if (verdicts.length > 0 && verdicts.every((v) => v === 'shown good')) return 'good';
  // Boost and cooling are what the drive is for: a charged battery alone does not make it half a proof.
  return verdicts.slice(0, 2).includes('shown good') ? 'mixed' : 'open';
}

function identity(context: Context): Html {
  const { words, measures, input, options } = context;
  const c = words.customer;
  const { job } = input;
  const run = context.subject?.meta ?? null;
  const hidden = (what: 'plate' | 'vin', value: string | null | undefined) =>
    value ? (options.hide.includes(what) ? words.withheld : value) : null;
  const lines: (readonly [string, string | null | undefined])[] = [
    [c.vehicle, job?.vehicle || run?.vehicle || words.notNamed],
    [c.plate, hidden('plate', job?.plate)],
    [c.vin, hidden('vin', job?.vin || run?.vin)],
    [c.odometer, job?.odometerKm == null ? null : measures.quantity(job.odometerKm, 'km', false, -1)],
    [c.reference, job?.reference],
    [c.date, measures.date(job?.closedAt ?? run?.startedAt ?? input.madeAt)],
    [c.workshop, job?.workshop],
    [c.technician, job?.technician],
  ];
  return html`<dl class="identity">${lines.map(([name, value]) => (value ? html`<div><dt>${name}</dt><dd><bdi>${value}</bdi></dd></div>` : ''))}</dl>`;
}

/** What spoils the evidence comes before everything else. */
function warnings(context: Context): Html {
  const { words, input } = context;
  const changed = input.runs.filter((r) => !r.check.ok);
  if (changed.length === 0) return html``;
  return html`<div class="warning"><p><strong>${words.tech.checkBad}</strong>${words.colon} ${changed.map((r) => context.runName(r)).join('; ')}. ${words.customer.notAsRecorded}</p></div>`;
}

function complaint(context: Context): Html {
  const text = context.input.job?.complaint || context.subject?.meta?.complaint;
  return text
    ? html`<blockquote><p><bdi>${text}</bdi></p></blockquote>`
    : html`<p class="quiet">${context.words.customer.noComplaint}</p>`;
}

function done(context: Context): Html {
  const replaced = context.input.job?.replaced ?? [];
  return replaced.length > 0
    ? html`<ul>${replaced.map((r) => html`<li><bdi>${r}</bdi></li>`)}</ul>`
    : html`<p class="quiet">${context.words.customer.noneDone}</p>`;
}

function tested(context: Context): Html {
  const { words, measures, input } = context;
  const c = words.customer;
  const run = context.subject;
  if (!run) return html`<p>${c.noRun}</p>`;
  const time = context.span(run.judgement.spanS);
  const date = measures.date(run.meta?.startedAt ?? input.madeAt);
  const km = run.conditions.distanceKm;
  const drove = km !== null && km >= 0.2;
  const legs = run.legs.filter((l) => l.covered).map((l) => words.legsPlain[l.leg] ?? l.title);
  const weather = input.job?.weather;
  const ambient = run.conditions.ambientC;
  const conditions = [
    ...(weather ? [weather] : []),
    ...(ambient ? [`${words.tech.ambient} ${rangeText(context, ambient)}`] : []),
  ];
  return html`<p>${drove ? c.drove(measures.quantity(km, 'km'), time, date) : c.ran(time, date)}${
    legs.length > 0 ? html` ${c.covered}${words.colon} ${legs.join('; ')}.` : ''
  }${conditions.length > 0 ? html` ${c.weather}${words.colon} <bdi>${conditions.join('; ')}</bdi>.` : ''}${
    context.after ? '' : html` <strong>${words.tech.noAfter}</strong>`
  }</p>`;
}

export function rangeText(context: Context, [low, high]: readonly [number, number]): string {
  const { measures, words } = context;
  const [a, b] = [measures.bare(low, 'degC'), measures.bare(high, 'degC')];
  return a === b ? measures.quantity(high, 'degC') : `${a} ${words.to} ${measures.quantity(high, 'degC')}`;
}

function row(context: Context, system: CustomerSystem, verdict: Verdict): Html {
  const { words } = context;
  return html`<tr><th scope="row">${words.systems[system]}</th><td>${verdictWord(verdict, context)}</td><td>${meaning(context, system, verdict)}</td></tr>`;
}

function meaning(context: Context, system: CustomerSystem, verdict: Verdict): Html {
  const own = context.findings.filter((f) => f.system === system);
  const sentences = (kind: 'good' | 'fault', of: Verdict): string[] =>
    own.filter((f) => f.verdict === of).flatMap((f) => context.plain(f.id)?.[kind] ?? []);
  if (verdict === 'fault shown') {
    const faults = sentences('fault', 'fault shown').slice(0, MOST_FAULTS);
    return html`${faults.join(' ')}${system === 'codes' ? html` ${codeList(context)}` : ''}`;
  }
  const good = sentences('good', 'shown good');
  if (verdict === 'shown good') return html`${good.slice(0, 3).join(' ')}${compared(context, system)}`;
  const { customer } = context.words;
  if (system === 'codes') {
    const needs = own[0]?.needs;
    return context.input.codes.after === null || !needs
      ? html`${customer.codesNotRead}`
      : html`${customer.tooLittle} ${context.say(needs)}`;
  }
  return html`${customer.tooLittle}${good.length > 0 ? html` ${good.slice(0, 2).join(' ')}` : ''}${compared(context, system)}`;
}

function codeList(context: Context): string {
  const units = context.input.codes.after?.snapshot.units ?? [];
  const codes = units.flatMap((u) => [...u.stored, ...u.pending].map((c) => c.code));
  return [...new Set(codes)].slice(0, 8).join(', ');
}

/** What the drive before says of the same: its fault, and what the comparison shows. A car that came back is held against the drive after the work. */
function compared(context: Context, system: SystemName): Html | string {
  const { words, input } = context;
  const c = words.customer;
  const back = context.subject?.meta?.purpose === 'come-back';
  const comparison = back ? input.comparison?.comeBack : input.comparison;
  const all = system === 'boost' ? (comparison?.overall ?? []) : [];
  const told = all.find((r) => r.verdict === 'worse') ?? all.find((r) => r.verdict === 'better');
  const faultBefore =
    !back &&
    (system === 'boost' || system === 'coolant') &&
    context.after !== null &&
    context.before?.judgement.systems[system].verdict === 'fault shown' &&
    context.after.judgement.systems[system].verdict !== 'fault shown';
  return html`${faultBefore ? html` ${c.faultBefore}` : ''}${
    told
      ? html` ${back ? c.comparedBack : c.compared}${words.colon} ${words.tech.compareVerdicts[told.verdict]} (${plainRegion(context, told.region)}).`
      : ''
  }`;
}

function plainRegion(context: Context, region: string): Html | string {
  const { regionsPlain } = context.words;
  const known = Object.keys(regionsPlain).find((name) => region.startsWith(name));
  return known === undefined ? context.say(region) : regionsPlain[known]!;
}

function open(context: Context): Html {
  const { words } = context;
  const c = words.customer;
  const notShown = context.findings.filter((f) => f.verdict === 'not shown');
  // Helpers whose silence means nothing to a customer are named on the technician's pages, and pointed to here.
  const asked = notShown.filter(
    (f) =>
      ['boost', 'coolant', 'charging', 'codes'].includes(f.system) &&
      !(f.aside === true && verdictOf(f.system, context) !== 'not shown' && f.id !== 'coolant.fan'),
  );
  const items = asked.flatMap((f) => context.plain(f.id)?.open ?? []);
  if (items.length === 0)
    return html`<h2>${c.notShown}</h2><p>${notShown.length === 0 ? c.allShown : c.smallerOpen}</p>`;
  const shown = items.slice(0, MOST_OPEN);
  return html`<h2>${c.notShown}</h2><p>${mark('not shown')} ${c.remainsOpen}${words.colon}</p><ul class="open">${shown.map((i) => html`<li>${i}</li>`)}${
    notShown.length > shown.length ? html`<li>${c.andMore}</li>` : ''
  }</ul>`;
}

function noted(context: Context): Html {
  const { words, input } = context;
  const notes = (input.job?.observations ?? []).filter((o) => o.answer !== 'not checked');
  if (notes.length === 0) return html``;
  const shown = notes.slice(-MOST_NOTES);
  return html`<p><strong>${words.customer.noted}${words.colon}</strong> ${shown.map(
    (o, i) =>
      html`${i > 0 ? '; ' : ''}${words.observationKinds[o.kind] ?? o.kind}${o.kind === 'other' ? '' : html`${words.colon} ${words.answers[o.answer] ?? o.answer}`}${o.text ? html` (<bdi>${o.text}</bdi>)` : ''}`,
  )}.</p>`;
}

function watch(context: Context, rows: readonly { system: CustomerSystem; verdict: Verdict }[]): Html {
  const c = context.words.customer;
  const faults = rows.filter((r) => r.verdict === 'fault shown').map((r) => c.watchFault[r.system]);
  const { after } = context.input.codes;
  const cleared = after !== null && clearedRecently(after.snapshot) ? [c.watchCleared] : [];
  return html`<ul>${faults.map((f) => html`<li><strong>${f}</strong></li>`)}${[...c.watchAlways, ...cleared].map((w) => html`<li>${w}</li>`)}</ul>`;
}
