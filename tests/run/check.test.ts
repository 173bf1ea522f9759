/** A check tells how far it is, and stops when it is given up. */
import { cpSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { expect, it } from 'vitest';
import { check } from '../../src/run/check.ts';
import { scratch } from './files.ts';

const CAPTURE = join(resolve(import.meta.dirname, '../..'), 'captures', 'clutch-never-closes');
const library = scratch();

it('of two runs is half done when the first is, and gives up when it is told to', async () => {
  for (const name of ['one', 'two']) cpSync(CAPTURE, join(library, name), { recursive: true });
  const shares: number[] = [];
  const signal = new AbortController().signal;
  const report = await check(library, { signal, progress: (share) => shares.push(share) });
  expect(report).toEqual(await check(library));
  expect(report.ok).toBe(true);
  expect(shares).toEqual(shares.toSorted((a, b) => a - b));
  expect(shares).toContain(0.5);
  expect(shares.at(-1)).toBe(1);

  const stop = new AbortController();
  const stopped = check(library, { signal: stop.signal, progress: () => stop.abort(new Error('enough')) });
  await expect(stopped).rejects.toThrow('enough');
});
