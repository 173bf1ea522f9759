/** Compiles the programs that are run as processes of their own: a transpiling loader would count as their memory. */
import { execFileSync } from 'node:child_process';
import { join, resolve } from 'node:path';

/** As in `npm start`: young objects are collected often, and the process stays small. */
export const MEMORY_FLAG = '--max-semi-space-size=1';

const ROOT = resolve(import.meta.dirname, '../..');

/** @returns the folder with the compiled programs */
export function buildChildren(): string {
  execFileSync(process.execPath, [
    join(ROOT, 'node_modules/typescript/bin/tsc'),
    '-p',
    join(ROOT, 'tests/torture/tsconfig.json'),
  ]);
  return join(ROOT, 'dist/torture/tests/torture');
}
