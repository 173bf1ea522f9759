/** The pages for whoever opens the file later: conditions, findings, before and after, codes, record, integrity. */
import { beforeAfterSection } from './before-after.ts';
import { driveStrips } from './charts.ts';
import { codesSection } from './codes.ts';
import type { Context } from './context.ts';
import { rangeText } from './customer.ts';
import { findingsSection } from './findings.ts';
import { type Html, html } from './html.ts';
import { mark } from './marks.ts';
import {
  cautionsSection,
  integritySection,
  observationsSection,
  photosSection,
  profileSection,
} from './record.ts';
import type { SheetRun } from './types.ts';

export function technicianPages(context: Context): Html {
  const { words, subject } = context;
  const t = words.tech;
  return html`<section class="technician" aria-labelledby="h-technician">
<h2 class="title" id="h-technician">${words.title}${words.colon} ${words.forTechnician}</h2>
<p>${t.intro}</p>
<h2>${t.rule}</h2><p>${t.ruleText}</p>
<h2>${t.conditions}</h2>
${conditions(context)}
${subject ? html`${legs(context, subject)}${driveStrips(context, subject, 'drive')}` : ''}
${findingsSection(context)}
${beforeAfterSection(context)}
${codesSection(context)}
${observationsSection(context)}
${photosSection(context)}
${profileSection(context)}
${cautionsSection(context)}
${integritySection(context)}
</section>`;
}

type Row = readonly [name: string, of: (run: SheetRun) => Html | string];

/** One column a run. */
function conditions(context: Context): Html {
  const { words, measures, input } = context;
  const t = words.tech;
  const none = words.notRecorded;
  const rows: readonly Row[] = [
    [t.started, (r) => (r.meta ? measures.dateTime(r.meta.startedAt) : none)],
    [t.duration, (r) => measures.clock(r.judgement.spanS)],
    [
      t.distance,
      (r) => (r.conditions.distanceKm === null ? none : measures.quantity(r.conditions.distanceKm, 'km')),
    ],
    [
      t.topSpeed,
      (r) => (r.conditions.topSpeedKmh === null ? none : measures.quantity(r.conditions.topSpeedKmh, 'km/h')),
    ],
    [
      t.coolantRange,
      ({ conditions: { coolantC } }) =>
        coolantC === null
          ? none
          : `${measures.bare(coolantC.start, 'degC')} ${words.to} ${measures.quantity(coolantC.highest, 'degC')}`,
    ],
    [t.ambient, (r) => (r.conditions.ambientC ? rangeText(context, r.conditions.ambientC) : none)],
    [t.intake, (r) => (r.conditions.intakeC ? rangeText(context, r.conditions.intakeC) : none)],
    [t.baro, (r) => (r.conditions.baroKpa === null ? none : measures.quantity(r.conditions.baroKpa, 'kPa'))],
    [t.pulls, (r) => pullsText(context, r)],
    [
      t.samples,
      ({ conditions: { samples }, judgement }) =>
        `${measures.number(samples)} (${t.perSecond(measures.number(samples / Math.max(1, judgement.spanS), 1))})`,
    ],
    [t.gaps, (r) => gapsText(context, r)],
    [
      t.adapter,
      (r) => (r.meta?.adapter ? html`<bdi>${r.meta.adapter.identity}</bdi>, ${r.meta.adapter.bus}` : none),
    ],
  ];
  const weather = input.job?.weather;
  const { runs } = input;
  if (runs.length === 0) return html`<p>${words.customer.noRun}</p>`;
  return html`${weather ? html`<p><strong>${t.weather}${words.colon}</strong> <bdi>${weather}</bdi></p>` : ''}
<table class="matrix"><caption>${t.runsCaption}</caption><thead><tr><td></td>${runs.map((r) => html`<th scope="col">${r.meta ? context.purpose(r) : r.name}</th>`)}</tr></thead><tbody>${rows.map(
    ([name, of]) => html`<tr><th scope="row">${name}</th>${runs.map((r) => html`<td>${of(r)}</td>`)}</tr>`,
  )}</tbody></table>${runs.some((r) => r.meta?.recovered) ? html`<p>${t.recovered}</p>` : ''}${runs.some((r) => r.meta?.sha256 === null) ? html`<p>${t.notClosed}</p>` : ''}`;
}

function pullsText(context: Context, run: SheetRun): string {
  const n = (held: boolean | null) =>
    context.measures.number(run.judgement.pulls.filter((p) => p.held === held).length);
  return context.words.tech.engagements(n(true), n(false), n(null));
}

function gapsText(context: Context, run: SheetRun): string {
  const { measures, words } = context;
  if (run.gaps.length === 0) return words.none;
  const lost = run.gaps.reduce((sum, g) => sum + g.toS - g.fromS, 0);
  return words.tech.gapsSummary(measures.number(run.gaps.length), context.span(lost));
}

function legs(context: Context, run: SheetRun): Html {
  const { words, measures } = context;
  const t = words.tech;
  if (run.legs.length === 0) return html``;
  const when = (from: number | null, to: number | null) =>
    from === null || to === null ? '–' : `${measures.clock(from)} ${words.to} ${measures.clock(to)}`;
  return html`<table><caption>${t.legs}${words.colon} ${context.runName(run)}</caption><thead><tr><th scope="col">${t.leg}</th><th scope="col">${t.covered}</th><th scope="col">${t.when}</th><th scope="col">${t.howTo}</th></tr></thead><tbody>${run.legs.map(
    (l) =>
      html`<tr><th scope="row">${context.say(l.title)}</th><td>${l.covered ? html`${mark('shown good')} ${t.yes}` : html`${mark('not shown')} ${t.no}`}</td><td class="when">${when(l.fromS, l.toS)}</td><td>${context.say(l.how)}</td></tr>`,
  )}</tbody></table>`;
}
