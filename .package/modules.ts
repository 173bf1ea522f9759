/** Which packages the program imports, and which of their files it needs. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { builtinModules } from 'node:module';
import { join } from 'node:path';
import { madeFor, type Target } from './targets.ts';

interface Locked {
  readonly version: string;
  readonly license?: string;
  readonly dependencies?: Readonly<Record<string, string>>;
}

/** A package that is packed. */
export interface Module {
  /** As `node_modules/…` in the lock file. */
  readonly path: string;
  readonly name: string;
  readonly version: string;
  readonly license: string;
}

/** The package's name in `from 'name/inner'`, `import 'name'`, `import('name')`. */
const IMPORTED = /(?:\bfrom|\bimport|\bimport\()\s*['"]((?:@[\w.-]+\/)?[a-z0-9][\w.-]*)(?:\/[\w./-]*)?['"]/g;

/** What compiled files import from packages: their names, in order. */
export function importedBy(sources: Iterable<string>): string[] {
  const names = new Set<string>();
  for (const source of sources)
    for (const [, name] of source.matchAll(IMPORTED)) if (!builtinModules.includes(name!)) names.add(name!);
  return [...names].sort();
}

/** Those packages and all that they depend on, as the lock file places them. Optional ones stay out. */
export function closureOf(names: readonly string[], lock: unknown): Module[] {
  const { packages } = lock as { readonly packages: Readonly<Record<string, Locked>> };
  const found = new Map<string, Module>();
  const take = (name: string, from: string): void => {
    const path = placeOf(name, from, packages);
    if (path === null)
      throw new Error(`${name}, needed by ${from || 'the program'}, is not in the lock file`);
    if (found.has(path)) return;
    const { version, license = 'see its package', dependencies = {} } = packages[path]!;
    found.set(path, { path, name, version, license });
    for (const inner of Object.keys(dependencies)) take(inner, path);
  };
  for (const name of names) take(name, '');
  return [...found.values()].sort((a, b) => (a.path < b.path ? -1 : 1));
}

/** As Node.js looks: inside the one that asks, then in each folder above it. */
function placeOf(name: string, from: string, packages: Readonly<Record<string, unknown>>): string | null {
  for (let at = from; ; at = at.slice(0, Math.max(0, at.lastIndexOf('/node_modules/')))) {
    const path = at === '' ? `node_modules/${name}` : `${at}/node_modules/${name}`;
    if (path in packages) return path;
    if (at === '') return null;
  }
}

const LICENCE = /^(licen[cs]e|copying|notice)([.-].*)?$/i;
/** At the top of a package, never loaded by a program. */
const SIDE_FOLDERS = ['test', 'tests', '__tests__', 'docs', 'example', 'examples', 'benchmark', 'benchmarks'];

/** What a running program may load: code, data, native parts of the target, and each package's licence. */
export function neededOf(folder: string, target: Pick<Target, 'platform' | 'arch'>): Map<string, Buffer> {
  const needed = new Map<string, Buffer>();
  const look = (inner: string): void => {
    const entries = readdirSync(join(folder, inner), { withFileTypes: true });
    for (const entry of entries.sort((a, b) => (a.name < b.name ? -1 : 1))) {
      const path = inner === '' ? entry.name : `${inner}/${entry.name}`;
      if (entry.isDirectory()) {
        if (entry.name === 'node_modules' || (inner === '' && SIDE_FOLDERS.includes(entry.name))) continue;
        if (inner === 'prebuilds' && !serves(entry.name, target)) continue;
        look(path);
      } else if (isNeeded(entry.name)) {
        const bytes = readFileSync(join(folder, path));
        if (!entry.name.endsWith('.node') || madeFor(bytes)?.includes(`${target.platform}-${target.arch}`))
          needed.set(path, bytes);
      }
    }
  };
  if (!existsSync(folder)) throw new Error(`${folder} is missing: run npm ci`);
  look('');
  return needed;
}

function isNeeded(name: string): boolean {
  if (LICENCE.test(name)) return true;
  if (/\.musl\.node$/.test(name)) return false; // the runtime packed needs glibc, and so does what it loads
  return /\.(js|cjs|mjs|json|node)$/.test(name) && !/^tsconfig.*\.json$/.test(name);
}

/** `linux-x64`, `darwin-x64+arm64`. */
function serves(prebuild: string, { platform, arch }: Pick<Target, 'platform' | 'arch'>): boolean {
  const [system, archs = ''] = prebuild.split('-');
  return system === platform && archs.split('+').includes(arch);
}

/** The licence texts of a package, as it carries them. */
export function licencesOf(folder: string): string[] {
  return readdirSync(folder)
    .filter((name) => LICENCE.test(name))
    .sort()
    .map((name) => readFileSync(join(folder, name), 'utf8').replaceAll('\r\n', '\n').trim());
}
