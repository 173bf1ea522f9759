/** Jobs on the command line, as a workshop's script sees them: driven, listed, printed, packed, taken in, damaged. */
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { scratch } from '../run/files.ts';
import { argv, ROOT } from './program.ts';

const folder = scratch();
const library = join(folder, 'library');

function handback(...args: readonly string[]) {
  const r = spawnSync(process.execPath, argv(...args, '--json'), { cwd: ROOT, encoding: 'utf8' });
  const lines = r.stdout.split('\n').filter(Boolean);
  return {
    status: r.status,
    err: r.stderr,
    json: lines.map((l) => JSON.parse(l) as Record<string, unknown>),
  };
}

interface Listed {
  readonly id: string;
  readonly folder: string;
  readonly plate: string;
  readonly runs: readonly { readonly id: string; readonly purpose: string }[];
}
const listed = (...args: readonly string[]) => {
  const r = handback('jobs', ...args);
  return { ...r, jobs: r.json as unknown as Listed[] };
};

let job: Listed;
beforeAll(() => {
  const made = handback('practice', 'P-103', '--library', library);
  expect([made.status, made.err]).toEqual([0, '']);
  expect(made.json).toMatchObject([{ making: 'A drive that shows too little (1 of 1).' }]);
  [job] = listed('prac3', 'UPHILL', '--library', library).jobs as [Listed];
  expect(job.runs.map((r) => r.purpose)).toEqual(['verification']);
});

describe('jobs on the command line', () => {
  it('are practised on by name only', () => {
    const r = handback('practice', 'P-999', '--library', library);
    expect(r.status).toBe(2);
    expect(r.err).toContain('"P-999" is none of P-101');
  });

  it('print their sheet, and compare their runs saying what to drive', () => {
    const out = join(folder, 'sheet.html');
    const sheet = handback('sheet', 'p 103', '--library', library, '--lang', 'de', '--out', out);
    expect([sheet.status, sheet.json]).toEqual([0, [{ out, runs: 1, notAsRecorded: [] }]]);
    expect(readFileSync(out, 'utf8')).toContain('<html lang="de">');
    const run = join(job.folder, job.runs[0]!.id);
    const compared = handback('compare', '--before', run, '--after', run);
    expect(compared.status).toBe(0);
    expect(compared.json[0]).toMatchObject({ schema: 'handback.comparison/1' });
    const overall = compared.json[0]!.overall as { verdict: string; needs: string | null }[];
    for (const region of overall) {
      expect(region.verdict).toBe('not shown');
      expect(region.needs).toMatch(/\d+ pulls/);
    }
  });

  it('are packed without their plate, and taken in elsewhere only when the archive is whole', () => {
    const out = join(folder, 'job.zip');
    const packed = handback('pack', job.id, '--library', library, '--out', out, '--hide-plate');
    expect(packed.status).toBe(0);
    expect(packed.json).toEqual([{ out, bytes: expect.any(Number) }]);
    const other = join(folder, 'other');
    const there = handback('unpack', out, '--library', other);
    expect(there.json).toEqual([{ id: job.id, folder: join(other, job.id), remarks: [] }]);
    expect(listed('--library', other).jobs[0]).toMatchObject({ plate: '(left out)', runs: job.runs });
    const bytes = readFileSync(out);
    bytes[bytes.length >> 1]! ^= 0xff;
    writeFileSync(out, bytes);
    const third = join(folder, 'third');
    const damaged = handback('unpack', out, '--library', third);
    expect([damaged.status, damaged.json]).toEqual([2, []]);
    expect(existsSync(join(third, job.id))).toBe(false);
  });

  it('that are damaged are named with status 2, and the rest is listed', () => {
    const file = join(job.folder, 'job.json');
    const whole = readFileSync(file);
    const broken = join(library, '2026-01-01-broken-0000');
    spawnSync('cp', ['-r', job.folder, broken]);
    writeFileSync(join(broken, 'job.json'), whole.subarray(0, 100));
    const r = listed('--library', library);
    expect(r.status).toBe(2);
    expect(r.err).toMatch(/job\.json is damaged/);
    expect(r.jobs.map((j) => j.id)).toEqual([job.id]);
  });
});
