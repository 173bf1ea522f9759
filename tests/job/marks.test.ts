/** Edits of marks that come at the same time: none is lost. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { editMarkIn, readMarkEdits } from '../../src/job/marks.ts';
import { scratch } from '../run/files.ts';

it('keeps every edit of several made at once, and goes on after one that failed', async () => {
  const folder = scratch();
  const edit = (tS: number) => ({ tS, key: 'N', text: `at ${tS}`, removed: false });
  await Promise.all([1, 2, 3, 4].map((tS) => editMarkIn(folder, edit(tS))));
  expect((await readMarkEdits(folder)).map((e) => e.text)).toEqual(['at 1', 'at 2', 'at 3', 'at 4']);

  const damaged = scratch();
  writeFileSync(join(damaged, 'marks.json'), 'no JSON');
  const [bad, good] = await Promise.allSettled([editMarkIn(damaged, edit(1)), editMarkIn(folder, edit(5))]);
  expect(bad).toMatchObject({ status: 'rejected', reason: { code: 'input.format' } });
  expect(good?.status).toBe('fulfilled');
  expect(await readMarkEdits(folder)).toHaveLength(5);
});
