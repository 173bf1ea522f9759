/** A part of some work, so that many computers may do it: "3/16" is the third of sixteen. */
import { saying } from './error-says.ts';
import { HandbackError } from './errors.ts';

export interface Share {
  readonly k: number;
  readonly of: number;
}

export const WHOLE: Share = { k: 1, of: 1 };

/** @throws HandbackError input.usage */
export function shareIn(text: string, most: number): Share {
  const [, k = 0, of = 0] = (/^(\d{1,6})\/(\d{1,6})$/.exec(text) ?? []).map(Number);
  if (of < 1 || of > most || k < 1 || k > of)
    throw new HandbackError('input.usage', saying('error.share', { text }), {
      hint: saying('error.share-hint', { most }),
    });
  return { k, of };
}

/** Whether a thing with this number, the same on every computer, is in the share. */
export const inShare = (number: number, { k, of }: Share): boolean => number % of === k - 1;
