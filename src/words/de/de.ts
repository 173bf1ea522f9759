/** Deutsch: alle Meldungen, eine Datei je Raum. */
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

/** Übersetzt nicht, wo eine Meldung ein Argument braucht, das ihre Aussage nicht hat. */
const founded: Unfounded<Statements, typeof messages> extends never ? true : false = true;
void founded;

export const de: Language = { lang: 'de', locale: 'de-DE', rpm: '1/min', messages };
