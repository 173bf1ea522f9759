/**
 * Sentences of the analysis in the sheet's language and units. The analysis speaks English; the English catalogue
 * lists its sentences as patterns, the other catalogues say the same in theirs. A sentence that no pattern knows is
 * kept as it is: nothing is lost, and the sheet marks it as English.
 */
import type { Measures } from '../words/measures.ts';

/** Text, and whether every part of it is in the sheet's language. */
export interface Said {
  readonly text: string;
  readonly known: boolean;
}

/**
 * Holes of a pattern, {name:kind}. With its unit: temp (absolute), diff (difference), p (pressure), v (speed).
 * Without: tempn, diffn, pn. n: a plain number. w: a word or number taken over as it is. t: anything, itself translated. x: anything, kept as it is (names).
 */
const NUMBER = '[-−+]?\\d+(?:\\.\\d+)?';
const KINDS = {
  n: NUMBER,
  w: '[\\w./-]+',
  t: '.+?',
  x: '.+?',
  temp: `${NUMBER} °C`,
  tempn: NUMBER,
  diff: `${NUMBER} °C`,
  diffn: NUMBER,
  p: `${NUMBER} kPa`,
  pn: NUMBER,
  v: `${NUMBER} km/h`,
} as const;
type Kind = keyof typeof KINDS;

interface Pattern {
  readonly regex: RegExp;
  readonly holes: readonly { readonly name: string; readonly kind: Kind }[];
  readonly target: string;
}

const HOLE = /\{(\w+)(?::(\w+))?\}/g;
const MAX_DEPTH = 4;
const MOST_SENTENCES = 12;
/** Longer than any sentence of the analysis; longer text is somebody's own. */
const MAX_LENGTH = 2000;

export class Phrases {
  readonly #exact = new Map<string, string>();
  readonly #patterns: Pattern[] = [];
  readonly #measures: Measures;

  /** @param source the English catalogue's phrases, @param target the same keys in the language of the sheet */
  constructor(
    source: Readonly<Record<string, string>>,
    target: Readonly<Record<string, string>>,
    measures: Measures,
  ) {
    this.#measures = measures;
    for (const [key, pattern] of Object.entries(source)) {
      const to = target[key] ?? pattern;
      if (pattern.includes('{')) this.#patterns.push(compiled(pattern, to));
      else this.#exact.set(pattern, to);
    }
  }

  say(text: string): Said {
    const whole = this.#known(text, 0);
    if (whole !== null) return { text: whole, known: true };
    const parts = text.split(/(?<=[.:;]) (?=[A-Z])/);
    if (parts.length === 1 || text.length > MAX_LENGTH) return { text, known: false };
    // A rule may come with a remark behind it: what is known is found among the longest runs of sentences first.
    const said: string[] = [];
    let known = true;
    for (let i = 0; i < parts.length; ) {
      let j = Math.min(parts.length, i + MOST_SENTENCES);
      let found: string | null = null;
      for (; j > i; j--) {
        found = this.#known(parts.slice(i, j).join(' '), 0);
        if (found !== null) break;
      }
      said.push(found ?? parts[i]!);
      known &&= found !== null;
      i = Math.max(j, i + 1);
    }
    return { text: said.join(' '), known };
  }

  #known(text: string, depth: number): string | null {
    if (text.length > MAX_LENGTH || depth > MAX_DEPTH) return null;
    const exact = this.#exact.get(text);
    if (exact !== undefined) return exact;
    for (const p of this.#patterns) {
      const match = p.regex.exec(text);
      if (!match) continue;
      const values = new Map<string, string>();
      const ok = p.holes.every((hole, i) => {
        const value = this.#filled(hole.kind, match[i + 1]!, depth);
        if (value === null) return false;
        values.set(hole.name, value);
        return true;
      });
      if (ok) return p.target.replace(HOLE, (_, name: string) => values.get(name) ?? '');
    }
    return null;
  }

  #filled(kind: Kind, text: string, depth: number): string | null {
    const m = this.#measures;
    const value = Number(text.replace('−', '-').replace(/ .*$/, ''));
    const digits = /\.(\d+)/.exec(text)?.[1]?.length ?? 0;
    const plus = text.startsWith('+') ? '+' : '';
    switch (kind) {
      case 't':
        return this.#known(text, depth + 1);
      case 'w':
      case 'x':
        return text;
      case 'n':
        return plus + m.number(value, digits);
      case 'temp':
        return m.quantity(value, 'degC', false, digits);
      case 'tempn':
        return m.bare(value, 'degC', false, digits);
      case 'diff':
        return plus + m.quantity(value, 'degC', true, digits);
      case 'diffn':
        return plus + m.bare(value, 'degC', true, digits);
      case 'p':
        return plus + m.quantity(value, 'kPa', false, digits);
      case 'pn':
        return plus + m.bare(value, 'kPa', false, digits);
      case 'v':
        return m.quantity(value, 'km/h', false, digits);
    }
  }
}

function compiled(pattern: string, target: string): Pattern {
  const holes: { name: string; kind: Kind }[] = [];
  let source = '';
  let from = 0;
  for (const match of pattern.matchAll(HOLE)) {
    const kind = (match[2] ?? 'n') as Kind;
    source += `${literal(pattern.slice(from, match.index))}(${KINDS[kind]})`;
    holes.push({ name: match[1]!, kind });
    from = match.index + match[0].length;
  }
  source += literal(pattern.slice(from));
  return { regex: new RegExp(`^${source}$`, 'u'), holes, target };
}

const literal = (text: string): string => text.replace(/[\\^$.*+?()[\]{}|/]/g, '\\$&');
