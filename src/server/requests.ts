/** What comes with a request, checked before anything is done with it. */
import type { z } from 'zod';
import { HandbackError } from '../core/errors.ts';

/** Parsed value, or input.usage naming the key and what was expected. */
export function checked<T>(schema: z.ZodType<T>, value: unknown, what: string): T {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  const issue = result.error.issues[0];
  const key = [what, ...(issue?.path ?? [])].filter((k) => k !== '').join('.') || 'body';
  throw new HandbackError('input.usage', `${key}: ${issue?.message ?? 'not understood'}`);
}

/** Optional keys that were not sent are left out rather than undefined. */
export function withoutUndefined<T extends object>(value: object): T {
  return Object.fromEntries(Object.entries(value).filter(([, v]) => v !== undefined)) as T;
}
