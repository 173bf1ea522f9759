/** The pages for whoever opens the file later: conditions, findings, before and after, codes, record, integrity. */
import type { PullOutcome } from '../analysis/boost/witness.ts';
import type { Leg } from '../analysis/types.ts';
import { beforeAfterSection } from './before-after.ts';
import { driveStrips } from './charts.ts';
import { codesSection } from './codes.ts';
import type { Context } from './context.ts';
import { rangeText } from './customer.ts';
import { acrossPaper, findingsSection } from './findings.ts';
import { type Html, html } from './html.ts';
import { measurementsSection } from './measurements.ts';
import {
  cautions,
  integritySection,
  observationsSection,
  paperMarks,
  photosSection,
  profileLine,
} from './record.ts';
import { holesOf, lengthS, type SheetRun } from './types.ts';

export function technicianPages(context: Context): Html {
  const { t, subject } = context;
  return html`<section class="technician" aria-labelledby="h-technician">
<h2 class="title" id="h-technician">${t('sheet.title')}${t('sheet.colon')} ${t('sheet.forTechnician')}</h2>
<h2>${t('tech.conditions')}</h2>
${conditions(context)}
${profileLine(context)}
${subject ? html`${legs(context, subject)}${driveStrips(context, subject, 'drive')}` : ''}
${findingsSection(context)}
${beforeAfterSection(context)}
${codesSection(context)}
${measurementsSection(context)}
${observationsSection(context)}
${photosSection(context)}
${integritySection(context)}
${cautions(context)}
${paperMarks(context)}
</section>`;
}

type Row = readonly [name: string, of: (run: SheetRun) => Html | string];

/** One column a run. */
function conditions(context: Context): Html {
  const { t, measures, input } = context;
  const none = t('sheet.notRecorded');
  const topSpeed: Row = [
    t('tech.topSpeed'),
    (r) => (r.conditions.topSpeedKmh === null ? none : measures.quantity(r.conditions.topSpeedKmh, 'km/h')),
  ];
  const spikes: Row = [t('tech.spikes'), (r) => spikesText(context, r)];
  const adapter: Row = [
    t('tech.adapter'),
    (r) =>
      r.meta?.adapter
        ? html`<bdi>${r.meta.adapter.identity}</bdi>, ${context.name('bus', r.meta.adapter.bus)}`
        : none,
  ];
  // Without a charger there is nothing to judge a pull by.
  const judged = input.runs.flatMap((r) => r.judgement.findings);
  const pulls: Row = [t('tech.pulls'), (r) => pullsText(context, r)];
  const rows: readonly Row[] = [
    [t('tech.started'), (r) => (r.meta ? measures.dateTime(r.meta.startedAt) : none)],
    [t('tech.duration'), (r) => measures.clock(lengthS(r))],
    [
      t('tech.distance'),
      (r) => {
        const { distanceKm: km } = r.conditions;
        if (km === null) return none;
        return holesOf(r).length > 0 ? t('tech.distanceHoles', { km }) : measures.quantity(km, 'km');
      },
    ],
    ...(context.options.show.includes('speed') ? [topSpeed] : []),
    [t('tech.coolantRange'), (r) => coolantText(context, r.conditions) ?? none],
    [t('tech.ambient'), (r) => (r.conditions.ambientC ? rangeText(context, r.conditions.ambientC) : none)],
    [t('tech.intake'), (r) => intakeText(context, r.conditions) ?? none],
    [t('tech.baro'), (r) => (r.conditions.baroKpa ? rangeText(context, r.conditions.baroKpa, 'kPa') : none)],
    ...(judged.some((f) => f.system === 'boost') ? [pulls] : []),
    [
      t('tech.samples'),
      ({ conditions: { samples }, judgement }) =>
        t('tech.perSecond', { n: samples, perS: samples / Math.max(1, judgement.spanS) }),
    ],
    ...(input.runs.some((r) => spikesOf(r).length > 0) ? [spikes] : []),
    [t('tech.gaps'), (r) => gapsText(context, r)],
    ...(input.runs.some((r) => r.meta?.adapter) ? [adapter] : []),
  ];
  const weather = input.job?.weather;
  const { runs } = input;
  if (runs.length === 0) return html`<p>${t('customer.noRun')}</p>`;
  return html`${weather ? html`<p><strong>${t('tech.weather')}${t('sheet.colon')}</strong> <bdi>${weather}</bdi></p>` : ''}
${acrossPaper(runs).map(
  (some) =>
    html`<table class="matrix"><caption>${t('tech.runsCaption')}</caption><thead><tr><td></td>${some.map((r) => html`<th scope="col">${r.meta ? context.purpose(r) : r.name}</th>`)}</tr></thead><tbody>${rows.map(
      ([name, of]) => html`<tr><th scope="row">${name}</th>${some.map((r) => html`<td>${of(r)}</td>`)}</tr>`,
    )}</tbody></table>`,
)}${runs.some((r) => r.meta?.recovered) ? html`<p>${t('tech.recovered')}</p>` : ''}${runs.some((r) => r.meta?.sha256 === null) ? html`<p>${t('tech.notClosed')}</p>` : ''}`;
}

