/** The fault memory at each reading: codes with their freeze frames, lamp, readiness, how long ago it was cleared. */
import type { Says } from '../core/says.ts';
import type { Unit } from '../core/signals.ts';
import { type CodeRow, codeRows, type MemoryTold, memoryTold } from '../job/fault-memory.ts';
import type { Context } from './context.ts';
import { type Html, html } from './html.ts';
import { mark, verdictWord } from './marks.ts';
import type { DatedSnapshot } from './types.ts';

/** Values of a frame that are printed; the snapshot holds them all. */
const MOST_FRAME = 10;

export function codesSection(context: Context): Html {
  const { t, input } = context;
  const { read, finding } = input.codes;
  if (read.length === 0)
    return html`<h2>${t('tech.codes')}</h2><p>${mark('not shown')} ${t('tech.codesNone')}</p>`;
  const columns = shown(read);
  const told = columns.map((i) => memoryTold(read[i]!.snapshot));
  const line = (title: string, of: (told: MemoryTold) => Says | null) =>
    html`<tr><th scope="row">${title}</th>${told.map((s) => html`<td>${said(context, of(s))}</td>`)}${change ? html`<td></td>` : ''}</tr>`;
  const rows = codeRows(read.map((s) => s.snapshot));
  const change = read.length > 1 && rows.length > 0;
  return html`<h2>${t('tech.codes')}</h2>
<p>${verdictWord(finding.verdict, context)}${finding.needs ? html`. ${context.say(finding.needs)}` : ''}</p>
<table class="codes"><caption>${t('tech.codesCaption')}</caption><thead><tr><th scope="col">${t('tech.code')}</th>${columns.map(
    (i) => html`<th scope="col">${heading(context, read[i]!)}</th>`,
  )}${change ? html`<th scope="col">${t('tech.change2')}</th>` : ''}</tr></thead><tbody>${
    rows.length === 0
      ? html`<tr><td colspan="${columns.length + 1}">${t('tech.noCodes')}</td></tr>`
      : rows.map((row) => codeRow(context, row, columns, change))
  }
${line(t('tech.lamp'), (s) => s.lamp)}
${line(t('tech.monitors'), (s) => s.readiness)}
${told.some((s) => s.unanswered) ? line(t('tech.unanswered'), (s) => s.unanswered) : ''}
${line(t('tech.clearedRow'), (s) => s.cleared)}
</tbody></table>${rows.length > 0 ? html`<p class="quiet">${t('tech.codesSource')}</p>` : ''}`;
}

const said = (context: Context, told: Says | null): Html => (told ? context.say(told) : html`–`);

/** Of each time the one that counts: the first before the work, else the last. */
function shown(read: readonly DatedSnapshot[]): readonly number[] {
  const counts = (s: DatedSnapshot, i: number) =>
    i === read[s.when === 'before' ? 'findIndex' : 'findLastIndex']((other) => other.when === s.when);
  return read.flatMap((s, i) => (counts(s, i) ? [i] : []));
}

const heading = (context: Context, { when, at }: DatedSnapshot): Html =>
  html`${context.name('measure-when', when)}<br>${at === null ? '' : context.measures.dateTime(at)}`;

function codeRow(context: Context, row: CodeRow, columns: readonly number[], change: boolean): Html {
  return html`<tr><th scope="row">${row.code} <span class="quiet">(${row.ecu})</span><br>${context.meaning(row.code)}</th>${columns.map(
    (i) => html`<td>${row.states[i]!.map((s) => context.name('list', s)).join(', ') || '–'}</td>`,
  )}${change ? html`<td>${row.change ? context.name('change', row.change) : '–'}</td>` : ''}</tr>${frame(context, row, columns.length + (change ? 2 : 1))}`;
}

/** What the control unit kept when it stored this code, over the whole width. */
function frame(context: Context, { frozen }: CodeRow, width: number): Html | string {
  const { t, measures } = context;
  const values = frozen.flatMap(({ signal, value, unit }) => {
    const name = context.known('signal', signal);
    return name === null ? [] : [`${name} ${measures.quantity(value, unit as Unit)}`];
  });
  if (values.length === 0) return '';
  return html`<tr><td class="quiet" colspan="${width}">${t('tech.freeze')}${t('sheet.colon')} ${values.slice(0, MOST_FRAME).join(', ')}</td></tr>`;
}
