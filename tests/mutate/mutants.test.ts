import ts from 'typescript';
import { expect, it } from 'vitest';
import { mutantsOf } from './mutants.ts';

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