/** Null where it was not recorded. */
function coolantText(
  { t, measures }: Context,
  { coolantC, coolantLone }: SheetRun['conditions'],
): string | null {
  if (coolantC === null) return null;
  const range = `${measures.bare(coolantC.start, 'degC')} ${t('sheet.to')} ${measures.quantity(coolantC.highest, 'degC')}`;
  return coolantLone === null ? range : t('tech.coolantLone', { range, ...coolantLone });
}

/** Null where it was not recorded. */
function intakeText(context: Context, { intakeC, intakeLeapC }: SheetRun['conditions']): string | null {
  if (intakeC === null) return null;
  const range = rangeText(context, intakeC);
  return intakeLeapC === null ? range : context.t('tech.intakeLeaps', { range, leapC: intakeLeapC });
}

const OUTCOMES: readonly PullOutcome[] = ['held', 'short', 'missed', 'open', 'unread'];

function pullsText(context: Context, run: SheetRun): string {
  const each = OUTCOMES.flatMap((outcome) => {
    const n = run.pullsCame.filter((o) => o === outcome).length;
    return n === 0 ? [] : [context.t(`tech.pull.${outcome}`, { n })];
  });
  return each.length === 0 ? context.t('sheet.none') : each.join(', ');
}

function spikesOf(run: SheetRun): SheetRun['judgement']['signals'] {
  return run.judgement.signals.filter((s) => (s.spikes ?? 0) > 0);
}

function spikesText(context: Context, run: SheetRun): string {
  const { t } = context;
  const each = spikesOf(run).map(({ name, spikes = 0 }) =>
    t('tech.spikesOf', { signal: context.name('signal', name), n: spikes }),
  );
  return each.length === 0 ? t('sheet.none') : each.join('; ');
}

/** A stop with the key off is none: the finding that counts them says so. */
function gapsText(context: Context, run: SheetRun): string {
  const { t } = context;
  const gaps = holesOf(run);
  if (gaps.length === 0) return t('sheet.none');
  const lost = gaps.reduce((sum, g) => sum + g.toS - g.fromS, 0);
  return t('tech.gapsSummary', { n: gaps.length, s: lost });
}

/** Two lines: how an open leg is driven stands with the findings that need it. */
function legs(context: Context, run: SheetRun): Html {
  const { t, measures } = context;
  if (run.legs.length === 0) return html``;
  const list = (title: string, some: readonly Leg[]) =>
    some.length === 0
      ? ''
      : html`<p><strong>${title}${t('sheet.colon')}</strong> ${some.map(
          (l, i) =>
            html`${i > 0 ? '; ' : ''}${context.say(l.title)}${l.fromS === null || !context.driven(l) ? '' : html` <span class="quiet">(${measures.clock(l.fromS)})</span>`}`,
        )}.</p>`;
  return html`${list(
    t('tech.driven'),
    run.legs.filter((l) => context.driven(l)),
  )}${list(
    t('tech.legsOpen'),
    run.legs.filter((l) => !context.driven(l)),
  )}`;
}
