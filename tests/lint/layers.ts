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
const product = modules.filter((m) => /^(src|web)\//.test(m.source));
const roomOf = (file: string): string => /^(?:src\/)?([^/]+)/.exec(file)![1]!;
const imports = product.flatMap((m) =>
  m.dependencies
    .filter((d) => /^(src|web)\/.*\.tsx?$/.test(d.resolved))
    .map((d) => [m.source, d.resolved] as const),
);
const knows = new Map(product.map((m) => [roomOf(m.source), new Set<string>()]));
for (const [from, to] of imports) if (roomOf(from) !== roomOf(to)) knows.get(roomOf(from))!.add(roomOf(to));
const arrows = [...knows.values()].reduce((n, known) => n + known.size, 0);

for (const v of summary.violations) console.error(`${v.rule.name}: ${v.from} → ${v.to}`);
for (const f of missed) console.error(`not seen by the dependency linter: ${f}`);
if (imports.length < 10)
  console.error(`only ${imports.length} imports between modules seen: the linter is not reading the code`);
if (summary.violations.length > 0 || missed.length > 0 || imports.length < 10) process.exit(1);

/** A room stands one floor above the highest that it knows. There is no circle: the linter has just said so. */
const floorOf = (room: string): number => 1 + Math.max(0, ...[...knows.get(room)!].map(floorOf));
const rooms = [...knows.keys()].sort((a, b) => floorOf(b) - floorOf(a));
if (process.argv.includes('--map'))
  for (const room of rooms) console.log(`${floorOf(room)}  ${room} → ${[...knows.get(room)!].join(' ')}`);
console.log(
  `layers: ${modules.length} modules, ${imports.length} imports; ${rooms.length} rooms on ${floorOf(rooms[0]!)} floors, ` +
    `${arrows} arrows between rooms, all one way`,
);
