/** A name has one meaning: the same number or type is not named twice, nor do two share a name. */
import { expect, it } from 'vitest';
import { modulesOf, twiceNumbers, twiceTypes } from './names.ts';

const ROOT = new URL('../..', import.meta.url).pathname;
/** The same statements of the judging, spelt out in a language: one type is made of the other, under its name. */
const SPELT_OUT = 'src/words/views.ts';

/** Dialects do not know each other, and the simulated car is a world of its own. */
const APART = /^src\/(adapter\/[^/]+|sim)\//;

const program = modulesOf(ROOT, ['src']);

it('gives each number of the program, and of the page, a name of its own', () => {
  expect(twiceNumbers(program.filter((m) => !APART.test(m.path)))).toEqual([]);
  expect(twiceNumbers(modulesOf(ROOT, ['web']))).toEqual([]);
});

it('exports no two types under one name', () => {
  expect(program.map((m) => m.path)).toContain(SPELT_OUT);
  expect(twiceTypes(program.filter((m) => m.path !== SPELT_OUT))).toEqual([]);
});

const two = (a: string, b: string) => [
  { path: 'a.ts', source: a },
  { path: 'b.ts', source: b },
];

it.each([
  ['const HOLE_S = 5;', 'export const HOLE_S = 30;', ['HOLE_S: a.ts, b.ts']],
  ['const HOLE_S = 5;', 'const HOLE_S = 5;', ['HOLE_S: a.ts, b.ts']],
  ['const N = LIST.length - 1;', 'const N = [[45, 60]] as const;', ['N: a.ts, b.ts']],
  ['const W = Math.SQRT2;', 'const W = { a: { b: -3 } };', ['W: a.ts, b.ts']],
  ['const BINS = OVER_S / BIN_S;', 'const BINS = new Map([[1, 2]]);', ['BINS: a.ts, b.ts']],
  ['const NONE = [];', 'const NONE = {};', []],
  ["const WORDS = 'a';", 'const WORDS = 3;', []],
  ['const f = () => 3;', 'const f = 3;', []],
  ['const F = () => 3;', 'const F = 3;', []],
  ['const text = z.max(3);', 'const text = z.max(9);', []],
  ['function f() {\n  const A = 3;\n}', 'const A = 3;', []],
])('of the numbers %j and %j tells %j', (a, b, told) => expect(twiceNumbers(two(a, b))).toEqual(told));

it.each([
  ['export interface Reading {}', 'export type Reading = string;', ['Reading: a.ts, b.ts']],
  ['export class Reading {}', 'export interface Reading {}', ['Reading: a.ts, b.ts']],
  ['interface Reading {}', 'export interface Reading {}', []],
  ["export type { Reading } from './b.ts';", 'export interface Reading {}', []],
])('of the types %j and %j tells %j', (a, b, told) => expect(twiceTypes(two(a, b))).toEqual(told));
