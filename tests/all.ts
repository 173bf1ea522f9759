/**
 * `npm test`: every check there is, and one closing line with the count. What the tests need is built first; beside them,
 * which often wait, format, types, layers and dead code are looked at. Each of these stages counts as one check.
 * Skipped checks are listed with their reasons; with REQUIRE_ALL=1 a skip is a failure.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const root = new URL('..', import.meta.url);
const PROGRAMS = {
  biome: '@biomejs/biome/bin/biome',
  knip: 'knip/bin/knip.js',
  tsc: 'typescript-7/bin/tsc', // typescript itself is for reading sources, and four times as slow
  tsx: 'tsx/dist/cli.mjs',
  vite: 'vite/bin/vite.js',
  vitest: 'vitest/vitest.mjs',
} as const;
const out = mkdtempSync(join(tmpdir(), 'handback-test-'));
const report = join(out, 'report.json');
const strict = process.env.REQUIRE_ALL === '1';

let passed = 0;
let failed = 0;
let skipped = 0;

interface Ended {
  readonly ok: boolean;
  /** What it printed, and how it ended. */
  readonly told: string;
}

/** @param shown what it prints is shown as it comes */
async function run(
  { title, program, args }: Stage,
  shown = false,
  env: Readonly<Record<string, string>> = {},
): Promise<Ended> {
  const started = Date.now();
  if (shown) console.log(`\n── ${title}`);
  const child = spawn(process.execPath, [`node_modules/${PROGRAMS[program]}`, ...args], {
    cwd: root,
    env: { ...process.env, ...env },
    stdio: ['ignore', shown ? 'inherit' : 'pipe', shown ? 'inherit' : 'pipe'],
  });
  const said: Buffer[] = [];
  for (const stream of [child.stdout, child.stderr]) stream?.on('data', (b: Buffer) => said.push(b));
  const ok = (await new Promise((resolve) => child.once('close', resolve))) === 0;
  const end = `${ok ? 'ok' : 'FAILED'}: ${title} (${((Date.now() - started) / 1000).toFixed(1)} s)`;
  return { ok, told: shown ? end : `\n── ${title}\n${Buffer.concat(said)}${end}` };
}

interface Stage {
  readonly title: string;
  readonly program: keyof typeof PROGRAMS;
  readonly args: readonly string[];
}
const stage = (title: string, program: Stage['program'], ...args: readonly string[]): Stage => ({
  title,
  program,
  args,
});

/** So many at a time. */
async function runAll(stages: readonly Stage[], atATime: number): Promise<Ended[]> {
  const ended: Ended[] = [];
  const waiting = [...stages.entries()];
  const lane = async (): Promise<void> => {
    for (let next = waiting.shift(); next; next = waiting.shift()) ended[next[0]] = await run(next[1]);
  };
  await Promise.all(Array.from({ length: atATime }, lane));
  return ended;
}

function count(stages: readonly Ended[]): void {
  for (const { ok, told } of stages) {
    console.log(told);
    if (ok) passed++;
    else failed++;
  }
}

const builds = await runAll(
  [
    stage('build of its rooms', 'tsc', '-p', 'tsconfig.build.json', '--noCheck'),
    stage('build of the program', 'vite', 'build', '-c', 'vite.program.config.ts', '--logLevel', 'warn'),
    stage('build of the page', 'vite', 'build', '--logLevel', 'warn'),
  ],
  2,
);
count(builds);
// Threads begin as those of what ships do, from a few files: module by module each takes 0.4 s of processor more.
for (const [name, taken] of [
  ['reading-worker', 'import'],
  ['ahead-worker', 'export { default } from'],
] as const)
  writeFileSync(new URL(`dist/src/desk/${name}.js`, root), `${taken} '../program/${name}.js';\n`);
const tests = run(
  stage(
    'unit, outside and browser tests',
    'vitest',
    ...['run', '--reporter=default', '--reporter=json', `--outputFile.json=${report}`],
  ),
  true,
  builds[0]?.ok ? { HANDBACK_BUILT: '1' } : {},
);
const checks = await runAll(
  [
    stage('format and lint', 'biome', 'ci', '.'),
    stage('types of the program and its tests', 'tsc', '-p', 'tsconfig.json'),
    stage('types of the page', 'tsc', '-p', 'web/tsconfig.json'),
    stage('layers', 'tsx', 'tests/lint/layers.ts'),
    stage('dead code', 'knip'),
  ],
  1,
);
console.log((await tests).told);
count(checks);
try {
  const result = JSON.parse(readFileSync(report, 'utf8')) as VitestReport;
  passed += result.numPassedTests;
  failed += result.numFailedTests;
  if (result.numPassedTests === 0 || (!result.success && result.numFailedTests === 0)) failed++; // a file that did not load
  for (const file of result.testResults)
    for (const test of file.assertionResults)
      if (test.status === 'pending' || test.status === 'skipped' || test.status === 'todo') {
        skipped++;
        console.log(`skipped: ${test.fullName}`);
      }
} catch (thrown) {
  failed++;
  console.error(`the test runner left no report: ${String(thrown)}`);
}
rmSync(out, { recursive: true, force: true });

if (strict && skipped > 0) {
  console.error(`REQUIRE_ALL=1: ${skipped} skipped checks count as failed`);
  failed += skipped;
  skipped = 0;
}
console.log(`\n${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`);
process.exitCode = failed > 0 ? 1 : 0;

interface VitestReport {
  readonly success: boolean;
  readonly numPassedTests: number;
  readonly numFailedTests: number;
  readonly testResults: readonly {
    readonly assertionResults: readonly { readonly status: string; readonly fullName: string }[];
  }[];
}
