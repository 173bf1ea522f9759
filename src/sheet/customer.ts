/** Page one: for the customer, in plain words. What was done, tested, shown, not shown, and what to watch for. */

import type { Finding, SystemName, Verdict } from '../analysis/types.ts';
import { complaintKey, complaintLines, complaintsOf } from '../core/complaint.ts';
import { isSays, type Says } from '../core/says.ts';
import { clearedRecently } from '../core/snapshot.ts';
import { SINCE_CHANGES, type SinceRow } from '../core/visit-says.ts';
import { lampOn } from '../job/fault-memory.ts';
import type { Context } from './context.ts';
import { type Html, html } from './html.ts';
import { mark, verdictWord } from './marks.ts';
import { doneExtras } from './measurements.ts';
import { holesOf, lengthS } from './types.ts';
import { faultsBeside, SYSTEMS, stillNoticed, systemVerdict, wholeOf } from './whole.ts';

type CustomerSystem = (typeof SYSTEMS)[number];
/** Whose open questions a customer reads of; last the fan, which has no row of its own: most drives never ask for it. */
const OPEN: readonly SystemName[] = [...SYSTEMS, 'fan'];
const MOST_OPEN = 7;
const MOST_FAULTS = 4;
/** The customer reads of the notes of this many at most; all stand on the technician's pages. */
const MOST_NOTES = 6;
const MOST_CODES = 4;

export function customerPage(context: Context): Html {
  const { t } = context;
  const rows = SYSTEMS.flatMap((system): { system: CustomerSystem; verdict: Verdict }[] => {
    const verdict = systemVerdict(system, context.shown);
    return verdict === null ? [] : [{ system, verdict }];
  });
  const beside = faultsBeside(context.shown, 'fan', 'sensor');
  const unshown = rows.flatMap((r) => (r.verdict === 'not shown' ? t(`system.${r.system}`) : [])).join(', ');
  return html`<section class="customer" aria-labelledby="h-customer">
<header class="head">
<div><h1 id="h-customer">${t('sheet.title')}</h1><p class="who">${t('sheet.forCustomer')}</p></div>
${identity(context)}
</header>
${warnings(context)}
<p class="lead">${lead(context, unshown)}</p>
${handedOver(context)}${cameBack(context)}
<div class="columns">
<div>
<h2>${t('customer.complaint')}</h2>
${complaint(context)}
</div>
<div>
<h2>${t('customer.done')}</h2>
${done(context)}${doneExtras(context)}
</div>
</div>
<h2>${t('customer.tested')}</h2>
${tested(context)}
<h2>${t('customer.showed')}</h2>
<table class="results"><thead><tr><th scope="col">${t('customer.subject')}</th><th scope="col">${t('customer.result')}</th><th scope="col">${t('customer.meaning')}</th></tr></thead>
<tbody>${rows.map((r) => row(context, r.system, r.verdict))}${beside.map(
    (f) =>
      html`<tr><th scope="row">${context.name('system', f.system)}</th><td>${verdictWord('fault shown', context)}</td><td>${context.plain('fault', f.id) ?? context.title(f)}</td></tr>`,
  )}</tbody></table>
<p class="legend">${t('customer.legend')}</p>
${noted(context)}
${open(context)}
<h2>${t('customer.watch')}</h2>
${watch(context, rows)}${nextCheck(context)}
<p class="small-print">${t('customer.limits')}</p>
<div class="signs"><p>${t('customer.signTechnician')}</p><p>${t('customer.signCustomer')}</p></div>
</section>`;
}

/** The first sentence: who found a fault, and no more good than a drive after the work showed. */
function lead(context: Context, what: string): string {
  const { t, after } = context;
  const whole = wholeOf(context.shown, context.input.job);
  if (whole === 'fault') {
    if (faultDriven(context)) return t(after ? 'customer.lead.fault' : 'customer.lead.faultBefore');
    const read = (f: Finding) => f.system === 'codes' || f.id === OF_CODES;
    const told = context.findings.some((f) => read(f) && f.verdict === 'fault shown');
    return t(told ? 'customer.lead.codes' : 'customer.lead.byHand');
  }
  // No measurement says that all is well of a car in which somebody still hears it.
  const noticed = stillNoticed(context.answers());
  if (after === null || whole === 'open') {
    const open = t(after === null ? 'customer.lead.notDriven' : 'customer.lead.open');
    return noticed ? `${t('customer.lead.stillThere')} ${open}` : open;
  }
  if (!noticed) return whole === 'mixed' ? t('customer.lead.mixed', { what }) : t('customer.lead.good');
  return what === ''
    ? t('customer.lead.noticed')
    : `${t('customer.lead.noticed')} ${t('customer.lead.unshown', { what })}`;
}

