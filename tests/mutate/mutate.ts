/**
 * Do the tests notice when the code is wrong? `npm run mutate -- PATH… [--count N] [--seed S] [--timeout SECONDS]
 * [--keep] [--tests FILE]…`
 * changes one thing at a time in the modules named (files or folders of src/) and runs the test files that import
 * the module themselves, and those named with --tests, which reach it through another. The work tree is not touched:
 * the changed text stands in for the module in the test run only. Prints what survived as file:line and, at the end, one line of JSON with the share killed per module; with
 * --keep that goes into docs/reliability.md too.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, relative, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { seededRandom } from '../../src/core/random.ts';
import { type Mutant, mutantsOf } from './mutants.ts';
import { KEPT, kept, type Measured, mutationSection, TITLE } from './table.ts';

const ROOT = resolve(import.meta.dirname, '../..');
const CONFIG = join(import.meta.dirname, 'vitest.config.ts');
const VITEST = join(ROOT, 'node_modules/vitest/vitest.mjs');
const AT_A_TIME = 2;

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    count: { type: 'string' },
    seed: { type: 'string', default: '1' },
    timeout: { type: 'string', default: '120' },
    keep: { type: 'boolean', default: false },
    tests: { type: 'string', multiple: true, default: [] },
  },
});

type Outcome = 'killed' | 'timeout' | 'survived';

const below = (folder: string): string[] =>
  (readdirSync(folder, { recursive: true }) as string[])
    .filter((f) => /\.tsx?$/.test(f))
    .map((f) => join(folder, f))
    .sort();
const modules = positionals
  .map((p) => resolve(p))
  .flatMap((p) => (statSync(p).isDirectory() ? below(p) : [p]));

/** Test files that import a module themselves: what only reaches it through others takes minutes and tells little. */
const imports = new Map(
  below(join(ROOT, 'tests'))
    .filter((f) => f.endsWith('.test.ts'))
    .map((f) => {
      const found = readFileSync(f, 'utf8').matchAll(/(?:from|import\()\s*'(\.[^']+)'/g);
      return [f, new Set([...found].map((m) => resolve(dirname(f), m[1]!)))];
    }),
);
const testsOf = (module: string): string[] => [
  ...new Set([
    ...values.tests,
    ...[...imports].flatMap(([test, set]) => (set.has(module) ? [relative(ROOT, test)] : [])),
  ]),
];

/** Runs the tests with the text in place of the module. */
function tested(module: string, text: string, tests: readonly string[]): Promise<Outcome> {
  const folder = mkdtempSync(join(tmpdir(), 'handback-mutant-'));
  const path = join(folder, 'mutant.ts');
  writeFileSync(path, text);
  return new Promise((done) => {
    const child = spawn(process.execPath, [VITEST, 'run', '--config', CONFIG, ...tests], {
      cwd: ROOT,
      env: { ...process.env, MUTATED: module, MUTANT: path },
      stdio: 'ignore',
      detached: true, // a group of its own, so that an endless loop in a worker ends too
    });
    let late = false;
    const timer = setTimeout(() => {
      late = true;
      process.kill(-child.pid!, 'SIGKILL');
    }, Number(values.timeout) * 1000);
    child.once('close', (status) => {
      clearTimeout(timer);
      rmSync(folder, { recursive: true });
      done(late ? 'timeout' : status === 0 ? 'survived' : 'killed');
    });
  });
}

/** So many of them, drawn by the seed, in order of their lines. */
function sampled(all: readonly Mutant[], module: string): readonly Mutant[] {
  const count = values.count === undefined ? all.length : Number(values.count);
  const random = seededRandom(`${values.seed} ${relative(ROOT, module)}`);
  return all
    .map((mutant) => ({ mutant, drawn: random.next() }))
    .sort((a, b) => a.drawn - b.drawn)
    .slice(0, count)
    .map((x) => x.mutant)
    .sort((a, b) => a.line - b.line);
}

function keep(name: string, measured: Measured): void {
  writeFileSync(KEPT, `${JSON.stringify({ ...kept(), [name]: measured }, null, 2)}\n`);
  const page = join(ROOT, 'docs/reliability.md');
  const [before = '', after = ''] = readFileSync(page, 'utf8').split(TITLE);
  const next = after.indexOf('\n## ');
  writeFileSync(page, `${before.trimEnd()}\n\n${mutationSection()}${next < 0 ? '' : after.slice(next)}`);
}

const results: Record<string, unknown>[] = [];
for (const module of modules) {
  const name = relative(ROOT, module);
  const tests = testsOf(module);
  const source = readFileSync(module, 'utf8');
  const all = mutantsOf(source);
  if (tests.length === 0 || all.length === 0) {
    console.error(`${name}: ${all.length === 0 ? 'nothing to change' : 'no test file imports it'}`);
    continue;
  }
  if ((await tested(module, source, tests)) !== 'survived') {
    console.error(`${name}: its tests fail as it is`);
    process.exitCode = 1;
    continue;
  }
  const waiting = [...sampled(all, module)];
  const tried = waiting.length;
  const count = { killed: 0, timeout: 0, survived: 0 };
  const survivors: string[] = [];
  const worker = async (): Promise<void> => {
    for (let m = waiting.shift(); m; m = waiting.shift()) {
      const outcome = await tested(module, m.text, tests);
      count[outcome]++;
      if (outcome === 'survived') survivors.push(`${name}:${m.line} ${m.kind}: ${m.was} → ${m.is}`);
    }
  };
  await Promise.all(Array.from({ length: AT_A_TIME }, worker));
  for (const line of survivors) console.error(line);
  const killedPct = Math.round((1000 * (count.killed + count.timeout)) / tried) / 10;
  results.push({ module: name, mutants: all.length, tried, ...count, killedPct });
  if (values.keep)
    keep(name, {
      seed: values.seed,
      mutants: all.length,
      tried,
      killed: count.killed,
      timeout: count.timeout,
      survivors: [...survivors].sort(),
    });
  console.error(`${name}: ${count.killed + count.timeout} of ${tried} killed (${tests.join(' ')})`);
}
console.log(JSON.stringify({ seed: values.seed, results }));
