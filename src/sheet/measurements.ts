/** What was measured by hand, and the parts and checks that a workshop wants on the sheet; nothing of what is empty. */
import { measurementText } from '../words/measurement-text.ts';
import type { Context } from './context.ts';
import { type Html, html } from './html.ts';
import { mark } from './marks.ts';

const ICON = { pass: 'shown good', fail: 'fault shown', note: null } as const;

export function measurementsSection(context: Context): Html {
  const { t, measures, input } = context;
  const list = input.job?.measurements ?? [];
  if (list.length === 0) return html``;
  const technician = input.job?.technician ?? '';
  // Who tested stands at the end of the sheet; a column of nothing tells nothing.
  const others = list.some((m) => m.who !== technician && m.who !== '');
  const noted = list.some((m) => m.text !== '');
  const columns = [
    ...(['what', 'value', 'expected', 'result', 'when'] as const),
    ...(others ? ['who' as const] : []),
    ...(noted ? ['note' as const] : []),
  ];
  const rows = list.map((m) => {
    const { what, value, expected } = measurementText(m, context.words);
    const icon = ICON[m.result];
    const who = others ? html`<td><bdi>${m.who || '–'}</bdi></td>` : '';
    const note = noted ? html`<td><bdi>${m.text || '–'}</bdi></td>` : '';
    return html`<tr><th scope="row"><bdi>${what}</bdi></th><td>${value || '–'}</td><td><bdi>${expected || '–'}</bdi></td><td class="when">${icon ? mark(icon) : ''} ${context.name('measure-result', m.result)}</td><td>${context.name('measure-when', m.when)}, ${measures.dateTime(m.at)}</td>${who}${note}</tr>`;
  });
  return html`<h2>${t('measure.title')}</h2><table><thead><tr>${columns.map((c) => html`<th scope="col">${t(`measure.col.${c}`)}</th>`)}</tr></thead><tbody>${rows}</tbody></table>`;
}

/** Under what was done: parts with number and warranty, labour. */
export function doneExtras(context: Context): Html {
  const { t, input } = context;
  const { parts = [], labour = '' } = input.job ?? {};
  return html`${
    parts.length > 0
      ? html`<ul>${parts.map((p) => {
          const more = [
            ...(p.number ? [html`${t('customer.partNumber')} <bdi>${p.number}</bdi>`] : []),
            ...(p.warranty
              ? [html`${t('customer.warranty')}${t('sheet.colon')} <bdi>${p.warranty}</bdi>`]
              : []),
          ];
          return html`<li><bdi>${p.name}</bdi>${more.length > 0 ? html` (${more.map((m, i) => html`${i > 0 ? '; ' : ''}${m}`)})` : ''}</li>`;
        })}</ul>`
      : ''
  }${labour ? html`<p><bdi>${labour}</bdi></p>` : ''}`;
}
