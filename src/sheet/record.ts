/** What a colleague needs besides findings: observations, cautions, the profile, and whether the evidence is unchanged. */

import type { Profile } from '../core/profile.ts';
import { CAPTURE_FILE } from '../run/meta.ts';
import type { Context } from './context.ts';
import { type Html, html } from './html.ts';
import { mark } from './marks.ts';
import type { SheetRun } from './types.ts';

/** What was noted at one time is one line, and a mark set several times too. */
export function observationsSection(context: Context): Html {
  const { t, measures, input } = context;
  const noted = new Map<string, Html[]>();
  for (const o of input.job?.observations ?? []) {
    const run = o.tS === null ? '' : ` (${t('tech.run')} ${measures.clock(o.tS)})`;
    const when = `${measures.dateTime(o.at)}${run}`;
    const said = o.kind === 'other' ? '' : `${t('sheet.colon')} ${context.name('answer', o.answer)}`;
    const own = o.text === '' ? '' : html` (<bdi>${o.text}</bdi>)`;
    noted.set(when, [...(noted.get(when) ?? []), html`${context.name('observation', o.kind)}${said}${own}`]);
  }
  const alone = (run: SheetRun) =>
    input.runs.filter((r) => context.purpose(r) === context.purpose(run)).length === 1;
  const marked = new Map<string, { readonly mark: Html; readonly times: string[] }>();
  for (const r of input.runs)
    for (const m of r.marks) {
      const mark = html`${t('tech.mark')} ${m.key}${t('sheet.colon')} <bdi>${context.markText(m)}</bdi>`;
      const row = marked.get(mark.text) ?? { mark, times: [] };
      marked.set(mark.text, row);
      row.times.push(`${alone(r) ? context.purpose(r) : context.runName(r)} ${measures.clock(m.tS)}`);
    }
  const rows: (readonly [when: string, what: Html])[] = [
    ...[...noted].map(
      ([when, said]) => [when, html`${said.map((s, i) => html`${i > 0 ? '; ' : ''}${s}`)}`] as const,
    ),
    ...[...marked.values()].map(({ mark, times }) => [times.join('; '), mark] as const),
  ];
  if (rows.length === 0) return html`<h2>${t('tech.observations')}</h2><p>${t('tech.noObservations')}</p>`;
  return html`<h2>${t('tech.observations')}</h2><table class="noted"><thead><tr><th scope="col">${t('tech.when')}</th><th scope="col">${t('tech.observation')}</th></tr></thead><tbody>${rows.map(
    ([when, what]) => html`<tr><th scope="row">${when}</th><td>${what}</td></tr>`,
  )}</tbody></table>`;
}

/** Beside the observations: what was seen, with who looked and when under each. */
export function photosSection(context: Context): Html {
  const { t, measures, input, options } = context;
  const { shown, more } = input.photos;
  if (shown.length + more === 0) return html``;
  const left = options.hide.length > 0 ? 'tech.photosHidden' : 'tech.photosMore';
  return html`<h2>${t('tech.photos')}</h2>
${
  shown.length > 0
    ? html`<div class="${shown.length > 2 ? 'photos many' : 'photos'}">${shown.map((p) => {
        const when = measures.dateTime(p.at);
        return html`<figure><img src="data:${p.type};base64,${p.base64}" alt="${p.caption || t('tech.photoOf', { at: p.at })}"><figcaption><bdi>${p.caption || t('tech.noCaption')}</bdi> <span class="quiet">${when}</span></figcaption></figure>`;
      })}</div>`
    : ''
}${more > 0 ? html`<p>${t(left, { n: more })}</p>` : ''}`;
}

const CAUTIONS = [1, 2, 3, 4, 5, 6] as const;

export function cautions(context: Context): Html {
  const { t } = context;
  return html`<p><strong>${t('tech.cautions')}${t('sheet.colon')}</strong> ${CAUTIONS.map((n) => html`${t(`tech.cautionList.${n}`)} `)}</p>`;
}

export function profileLine(context: Context): Html {
  const { t } = context;
  const { profile } = context;
  const rows = Object.entries(profile).flatMap(([key, value]) => profileRow(context, key, value));
  return html`<p><strong>${t('tech.profile')}${t('sheet.colon')}</strong> ${rows.length === 0 ? t('tech.noProfile') : html`${rows.map((r, i) => html`${i > 0 ? '; ' : ''}${r}`)}.`}</p>`;
}

