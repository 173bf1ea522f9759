/** Two versions of the program, compiled as they ship, for measuring one against the other in one run. */
import { execFileSync } from 'node:child_process';
import { cpSync, mkdirSync, symlinkSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';

export const ROOT = resolve(import.meta.dirname, '../..');

/** The commit that what is here is measured against: the last one, where something was changed since, else the one before. */
export function theOneBefore(): string {
  const git = (...args: string[]): string =>
    execFileSync('git', args, { cwd: ROOT, encoding: 'utf8' }).trim();
  const changed = git('status', '--porcelain', '--', 'src', 'web') !== '';
  return git('rev-parse', '--short', changed ? 'HEAD' : 'HEAD~1');
}

function compiled(source: string, out: string): string {
  mkdirSync(join(out, 'web/assets'), { recursive: true });
  writeFileSync(join(out, 'web/index.html'), '<!doctype html><title>no page here</title>');
  cpSync(join(ROOT, 'package.json'), join(out, 'package.json'));
  symlinkSync(join(ROOT, 'node_modules'), join(out, 'node_modules'));
  const tsc = join(ROOT, 'node_modules/typescript-7/bin/tsc');
  execFileSync(process.execPath, [tsc, '-p', 'tsconfig.build.json', '--outDir', join(out, 'src')], {
    cwd: source,
    stdio: 'inherit',
  });
  return out;
}

/**
 * The sources as they were at a commit, with the packages of now.
 * @param scratch where they go; is there, and is the caller's to remove
 */
export async function withTree<T>(
  commit: string,
  scratch: string,
  use: (tree: string) => T | Promise<T>,
): Promise<T> {
  const tree = join(scratch, 'tree');
  const git = (...args: string[]): unknown => execFileSync('git', args, { cwd: ROOT, stdio: 'ignore' });
  git('worktree', 'add', '--detach', tree, commit);
  try {
    symlinkSync(join(ROOT, 'node_modules'), join(tree, 'node_modules'));
    return await use(tree);
  } finally {
    git('worktree', 'remove', '--force', tree);
  }
}

/**
 * The program as it was at a commit, and as it is now. Each is a folder with `src/**.js`; instead of the page it has an
 * empty one.
 * @param scratch as in `withTree`
 */
export const withBoth = <T>(
  commit: string,
  scratch: string,
  use: (old: string, now: string) => T | Promise<T>,
): Promise<T> =>
  withTree(commit, scratch, (tree) =>
    use(compiled(tree, join(scratch, 'before')), compiled(ROOT, join(scratch, 'now'))),
  );

/** The page as it was at a commit, built as it ships. @returns its folder, within scratch */
export const pageAt = (commit: string, scratch: string): Promise<string> =>
  withTree(commit, scratch, (tree) => {
    const out = join(scratch, 'page');
    const vite = join(ROOT, 'node_modules/vite/bin/vite.js');
    const env = { ...process.env, NODE_ENV: 'production' };
    execFileSync(process.execPath, [vite, 'build', '--logLevel', 'error', '--outDir', out], {
      cwd: tree,
      env,
    });
    return out;
  });
