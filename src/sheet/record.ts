/** What a colleague needs besides findings: observations, cautions, the profile, and whether the evidence is unchanged. */

import type { Profile } from '../core/profile.ts';
import { CAPTURE_FILE } from '../run/meta.ts';
import type { Context } from './context.ts';
import { type Html, html } from './html.ts';
import { mark } from './marks.ts';

export function observationsSection(context: Context): Html {
  const { words, measures, input } = context;
  const t = words.tech;
  const noted = (input.job?.observations ?? []).map((o) => ({
    at: o.at,
    when:
      o.tS === null
        ? measures.dateTime(o.at)
        : `${measures.dateTime(o.at)} (${t.run} ${measures.clock(o.tS)})`,
    what: words.observationKinds[o.kind] ?? o.kind,
    answer: words.answers[o.answer] ?? o.answer,
    text: html`<bdi>${o.text}</bdi>`,
  }));
  const marks = input.runs.flatMap((r) =>
    r.marks.map((m) => ({
      at: r.meta?.startedAt ?? '',
      when: `${context.runName(r)}, ${measures.clock(m.tS)}`,
      what: `${t.mark} ${m.key}`,
      answer: '–',
      text: html`<bdi>${context.say(m.text)}</bdi>`,
    })),
  );
  const rows = [...noted, ...marks];
  if (rows.length === 0) return html`<h2>${t.observations}</h2><p>${t.noObservations}</p>`;
  return html`<h2>${t.observations}</h2><table><thead><tr><th scope="col">${t.when}</th><th scope="col">${t.observation}</th><th scope="col">${t.answer}</th><th scope="col">${t.note}</th></tr></thead><tbody>${rows.map(
    (r) =>
      html`<tr><th scope="row">${r.when}</th><td>${r.what}</td><td>${r.answer}</td><td>${r.text}</td></tr>`,
  )}</tbody></table>`;
}

/** Beside the observations: what was seen, with who looked and when under each. */
export function photosSection(context: Context): Html {
  const { words, measures, input, options } = context;
  const t = words.tech;
  const { shown, more } = input.photos;
  if (shown.length + more === 0) return html``;
  const left = options.hide.length > 0 ? t.photosHidden : t.photosMore;
  return html`<h2>${t.photos}</h2>
${
  shown.length > 0
    ? html`<div class="photos">${shown.map((p) => {
        const when = measures.dateTime(p.at);
        return html`<figure><img src="data:${p.type};base64,${p.base64}" alt="${p.caption || t.photoOf(when)}"><figcaption><bdi>${p.caption || t.noCaption}</bdi> <span class="quiet">${when}</span></figcaption></figure>`;
      })}</div>`
    : ''
}${more > 0 ? html`<p>${left(measures.number(more))}</p>` : ''}`;
}

export function cautionsSection(context: Context): Html {
  const t = context.words.tech;
  return html`<h2>${t.cautions}</h2><ul>${t.cautionList.map((c) => html`<li>${c}</li>`)}</ul>`;
}

export function profileSection(context: Context): Html {
  const { words, input } = context;
  const t = words.tech;
  // The profile as it was when the run was recorded is the one that judged it.
  const profile = context.subject?.meta?.profile ?? input.job?.profile ?? {};
  const rows = Object.entries(profile).flatMap(([key, value]) => profileRow(context, key, value));
  return html`<h2>${t.profile}</h2>${
    rows.length === 0
      ? html`<p>${t.noProfile}</p>`
      : html`<table><thead><tr><th scope="col">${t.subject}</th><th scope="col">${t.value}</th><th scope="col">${t.from}</th></tr></thead><tbody>${rows}</tbody></table>`
  }`;
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
  const { words, measures } = context;
  const name = words.profileKeys[key];
  if (name === undefined || value === undefined) return [];
  const row = (shown: Html | string, source: Html | string) =>
    html`<tr><th scope="row">${name}</th><td>${shown}</td><td>${source}</td></tr>`;
  if (typeof value === 'boolean') return [row(value ? words.tech.yes : words.tech.no, '')];
  if (typeof value === 'string')
    return [row(key === 'name' ? html`<bdi>${value}</bdi>` : context.say(value), '')];
  const source = context.say(value.source);
  if ('points' in value) {
    const points = value.points
      .slice(0, 12)
      .map((p) => `${measures.quantity(p.rpm, 'rpm')}${words.colon} ${measures.quantity(p.kpa, 'kPa')}`);
    return [row(points.join('; '), source)];
  }
  const unit = UNITS[key as keyof Profile] ?? '1';
  return [row(measures.quantity(value.value, unit), source)];
}

export function integritySection(context: Context): Html {
  const { words, measures, input } = context;
  const t = words.tech;
  const rows = input.runs.map((r) => {
    const { check } = r;
    const state = check.ok
      ? html`${mark('shown good')} ${t.checkOk}`
      : html`${mark('fault shown')} <strong>${t.checkBad}</strong>`;
    const remarks = check.remarks.map((m) => html`<br>${context.say(m)}`);
    // The digest to compare with is the recorded one; of a changed file both are shown.
    const digest = check.recorded ?? check.sha256;
    const now = check.sha256 !== null && check.recorded !== null && check.sha256 !== check.recorded;
    return html`<tr><th scope="row">${context.runName(r)}<br><span class="quiet">${r.name}</span></th><td><code>${digest ?? t.noDigest}</code>${now ? html`<br>${t.digestNow}${words.colon} <code>${check.sha256}</code>` : ''}</td><td>${state}${remarks}</td></tr>`;
  });
  const tools = [...new Set(input.runs.flatMap((r) => (r.meta ? [r.meta.tool] : [])))];
  const meta: (readonly [string, string])[] = [
    [t.madeBy, input.tool],
    [t.madeAt, measures.dateTime(input.madeAt)],
    ...(tools.length > 0 ? [[t.recordedBy, tools.join(', ')] as const] : []),
    ...(input.job ? [[t.testedBy, input.job.technician || words.notNamed] as const] : []),
    ...(input.job?.workshop ? [[words.customer.workshop, input.job.workshop] as const] : []),
  ];
  return html`<h2>${t.integrity}</h2>
${input.runs.length > 0 ? html`<table class="digests"><caption>${t.integrityCaption}</caption><thead><tr><th scope="col">${t.run}</th><th scope="col">${t.digest}</th><th scope="col">${t.checkState}</th></tr></thead><tbody>${rows}</tbody></table>` : ''}
<p><strong>${t.howToCheck}${words.colon}</strong> ${t.checkSteps('handback check', CAPTURE_FILE)} ${t.legalNote}</p>
<dl class="made">${meta.map(([k, v]) => html`<div><dt>${k}</dt><dd><bdi>${v}</bdi></dd></div>`)}</dl>
${input.troubles.length > 0 ? html`<h3>${t.remarks}</h3><ul>${input.troubles.map((x) => html`<li>${context.say(x)}</li>`)}</ul>` : ''}`;
}
