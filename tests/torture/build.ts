/** Compiles the programs that are run as processes of their own: a transpiling loader would count as their memory. */
import { execFileSync } from 'node:child_process';
import { cpSync, mkdirSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';

/** How many old objects there may be before the dead are collected: as a daemon sets it for its threads (`src/cli/lean.ts`). */
export const READING_FLAGS = ['--heap-growing-percent=30'] as const;
/** As the packed program gives them. */
export const START_FLAGS = ['--max-semi-space-size=4', '--max-old-space-size=512'] as const;

const ROOT = resolve(import.meta.dirname, '../..');

/** @returns the folder with the compiled programs */
export function buildChildren(): string {
  execFileSync(process.execPath, [
    join(ROOT, 'node_modules/typescript-7/bin/tsc'),
    '-p',
    join(ROOT, 'tests/torture/tsconfig.json'),
  ]);
  const built = join(ROOT, 'dist/torture');
  mkdirSync(join(built, 'web/assets'), { recursive: true });
  writeFileSync(join(built, 'web/index.html'), '<!doctype html><title>no page here</title>');
  cpSync(join(ROOT, 'package.json'), join(built, 'package.json'));
  return join(built, 'tests/torture');
}
