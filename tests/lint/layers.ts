/** Holds the layer arrows of .dependency-cruiser.cjs, and proves that the linter really saw every module. */
import { readdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { cruise, type ICruiseResult } from 'dependency-cruiser';
import extractTSConfig from 'dependency-cruiser/config-utl/extract-ts-config';

process.chdir(new URL('../..', import.meta.url).pathname);
const { forbidden, options } = createRequire(import.meta.url)('../../.dependency-cruiser.cjs');

const result = await cruise(
  ['src', 'web', 'tests'],
  { ...options, ruleSet: { forbidden }, validate: true },
  {},
  { tsConfig: extractTSConfig('tsconfig.json') },
);
const { modules, summary } = result.output as ICruiseResult;

const seen = new Set(modules.map((m) => m.source));
const missed = ['src', 'web', 'tests']
  .flatMap((dir) => readdirSync(dir, { recursive: true, encoding: 'utf8' }).map((f) => `${dir}/${f}`))
  .filter((f) => /\.tsx?$/.test(f) && !f.endsWith('.d.ts') && !seen.has(f));
const arrows = modules
  .filter((m) => m.source.startsWith('src/'))
  .reduce((n, m) => n + m.dependencies.filter((d) => d.resolved.startsWith('src/')).length, 0);

for (const v of summary.violations) console.error(`${v.rule.name}: ${v.from} → ${v.to}`);
for (const f of missed) console.error(`not seen by the dependency linter: ${f}`);
if (arrows < 10)
  console.error(`only ${arrows} imports between modules seen: the linter is not reading the code`);
if (summary.violations.length > 0 || missed.length > 0 || arrows < 10) process.exit(1);
console.log(`layers: ${modules.length} modules, ${arrows} imports, all arrows point one way`);
