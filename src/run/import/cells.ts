/** What a table's cells say: numbers with either decimal mark, and the many ways to write a time. */

/** A cell as the file format gives it: text, a number, microseconds since 1970, or nothing. */
export type Cell = string | number | { readonly epochUs: number } | null;

/** Cells that say "nothing here". */
const HOLES = new Set([
  '',
  '-',
  '--',
  '---',
  'na',
  'n/a',
  'nan',
  'null',
  'none',
  '?',
  '–',
  '—',
  'k.a.',
  'k. a.',
]);

export function isHole(text: string): boolean {
  return HOLES.has(text.toLowerCase());
}

const PLAIN = /^[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$/;
const COMMA = /^[-+]?\d*,\d+([eE][-+]?\d+)?$/;
const GROUPED_BY_POINT = /^[-+]?[1-9]\d{0,2}(\.\d{3})+(,\d+)?$/;
const GROUPED_BY_COMMA = /^[-+]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?$/;
/** Blanks of three kinds and two apostrophes part thousands where neither mark does (ISO 80000-1: a small space). */
const GROUPED_BY_GAP = /^[-+]?[1-9]\d{0,2}([ \u00a0\u202f'’]\d{3})+([.,]\d+)?$/;

/**
 * Numbers as one table writes them. The first number that is clear decides which mark is the decimal one; the other then
 * groups thousands, and a number that fits neither way is refused rather than guessed.
 */
export class NumberReader {
  #decimal: '.' | ',' | null = null;
  readonly #commaSeparates: boolean;

  /** @param commaSeparates the comma also parts the cells, so a quoted "1,234" alone could be either. */
  constructor(commaSeparates: boolean) {
    this.#commaSeparates = commaSeparates;
  }

  /** Which mark is the decimal one, from the cells of a row that make it clear; nothing once that is known. */
  learn(cells: readonly Cell[]): void {
    for (const cell of cells) {
      if (this.#decimal !== null) return;
      if (typeof cell === 'string') this.read(cell.trim());
    }
  }

  /** The number, or null when the text is none (holes are the caller's business). */
  read(text: string): number | null {
    if (PLAIN.test(text)) {
      if (!text.includes('.')) return finite(Number(text));
      if (this.#decimal === ',') return GROUPED_BY_POINT.test(text) ? finite(ungrouped(text, '.')) : null;
      this.#decimal = '.';
      return finite(Number(text));
    }
    if (GROUPED_BY_GAP.test(text)) return this.read(text.replace(/[^-+\d.,]/g, ''));
    if (COMMA.test(text)) {
      const grouped = GROUPED_BY_COMMA.test(text);
      if (this.#decimal === '.') return grouped ? finite(ungrouped(text, ',')) : null;
      if (this.#decimal === null && this.#commaSeparates && grouped) return null;
      this.#decimal = ',';
      return finite(Number(text.replace(',', '.')));
    }
    if (GROUPED_BY_POINT.test(text)) return finite(ungrouped(text, '.'));
    return GROUPED_BY_COMMA.test(text) ? finite(ungrouped(text, ',')) : null;
  }
}

const ungrouped = (text: string, mark: '.' | ','): number =>
  Number(text.replaceAll(mark, '').replace(',', '.'));

const finite = (n: number): number | null => (Number.isFinite(n) ? n : null);

const DATE_TIME =
  /^(\d{4})-(\d{2})-(\d{2})[T ](\d{2}):(\d{2}):(\d{2})(?:[.,](\d{1,9}))?\s*(Z|UTC|[+-]\d{2}:?\d{2})?$/i;
const CLOCK = /^(\d{1,3}):(\d{2}):(\d{2})(?:[.,](\d{1,9}))?(?:\s?([ap])\.?m\.?)?$/i;
const DATED = /^(\d{1,2}[./]\d{1,2}[./]\d{2,4})[ T,]\s*(\d.*)$/;
const MINUTES = /^(\d{1,3}):(\d{2})[.,](\d{1,9})$/;

const fractionUs = (digits: string | undefined): number =>
  digits === undefined ? 0 : Math.round(Number(`0.${digits}`) * 1e6);

/** ISO 8601 date and time to the second or finer in microseconds since 1970; without a zone taken as UTC. Null when it is none. */
export function dateTimeUs(text: string): number | null {
  const m = DATE_TIME.exec(text);
  if (!m) return null;
  const [, y, mo, d, h, mi, s, fraction, zone = 'Z'] = m;
  if (Number(mo) < 1 || Number(mo) > 12 || Number(d) < 1 || Number(d) > 31) return null;
  if (Number(h) > 24 || Number(mi) > 59 || Number(s) > 60) return null;
  const ms = Date.UTC(Number(y), Number(mo) - 1, Number(d), Number(h), Number(mi), Number(s));
  const z = /^([+-])(\d{2}):?(\d{2})$/.exec(zone);
  const offsetMin = z ? (z[1] === '-' ? -1 : 1) * (Number(z[2]) * 60 + Number(z[3])) : 0;
  return (ms - offsetMin * 60_000) * 1000 + fractionUs(fraction);
}

/**
 * Time of day, hh:mm:ss with an optional fraction and AM or PM, after a day written with points or slashes, whichever of
 * its numbers is the month: only that it changes is used.
 * @returns microseconds since midnight, and the day as it is written; null when the text is none
 */
export function clockUs(text: string): { readonly us: number; readonly day: string } | null {
  const dated = DATED.exec(text);
  const m = CLOCK.exec(dated?.[2] ?? text);
  if (!m || Number(m[2]) > 59 || Number(m[3]) > 60) return null;
  const half = m[5]?.toLowerCase();
  if (half && (Number(m[1]) < 1 || Number(m[1]) > 12)) return null;
  const h = half ? (Number(m[1]) % 12) + (half === 'p' ? 12 : 0) : Number(m[1]);
  return {
    us: (h * 3600 + Number(m[2]) * 60 + Number(m[3])) * 1e6 + fractionUs(m[4]),
    day: dated?.[1] ?? '',
  };
}

/** mm:ss with a fraction (without one it could be hours and minutes), in microseconds. Null when it is none. */
export function minutesUs(text: string): number | null {
  const m = MINUTES.exec(text);
  if (!m || Number(m[2]) > 59) return null;
  return (Number(m[1]) * 60 + Number(m[2])) * 1e6 + fractionUs(m[3]);
}
