/** The hand-over sheet as one self-contained HTML file: no script, nothing fetched. Pure: the same input, the same bytes. */
import { secretPattern } from '../job/mask.ts';
import type { Language } from '../words/words.ts';
import { Context } from './context.ts';
import { customerPage } from './customer.ts';
import { html, raw } from './html.ts';
import { SHEET_POLICY } from './policy.ts';
import { styleOf } from './style.ts';
import { technicianPages } from './technician.ts';
import type { Hidden, SheetInput, SheetOptions } from './types.ts';

/** @param language instead of the one that `options` names */
export function renderSheet(input: SheetInput, options: SheetOptions, language?: Language): string {
  const context = new Context(masked(withoutSeen(input, options.hide), options.hide), options, language);
  const { t, measures } = context;
  const { job } = context.input;
  const run = context.subject?.meta;
  const title = [t('sheet.title'), job?.vehicle || run?.vehicle, job?.reference].filter(Boolean).join(', ');
  const style = styleOf({
    foot: `${title} · ${measures.date(input.madeAt)}`,
    page: t('sheet.page'),
    of: t('sheet.of'),
    paper: options.paper,
  });
  return html`<!doctype html>
<html lang="${context.lang}">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${SHEET_POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="generator" content="${input.tool}">
<link rel="icon" href="data:,">
<title>${title}</title>
<style>${raw(style)}</style>
</head>
<body>
<main>
${customerPage(context)}
${technicianPages(context)}
</main>
</body>
</html>
`.text;
}

/** Nobody here can look at a photo and say whether a plate is in it. */
const withoutSeen = (input: SheetInput, hide: readonly Hidden[]): SheetInput =>
  hide.length === 0
    ? input
    : { ...input, photos: { shown: [], more: input.photos.shown.length + input.photos.more } };

const MASK = '•••';

/**
 * What is to be left out is left out of every text, however it got there: a complaint that names the plate, a folder
 * named after it. Spaces, dots and dashes between its characters make no difference.
 */
function masked(input: SheetInput, hide: readonly Hidden[]): SheetInput {
  const secrets = hide.flatMap((what) => [
    input.job?.[what] ?? '',
    ...(what === 'vin'
      ? [
          ...input.runs.map((r) => r.meta?.vin ?? ''),
          ...[input.codes.before, input.codes.after].map((s) => s?.snapshot.vin ?? ''),
        ]
      : []),
  ]);
  const patterns = [...new Set(secrets)].flatMap((s) => secretPattern(s) ?? []);
  if (patterns.length === 0) return input;
  const text = (s: string) => patterns.reduce((out, p) => out.replace(p, MASK), s);
  const walk = (value: unknown): unknown => {
    if (typeof value === 'string') return text(value);
    if (Array.isArray(value)) return typeof value[0] === 'number' ? value : value.map(walk);
    if (value !== null && typeof value === 'object')
      return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, walk(v)]));
    return value;
  };
  return walk(input) as SheetInput;
}
