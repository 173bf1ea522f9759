/** Codes before and after with their freeze frames, lamp, readiness, and how long ago the memory was cleared. */
import { clearedRecently, sinceCleared } from '../analysis/codes.ts';
import type { Unit } from '../core/signals.ts';
import type { Snapshot, UnitSnapshot } from '../j1979/snapshot.ts';
import type { Context } from './context.ts';
import { type Html, html } from './html.ts';
import { mark, verdictWord } from './marks.ts';
import type { DatedSnapshot } from './types.ts';

const STATES = ['stored', 'pending', 'permanent'] as const;
type State = (typeof STATES)[number];
/** PID 02 of service 02 names the code that stored the frame (from memory of SAE J1979). */
const FRAME_CODE = '02';
/** Values of a frame that are printed; the snapshot holds them all. */
const MOST_FRAME = 10;

interface Row {
  readonly ecu: string;
  readonly code: string;
  readonly before: readonly State[];
  readonly after: readonly State[];
  readonly change: 'gone' | 'new' | 'back' | 'still' | 'not told' | null;
}

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
<tr><th scope="row">${t('tech.monitors')}</th><td>${monitors(context, before)}</td><td>${monitors(context, after)}</td></tr>
</tbody></table>`;
}

function codeTable(context: Context): Html {
  const { t, input } = context;
  const { before, after, changes } = input.codes;
  const rows: readonly Row[] = changes.length > 0 ? changes : listed(before, after);
  if (rows.length === 0) return html`<p>${t('tech.noCodes')}</p>`;
  const units = [after, before].flatMap((s) => s?.snapshot.units ?? []);
  return html`<table><caption>${t('tech.codesCaption')}</caption><thead><tr><th scope="col">${t('tech.code')}</th><th scope="col">${t('tech.meaning')}</th><th scope="col">${t('tech.before')}</th><th scope="col">${t('tech.after')}</th><th scope="col">${t('tech.change2')}</th></tr></thead><tbody>${rows.map(
    (r) =>
      html`<tr><th scope="row">${r.code} <span class="quiet">(${r.ecu})</span></th><td>${context.meaning(r.code)}${frame(context, units, r)}</td><td>${states(context, r.before)}</td><td>${states(context, r.after)}</td><td>${r.change ? t(`tech.changes.${r.change}`) : '–'}</td></tr>`,
  )}</tbody></table><p class="quiet">${t('tech.codesSource')}</p>`;
}

/** Codes of the one snapshot there is. */
function listed(before: DatedSnapshot | null, after: DatedSnapshot | null): Row[] {
  const one = before && after ? null : (after ?? before);
  return (one?.snapshot.units ?? []).flatMap((unit) =>
    [...new Set(STATES.flatMap((s) => unit[s].map((c) => c.code)))].map((code): Row => {
      const found = STATES.filter((s) => unit[s].some((c) => c.code === code));
      return { ecu: unit.ecu, code, before: before ? found : [], after: after ? found : [], change: null };
    }),
  );
}

/** What the control unit kept when it stored this code; nothing when the frame is of another code. */
function frame(context: Context, units: readonly UnitSnapshot[], { ecu, code }: Row): Html | string {
  const { t, measures } = context;
  const unit = units.find(
    (u) => u.ecu === ecu && u.freezeFrame.some((v) => v.pid === FRAME_CODE && v.value === code),
  );
  const values = (unit?.freezeFrame ?? []).flatMap((v) => {
    const name = v.signal === null ? null : context.known('signal', v.signal);
    return name === null || typeof v.value !== 'number'
      ? []
      : [`${name} ${measures.quantity(v.value, (v.unit ?? '1') as Unit)}`];
  });
  if (values.length === 0) return '';
  return html`<br><span class="quiet">${t('tech.freeze')}${t('sheet.colon')} ${values.slice(0, MOST_FRAME).join(', ')}</span>`;
}

const states = (context: Context, list: readonly State[]): string =>
  list.map((s) => context.t(`tech.states.${s}`)).join(', ') || '–';

const when = (context: Context, s: DatedSnapshot | null): string =>
  s === null ? '–' : s.at === null ? context.t('tech.yes') : context.measures.dateTime(s.at);

/** Null when no control unit says it. */
export function lampOn(snapshot: Snapshot): boolean | null {
  const said = snapshot.units.flatMap((u) => (u.mil === null ? [] : [u.mil]));
  return said.length === 0 ? null : said.includes(true);
}

function lamp(context: Context, s: DatedSnapshot | null): string {
  const { t } = context;
  if (s === null) return '–';
  const on = lampOn(s.snapshot);
  return on === null ? t('tech.unknown') : on ? t('tech.on') : t('tech.off');
}

const unanswered = (context: Context, s: DatedSnapshot | null): string =>
  s?.snapshot.unanswered.map((u) => context.name('service', u)).join(', ') || '–';

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

/** Complete ones are counted, those that are open are named. */
function monitors(context: Context, s: DatedSnapshot | null): Html | string {
  const { t } = context;
  const fitted = (s?.snapshot.units ?? []).flatMap((u) =>
    (u.readiness?.monitors ?? []).filter((m) => m.supported),
  );
  if (fitted.length === 0) return s === null ? '–' : t('tech.unknown');
  const open = [...new Set(fitted.filter((m) => !m.complete).map((m) => context.name('monitor', m.name)))];
  const complete = fitted.filter((m) => m.complete).length;
  return open.length === 0
    ? html`${mark('shown good')} ${t('tech.monitorsComplete', { n: complete })}`
    : html`${mark('not shown')} ${t('tech.monitorsOpen', { n: complete, of: fitted.length, open: open.join(', ') })}`;
}
