/** Each number of the judging says where it comes from, or that it is from nowhere. */
import { expect, it } from 'vitest';
import { modulesOf } from './names.ts';
import { unsourced, unsourcedIn } from './numbers.ts';

const namesIn = (source: string): string[] => unsourcedIn(source).map((u) => u.name);

it('has a source, "chosen on …" or "common practice, no source" in judging and comparing', () => {
  expect(
    unsourced(modulesOf(new URL('../..', import.meta.url).pathname, ['src/analysis', 'src/compare'])),
  ).toEqual([]);
});

it.each([
  ['const A = 5;', ['A']],
  ['/** Far. */\nexport const A = 5;\nconst B = 7;', ['A', 'B']],
  ['/** Far (ISO 2533). */\nconst A = 5;\nconst B = 7;', []],
  ['/** Far. Common\n * practice, no\n * source. */\nconst A = 5;\n\nconst B = 7;', ['B']],
  ['/** Far. Chosen on half of the drives. */\nconst A = 5;\n/** Near. */\nconst B = 7;', ['B']],
  ['const A = 5; // chosen by hand\nconst B = [\n  3, // KIT\n  4,\n];', []],
  ['/** From memory. */\n\nconst A = 5;', ['A']],
  ['const A = 0;\nconst B = 2 * 60;\nconst C = 1e6 / 3600;\nconst D = -1;', []],
  ['const A = { low: -3.5, high: 1 } as const;', ['A']],
  ['const A = new Map([[1, 12]]);\nconst B = LIST[3];\nconst C = () => 17;', ['A', '17']],
  ['let a = 5;\ntype T = 5;', []],
  ['/** From memory. */\nfunction f(x) {\n  return x > 5;\n}', ['5']],
  ['class C {\n  #a = 7;\n  f = (x = -3.5) => [x, { y: 9 }];\n}', ['7', '3.5', '9']],
  ['/** From memory. */\nconst F = LIST.map((x) => x * 12);', ['12']],
  ['const f = (x) => (x * 1e6) / 3600 + 0.5 * x ** 3 - 2;', []],
  ['const f = (x) => x > 1e6 || x > 60 || x > 0.5 || x ** 1.5;', ['1000000', '60', '0.5', '1.5']],
  ['const f = (x) => quantile(x, 0.5) + x[7] + x[i + 3] + Math.floor(x + 0.5) / 3.6;', []],
  ['const f = (x) => quantile(x, 0.9) + g(x, 3.6);', ['0.9', '3.6']],
  ['const A = 10;\nconst B = 60;\nconst C = 60 * 24;', ['A', 'B', 'C']],
])('in %j finds %j', (source, names) => expect(namesIn(source)).toEqual(names));