const UNITS: Partial<Record<keyof Profile, 'rpm' | '%' | 'kPa' | 'degC'>> = {
  clutchBandTopRpm: 'rpm',
  handOverRpm: 'rpm',
  engagementDemandPct: '%',
  baroKpa: 'kPa',
  thermostatC: 'degC',
  fanOnC: 'degC',
  coolantLimitC: 'degC',
};

function profileRow(context: Context, key: string, value: Profile[keyof Profile]): Html[] {
  const { t, measures } = context;
  const name = context.known('profile', key);
  if (name === null || value === undefined) return [];
  const row = (shown: Html | string, source: string) =>
    html`${name}${t('sheet.colon')} <strong>${shown}</strong>${source === '' ? '' : html` <span class="quiet">(${source})</span>`}`;
  if (typeof value === 'boolean') return [row(value ? t('tech.yes') : t('tech.no'), '')];
  if (typeof value === 'string')
    return [row(key === 'name' ? html`<bdi>${value}</bdi>` : context.name(key, value), '')];
  const source = context.name('profile-source', value.source);
  if ('points' in value) {
    const points = value.points
      .slice(0, 12)
      .map((p) => `${measures.quantity(p.rpm, 'rpm')}${t('sheet.colon')} ${measures.quantity(p.kpa, 'kPa')}`);
    return [row(points.join('; '), source)];
  }
  const unit = UNITS[key as keyof Profile] ?? '1';
  return [row(measures.quantity(value.value, unit), source)];
}

/** Room for what is written by hand. */
export const paperMarks = (context: Context): Html =>
  html`<div class="by-hand"><p>${context.t('tech.byHand')}</p></div>`;

export function integritySection(context: Context): Html {
  const { t, measures, input } = context;
  const rows = input.runs.map((r) => {
    const { check } = r;
    const state = check.table
      ? html`${mark('not shown')} ${t('tech.checkTable')}`
      : check.ok
        ? html`${mark('shown good')} ${t('tech.checkOk')}`
        : html`${mark('fault shown')} <strong>${t('tech.checkBad')}</strong>`;
    const remarks = check.remarks.map((m) => html`<br>${context.say(m)}`);
    // The digest to compare with is the recorded one; of a changed file both are shown.
    const digest = check.recorded ?? check.sha256;
    const now = check.sha256 !== null && check.recorded !== null && check.sha256 !== check.recorded;
    return html`<tr><th scope="row">${context.runName(r)}<br><span class="quiet">${r.name}</span></th><td><code>${digest ?? t('tech.noDigest')}</code>${now ? html`<br>${t('tech.digestNow')}${t('sheet.colon')} <code>${check.sha256}</code>` : ''}</td><td>${state}${remarks}</td></tr>`;
  });
  const tools = [...new Set(input.runs.flatMap((r) => (r.meta ? [r.meta.tool] : [])))];
  const meta: (readonly [string, string])[] = [
    [t('tech.madeBy'), input.tool],
    [t('tech.madeAt'), measures.dateTime(input.madeAt)],
    ...(tools.length > 0 ? [[t('tech.recordedBy'), tools.join(', ')] as const] : []),
    ...(input.job ? [[t('tech.testedBy'), input.job.technician || t('sheet.notNamed')] as const] : []),
    ...(input.job?.workshop ? [[t('customer.workshop'), input.job.workshop] as const] : []),
  ];
  return html`<h2>${t('tech.integrity')}</h2>
${input.runs.length > 0 ? html`<table class="digests"><caption>${t('tech.integrityCaption')}</caption><thead><tr><th scope="col">${t('tech.run')}</th><th scope="col">${t('tech.digest')}</th><th scope="col">${t('tech.checkState')}</th></tr></thead><tbody>${rows}</tbody></table>` : ''}
<p><strong>${t('tech.howToCheck')}${t('sheet.colon')}</strong> ${t('tech.checkSteps', { command: 'handback check', file: CAPTURE_FILE })} ${t('tech.legalNote')}</p>
<dl class="made">${meta.map(([k, v]) => html`<div><dt>${k}</dt><dd><bdi>${v}</bdi></dd></div>`)}</dl>
${input.troubles.length > 0 ? html`<h3>${t('tech.remarks')}</h3><ul>${input.troubles.map((x) => html`<li>${context.say(x)}</li>`)}</ul>` : ''}`;
}
