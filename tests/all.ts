/**
 * `npm test`: every check there is, two at a time, and one closing line with the count.
 * Each stage before the test runner (format, types, layers, dead code, build) counts as one check.
 * Skipped checks are listed with their reasons; with REQUIRE_ALL=1 a skip is a failure.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
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

/** What it prints is kept until it has ended, unless it is shown as it comes. */
async function run(
  title: string,
  program: keyof typeof PROGRAMS,
  args: readonly string[],
  shown = false,
  env: Readonly<Record<string, string>> = {},
): Promise<boolean> {
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
  if (!shown) process.stdout.write(`\n── ${title}\n${Buffer.concat(said)}`);
  console.log(`${ok ? 'ok' : 'FAILED'}: ${title} (${((Date.now() - started) / 1000).toFixed(1)} s)`);
  return ok;
}

const BUILD = 'build of its rooms';
const stages: readonly [title: string, program: keyof typeof PROGRAMS, args: readonly string[]][] = [
  ['format and lint', 'biome', ['ci', '.']],
  ['types of the program and its tests', 'tsc', ['-p', 'tsconfig.json']],
  ['types of the page', 'tsc', ['-p', 'web/tsconfig.json']],
  ['layers', 'tsx', ['tests/lint/layers.ts']],
  ['dead code', 'knip', []],
  [BUILD, 'tsc', ['-p', 'tsconfig.build.json', '--noCheck']],
  ['build of the program', 'vite', ['build', '-c', 'vite.program.config.ts', '--logLevel', 'warn']],
  ['build of the page', 'vite', ['build', '--logLevel', 'warn']],
];
let isBuilt = false;
const waiting = [...stages];
const worker = async (): Promise<void> => {
  for (let stage = waiting.shift(); stage; stage = waiting.shift()) {
    const ok = await run(...stage);
    if (ok) passed++;
    else failed++;
    if (stage[0] === BUILD) isBuilt = ok;
  }
};
await Promise.all([worker(), worker()]);

await run(
  'unit, outside and browser tests',
  'vitest',
  ['run', '--reporter=default', '--reporter=json', `--outputFile.json=${report}`],
  true,
  isBuilt ? { HANDBACK_BUILT: '1' } : {},
);
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
