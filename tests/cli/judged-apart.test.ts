/** Judging in shares, as a scheduler starts it: every recording in one share, the same bytes as all at once. */
import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, expect, it } from 'vitest';
import { shortRun } from '../job/drives.ts';
import { scratch } from '../run/files.ts';
import { argv, ROOT } from './program.ts';

const folder = scratch();
const library = join(folder, 'library');
const judged = (...args: readonly string[]) => {
  const r = spawnSync(process.execPath, argv('judge', library, '--json', ...args), {
    cwd: ROOT,
    encoding: 'utf8',
  });
  return {
    status: r.status,
    err: r.stderr,
    last: JSON.parse(r.stdout.trim().split('\n').at(-1) || 'null') as unknown,
  };
};
const filesIn = (name: string): Record<string, string> =>
  Object.fromEntries(
    readdirSync(join(folder, name))
      .sort()
      .map((f) => [f, readFileSync(join(folder, name, f), 'utf8')]),
  );

beforeAll(async () => {
  for (let i = 0; i < 6; i++) await shortRun({ library }, 'other', Date.UTC(2026, 2, 3, 8 + i));
});

it('two shares make what one call makes, and what is there is not judged again', () => {
  expect(judged('--out', join(folder, 'all')).last).toEqual({ judged: 6, there: 0, others: 0 });
  const counts = [1, 2].map((k) => judged('--out', join(folder, 'apart'), '--share', `${k}/2`).last);
  const [first, second] = counts as { judged: number; others: number }[];
  expect(first!.judged + second!.judged).toBe(6);
  expect(first!.others).toBe(second!.judged);
  const all = filesIn('all');
  expect(Object.keys(all)).toHaveLength(6);
  for (const text of Object.values(all))
    expect(JSON.parse(text)).toMatchObject({ schema: 'handback.judgement/1' });
  expect(filesIn('apart')).toEqual(all);
  expect(judged('--out', join(folder, 'all')).last).toEqual({ judged: 0, there: 6, others: 0 });
});

it('a share without a folder is refused', () => {
  const r = judged('--share', '1/2');
  expect(r.status).toBe(2);
  expect(r.err).toContain('--out');
});
