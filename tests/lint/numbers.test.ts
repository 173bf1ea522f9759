/** Each number of the judging says where it comes from, or that it is from nowhere. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { modulesOf } from './names.ts';
import { unsourced, unsourcedIn } from './numbers.ts';

const namesIn = (source: string): string[] => unsourcedIn(source).map((u) => u.name);

it('has a source, "chosen on …" or "common practice, no source" in judging and comparing', () => {
  const root = new URL('../..', import.meta.url).pathname;
  const read = (path: string): string => readFileSync(join(root, path), 'utf8');
  expect(unsourced(modulesOf(root, ['src/analysis', 'src/compare']), read)).toEqual([]);
});

it.each([
  ['const A = 5;', ['A']],
  ['/** Far. */\nexport const A = 5;\nconst B = 7;', ['A', 'B']],
  ['/** Far (ISO 2533). */\nconst A = 5;\nconst B = 7;', []],
  ['/** Far. Common\n * practice, no\n * source. */\nconst A = 5;\n\nconst B = 7;', ['B']],
  ['/** Far. Chosen on half of the drives. */\nconst A = 5;\n/** Near. */\nconst B = 7;', ['B']],
  ['const A = 5; // chosen by hand\nconst B = [\n  3, // KIT\n  4,\n];', []],
  ['/** From memory. */\n\nconst A = 5;', ['A']],
  ['const A = 0;\nconst C = 1e6 / 3600;\nconst D = -1;', []],
  ['const A = { low: -3.5, high: 1 } as const;', ['A']],
  ['const A = new Map([[1, 12]]);\nconst B = LIST[3];\nconst C = () => 17;', ['A', '17']],
  ['type T = 5;\ninterface I {\n  a: 5;\n}', []],
  ['/** From memory. */\nfunction f(x) {\n  return x > 5;\n}', ['5']],
  ['class C {\n  #a = 7;\n  f = (x = -3.5) => [x, { y: 9 }];\n}', ['7', '-3.5', '9']],
  ['/** From memory. */\nconst F = LIST.map((x) => x * 12);', ['12']],
  ['const f = (x) => (x * 1e6) / 3600 + 0.5 * x ** 3 - 2;', []],
  ['const f = (x) => x > 1e6 || x > 60 || x > 0.5 || x ** 1.5;', ['1e6', '60', '0.5', '1.5']],
  ['const f = (x) => quantile(x, 0.5) + x[7] + x[i + 3] + Math.floor(x + 0.5) / 3.6;', []],
  ['const f = (x) => quantile(x, 0.9) + g(x, 3.6);', ['0.9', '3.6']],
  ['const A = 10;\nconst B = 60;\nconst C = 60 * 24;', ['A', 'B', 'C']],
])('in %j finds %j', (source, names) => expect(namesIn(source)).toEqual(names));

/** Ways past the lint that were tried: each is caught. */
it.each([
  ['a variable that is not constant', 'let A = 5;'],
  ['what the plain numbers come to', 'const A = 2 * 60;'],
  ['a limit of a plain number', 'const MOST_C = 2;'],
  ['a power of two', 'const A = 2 ** 7;'],
  ['a text', "const A = Number('95');"],
  ['a text with a sign', "const A = +'95';"],
  ['another kind of number', 'const A = 95n;'],
  ['a preset of what is taken apart', 'const { A = 95 } = GIVEN;'],
  ['an enumeration', 'enum A {\n  MOST = 95,\n}'],
  ['what is exported without a name', 'export default { most: 95 };'],
  ['what is added to an object', 'Object.assign(GIVEN, { most: 95 });'],
  ['a block', '{\n  GIVEN.most = 95;\n}'],
  ['a share that looks like a power of ten', 'const f = (x) => x > 0.1 * y;'],
  ['ten, where nothing is rounded', 'const f = (x) => x > 10 * y;'],
  [
    'the comment of one entry for all',
    'const A = {\n  /** Common practice, no source. */\n  low: 5,\n\n  high: 95,\n};',
  ],
  ['a word of the list', '/** The leg that was chosen. */\nconst A = 5;'],
  ['a word of the list', '/** Frames of ISO-TP. */\nconst A = 5;'],
  ['a word of the list', '/** Not as in open drives. */\nconst A = 5;'],
  ['a word of the list', '/** Since 2026. */\nconst A = 5;'],
  ['a word of the list', '/** There is no source of heat. */\nconst A = 5;'],
  ['a word of the list', '/** The simulated car. */\nconst A = 5;'],
])('is not fooled by %s: %j', (_, source) => expect(namesIn(source)).toHaveLength(1));

it('reads a number that is imported from elsewhere where it stands', () => {
  const module = { path: 'src/analysis/a.ts', source: "import { A, B } from '../core/limits.ts';" };
  const limits = 'export const A = 95;\n\n/** ISO 2533. */\nexport const B = 5;\n\nexport const C = 7;';
  expect(unsourced([module], () => limits)).toEqual(['src/core/limits.ts:1 A']);
});
