/** How tests start the command line: the built program where it is newer than its sources, else the sources. */
import { existsSync, readdirSync, statSync } from 'node:fs';
import { join, resolve } from 'node:path';

export const ROOT = resolve(import.meta.dirname, '../..');
const BUILT = join(ROOT, 'dist/src/program/main.js');
const sources = (): string[] =>
  (readdirSync(join(ROOT, 'src'), { recursive: true }) as string[]).map((f) => join(ROOT, 'src', f));
const modifiedMs = (path: string): number => statSync(path).mtimeMs;
const fresh =
  existsSync(BUILT) &&
  modifiedMs(BUILT) > Math.max(...[...sources(), join(ROOT, 'package.json')].map(modifiedMs));

/** What Node.js gets to run `handback ARGS…`. */
export const argv = (...args: readonly string[]): string[] => [
  ...(fresh ? [BUILT] : ['--import', 'tsx', join(ROOT, 'src/cli/main.ts')]),
  ...args,
];
