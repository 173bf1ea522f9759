/** Saves of one job by several people at once: field by field, against what each of them had seen. Pure. */
import { isDeepStrictEqual } from 'node:util';
import type { Job, JobFields } from './job.ts';

/** Made of keys of their own, each of which is merged by itself. */
const OF_KEYS = ['profile', 'sheet', 'comeBack'] as const;
type OfKeys = (typeof OF_KEYS)[number];
const isOfKeys = (name: string): name is OfKeys => (OF_KEYS as readonly string[]).includes(name);

export interface Merged {
  readonly job: Job;
  /** What stays as it is, as "complaint" or "profile.fanOnC": somebody else changed it since it was seen. */
  readonly conflicts: readonly string[];
}

/**
 * Sets the fields that are given. Of those in `was` only what still is as it was seen: a field changed since is left
 * alone and named, unless it says the same already. With `was`, `profile`, `sheet` and `comeBack` are merged key by key, and a key
 * that is in neither stays; without, they are set whole.
 */
export function mergeFields(job: Job, fields: JobFields, was: JobFields = {}): Merged {
  const conflicts: string[] = [];
  const next: Record<string, unknown> = { ...job };
  for (const [name, value] of Object.entries(fields)) {
    if (value === undefined) continue;
    const now = next[name];
    if (!Object.hasOwn(was, name)) next[name] = value;
    else if (isOfKeys(name))
      next[name] = keysMerged(name, job[name], value as object, was[name] ?? {}, conflicts);
    else if (stands(now, value, was[name as keyof JobFields])) next[name] = value;
    else conflicts.push(name);
  }
  return { job: next as Job, conflicts };
}

function keysMerged(name: OfKeys, now: object, value: object, was: object, conflicts: string[]): object {
  const out = new Map<string, unknown>(Object.entries(now));
  const [given, seen] = [new Map(Object.entries(value)), new Map(Object.entries(was))];
  for (const key of new Set([...given.keys(), ...seen.keys()])) {
    const [next, before] = [given.get(key), seen.get(key)];
    if (isDeepStrictEqual(next, before)) continue; // not what was changed
    if (!stands(out.get(key), next, before)) conflicts.push(`${name}.${key}`);
    else if (next === undefined) out.delete(key);
    else out.set(key, next);
  }
  return Object.fromEntries(out);
}

const stands = (now: unknown, next: unknown, was: unknown): boolean =>
  isDeepStrictEqual(now, was) || isDeepStrictEqual(now, next);