/** Whether the drive itself measured one; the car's own word on its cooling is read, not driven. */
const faultDriven = (context: Context): boolean =>
  systemVerdict('boost', context.shown) === 'fault shown' ||
  systemVerdict('charging', context.shown) === 'fault shown' ||
  context.findings.some((f) => f.system === 'coolant' && f.verdict === 'fault shown' && f.id !== OF_CODES) ||
  faultsBeside(context.shown, 'fan', 'sensor').length > 0;

function identity(context: Context): Html {
  const { t, measures, input, options } = context;
  const { job } = input;
  const run = context.subject?.meta ?? null;
  const hidden = (what: 'plate' | 'vin', value: string | null | undefined) =>
    value ? (options.hide.includes(what) ? t('sheet.withheld') : value) : null;
  const lines: (readonly [string, string | null | undefined])[] = [
    [t('customer.vehicle'), job?.vehicle || run?.vehicle || t('sheet.notNamed')],
    [t('customer.plate'), hidden('plate', job?.plate)],
    [t('customer.vin'), hidden('vin', job?.vin || run?.vin)],
    [
      t('customer.odometer'),
      job?.odometerKm == null ? null : measures.quantity(job.odometerKm, 'km', false, -1),
    ],
    [
      t('customer.odometerOut'),
      job?.odometerOutKm == null ? null : measures.quantity(job.odometerOutKm, 'km', false, -1),
    ],
    [t('customer.reference'), job?.reference],
    [t('customer.date'), measures.date(job?.closedAt ?? run?.startedAt ?? input.madeAt)],
    [t('customer.workshop'), job?.workshop],
    [t('customer.phone'), job?.workshopPhone],
    [t('customer.technician'), job?.technician],
  ];
  return html`<dl class="identity">${lines.map(([name, value]) => (value ? html`<div><dt>${name}</dt><dd><bdi>${value}</bdi></dd></div>` : ''))}</dl>`;
}

/** What spoils the evidence comes before everything else. */
function warnings(context: Context): Html {
  const { t, input } = context;
  const changed = input.runs.filter((r) => !r.check.ok);
  const cars = new Set([input.job?.vin, ...input.runs.map((r) => r.meta?.vin)].filter((vin) => vin));
  return html`${cars.size > 1 ? html`<div class="warning"><p><strong>${t('customer.otherCars')}</strong></p></div>` : ''}${
    changed.length > 0
      ? html`<div class="warning"><p><strong>${t('tech.checkBad')}</strong>${t('sheet.colon')} ${changed.map((r) => context.runName(r)).join('; ')}. ${t('customer.notAsRecorded')}</p></div>`
      : ''
  }`;
}

/** What spoke against handing the car over, and why it was done nevertheless. */
function handedOver(context: Context): Html | string {
  const { t } = context;
  const given = context.input.job?.handOver;
  if (!given || given.doubts.length === 0) return '';
  const doubts = given.doubts.map((d) => context.name('visit.doubt', d)).join('; ');
  return html`<div class="warning"><p><strong>${t('customer.handedAlthough')}${t('sheet.colon')}</strong> ${doubts}. ${t('customer.handedWhy')}${t('sheet.colon')} <bdi>${given.reason}</bdi></p></div>`;
}

/** The sheet of a come-back says so, with the customer's words of then and how the visit before had ended. */
function cameBack(context: Context): Html | string {
  const { t, measures, input } = context;
  const { complaint, day, odometerKm } = input.job?.comeBack ?? {};
  // Also before it was driven again.
  if (!complaint && !context.cameBack) return '';
  const whole = input.job?.handOver?.whole;
  // Noon lies on that day in every zone but the farthest.
  const on = day && /^\d{4}-\d\d-\d\d$/.test(day) ? measures.date(`${day}T12:00:00Z`) : day;
  return html`<div class="warning"><p><strong>${t('customer.cameBack')}${on ? html` (<bdi>${on}</bdi>)` : ''}.</strong>${odometerKm == null ? '' : html` ${t('customer.backOdometer')}${t('sheet.colon')} ${measures.quantity(odometerKm, 'km', false, -1)}.`}${whole ? html` ${t('customer.visitBefore')}${t('sheet.colon')} ${context.words.say({ id: 'visit.handed-as', args: { whole } })}` : ''}</p>${sinceThen(context)}</div>`;
}

