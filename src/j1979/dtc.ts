/** Trouble codes: two bytes and the letter-and-digit form, both ways, with what may be said about each. */
import type { Says } from '../core/says.ts';
import type { CodeMeaning } from '../core/snapshot.ts';
import { CODE_NAMES } from './dtc-names.ts';
import { FAILURE_TYPES, type FailureType } from './failure-types.ts';

const LETTERS = ['P', 'C', 'B', 'U'] as const;

/** 0x1F, 0x42 → "P1F42". From memory of SAE J2012: two bits letter, two bits first digit, three hex digits. */
export function codeText(high: number, low: number): string {
  const digits = (((high & 0x3f) << 8) | low).toString(16).toUpperCase().padStart(4, '0');
  return LETTERS[high >> 6]! + digits;
}

/** "P1F42" → [0x1F, 0x42]; null when the text is no code. */
export function codeBytes(text: string): [high: number, low: number] | null {
  const match = /^([PCBU])([0-3][0-9A-F]{3})$/.exec(text.toUpperCase());
  if (!match) return null;
  const number =
    (LETTERS.indexOf(match[1] as (typeof LETTERS)[number]) << 14) | Number.parseInt(match[2]!, 16);
  return [number >> 8, number & 0xff];
}

/**
 * Three bytes, the last one the failure type: "P0299-77"; "P0299" where that is 00, "not said". From memory of SAE
 * J2012-DA and ISO 14229-1, Annex D.
 */
export function typedCodeText(high: number, low: number, type: number): string {
  const code = codeText(high, low);
  return type === 0 ? code : `${code}-${type.toString(16).toUpperCase().padStart(2, '0')}`;
}

/** "P0299-77" → [0x02, 0x99, 0x77], "P0299" → [0x02, 0x99, 0x00]; null when the text is no code. */
export function typedCodeBytes(text: string): [high: number, low: number, type: number] | null {
  const [base = '', type = '00', ...more] = text.split('-');
  const bytes = codeBytes(base);
  if (!bytes || more.length > 0 || !/^[0-9A-F]{2}$/i.test(type)) return null;
  return [...bytes, Number.parseInt(type, 16)];
}

/** A code without its failure type: what its description goes by. */
function baseOfCode(code: string): string {
  return code.replace(/-[0-9A-F]{2}$/, '');
}

/** What a code says; codes not known are shown as such, never guessed from their neighbours. */
export function codeMeaning(code: string): CodeMeaning {
  const id = codeMeaningId(code);
  const name = CODE_NAMES[baseOfCode(code)];
  const failure = failureOf(code);
  const typed =
    failure === null
      ? ''
      : `; ${failure.known ? FAILURE_TYPES[failure.known] : `failure type ${failure.type}`}`;
  if (id.startsWith('code.') && name !== undefined)
    return { text: name + typed, source: 'from memory of SAE J2012' };
  return { text: OTHER_CODES[id as keyof typeof OTHER_CODES] + typed, source: null };
}

/** The same as a statement, failure type included. */
export function codeSays(code: string): Says {
  const meaning: Says = { id: codeMeaningId(code), args: {} };
  const failure = failureOf(code);
  if (failure === null) return meaning;
  const { known, type } = failure;
  const said: Says = known
    ? { id: `code-failure.${known}`, args: {} }
    : { id: 'code-failure.other', args: { type } };
  return { id: 'code-typed', args: { meaning, failure: said } };
}

/** "P0299-77" → 77; null where the code does not say. */
function failureOf(code: string): { readonly type: string; readonly known: FailureType | null } | null {
  const type = /-([0-9A-F]{2})$/.exec(code)?.[1];
  if (type === undefined) return null;
  return { type, known: Object.hasOwn(FAILURE_TYPES, type) ? (type as FailureType) : null };
}

/** In English, by the ids of the catalogues. */
export const OTHER_CODES = {
  'code-kind.maker': "maker's own code: see the maker's handbook",
  'code-kind.unknown': 'standard code without a description here: look it up',
  'code-kind.none': 'not a trouble code',
} as const;

/** Under which id a code's meaning, without its failure type, stands in the catalogue of a language. */
function codeMeaningId(code: string): string {
  const base = baseOfCode(code);
  if (Object.hasOwn(CODE_NAMES, base)) return `code.${base}`;
  if (!codeBytes(base)) return 'code-kind.none';
  return isMakerSpecific(code) ? 'code-kind.maker' : 'code-kind.unknown';
}

/** From memory of SAE J2012: P1, P30–P33, C1, C2, B1, B2, U1, U2 belong to the maker, the rest is common. */
function isMakerSpecific(code: string): boolean {
  return /^(P1|P3[0-3]|[CBU][12])/.test(code);
}
