/** What is typed behind an option, and the profile that it names: without anything that reads recordings. */
import { readFile } from 'node:fs/promises';
import { InvalidArgumentError } from 'commander';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { type Profile, profileSchema } from '../core/profile.ts';
import { unfit } from '../core/unfit.ts';

/** @throws HandbackError input.file, input.profile naming the key and what was expected */
export async function readProfile(path: string): Promise<Profile> {
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (thrown) {
    throw new HandbackError('input.file', saying('error.profile-not-read', { path, why: toldOf(thrown) }));
  }
  let json: unknown;
  try {
    json = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (thrown) {
    throw new HandbackError('input.profile', saying('error.profile-no-json', { path, why: toldOf(thrown) }));
  }
  return parseProfile(json, path);
}

/** @throws HandbackError input.profile */
function parseProfile(json: unknown, where: string): Profile {
  const parsed = profileSchema.safeParse(json);
  if (parsed.success) return parsed.data;
  throw new HandbackError('input.profile', unfit(where, parsed.error), {
    hint: saying('error.profile-hint', { example: '{"induction":"turbocharger","fuel":"diesel"}' }),
  });
}

/** For options that may be given several times. */
export function collect(value: string, before: readonly string[]): readonly string[] {
  return [...before, value];
}

/** A commander parser for a number within bounds. */
export function numberIn(low: number, high: number, whole = true): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (text.trim() === '' || !Number.isFinite(value) || value < low || value > high)
      throw new InvalidArgumentError(`expected a number from ${low} to ${high}.`);
    if (whole && !Number.isInteger(value)) throw new InvalidArgumentError('expected a whole number.');
    return value;
  };
}