/** Against the visit before, in a line for each change; what cannot be told stands on the technician's pages. */
function sinceThen(context: Context): Html {
  const { t } = context;
  const row = ({ what, before, now, change }: SinceRow) =>
    before && now && NOTED.test(now.id) && change !== 'same'
      ? html`${context.say(what)} (${t('customer.sinceNoted')} ${context.say(before)}, ${t('customer.nowNoted')} ${context.say(now)})`
      : context.say(what);
  return html`${SINCE_CHANGES.filter((change) => change !== 'not told').map((change) => {
    // What the customer complains of is answered line by line below.
    const rows = context.since.filter((r) => r.change === change && !ofComplaint(r));
    return rows.length === 0
      ? ''
      : html`<p><strong>${t(`customer.since.${change}`)}${t('sheet.colon')}</strong> ${rows.map((r, i) => html`${i > 0 ? '; ' : ''}${row(r)}`)}.</p>`;
  })}`;
}
const ofComplaint = ({ what }: SinceRow): boolean =>
  [what, what.args.what].some((w) => isSays(w) && w.id === 'observation.complaint');
/** What is named by how it should be reads wrong by its name alone: "worse: noise gone", "worse: coolant stays settled". */
const NOTED = /^(?:answer|measure-result|verdict)\./;

/** Each line of the complaint is answered by itself, from what the technician noted of it. */
function complaint(context: Context): Html {
  const { t, input } = context;
  const { job } = input;
  const lines = job ? complaintsOf(job) : complaintLines(context.subject?.meta?.complaint ?? '');
  if (lines.length === 0) return html`<p class="quiet">${t('customer.noComplaint')}</p>`;
  const answers = context.notes.filter((o) => o.kind === 'complaint');
  const newest = complaintLines(job?.comeBack.complaint || job?.complaint || lines[0]!);
  // What was answered without its words is the only complaint of the visit.
  const only = newest.length === 1 ? newest[0] : null;
  return html`<ul class="complaints">${lines.map((line) => {
    const own = answers.findLast(
      (o) => o.text.trim() === (line === only && o.text === '' ? '' : complaintKey(line)),
    );
    const answer = own?.answer === 'gone' || own?.answer === 'still there' ? own.answer : 'not noted';
    const icon = answer === 'gone' ? 'shown good' : answer === 'still there' ? 'fault shown' : 'not shown';
    return html`<li><q><bdi>${line}</bdi></q> ${mark(icon)} <strong>${t(`customer.answer.${answer}`)}</strong></li>`;
  })}</ul>`;
}

function done(context: Context): Html {
  const { parts = [], labour = '' } = context.input.job ?? {};
  const listed = new Set(parts.map((p) => p.name.trim().toLowerCase()));
  // A part that is listed with its number and warranty is named there.
  const replaced = (context.input.job?.replaced ?? []).filter((r) => !listed.has(r.trim().toLowerCase()));
  if (replaced.length === 0 && (parts.length > 0 || labour !== '')) return html``;
  return replaced.length > 0
    ? html`<ul>${replaced.map((r) => html`<li><bdi>${r}</bdi></li>`)}</ul>`
    : html`<p class="quiet">${context.t('customer.noneDone')}</p>`;
}

function tested(context: Context): Html {
  const { t, input } = context;
  const run = context.subject;
  if (!run) return html`<p>${t('customer.noRun')}</p>`;
  const [s, at] = [lengthS(run), run.meta?.startedAt ?? null];
  const km = run.conditions.distanceKm;
  const drove = km !== null && km >= 0.2;
  const legs = run.legs.filter((l) => context.driven(l)).map((l) => context.name('leg-plain', l.leg));
  const weather = input.job?.weather;
  const ambient = run.conditions.ambientC;
  const conditions = [
    ...(weather ? [weather] : []),
    ...(ambient ? [`${t('tech.ambient')} ${rangeText(context, ambient)}`] : []),
  ];
  const lostS = run.judgement.findings.some((f) => f.id === 'link.gaps' && f.verdict !== 'shown good')
    ? holesOf(run).reduce((sum, g) => sum + g.toS - g.fromS, 0)
    : 0;
  const what =
    at === null ? (drove ? t('customer.droveSome', { km, s }) : t('customer.ranSome', { s })) : null;
  return html`<p>${what ?? (drove ? t('customer.drove', { at: at!, km, s }) : t('customer.ran', { at: at!, s }))}${lostS > 0 ? ` ${t('customer.holes', { s: lostS })}` : ''}${
    legs.length > 0 ? html` ${t('customer.covered')}${t('sheet.colon')} ${legs.join('; ')}.` : ''
  }${conditions.length > 0 ? html` ${t('customer.weather')}${t('sheet.colon')} <bdi>${conditions.join('; ')}</bdi>.` : ''}${
    context.after ? '' : html` <strong>${t('tech.noAfter')}</strong>`
  }</p>`;
}

