import { existsSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import ts from 'typescript';
import { expect, it } from 'vitest';
import { mutantsOf } from './mutants.ts';
import { kept } from './table.ts';

const changes = (source: string) => mutantsOf(source).map((m) => `${m.kind} ${m.line}: ${m.was} → ${m.is}`);

it('makes each kind of change where it stands, and none in types, imports or texts', () => {
  expect(changes("import { a } from './1.ts';\ntype T = 1 | 2;\nconst s = '3 < 4 && !x';")).toEqual([]);
  expect(changes('if (a <= 8 && !b)\n  f(0.5);')).toEqual([
    'logic 1: && → ||',
    'comparison 1: <= → <',
    'number 1: 8 → 10',
    'negation 1: !b → (b)',
    'statement 2: f(0.5); → ;',
    'number 2: 0.5 → 0.625',
  ]);
  expect(changes('x.n = 0;\nawait y();\nconst z = q();')).toEqual([
    'statement 1: x.n = 0; → ;',
    'number 1: 0 → 1',
    'statement 2: await y(); → ;',
  ]);
  expect(changes('/^7E[0-7]{2}$/')).toEqual([
    'pattern 1: /^7E[0-7]{2}$/ → /7E[0-7]{2}$/',
    'pattern 1: /^7E[0-7]{2}$/ → /^7E[0-7]{2}/',
    'pattern 1: /^7E[0-7]{2}$/ → /^7E[0-8]{2}$/',
    'pattern 1: /^7E[0-7]{2}$/ → /^7E[0-7]{2,}$/',
  ]);
});

it('gives texts that can still be read as TypeScript', () => {
  const source = 'class A { #n = 1; f(): void { if (!(this.#n >= 2)) this.g(); } g(): void {} }';
  const mutants = mutantsOf(source);
  expect(mutants).toHaveLength(5);
  for (const { text } of mutants) {
    const { diagnostics } = ts.transpileModule(text, { reportDiagnostics: true });
    expect(diagnostics).toEqual([]);
    expect(text).not.toBe(source);
  }
});

it('keeps no row of a file that is gone, or that holds less than half of what it was measured with', () => {
  const root = resolve(import.meta.dirname, '../..');
  const page = readFileSync(resolve(root, 'docs/reliability.md'), 'utf8');
  const rows = Object.entries(kept());
  expect(rows.length).toBeGreaterThan(50);
  const left = (module: string): number => {
    const file = resolve(root, module);
    return existsSync(file) ? mutantsOf(readFileSync(file, 'utf8')).length : 0;
  };
  expect(rows.filter(([module, m]) => left(module) < m.mutants / 2).map(([module]) => module)).toEqual([]);
  const printed = [...page.matchAll(/^\| (src\/\S+\.ts) (?:\* )?\| \d+ of \d+ \|/gm)].map((m) => m[1]);
  expect(printed).toEqual(rows.map(([module]) => module));
});
