/** Each number of the judging says where it comes from, or that it is from nowhere. */
import { expect, it } from 'vitest';
import { unsourced, unsourcedIn } from './numbers.ts';

const namesIn = (source: string): string[] => unsourcedIn(source).map((u) => u.name);

it('has a source, "chosen on …" or "common practice, no source" in judging and comparing', () => {
  expect(unsourced(new URL('../..', import.meta.url).pathname, ['src/analysis', 'src/compare'])).toEqual([]);
});

it.each([
  ['const A = 5;', ['A']],
  ['/** Far. */\nexport const A = 5;\nconst B = 7;', ['A', 'B']],
  ['/** Far (ISO 2533). */\nconst A = 5;\nconst B = 7;', []],
  ['/** Far. Common\n * practice, no\n * source. */\nconst A = 5;\n\nconst B = 7;', ['B']],
  ['/** Far. Chosen on half of the drives. */\nconst A = 5;\n/** Near. */\nconst B = 7;', ['B']],
  ['const A = 5; // chosen by hand\nconst B = [\n  3, // KIT\n  4,\n];', []],
  ['/** From memory. */\n\nconst A = 5;', ['A']],
  ['const A = 0;\nconst B = 2 * 60;\nconst C = 1e6 / 3600;\nconst D = 0.01;', []],
  ['const A = { low: -3.5, high: 1 } as const;', ['A']],
  ['const A = new Map([[1, 12]]);\nconst B = LIST[3];\nconst C = () => 17;', ['A']],
  ['let a = 5;\nfunction f() {\n  const B = 5;\n}\ntype T = 5;', []],
])('in %j finds %j', (source, names) => expect(namesIn(source)).toEqual(names));
