/**
 * Do the tests notice when the code is wrong? `npm run mutate -- PATH… [--count N] [--seed S] [--timeout SECONDS]
 * [--keep] [--quick] [--tests FILE]… [--at-a-time N] [--known FILE]`
 * changes one thing at a time in the modules named (files or folders of src/). The test files of its own name come
 * first; what they do not notice in a module that judges is shown the drives of tests/judged, held ready in a process of
 * their own; what is left goes to the other test files that import the module (where none does, that import what imports
 * it), and to those named with --tests, which reach it through another. With --quick it is left at the tests of its own
 * name, or the quick ones of its room where there are none.
 * A change may take three times as long as the module as it is, or --timeout. What the drives said of a change is kept in
 * the file that --known names, and taken from there. The work tree is not touched: the changed text stands in for the
 * module in the test run only. Prints what survived as file:line and, at the end, one line of JSON with the share killed
 * per module; with --keep that goes into docs/reliability.md too.
 */
import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { basename, dirname, join, relative, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { seededRandom } from '../../src/core/random.ts';
import { HeldDrives, type Judged } from './drives.ts';
import { type Mutant, mutantsOf } from './mutants.ts';
import { KEPT, kept, type Measured, mutationSection, TITLE } from './table.ts';
import { type Outcome, Tests } from './tests.ts';

const ROOT = resolve(import.meta.dirname, '../..');
const AS_IT_IS_S = 1800;
const JUDGING = join(ROOT, 'src/analysis/');

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    count: { type: 'string' },
    seed: { type: 'string', default: '1' },
    timeout: { type: 'string' },
    'at-a-time': { type: 'string', default: '2' },
    keep: { type: 'boolean', default: false },
    quick: { type: 'boolean', default: false },
    known: { type: 'string' },
    tests: { type: 'string', multiple: true, default: [] },
  },
});

const below = (folder: string): string[] =>
  (readdirSync(folder, { recursive: true }) as string[])
    .filter((f) => /\.tsx?$/.test(f))
    .map((f) => join(folder, f))
    .sort();
const modules = positionals
  .map((p) => resolve(p))
  .flatMap((p) => (statSync(p).isDirectory() ? below(p) : [p]));

const importsOf = (folder: string): ReadonlyMap<string, ReadonlySet<string>> =>
  new Map(
    below(join(ROOT, folder)).map((f) => {
      const found = readFileSync(f, 'utf8').matchAll(/(?:from|import\()\s*'(\.[^']+)'/g);
      return [f, new Set([...found].map((m) => resolve(dirname(f), m[1]!)))];
    }),
  );
const bySource = importsOf('src');
const byTest = importsOf('tests');

/** Test files that import a module themselves: what only reaches it through others takes minutes and tells little. */
const direct = (module: string): string[] =>
  [...byTest].flatMap(([f, set]) => (f.endsWith('.test.ts') && set.has(module) ? [relative(ROOT, f)] : []));
/** Where none does, those that import what imports it, and so on up. */
function importing(module: string): string[] {
  const seen = new Set([module]);
  for (let level = [module]; level.length > 0; ) {
    const tests = level.flatMap(direct);
    if (tests.length > 0) return tests;
    level = level.flatMap((m) =>
      [...bySource].flatMap(([f, set]) => (set.has(m) && !seen.has(f) ? [f] : [])),
    );
    for (const m of level) seen.add(m);
  }
  return [];
}
/** The likeliest to notice first. */
const near = (test: string, module: string): number => {
  const name = basename(module).replace(/\.tsx?$/, '');
  const room = relative(ROOT, module).split('/')[1];
  const named = `-${basename(test)}`.includes(`-${name}.`);
  return (named ? 0 : 2) + (test.split('/')[1] === room ? 0 : 1);
};
/** It drives a car through the judging, or starts a browser. */
const isSlow = (test: string): boolean =>
  /\/(vehicle|hand-made|receiver-drive|browser)\.ts'/.test(readFileSync(join(ROOT, test), 'utf8'));
const testsOf = (module: string): string[] =>
  [...new Set([...values.tests, ...importing(module)])].sort(
    (a, b) => near(a, module) - near(b, module) || Number(isSlow(a)) - Number(isSlow(b)),
  );

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

const drives = new HeldDrives();
const runners = Array.from({ length: Number(values['at-a-time']) }, () => new Tests());
const known: Record<string, Judged> =
  values.known && existsSync(values.known) ? JSON.parse(readFileSync(values.known, 'utf8')) : {};

