/** English: meanings of trouble codes (from memory of SAE J2012, in own words), by code. */
import { OTHER_CODES } from '../../j1979/dtc.ts';
import { CODE_NAMES } from '../../j1979/dtc-names.ts';
import { FAILURE_TYPES } from '../../j1979/failure-types.ts';

/** What is said of codes that have no wording of the standard here. */
export type OtherCodes = { readonly [Id in keyof typeof OTHER_CODES]: string };

export const codes: Readonly<Record<string, string>> = {
  ...OTHER_CODES,
  ...Object.fromEntries(Object.entries(CODE_NAMES).map(([code, text]) => [`code.${code}`, text])),
  'code-typed': '{$meaning :says}; {$failure :says}',
  'code-failure.other': 'failure type {$type}',
  ...Object.fromEntries(Object.entries(FAILURE_TYPES).map(([type, text]) => [`code-failure.${type}`, text])),
};
