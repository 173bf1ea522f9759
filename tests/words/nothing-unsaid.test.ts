/**
 * What is shown to people is a statement. The types ask for one (`HandbackError`, remarks, warnings, troubles); the one
 * way round them is text shown as it came (`asIs`). Here: nobody takes that way with words of our own, save for mistakes
 * of the program itself.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { expect, it } from 'vitest';

const SRC = new URL('../../src/', import.meta.url);
const files = readdirSync(SRC, { recursive: true, encoding: 'utf8' }).filter((f) => f.endsWith('.ts'));
const sources = files.map((f) => [f, readFileSync(new URL(f, SRC), 'utf8')] as const);

/** Two words of letters in a row: a sentence, not a name or a number. */
const SENTENCE = /[A-Za-z]{2,} [a-z]{2,}/;

it('shows no sentence of our own as text that came from elsewhere', () => {
  const found = sources.flatMap(([file, source]) =>
    [...source.matchAll(/asIs\(\s*(['"`])((?:\\.|(?!\1)[^\\])*)\1/g)].flatMap((m) => {
      const before = source.slice(Math.max(0, m.index - 60), m.index);
      return SENTENCE.test(m[2]!) && !/'internal',\s*$/.test(before) ? [`${file}: ${m[2]}`] : [];
    }),
  );
  expect(found).toEqual([]);
});
