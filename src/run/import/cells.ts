/** What a table's cells say: numbers with either decimal mark, and the many ways to write a time. */

/** A cell as the file format gives it: text, a number, microseconds since 1970, or nothing. */
export type Cell = string | number | { readonly epochUs: number } | null;

/** Cells that say "nothing here". */
const HOLES = new Set(['', '-', '--', '---', 'na', 'n/a', 'nan', 'null', 'none', '?']);

export function isHole(text: string): boolean {
  return HOLES.has(text.toLowerCase());
}

const PLAIN = /^[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$/;
const COMMA = /^[-+]?\d*,\d+([eE][-+]?\d+)?$/;
const MAYBE_GROUPED = /^[-+]?[1-9]\d{0,2},\d{3}$/;
const GROUPED_BY_POINT = /^[-+]?\d{1,3}(\.\d{3})+,\d+$/;
const GROUPED_BY_COMMA = /^[-+]?\d{1,3}(,\d{3})+\.\d+$/;

/**
 * Numbers as one table writes them. The first number with a mark decides which mark is the decimal one; a number
 * that later reads differently is refused rather than guessed.
 */
export class NumberReader {
  #decimal: '.' | ',' | null = null;
  readonly #commaSeparates: boolean;

  /** @param commaSeparates the comma also parts the cells, so a quoted "1,234" could be either and is refused. */
  constructor(commaSeparates: boolean) {
    this.#commaSeparates = commaSeparates;
  }

  /** The number, or null when the text is none (holes are the caller's business). */
  read(text: string): number | null {
    if (PLAIN.test(text)) {
      if (text.includes('.')) {
        if (this.#decimal === ',') return null;
        this.#decimal = '.';
      }
      return finite(Number(text));
    }
    if (!text.includes(',')) return null;
    if (COMMA.test(text)) {
      if (this.#decimal === '.') return null;
      if (this.#decimal === null && this.#commaSeparates && MAYBE_GROUPED.test(text)) return null;
      this.#decimal = ',';
      return finite(Number(text.replace(',', '.')));
    }
    if (GROUPED_BY_POINT.test(text)) return finite(Number(text.replaceAll('.', '').replace(',', '.')));
    if (GROUPED_BY_COMMA.test(text)) return finite(Number(text.replaceAll(',', '')));
    return null;
  }
}

const finite = (n: number): number | null => (Number.isFinite(n) ? n : null);

const DATE_TIME =
  /^(\d{4})-(\d{2})-(\d{2})[T ](\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?\s*(Z|UTC|[+-]\d{2}:?\d{2})?$/i;
const CLOCK = /^(\d{1,3}):(\d{2}):(\d{2})(?:[.,](\d{1,9}))?$/;

const fractionUs = (digits: string | undefined): number =>
  digits === undefined ? 0 : Math.round(Number(`0.${digits}`) * 1e6);

/** ISO 8601 date and time in microseconds since 1970; without a zone taken as UTC. Null when it is none. */
export function dateTimeUs(text: string): number | null {
  const m = DATE_TIME.exec(text);
  if (!m) return null;
  const [, y, mo, d, h, mi, s = '0', fraction, zone = 'Z'] = m;
  if (Number(mo) < 1 || Number(mo) > 12 || Number(d) < 1 || Number(d) > 31) return null;
  if (Number(h) > 24 || Number(mi) > 59 || Number(s) > 60) return null;
  const ms = Date.UTC(Number(y), Number(mo) - 1, Number(d), Number(h), Number(mi), Number(s));
  const z = /^([+-])(\d{2}):?(\d{2})$/.exec(zone);
  const offsetMin = z ? (z[1] === '-' ? -1 : 1) * (Number(z[2]) * 60 + Number(z[3])) : 0;
  return (ms - offsetMin * 60_000) * 1000 + fractionUs(fraction);
}

/** hh:mm:ss with an optional fraction, in microseconds. Null when it is none. */
export function clockUs(text: string): number | null {
  const m = CLOCK.exec(text);
  if (!m || Number(m[2]) > 59 || Number(m[3]) > 60) return null;
  return (Number(m[1]) * 3600 + Number(m[2]) * 60 + Number(m[3])) * 1e6 + fractionUs(m[4]);
}
