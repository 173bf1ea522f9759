/** Codes before and after, lamp, readiness, and how long ago the memory was cleared. */
import { clearedRecently, sinceCleared } from '../analysis/codes.ts';
import type { CodeChange } from '../j1979/code-changes.ts';
import type { Snapshot } from '../j1979/snapshot.ts';
import type { Context } from './context.ts';
import { type Html, html } from './html.ts';
import { mark, verdictWord } from './marks.ts';
import type { DatedSnapshot } from './types.ts';

const STATES = ['stored', 'pending', 'permanent'] as const;

export function codesSection(context: Context): Html {
  const { t, input } = context;
  const { before, after, finding } = input.codes;
  const latest = after ?? before;
  if (!latest) return html`<h2>${t('tech.codes')}</h2><p>${mark('not shown')} ${t('tech.codesNone')}</p>`;
  return html`<h2>${t('tech.codes')}</h2>
<p>${verdictWord(finding.verdict, context)}${finding.needs ? html`. ${context.say(finding.needs)}` : ''}</p>
${codeTable(context)}
<table><thead><tr><td></td><th scope="col">${t('tech.before')}</th><th scope="col">${t('tech.after')}</th></tr></thead><tbody>
<tr><th scope="row">${t('tech.snapshot')}</th><td>${when(context, before)}</td><td>${when(context, after)}</td></tr>
<tr><th scope="row">${t('tech.lamp')}</th><td>${lamp(context, before)}</td><td>${lamp(context, after)}</td></tr>
<tr><th scope="row">${t('tech.unanswered')}</th><td>${unanswered(context, before)}</td><td>${unanswered(context, after)}</td></tr>
<tr><th scope="row">${t('tech.clearedRow')}</th><td>${cleared(context, before)}</td><td>${cleared(context, after)}</td></tr>
</tbody></table>
${readiness(context, latest.snapshot, after ? t('tech.readinessCaption') : t('tech.readinessBefore'))}`;
}

function codeTable(context: Context): Html {
  const { t, input } = context;
  const { before, after, changes } = input.codes;
  const rows: readonly (readonly [CodeChange | null, string, string, string, string, string])[] =
    changes.length > 0
      ? changes.map((c) => [c, c.ecu, c.code, c.text, states(context, c.before), states(context, c.after)])
      : listed(context, before, after);
  if (rows.length === 0) return html`<p>${t('tech.noCodes')}</p>`;
  const sources = (after ?? before)!.snapshot.units
    .flatMap((u) => STATES.flatMap((s) => u[s].map((c) => c.source)))
    .filter((s) => s !== null);
  return html`<table><caption>${t('tech.codesCaption')}</caption><thead><tr><th scope="col">${t('tech.code')}</th><th scope="col">${t('tech.meaning')}</th><th scope="col">${t('tech.before')}</th><th scope="col">${t('tech.after')}</th><th scope="col">${t('tech.change2')}</th></tr></thead><tbody>${rows.map(
    ([change, ecu, code, text, was, is]) =>
      html`<tr><th scope="row">${code} <span class="quiet">(${ecu})</span></th><td>${context.say(text)}</td><td>${was}</td><td>${is}</td><td>${change ? t(`tech.changes.${change.change}`) : '–'}</td></tr>`,
  )}</tbody></table>${sources.length > 0 ? html`<p class="quiet">${t('tech.codesSource')}${t('sheet.colon')} ${[...new Set(sources)].map((s, i) => html`${i > 0 ? '; ' : ''}${context.say(s)}`)}.</p>` : ''}`;
}

/** Codes of the one snapshot there is. */
function listed(
  context: Context,
  before: DatedSnapshot | null,
  after: DatedSnapshot | null,
): (readonly [null, string, string, string, string, string])[] {
  const one = before && after ? null : (after ?? before);
  return (one?.snapshot.units ?? []).flatMap((unit) => {
    const codes = new Map(STATES.flatMap((s) => unit[s].map((c) => [c.code, c.text] as const)));
    return [...codes].map(([code, text]) => {
      const found = states(
        context,
        STATES.filter((s) => unit[s].some((c) => c.code === code)),
      );
      return [null, unit.ecu, code, text, before ? found : '–', after ? found : '–'] as const;
    });
  });
}

const states = (context: Context, list: readonly (typeof STATES)[number][]): string =>
  list.map((s) => context.t(`tech.states.${s}`)).join(', ') || '–';

const when = (context: Context, s: DatedSnapshot | null): string =>
  s === null ? '–' : s.at === null ? context.t('tech.yes') : context.measures.dateTime(s.at);

function lamp(context: Context, s: DatedSnapshot | null): string {
  const { t } = context;
  if (s === null) return '–';
  const said = s.snapshot.units.flatMap((u) => (u.mil === null ? [] : [u.mil]));
  return said.length === 0 ? t('tech.unknown') : said.includes(true) ? t('tech.on') : t('tech.off');
}

const unanswered = (context: Context, s: DatedSnapshot | null): Html | string =>
  s === null
    ? '–'
    : s.snapshot.unanswered.length === 0
      ? '–'
      : html`${s.snapshot.unanswered.map((u, i) => html`${i > 0 ? ', ' : ''}${context.name('service', u)}`)}`;

function cleared(context: Context, s: DatedSnapshot | null): string {
  const { t } = context;
  if (s === null) return '–';
  const since = sinceCleared(s.snapshot);
  if (!since) return t('tech.unknown');
  const { distanceKm: km, warmUps } = since;
  const text =
    km === null
      ? t('tech.clearedWarmUps', { warmUps: warmUps! })
      : warmUps === null
        ? t('tech.clearedKm', { km })
        : t('tech.cleared', { km, warmUps });
  return clearedRecently(s.snapshot) ? `${text} ${t('tech.clearedRecently')}` : text;
}

function readiness(context: Context, snapshot: Snapshot, caption: string): Html {
  const { t } = context;
  const rows = snapshot.units.flatMap((u) =>
    (u.readiness?.monitors ?? []).filter((m) => m.supported).map((m) => ({ ecu: u.ecu, ...m })),
  );
  if (rows.length === 0) return html``;
  return html`<table><caption>${caption}</caption><thead><tr><th scope="col">${t('tech.monitor')}</th><th scope="col">${t('tech.value')}</th></tr></thead><tbody>${rows.map(
    (m) =>
      html`<tr><th scope="row">${context.name('monitor', m.name)} <span class="quiet">(${m.ecu})</span></th><td>${m.complete ? html`${mark('shown good')} ${t('tech.complete')}` : html`${mark('not shown')} ${t('tech.incomplete')}`}</td></tr>`,
  )}</tbody></table>`;
}
