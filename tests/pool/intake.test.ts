/** A library on its way into a pool: what leaves, what never does, what is read again, and a share of it. */
import { readFileSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { parquetReadObjects } from 'hyparquet';
import { beforeAll, describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { inShare, shareIn } from '../../src/core/share.ts';
import { columnsOf, PoolCases } from '../../src/desk/pool-cases.ts';
import { leavingOf, sharedSources, takeIn } from '../../src/desk/pool-intake.ts';
import { createJob, updateJob } from '../../src/job/library.ts';
import { ask } from '../../src/pool/engine.ts';
import { Pool } from '../../src/pool/pool.ts';
import { Secret } from '../../src/pool/secret.ts';
import { TABLE_NAMES } from '../../src/pool/tables.ts';
import { shortRun, VIN } from '../job/drives.ts';
import { scratch, tableOf } from '../run/files.ts';

const folder = scratch();
const library = join(folder, 'library');
const secret = new Secret(Buffer.alloc(32, 5));
const clock = new ManualClock(0, Date.UTC(2026, 2, 3, 9, 41, 27));
/** Nothing of this may be in any file, in whatever spelling. */
const PRIVATE = [
  'HB-TW 417',
  'HBTW417',
  VIN,
  VIN.slice(8),
  'Ansgar',
  'Feldhus',
  'Customer',
  'hill at Nordend',
  '09:41',
];

let jobId: string;
beforeAll(async () => {
  const job = await createJob(
    library,
    {
      plate: 'HB-TW 417',
      vin: VIN,
      vehicle: 'Practice estate of Mrs Customer',
      technician: 'Ansgar',
      workshop: 'Feldhus',
      complaint: 'weak on the hill at Nordend',
      suspected: 'Customer says clutch',
      engine: 'TW 18 (HB-TW 417)',
      displacementCc: 1798,
      replaced: ['Clutch for HB TW-417', 'Belt, fitted by Ansgar'],
      odometerKm: 148_230,
      weather: 'hill at Nordend',
    },
    clock,
  );
  jobId = job.job.id;
  await shortRun({ library: job.folder }, 'baseline', Date.UTC(2026, 2, 3, 9, 41, 27));
  await shortRun({ library: job.folder }, 'verification', Date.UTC(2026, 2, 4, 9, 41, 27));
  await updateJob(library, jobId, clock, (j) => ({
    ...j,
    measurements: [
      {
        id: 'm1',
        at: '2026-03-03T09:41:00Z',
        what: 'other',
        name: 'Customer tank',
        value: 1,
        unit: 'kPa',
        heldMin: null,
        low: null,
        high: null,
        source: 'Feldhus',
        result: 'pass',
        when: 'after',
        who: 'Ansgar',
        text: 'Customer',
      },
    ],
  }));
  await shortRun({ library }, 'other', Date.UTC(2026, 2, 5, 8));
});

const intake = async (path: string, of = '1/1', practice = false) => {
  const cases = new PoolCases(library, secret);
  const sources = sharedSources(await cases.sources(practice), shareIn(of, 64));
  const pool = await Pool.begin(path, secret);
  return { pool, cases, sources, taken: await takeIn(pool, secret, cases, sources, () => undefined) };
};

describe('what leaves', () => {
  it('is listed as it leaves, and holds no plate, VIN, name, place or hour', async () => {
    const { pool, sources, taken } = await intake(join(folder, 'pool'));
    expect(taken).toMatchObject({ cases: 2, runs: 3, troubles: [] });
    expect(leavingOf(sources)).toEqual({
      cases: 2,
      runs: 3,
      texts: ['Belt, fitted by (left out)', 'Clutch for (left out)', 'TW 18 ((left out))'],
    });
    const seen = new Set<string>();
    for (const table of [...TABLE_NAMES, 'samples' as const])
      for (const path of await pool.filesOf(table)) {
        const bytes = readFileSync(path);
        for (const word of PRIVATE) expect(bytes.includes(word), `${table}: ${word}`).toBe(false);
        const rows = await parquetReadObjects({ file: new Uint8Array(bytes).buffer });
        for (const row of rows)
          for (const value of Object.values(row)) if (typeof value === 'string') seen.add(value);
      }
    const all = [...seen].join('\n').toUpperCase();
    for (const word of PRIVATE) expect(all).not.toContain(word.toUpperCase());
    const { rows } = await ask(
      pool,
      'SELECT DISTINCT car_by, descriptor, kind, odometer_thousand_km FROM cases ORDER BY kind DESC',
    );
    expect(rows).toEqual([
      ['vin', '00HBTRNW-8', 'tw18/1798//', 148],
      ['vin', '00HBTRNW-8', '', null],
    ]);
  });

  it('has no values of a satellite receiver: height, course and speed draw the road', () => {
    const at = (signal: string, s: number, value: number) => ({ signal, tUs: s * 1e6, value });
    const table = tableOf([
      at('rpm', 1, 800),
      at('gnss_course_deg', 1, 45),
      at('ect_c', 2, 90),
      at('rpm', 2, 810),
    ]);
    expect(columnsOf(table)).toEqual({
      signal: ['ect_c', 'rpm', 'rpm'],
      tMs: Int32Array.from([2000, 1000, 2000]),
      value: Float64Array.from([90, 800, 810]),
    });
  });

  it('names the same car alike in and out of jobs, and otherwise under another secret', async () => {
    const cars = async (key: Secret) =>
      new Set((await new PoolCases(library, key).sources(false)).map((s) => s.car));
    const own = await cars(secret);
    expect(own.size).toBe(1);
    expect(own).toEqual(new Set([new PoolCases(library, secret).carOfVin(VIN.toLowerCase())]));
    expect([...(await cars(new Secret(Buffer.alloc(32, 6))))]).not.toEqual([...own]);
  });
});

describe('taken in again', () => {
  it('nothing is read that has not changed; a changed job counts as it is now', async () => {
    const path = join(folder, 'again');
    await intake(path);
    expect((await intake(path)).taken).toMatchObject({ cases: 0, files: 0, unchanged: 2 });
    await updateJob(library, jobId, clock, (job) => ({ ...job, odometerKm: 150_000 }));
    const { pool, taken } = await intake(path);
    expect(taken).toMatchObject({ cases: 1, unchanged: 1 });
    expect((await ask(pool, 'SELECT MAX(odometer_thousand_km), COUNT(*) FROM cases')).rows).toEqual([
      [150, 2],
    ]);
  });

  it('a drive that is not as it was recorded is named, and the others go in', async () => {
    const bad = await shortRun({ library }, 'other', Date.UTC(2026, 2, 6, 8));
    await writeFile(join(library, bad.id, 'capture.txt'), 'spoilt\n');
    const { taken } = await intake(join(folder, 'bad'));
    expect(taken.troubles.map((t) => t.folder)).toEqual([join(library, bad.id)]);
    expect(taken.cases).toBe(2);
  });
});

describe('a share', () => {
  it('takes each thing once over all shares, and refuses what is none', () => {
    for (const n of [1, 3, 16]) {
      const owners = Array.from({ length: 64 }, (_, i) =>
        Array.from({ length: n }, (_, k) => inShare(i, { k: k + 1, of: n })).filter(Boolean),
      );
      expect(owners.every((o) => o.length === 1)).toBe(true);
    }
    for (const text of ['0/4', '5/4', '1/65', '1', 'a/b', '1/4/2', '-1/4', '1.5/4'])
      expect(() => shareIn(text, 64), text).toThrow();
  });
});
