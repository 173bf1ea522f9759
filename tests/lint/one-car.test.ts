/** The table of constants that come from one car names each as the code does, and can be measured anew. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { moved, ONE_CAR, sourceOf, titleOf } from '../evaluate/by-half.ts';

const ROOT = new URL('../..', import.meta.url).pathname;

it('names in docs/analysis.md what is measured, and no other', () => {
  const document = readFileSync(join(ROOT, 'docs/analysis.md'), 'utf8');
  const section = document.split('## What comes from one car\n')[1]!.split('\n## ')[0]!;
  const titles = [...section.matchAll(/^\| (`[^|]*?) \|/gm)].map((m) => m[1]!);
  expect(titles.toSorted()).toEqual(ONE_CAR.map(titleOf).toSorted());
});

it.each(ONE_CAR.map((c) => [titleOf(c), c] as const))('moves %s by half in its module', (_, constant) => {
  const source = sourceOf(constant);
  const half = moved(source, constant, 0.5);
  expect(half).not.toBe(source);
});

it('moves those numbers that are meant', () => {
  const table = { name: 'T', file: 'x.ts', system: 'boost' } as const;
  const source =
    'const A = 7;\nconst T = [\n  [10, { pull: 4, run: 2 }],\n  [20, { pull: 6, run: 3 }],\n];\n';
  expect(moved(source, { ...table, property: 'pull' }, 0.5)).toBe(
    source.replace('pull: 4', 'pull: 2').replace('pull: 6', 'pull: 3'),
  );
  expect(moved(source, { ...table, property: 'run', fromRow: 1 }, 2)).toBe(
    source.replace('run: 3', 'run: 6'),
  );
  expect(moved(source, { ...table, name: 'A' }, 1.5)).toBe(source.replace('7', '10.5'));
  expect(() => moved(source, { ...table, name: 'B' }, 2)).toThrow('no B');
  expect(() => moved(source, { ...table, property: 'day' }, 2)).toThrow('nothing to move');
});
