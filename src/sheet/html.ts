/** Markup in which everything from outside is escaped and made harmless by construction. */

/** Text that is markup already. Made only by `html` and `raw`. */
export class Html {
  readonly text: string;

  constructor(text: string) {
    this.text = text;
  }
}

export type Value = string | number | Html | null | false | undefined | readonly Value[];

/** html`<p>${anything}</p>`: strings are escaped, lists joined, null and false left out. */
export function html(parts: TemplateStringsArray, ...values: readonly Value[]): Html {
  let out = parts[0]!;
  for (const [i, value] of values.entries()) out += markup(value) + parts[i + 1]!;
  return new Html(out);
}

/** Only for text that this program made itself. */
export const raw = (text: string): Html => new Html(text);

function markup(value: Value): string {
  if (value === null || value === undefined || value === false) return '';
  if (value instanceof Html) return value.text;
  if (typeof value === 'string' || typeof value === 'number') return escaped(String(value));
  return value.map(markup).join('');
}

const ENTITY: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

const escaped = (text: string): string => harmless(text).replace(/[&<>"']/g, (c) => ENTITY[c]!);

/**
 * Control characters, characters that turn the direction of writing, and halves of surrogate pairs must not make a
 * sheet say something else than its data: each becomes a visible replacement. Line breaks become spaces.
 */
export function harmless(text: string): string {
  return text
    .replace(/[\t\n\v\f\r\u0085\u2028\u2029]+/g, ' ')
    .replace(
      /[\u0000-\u001f\u007f-\u009f\u061c\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb]/g,
      '\ufffd',
    )
    .replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g, '\ufffd');
}

/** A string inside CSS quotes: everything but letters, digits and spaces as an escape. */
export const cssString = (text: string): string =>
  `"${harmless(text).replace(/[^A-Za-z0-9 ]/gu, (c) => `\\${c.codePointAt(0)!.toString(16)} `)}"`;