export function rangeText(
  context: Context,
  [low, high]: readonly [number, number],
  unit: 'degC' | 'kPa' = 'degC',
): string {
  const { t, measures } = context;
  const [a, b] = [measures.bare(low, unit), measures.bare(high, unit)];
  return a === b ? measures.quantity(high, unit) : `${a} ${t('sheet.to')} ${measures.quantity(high, unit)}`;
}

function row(context: Context, system: CustomerSystem, verdict: Verdict): Html {
  const { t } = context;
  return html`<tr><th scope="row">${t(`system.${system}`)}</th><td>${verdictWord(verdict, context)}</td><td>${meaning(context, system, verdict)}</td></tr>`;
}

function meaning(context: Context, system: CustomerSystem, verdict: Verdict): Html {
  const { t } = context;
  const own = context.findings.filter((f) => f.system === system);
  const sentences = (kind: 'good' | 'fault', of: Verdict): string[] =>
    own.filter((f) => f.verdict === of).flatMap((f) => context.plain(kind, f.id) ?? []);
  if (verdict === 'fault shown') {
    const faults = sentences('fault', 'fault shown').slice(0, MOST_FAULTS);
    return html`${faults.join(' ')}${system === 'codes' ? codeList(context) : ''}`;
  }
  const good = sentences('good', 'shown good');
  if (verdict === 'shown good') return html`${good.slice(0, 3).join(' ')}${compared(context, system)}`;
  if (system === 'codes') {
    const needs = own[0]?.needs;
    return context.input.codes.after === null || !needs
      ? html`${t('customer.codesNotRead')}`
      : context.say(needs);
  }
  return html`${t('customer.tooLittle')}${good.length > 0 ? html` ${good.slice(0, 2).join(' ')}` : ''}${compared(context, system)}`;
}

/** What the car reports: the lamp, and each code's meaning with the code behind it. */
function codeList(context: Context): string {
  const { t } = context;
  const after = context.input.codes.after?.snapshot;
  if (!after) return '';
  const codes = new Set(after.units.flatMap((u) => [...u.stored, ...u.pending].map((c) => c.code)));
  const shown = [...codes].slice(0, MOST_CODES);
  const told = [
    ...shown.map((code) => t('customer.code', { meaning: context.meaning(code), code })),
    ...(codes.size > shown.length ? [t('customer.moreCodes', { n: codes.size - shown.length })] : []),
  ].join('; ');
  return `${lampOn(after) === true ? ` ${t('customer.lampOn')}` : ''}${told === '' ? '' : ` ${told}.`}`;
}

/** What the drive before says of the same: its fault, and what the comparison shows. A car that came back is held against the drive after the work. */
function compared(context: Context, system: SystemName): Html | string {
  const { t, input } = context;
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
  const earlier = context.earlierFault(system);
  return html`${faultBefore ? html` ${t('customer.faultBefore')}` : ''}${earlier ? html` ${t('customer.faultEarlier', { at: earlier.meta!.startedAt })}` : ''}${
    told
      ? html` ${back ? t('customer.comparedBack') : t('customer.compared')}${t('sheet.colon')} ${t(`effect.${told.verdict}`)} (${plainRegion(context, told.region)}).`
      : ''
  }`;
}

const plainRegion = (context: Context, region: Says): Html | string =>
  context.known('plain', region.id) ?? context.say(region);

