/** Each case of captures/conformance gives what stands in its `expected.json`, whoever reads it. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { actualOf, cases, type Expected, expectedFile } from './cases.ts';

const all = cases().map((name) => ({
  name,
  expected: JSON.parse(readFileSync(expectedFile(name), 'utf8')) as Expected,
}));

describe('the conformance set', () => {
  it.each(all)('$name', async ({ name, expected }) => {
    const actual = await actualOf(name);
    // What an expectation does not state is open: findings wait for their rules to settle.
    for (const key of Object.keys(expected) as (keyof Expected)[])
      expect(actual[key], `${key} (where this is meant: npm run conformance, and read the diff)`).toEqual(
        expected[key],
      );
    expect(Object.keys(expected)).toContain(actual.error === undefined ? 'samples' : 'error');
  });

  it('holds every dialect and bus, every kind of damage, and refusals', () => {
    const ok = all.filter((c) => c.expected.error === undefined);
    expect(ok.filter((c) => c.expected.damage?.torn).length).toBeGreaterThan(0);
    expect(ok.filter((c) => c.expected.damage?.mismatch).length).toBeGreaterThan(0);
    expect(ok.filter((c) => (c.expected.damage?.lines.length ?? 0) > 0).length).toBeGreaterThan(0);
    expect(ok.filter((c) => (c.expected.gaps?.length ?? 0) > 0).length).toBeGreaterThan(1);
    expect(all.filter((c) => c.expected.error === 'input.version').length).toBeGreaterThan(0);
    for (const name of ['at-can11', 'at-can29', 'at-bare', 'at-kline', 'slcan-can11', 'slcan-can29'])
      expect(ok.find((c) => c.name === name)?.expected.samples?.length, name).toBeGreaterThan(20);
  });
});
