/**
 * The dialects that are known: one entry each. Its key is its name in options and captures; one without the statement
 * `dialect.NAME` in `wire-says.ts`, and its words in each language, does not compile. Order is the order of the search.
 */

import { HandbackError } from '../core/errors.ts';
import { asIs, type Says } from '../core/says.ts';
import { say } from '../core/wire-says.ts';
import { atDialect } from './at/dialect.ts';
import type { DialectEntry } from './dialect.ts';
import { slcanDialect } from './slcan/dialect.ts';

const OWN = { at: atDialect, slcan: slcanDialect } as const satisfies Readonly<Record<string, DialectEntry>>;

interface Known {
  readonly family: string;
  readonly title: Says;
  readonly entry: DialectEntry;
}

const DIALECTS: Known[] = [];

/**
 * @param family lower-case letters and digits
 * @param title what people call it
 * @returns takes it away again
 * @throws HandbackError internal when its name is taken or no name
 */
export function addDialect(family: string, title: Says, entry: DialectEntry): () => void {
  if (!/^[a-z][a-z0-9]{0,15}$/.test(family) || DIALECTS.some((d) => d.family === family))
    throw new HandbackError('internal', asIs(`a dialect cannot be named "${family}"`));
  const known = { family, title, entry };
  DIALECTS.push(known);
  return () => void DIALECTS.splice(DIALECTS.indexOf(known), 1);
}

for (const family of Object.keys(OWN) as (keyof typeof OWN)[])
  addDialect(family, say(`dialect.${family}`), OWN[family]);

export function families(): readonly string[] {
  return DIALECTS.map((d) => d.family);
}

/** To choose from. */
export const dialectTitles = (): { readonly family: string; readonly title: Says }[] =>
  DIALECTS.map(({ family, title }) => ({ family, title }));

/** @throws HandbackError internal for a name that nobody has checked */
export const dialectOf = (family: string): DialectEntry => known(family).entry;

/** @throws HandbackError internal for a name that nobody has checked */
export const titleOf = (family: string): Says => known(family).title;

function known(family: string): Known {
  const found = DIALECTS.find((d) => d.family === family);
  if (!found) throw new HandbackError('internal', asIs(`no dialect is named "${family}"`));
  return found;
}
