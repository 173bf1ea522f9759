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
  const { words, input } = context;
  const t = words.tech;
  const { before, after, finding } = input.codes;
  const latest = after ?? before;
  if (!latest) return html`<h2>${t.codes}</h2><p>${mark('not shown')} ${t.codesNone}</p>`;
  return html`<h2>${t.codes}</h2>
<p>${verdictWord(finding.verdict, context)}${finding.needs ? html`. ${context.say(finding.needs)}` : ''}</p>
${codeTable(context)}
<table><thead><tr><td></td><th scope="col">${t.before}</th><th scope="col">${t.after}</th></tr></thead><tbody>
<tr><th scope="row">${t.snapshot}</th><td>${when(context, before)}</td><td>${when(context, after)}</td></tr>
<tr><th scope="row">${t.lamp}</th><td>${lamp(context, before)}</td><td>${lamp(context, after)}</td></tr>
<tr><th scope="row">${t.unanswered}</th><td>${unanswered(context, before)}</td><td>${unanswered(context, after)}</td></tr>
<tr><th scope="row">${t.clearedRow}</th><td>${cleared(context, before)}</td><td>${cleared(context, after)}</td></tr>
</tbody></table>
${readiness(context, latest.snapshot, after ? t.readinessCaption : t.readinessBefore)}`;
}

function codeTable(context: Context): Html {
  const { words, input } = context;
  const t = words.tech;
  const { before, after, changes } = input.codes;
  const rows: readonly (readonly [CodeChange | null, string, string, string, string, string])[] =
    changes.length > 0
      ? changes.map((c) => [c, c.ecu, c.code, c.text, states(context, c.before), states(context, c.after)])
      : listed(context, before, after);
  if (rows.length === 0) return html`<p>${t.noCodes}</p>`;
  const sources = (after ?? before)!.snapshot.units
    .flatMap((u) => STATES.flatMap((s) => u[s].map((c) => c.source)))
    .filter((s) => s !== null);
  return html`<table><caption>${t.codesCaption}</caption><thead><tr><th scope="col">${t.code}</th><th scope="col">${t.meaning}</th><th scope="col">${t.before}</th><th scope="col">${t.after}</th><th scope="col">${t.change2}</th></tr></thead><tbody>${rows.map(
    ([change, ecu, code, text, was, is]) =>
      html`<tr><th scope="row">${code} <span class="quiet">(${ecu})</span></th><td>${context.say(text)}</td><td>${was}</td><td>${is}</td><td>${change ? t.changes[change.change] : '–'}</td></tr>`,
  )}</tbody></table>${sources.length > 0 ? html`<p class="quiet">${t.codesSource}${words.colon} ${[...new Set(sources)].map((s, i) => html`${i > 0 ? '; ' : ''}${context.say(s)}`)}.</p>` : ''}`;
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
  list.map((s) => context.words.tech.states[s]).join(', ') || '–';

const when = (context: Context, s: DatedSnapshot | null): string =>
  s === null ? '–' : s.at === null ? context.words.tech.yes : context.measures.dateTime(s.at);

function lamp(context: Context, s: DatedSnapshot | null): string {
  const t = context.words.tech;
  if (s === null) return '–';
  const said = s.snapshot.units.flatMap((u) => (u.mil === null ? [] : [u.mil]));
  return said.length === 0 ? t.unknown : said.includes(true) ? t.on : t.off;
}

const unanswered = (context: Context, s: DatedSnapshot | null): Html | string =>
  s === null
    ? '–'
    : s.snapshot.unanswered.length === 0
      ? '–'
      : html`${s.snapshot.unanswered.map((u, i) => html`${i > 0 ? ', ' : ''}${context.say(u)}`)}`;

function cleared(context: Context, s: DatedSnapshot | null): string {
  const t = context.words.tech;
  if (s === null) return '–';
  const since = sinceCleared(s.snapshot);
  if (!since) return t.unknown;
  const { measures } = context;
  const km = since.distanceKm === null ? t.unknown : measures.quantity(since.distanceKm, 'km', false, -1);
  const text = t.cleared(km, since.warmUps === null ? t.unknown : measures.number(since.warmUps));
  return clearedRecently(s.snapshot) ? `${text} ${t.clearedRecently}` : text;
}

function readiness(context: Context, snapshot: Snapshot, caption: string): Html {
  const t = context.words.tech;
  const rows = snapshot.units.flatMap((u) =>
    (u.readiness?.monitors ?? []).filter((m) => m.supported).map((m) => ({ ecu: u.ecu, ...m })),
  );
  if (rows.length === 0) return html``;
  return html`<table><caption>${caption}</caption><thead><tr><th scope="col">${t.monitor}</th><th scope="col">${t.state}</th></tr></thead><tbody>${rows.map(
    (m) =>
      html`<tr><th scope="row">${context.say(m.name)} <span class="quiet">(${m.ecu})</span></th><td>${m.complete ? html`${mark('shown good')} ${t.complete}` : html`${mark('not shown')} ${t.incomplete}`}</td></tr>`,
  )}</tbody></table>`;
}
