/** The dialects that are known: one entry each. Order is the order of the search. */

import { HandbackError } from '../core/errors.ts';
import { asIs } from '../core/says.ts';
import { atDialect } from './at/dialect.ts';
import type { DialectEntry } from './dialect.ts';
import { slcanDialect } from './slcan/dialect.ts';

const DIALECTS: DialectEntry[] = [];

/** @throws HandbackError internal when its name is taken or no name */
export function addDialect(entry: DialectEntry): void {
  if (!/^[a-z][a-z0-9]{0,15}$/.test(entry.family) || DIALECTS.some((d) => d.family === entry.family))
    throw new HandbackError('internal', asIs(`a dialect cannot be named "${entry.family}"`));
  DIALECTS.push(entry);
}

addDialect(atDialect);
addDialect(slcanDialect);

export function families(): readonly string[] {
  return DIALECTS.map((d) => d.family);
}

/** @throws HandbackError internal for a name that nobody has checked */
export function dialectOf(family: string): DialectEntry {
  const entry = DIALECTS.find((d) => d.family === family);
  if (!entry) throw new HandbackError('internal', asIs(`no dialect is named "${family}"`));
  return entry;
}