function open(context: Context): Html {
  const { t } = context;
  const notShown = context.findings.filter((f) => f.verdict === 'not shown');
  // Helpers whose silence means nothing to a customer are named on the technician's pages, and pointed to here.
  const asked = OPEN.flatMap((system) =>
    notShown.filter(
      (f) =>
        f.system === system &&
        (system === 'boost' || f.needs?.id !== AFTER_REPAIR) &&
        !(f.aside === true && systemVerdict(system, context.shown) !== 'not shown'),
    ),
  );
  const unseen = (f: Finding) => (FAN_UNSEEN.has(f.needs?.id ?? '') ? `${f.id}-asked` : f.id);
  const items = [...new Set(asked.flatMap((f) => context.plain('open', unseen(f)) ?? []))];
  if (items.length === 0)
    return html`<h2>${t('customer.notShown')}</h2><p>${context.after === null ? t('customer.lead.notDriven') : notShown.length === 0 ? t('customer.allShown') : t('customer.smallerOpen')}</p>`;
  const shown = items.slice(0, MOST_OPEN);
  return html`<h2>${t('customer.notShown')}</h2><p>${mark('not shown')} ${t('customer.remainsOpen')}${t('sheet.colon')}</p><ul class="open">${shown.map((i) => html`<li>${i}</li>`)}${
    notShown.length > shown.length ? html`<li>${t('customer.andMore')}</li>` : ''
  }</ul>`;
}

/** Of an engine that became too hot nobody asks whether it becomes warm, or whether its fan runs: the fault first. */
const AFTER_REPAIR = 'coolant.needs.climb-first';
/** What is asked for where the drive needed the fan and did not show it. */
const FAN_UNSEEN: ReadonlySet<string> = new Set(
  ['fan-asked', 'fan-above-own', 'fan-hot', 'fan-hot-back'].map((n) => `coolant.needs.${n}`),
);

function noted(context: Context): Html {
  const { t } = context;
  const told = context.since.filter((r) => r.change !== 'not told').map((r) => r.what.id);
  const notes = context.notes.filter(
    (o) =>
      o.answer !== 'not checked' &&
      o.kind !== 'complaint' &&
      (o.text !== '' || !told.includes(`observation.${o.kind}`)),
  );
  if (notes.length === 0) return html``;
  const shown = notes.slice(-MOST_NOTES);
  return html`<p><strong>${t('customer.noted')}${t('sheet.colon')}</strong> ${shown.map(
    (o, i) =>
      html`${i > 0 ? '; ' : ''}${context.name('observation', o.kind)}${o.kind === 'other' ? '' : html`${t('sheet.colon')} ${context.name('answer', o.answer)}`}${o.text ? html` (<bdi>${o.text}</bdi>)` : ''}`,
  )}.</p>`;
}

function nextCheck({ t, input }: Context): Html | string {
  const when = input.job?.nextCheck;
  return when
    ? html`<p><strong>${t('customer.nextCheck')}${t('sheet.colon')}</strong> <bdi>${when}</bdi></p>`
    : '';
}

/** What the car itself says of its cooling. */
const OF_CODES = 'coolant.codes';
/** An engine that stays cold does itself no harm within days. */
const COLD: ReadonlySet<string> = new Set(['coolant.too-cold', 'coolant.warm-up']);
/** Coolant too cold for closed loop, for stable operation, below the thermostat's temperature (SAE J2012; from memory). */
const COLD_CODES: ReadonlySet<unknown> = new Set(['P0125', 'P0126', 'P0128']);
const isCold = (f: Finding): boolean =>
  COLD.has(f.id) || (f.id === OF_CODES && f.evidence.every((e) => COLD_CODES.has(e.text.args.code)));
const onlyCold = ({ findings }: Context): boolean =>
  findings.every((f) => f.system !== 'coolant' || f.verdict !== 'fault shown' || isCold(f));

function watch(context: Context, rows: readonly { system: CustomerSystem; verdict: Verdict }[]): Html {
  const { t } = context;
  const hot = faultsBeside(context.shown, 'fan').length > 0;
  const faults = rows
    .filter((r) => r.verdict === 'fault shown' || (r.system === 'coolant' && hot))
    .map((r) =>
      t(`customer.watchFault.${r.system === 'coolant' && !hot && onlyCold(context) ? 'cold' : r.system}`),
    );
  const { after } = context.input.codes;
  const cleared = after !== null && clearedRecently(after.snapshot) ? [t('customer.watchCleared')] : [];
  return html`<ul>${faults.map((f) => html`<li><strong>${f}</strong></li>`)}${[1, 2, 3].map((n) => html`<li>${t(`customer.watchAlways.${n as 1}`)}</li>`)}${cleared.map((w) => html`<li>${w}</li>`)}</ul>`;
}
