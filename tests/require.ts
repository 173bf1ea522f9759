/** Skips a test whose outside tool is absent, saying why; with REQUIRE_ALL=1 the skip is a failure. */
import { existsSync } from 'node:fs';
import { delimiter, join, resolve } from 'node:path';
import { it } from 'vitest';

/** `it`, or a skipped `it` with the reason in its name when `present` is false and skipping is allowed. */
export function needs(
  present: boolean,
  reason: string,
): (name: string, fn: () => unknown, ms?: number) => void {
  if (present) return it;
  return (name, _fn) => {
    if (process.env.REQUIRE_ALL === '1')
      it(name, () => {
        throw new Error(`required but absent: ${reason}`);
      });
    else it.skip(`${name} [skipped: ${reason}]`, () => undefined);
  };
}

/** The folder with open drives and the outside decoder, which never belongs to the repository. */
export const SHARED = process.env.HANDBACK_SHARED ?? resolve(import.meta.dirname, '../../shared');

export const hasShared = (part: string): boolean => existsSync(join(SHARED, part));

export function onPath(program: string): boolean {
  return (process.env.PATH ?? '').split(delimiter).some((dir) => existsSync(join(dir, program)));
}
