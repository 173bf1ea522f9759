/** English: all messages, one file a room. */
import type { Messages, Statements, Unfounded } from '../statements.ts';
import type { Language } from '../words.ts';
import { check } from './check.ts';
import { codes } from './codes.ts';
import { compare } from './compare.ts';
import { errors } from './errors.ts';
import { live, manner } from './live.ts';
import { measurements } from './measurements.ts';
import { namesMore } from './names-more.ts';
import { rules } from './rules.ts';
import { visit } from './visit.ts';
import { refusals, wire } from './wire.ts';

const messages = {
  ...live,
  ...namesMore,
  ...check,
  ...compare,
  ...errors,
  ...rules,
  ...visit,
  ...wire,
} as const satisfies Messages<Statements>;

/** Does not compile where a message uses an arg that its statement has not. */
const founded: Unfounded<Statements, typeof messages> extends never ? true : false = true;
void founded;

export const en: Language = { ...manner, messages: { ...messages, ...measurements, ...codes, ...refusals } };
