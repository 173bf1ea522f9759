/**
 * Data with statements in it as JSON for scripts and the page: each statement becomes its English sentence (metric), and
 * the object that holds it gains `says`, field name to `{ id, args }`, or to several where the field lists statements.
 * Everything else stays as it is.
 */
import { sayErrorsWith } from '../core/errors.ts';
import { asIs, isSays, type Says } from '../core/says.ts';
import { en } from './en/en.ts';
import { METRIC } from './measures.ts';
import { Words } from './words.ts';

/** Field name to what it says. */
export type SaysOf = Readonly<Record<string, Says | readonly Says[]>>;

/** `T` as it travels. */
export type Spelled<T> = T extends Says
  ? string
  : T extends readonly unknown[]
    ? { readonly [K in keyof T]: Spelled<T[K]> }
    : T extends object
      ? { readonly [K in keyof T]: Spelled<T[K]> } & { readonly says?: SaysOf }
      : T;

export const english = new Words(en, METRIC, 'UTC');
sayErrorsWith((says) => english.say(says));

export function spelled<T>(value: T): Spelled<T> {
  return walked(value) as Spelled<T>;
}

/** The statement behind a field of what was spelled, for another language; null where the field is. */
export function behind<T extends object>(holder: T, field: keyof T & string): Says | null {
  const says = (holder as { readonly says?: SaysOf }).says?.[field];
  if (isSays(says)) return says;
  const text = holder[field] as unknown;
  return text === null || text === undefined ? null : asIs(String(text));
}

function walked(value: unknown): unknown {
  if (isSays(value)) return english.say(value);
  if (Array.isArray(value)) return value.map(walked);
  if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value)) return value;
  const out: Record<string, unknown> = {};
  const says: Record<string, Says | Says[]> = {};
  for (const [key, part] of Object.entries(value)) {
    // What was spelled before stays so.
    out[key] = key === 'says' && !isSays(part) ? part : walked(part);
    if (isSays(part) || (Array.isArray(part) && part.length > 0 && part.every(isSays))) says[key] = part;
  }
  // Not as a copy with more behind it: that gets a shape of its own each time, and views are kept.
  if (Object.keys(says).length > 0)
    out.says = out.says === undefined ? says : { ...(out.says as SaysOf), ...says };
  return out;
}