async function judgedByDrives(module: string, m: Mutant): Promise<Judged> {
  const key = createHash('sha256').update(m.text).digest('hex');
  known[key] ??= await drives.judge(module, m.text);
  if (values.known) writeFileSync(values.known, JSON.stringify(known));
  return known[key];
}

/** What the drives did not notice, in order of lines. */
async function pastDrives(module: string, mutants: readonly Mutant[], count: Count): Promise<Mutant[]> {
  const left: Mutant[] = [];
  for (const m of mutants) {
    const judged = await judgedByDrives(module, m);
    if (judged === 'as before') left.push(m);
    else if (judged === 'too long') count.timeout++;
    else count.killed++;
  }
  return left;
}

/** How long test files take that are known to pass, s. */
const tookS = new Map<string, number>();

/** What these tests did not notice, asked one after the other. @throws where one fails without any change */
async function pastTests(
  module: string,
  mutants: readonly Mutant[],
  count: Count,
  tests: readonly string[],
): Promise<readonly Mutant[]> {
  let left = mutants;
  for (const test of tests) if (left.length > 0) left = await pastTest(module, left, count, test);
  return left;
}

async function pastTest(
  module: string,
  mutants: readonly Mutant[],
  count: Count,
  test: string,
): Promise<readonly Mutant[]> {
  if (!tookS.has(test)) {
    const fromMs = performance.now();
    const asItIs = await runners[0]!.run({ module, text: readFileSync(module, 'utf8'), test }, AS_IT_IS_S);
    if (asItIs !== 'survived')
      throw new Error(
        `${test} ${asItIs === 'killed' ? 'fails' : `takes more than ${AS_IT_IS_S} s`} as it is`,
      );
    tookS.set(test, (performance.now() - fromMs) / 1000);
  }
  const limitS = values.timeout === undefined ? 30 + 3 * tookS.get(test)! : Number(values.timeout);
  const waiting = [...mutants];
  const left: Mutant[] = [];
  const one = async (runner: Tests): Promise<void> => {
    for (let m = waiting.shift(); m; m = waiting.shift()) {
      const outcome = await runner.run({ module, text: m.text, test }, limitS);
      if (outcome === 'survived') left.push(m);
      else count[outcome]++;
    }
  };
  await Promise.all(runners.map(one));
  return left.toSorted((a, b) => a.line - b.line);
}

type Count = Record<Outcome, number>;

const results: Record<string, unknown>[] = [];
async function measure(module: string): Promise<void> {
  const name = relative(ROOT, module);
  const tests = testsOf(module);
  const source = readFileSync(module, 'utf8');
  const all = mutantsOf(source);
  const byDrives = module.startsWith(JUDGING);
  if (all.length === 0 || (tests.length === 0 && !byDrives)) {
    console.error(`${name}: ${all.length === 0 ? 'nothing to change' : 'no test file imports it'}`);
    return;
  }
  const drawn = sampled(all, module);
  const tried = drawn.length;
  const count: Count = { killed: 0, timeout: 0, survived: 0 };
  const named = tests.filter((t) => near(t, module) < 2);
  // Without tests of its own name the quick ones of its room come first.
  const first = named.length > 0 ? named : tests.filter((t) => near(t, module) === 2 && !isSlow(t));
  const quick = values.quick && first.length > 0;
  const others = tests.filter((t) => !first.includes(t));
  let waiting: readonly Mutant[] = drawn;
  if (first.length > 0) waiting = await pastTests(module, waiting, count, first);
  if (byDrives && !quick) waiting = await pastDrives(module, waiting, count);
  if (waiting.length > 0 && others.length > 0 && !quick)
    waiting = await pastTests(module, waiting, count, others);
  count.survived = waiting.length;
  const survivors = waiting.map((m) => `${name}:${m.line} ${m.kind}: ${m.was} → ${m.is}`);
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
      ...(quick ? { quick } : {}),
      survivors: [...survivors].sort(),
    });
  const by = quick ? first.join(' ') : [...(byDrives ? ['tests/judged'] : []), ...tests].join(' ');
  console.error(`${name}: ${count.killed + count.timeout} of ${tried} killed (${by})`);
}
for (const module of modules)
  await measure(module).catch((e: Error) => {
    console.error(`${relative(ROOT, module)}: ${e.message}`);
    process.exitCode = 1;
  });
drives.close();
for (const runner of runners) runner.close();
console.log(JSON.stringify({ seed: values.seed, results }));
