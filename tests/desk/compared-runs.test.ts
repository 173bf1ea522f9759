/** Runs of a library compared by their ids, and a comparison on the command line from a table and a run folder. */
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { ComparedRuns } from '../../src/desk/compared-runs.ts';
import { exportTable } from '../../src/run/export.ts';
import { listRuns } from '../../src/run/library.ts';
import { openRecording } from '../../src/run/recording.ts';
import { argv, ROOT } from '../cli/program.ts';
import { scratch } from '../run/files.ts';

const LIBRARY = join(ROOT, 'captures');
const folder = scratch();

it('reads the runs of a library, keeps the answer, and names a run that is not there', async () => {
  const [entry] = (await listRuns(LIBRARY)).runs;
  const compared = new ComparedRuns(LIBRARY);
  const request = { before: [entry!.meta.id], after: [entry!.meta.id], comeBack: [] };
  const comparison = await compared.compare(request);
  expect(comparison.runs.map((r) => [r.id, r.role])).toEqual([
    [entry!.meta.id, 'before'],
    [entry!.meta.id, 'after'],
  ]);
  // a run against itself: no change, on one day
  for (const r of comparison.overall) if (r.effectPct !== null) expect(r.effectPct).toBe(0);
  expect(comparison.overall.some((r) => r.before.pulls > 0)).toBe(true);
  expect(comparison.days.relation).toBe('same day');
  expect(comparison.codes).toBeNull();
  expect(await compared.compare({ ...request })).toBe(comparison);
  await expect(compared.compare({ ...request, after: ['no-such-run'] })).rejects.toThrow(/no-such-run/);
});

it('the command takes a run folder and a table, and refuses what it cannot read', async () => {
  const run = join(LIBRARY, 'clutch-never-closes');
  const table = join(folder, 'same.csv');
  await exportTable((await openRecording(run)).table, 'wide', table);
  const handback = (...args: string[]) => {
    const r = spawnSync(process.execPath, argv('compare', ...args), { cwd: ROOT, encoding: 'utf8' });
    return { status: r.status, out: r.stdout, err: r.stderr };
  };
  const good = handback('--json', '--before', run, '--after', table, '--margin', '3');
  expect(good.status).toBe(0);
  const comparison = JSON.parse(good.out);
  expect(comparison.schema).toBe('handback.comparison/1');
  expect(comparison.marginPct).toBe(3);
  expect(comparison.overall.map((r: { region: string }) => r.region)).toContain('clutch band');
  expect(comparison.days.relation).toBe('not known');
  const bad = handback('--before', run, '--after', join(folder, 'none.csv'));
  expect(bad.status).toBe(2);
  expect(bad.err).toMatch(/none\.csv does not exist/);
  expect(handback('--before', run).status).toBe(2);
});
