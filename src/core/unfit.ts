/** What is wrong with data from outside, by the first thing that a schema finds in it. */

import type { z } from 'zod';
import { saying } from './error-says.ts';
import { asIs, type Says } from './says.ts';

/** @param where path or name of what was read */
export function unfit(where: string, { issues: [issue] }: z.ZodError): Says {
  const why = issue ? whyUnfit(issue) : saying('unfit.anyhow');
  const key = issue?.path.join('.') ?? '';
  return key === '' ? saying('error.whole', { where, why }) : saying('error.key', { where, key, why });
}

/** An issue of a schema; the rarer kinds come with the schema library's own English. */
export function whyUnfit(issue: z.core.$ZodIssue): Says {
  switch (issue.code) {
    case 'invalid_type':
      return saying('unfit.kind', { expected: issue.expected });
    case 'too_small':
      return saying('unfit.small', { least: String(issue.minimum), of: issue.origin });
    case 'too_big':
      return saying('unfit.big', { most: String(issue.maximum), of: issue.origin });
    case 'invalid_value':
      return saying('unfit.value', { known: issue.values.map(String).join(', ') });
    case 'unrecognized_keys':
      return saying('unfit.keys', { keys: issue.keys.join(', ') });
    case 'invalid_format':
      return saying('unfit.form', { form: issue.format });
    case 'invalid_union':
      return saying('unfit.anyhow');
    default:
      return asIs(issue.message);
  }
}
