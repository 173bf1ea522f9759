/** What comes with a request, checked before anything is done with it; and how an answer goes out. */
import type { Response } from 'express';
import { z } from 'zod';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { whyUnfit } from '../core/unfit.ts';
import type { Written } from '../desk/written.ts';

/** The body of a request that says all by its path. */
export const nothing = z.strictObject({});

/** Parsed value, or input.usage naming the key and what was expected. */
export function checked<T>(schema: z.ZodType<T>, value: unknown, what: string): T {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  const issue = result.error.issues[0];
  const key = [what, ...(issue?.path ?? [])].filter((k) => k !== '').join('.') || 'body';
  throw new HandbackError(
    'input.usage',
    saying('error.field', { key, why: issue ? whyUnfit(issue) : saying('unfit.anyhow') }),
  );
}

/** Optional keys that were not sent are left out rather than undefined. */
export function withoutUndefined<T extends object>(value: object): T {
  return Object.fromEntries(Object.entries(value).filter(([, v]) => v !== undefined)) as T;
}

/** Aborts when the asker goes away before the answer: nobody need go on working for it. */
export function goneSignal(res: Response): AbortSignal {
  const gone = new AbortController();
  res.once('close', () => gone.abort());
  return gone.signal;
}

/** An answer that was written elsewhere, passed on as it is. */
export function send(res: Response, { json }: Written<unknown>): void {
  res.set('content-type', 'application/json; charset=utf-8');
  res.send(Buffer.from(json.buffer, json.byteOffset, json.length));
}
