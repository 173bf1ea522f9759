/** Why a value is not there. A missing value is never a number: each kind leads to a different next step. */

export type Absence =
  | { readonly absent: 'never asked' }
  | { readonly absent: 'unsupported' }
  | { readonly absent: 'no answer' }
  | { readonly absent: 'negative response'; readonly code: number }
  | { readonly absent: 'implausible'; readonly why: string }
  | { readonly absent: 'malformed'; readonly why: string };

export function isAbsence(x: unknown): x is Absence {
  return typeof x === 'object' && x !== null && 'absent' in x;
}
