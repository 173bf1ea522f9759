/** English: meanings of trouble codes (from memory of SAE J2012, in own words), by code. */
import { CODE_NAMES } from '../../j1979/dtc-names.ts';

/** What is said of codes that have no wording of the standard here. */
const others = {
  'code-kind.maker': "maker's own code: see the maker's handbook",
  'code-kind.unknown': 'standard code without a description here: look it up',
  'code-kind.none': 'not a trouble code',
} as const;
export type OtherCodes = { readonly [Id in keyof typeof others]: string };

export const codes: Readonly<Record<string, string>> = {
  ...others,
  ...Object.fromEntries(Object.entries(CODE_NAMES).map(([code, text]) => [`code.${code}`, text])),
};
