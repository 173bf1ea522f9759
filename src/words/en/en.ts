/** English: all messages, one file a room. */
import type { Messages, Statements, Unfounded } from '../statements.ts';
import type { Language } from '../words.ts';
import { boost } from './boost.ts';
import { common } from './common.ts';
import { compare } from './compare.ts';
import { coolant } from './coolant.ts';
import { errors } from './errors.ts';
import { names } from './names.ts';
import { vehicle } from './vehicle.ts';

const messages = {
  ...common,
  ...names,
  ...compare,
  ...boost,
  ...coolant,
  ...errors,
  ...vehicle,
} as const satisfies Messages<Statements>;

/** Does not compile where a message uses an arg that its statement has not. */
const founded: Unfounded<Statements, typeof messages> extends never ? true : false = true;
void founded;

export const en: Language = { lang: 'en', locale: 'en-GB', rpm: 'rpm', messages };
