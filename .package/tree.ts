/** The program as it is laid out on the target, in memory: the same files with the same bytes from the same sources. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { completionOf } from '../src/cli/completions.ts';
import { manualOf } from '../src/cli/manual.ts';
import { handbackProgram } from '../src/cli/program.ts';
import { type ShownCommand, shownOf } from '../src/cli/shown.ts';
import { launchersOf, readMe } from './launchers.ts';
import { closureOf, importedBy, licencesOf, type Module, neededOf } from './modules.ts';
import { runtimeOf } from './runtime.ts';
import type { Entry, Tree } from './tar.ts';
import { madeFor, type Target } from './targets.ts';
import { windowlessLauncher } from './windows.ts';

export const ROOT = resolve(import.meta.dirname, '..');

/** Program and page, compiled afresh into a folder that is removed again; path → bytes. */
export function build(): Map<string, Buffer> {
  const folder = mkdtempSync(join(tmpdir(), 'handback-build-'));
  try {
    run('typescript-7/bin/tsc', ['-p', 'tsconfig.build.json', '--outDir', join(folder, 'src')]);
    const vite = (to: string, ...config: string[]) =>
      run('vite/bin/vite.js', [
        ...['build', '--logLevel', 'warn', ...config],
        ...['--outDir', join(folder, to), '--emptyOutDir'],
      ]);
    vite('web');
    vite('src/program', '-c', 'vite.program.config.ts');
    return new Map(
      filesBelow(folder).map((path) => [path, whereverMade(path, readFileSync(join(folder, path)))]),
    );
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Maps name their source by the way from the folder of the build, which is another each time. */
function whereverMade(path: string, bytes: Buffer): Buffer {
  if (!path.endsWith('.js.map')) return bytes;
  const map = JSON.parse(bytes.toString('utf8')) as { sources: string[] };
  map.sources = map.sources.map((source) => source.split('/').at(-1)!);
  return Buffer.from(JSON.stringify(map));
}

/** @param built as of `build` @param shown as of `shownProgram` */
export function treeOf(
  target: Target,
  built: ReadonlyMap<string, Buffer>,
  shown: readonly ShownCommand[],
): Tree {
  const files = new Map<string, Entry>();
  const put = (path: string, bytes: Buffer | string, program = false): void => {
    files.set(path, { bytes: Buffer.from(bytes), program });
  };
  const runtime = runtimeOf(target);
  const modules = modulesOf(built);
  put(`runtime/${target.platform === 'win32' ? 'node.exe' : 'node'}`, runtime.program, true);
  for (const [path, bytes] of built) put(`app/dist/${path}`, bytes);
  for (const { path } of modules)
    for (const [inner, bytes] of neededOf(join(ROOT, path), target)) put(`app/${path}/${inner}`, bytes);
  put('app/package.json', `${JSON.stringify(packageOfTheProgram(), null, 2)}\n`);
  put('LICENCES.txt', licences(modules, runtime.licence.toString('utf8'), target));
  put('README.txt', readMe(target, version()));
  for (const [path, text] of shellFiles(target, shown)) put(`${SHELL_FOLDER}/${path}`, text);
  for (const [path, bytes] of launchersOf(target)) put(path, bytes, true);
  if (target.platform === 'win32') put('Handback.exe', windowlessLauncher(), true);
  const made = new Map([...files].sort(([a], [b]) => (a < b ? -1 : 1)));
  refuseForeign(made, target);
  return made;
}

/** Manual and completions, made of the commands themselves. */
export const SHELL_FOLDER = 'shell';
export const shownProgram = async (): Promise<ShownCommand[]> => shownOf(await handbackProgram());
function shellFiles(target: Target, shown: readonly ShownCommand[]): [path: string, text: string][] {
  if (target.platform === 'win32') return [['handback.ps1', completionOf('powershell', shown)]];
  return [
    ['handback.1', manualOf(shown, version())],
    ['handback.bash', completionOf('bash', shown)],
    ['_handback', completionOf('zsh', shown)],
  ];
}

export const version = (): string => manifest().version;

/** What the rooms of the program import, with all that hangs on it. The page's packages are in the page already. */
export function modulesOf(built: ReadonlyMap<string, Buffer>): Module[] {
  const sources = [...built]
    .filter(([path]) => /^src\/(?!program\/).*\.js$/.test(path))
    .map(([, bytes]) => bytes.toString('utf8'));
  const lock: unknown = JSON.parse(readFileSync(join(ROOT, 'package-lock.json'), 'utf8'));
  return closureOf(importedBy(sources), lock);
}

const manifest = () =>
  JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as {
    readonly name: string;
    readonly version: string;
    readonly description: string;
  };

function packageOfTheProgram() {
  const { name, version, description } = manifest();
  return { name, version, description, private: true, type: 'module' };
}

/** Each text once, under the names of all packages that carry it. */
function licences(modules: readonly Module[], runtime: string, target: Target): string {
  const namesOf = new Map<string, string[]>();
  const add = (text: string, name: string): void =>
    void namesOf.set(text, [...(namesOf.get(text) ?? []), name]);
  add(runtime.trim(), `${target.runtime.name} ${target.runtime.version}: Node.js and what it is made of`);
  for (const m of modules) {
    const texts = licencesOf(join(ROOT, m.path));
    add(texts.join('\n\n') || 'No text of its own.', `${m.name} ${m.version}: ${m.license}`);
  }
  const parts = [...namesOf].map(([text, names]) => `${names.join('\n')}\n\n${text}`);
  const head = 'Licences of what is inside this package, beside Handback itself.';
  return `${[head, ...parts].join(`\n\n${'='.repeat(78)}\n\n`)}\n`;
}

/** A native part of another system would fail on the technician's desk, not here. */
function refuseForeign(tree: Tree, target: Target): void {
  for (const [path, { bytes }] of tree) {
    const made = madeFor(bytes);
    if (made !== null && !made.includes(`${target.platform}-${target.arch}`))
      throw new Error(`${path} is made for ${made.join(', ')}, not for ${target.platform}-${target.arch}`);
  }
}

function filesBelow(folder: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((path) => statSync(join(folder, path)).isFile())
    .map((path) => path.replaceAll('\\', '/'))
    .sort();
}

function run(program: string, args: readonly string[]): void {
  const { status, error } = spawnSync(process.execPath, [join(ROOT, 'node_modules', program), ...args], {
    cwd: ROOT,
    stdio: ['ignore', 'inherit', 'inherit'],
    env: { ...process.env, NODE_ENV: 'production' },
  });
  if (status !== 0) throw new Error(`${program} failed${error ? `: ${error.message}` : ''}`);
}
