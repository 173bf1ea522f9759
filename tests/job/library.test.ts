/** Jobs as folders: opened, found again, changed, binned and brought back; damage in one leaves the others alone. */

import { existsSync, readdirSync, readFileSync, renameSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { listBin, putIntoBin, restore } from '../../src/job/bin.ts';
import { readPhoto, savePhoto } from '../../src/job/files.ts';
import { createJob, fileRun, findJob, listJobs, updateFields, updateJob } from '../../src/job/library.ts';
import { photoKind } from '../../src/job/photo/clean.ts';
import { profileOfSameVehicle, searchJobs } from '../../src/job/search.ts';
import { createRun, findRun, listRuns } from '../../src/run/library.ts';
import { inWords } from '../in-words.ts';
import { scratch } from '../run/files.ts';
import { shortRun } from './drives.ts';
import { POINT, pointWith } from './point.ts';

const clock = new ManualClock(0, Date.UTC(2026, 2, 5, 9));
const codeOf = (promise: Promise<unknown>) =>
  promise.then(
    () => 'no error',
    (e: unknown) => (e instanceof HandbackError ? e.code : String(e)),
  );
const jsonOf = (folder: string) => JSON.parse(readFileSync(join(folder, 'job.json'), 'utf8'));

describe('a job', () => {
  it('is opened, changed and read again as it was written', async () => {
    const library = scratch();
    const { job, folder } = await createJob(library, { vehicle: 'Tarnwick Éstate', plate: 'AB-C 12' }, clock);
    expect(job.id).toMatch(/^2026-03-05-tarnwick-estate-[0-9a-f]{4}$/);
    await updateFields(
      library,
      job.id,
      { complaint: 'Howls', profile: { induction: 'turbocharger' } },
      clock,
    );
    const again = await findJob(library, job.id);
    expect(again.job).toMatchObject({ plate: 'AB-C 12', complaint: 'Howls', openedAt: job.openedAt });
    expect(readdirSync(folder)).toEqual(['job.json']);
  });

  it('keeps what a later version added, at the top and inside lists', async () => {
    const library = scratch();
    const { job, folder } = await createJob(library, {}, clock);
    const photo = { file: 'a-1.png', caption: '', at: job.openedAt, rotated: 90 };
    writeFileSync(join(folder, 'job.json'), JSON.stringify({ ...job, colour: 'green', photos: [photo] }));
    await updateFields(library, job.id, { plate: 'X' }, clock);
    expect(jsonOf(folder)).toMatchObject({ colour: 'green', plate: 'X', photos: [{ rotated: 90 }] });
  });

  it('of a later format is refused as such and left alone', async () => {
    const library = scratch();
    const { job, folder } = await createJob(library, {}, clock);
    const later = JSON.stringify({ ...job, format: 'handback.job/2' });
    writeFileSync(join(folder, 'job.json'), later);
    expect(await codeOf(updateFields(library, job.id, { plate: 'X' }, clock))).toBe('input.version');
    expect(readFileSync(join(folder, 'job.json'), 'utf8')).toBe(later);
  });

  it('loses nothing when two changes come at once', async () => {
    const library = scratch();
    const { job } = await createJob(library, {}, clock);
    await Promise.all(
      Array.from({ length: 12 }, (_, i) =>
        updateJob(library, job.id, clock, (j) => ({ ...j, replaced: [...j.replaced, `part ${i}`] })),
      ),
    );
    expect((await findJob(library, job.id)).job.replaced).toHaveLength(12);
  });

  it('is addressed by its name only, never by a path or a link', async () => {
    const library = scratch();
    const elsewhere = scratch();
    const { folder } = await createJob(elsewhere, {}, clock);
    symlinkSync(folder, join(library, 'linked'));
    for (const id of ['../x', '..', 'a/b', '/etc', 'A', '', 'linked', 'a\u0000'])
      expect(await codeOf(findJob(library, id))).toBe('library.path');
  });
});

describe('a library', () => {
  it('reports a damaged job and opens the rest, the drives of the damaged one included', async () => {
    const library = scratch();
    const good = await createJob(library, { vehicle: 'good' }, clock);
    const bad = await createJob(library, { vehicle: 'bad' }, clock);
    const run = await shortRun({ library: bad.folder });
    writeFileSync(join(bad.folder, 'job.json'), '{"format":"handback.job/1","id":');
    const list = await listJobs(library);
    expect(list.jobs.map((j) => j.job.id)).toEqual([good.job.id]);
    expect(list.troubles).toHaveLength(1);
    expect(inWords(list.troubles[0])).toContain('is damaged');
    expect(list.loose.map((r) => r.meta.id)).toEqual([run.id]);
  });

  it('finds jobs by every field, whatever the case, the accents and the gaps of a plate', async () => {
    const library = scratch();
    const { job } = await createJob(
      library,
      {
        vehicle: 'Tarnwick Éstate',
        plate: 'ab-C 12',
        vin: 'XHB0001',
        reference: 'P/77',
        complaint: 'Heult beim Überholen, großer Lärm',
        replaced: ['Coolant pump'],
      },
      clock,
    );
    await createJob(library, { vehicle: 'another' }, new ManualClock(0, Date.UTC(2026, 4, 20, 9)));
    const { jobs } = await listJobs(library);
    for (const q of [
      'ESTATE',
      'abc12',
      'AB C12',
      'xhb0001',
      'p77',
      'uberholen larm',
      'grosser',
      'pump',
      '2026-03-05',
      '05.03.2026',
    ])
      expect([q, searchJobs(jobs, q).map((j) => j.job.id)]).toEqual([q, [job.id]]);
    expect(searchJobs(jobs, 'estate another')).toEqual([]);
    expect(searchJobs(jobs, '  ')).toHaveLength(2);
  });

  it('knows a vehicle again by VIN, and by plate where a VIN is missing', async () => {
    const library = scratch();
    const profile = { induction: 'turbocharger' } as const;
    const old = await createJob(library, { vin: 'V1', plate: 'A 1', profile }, clock);
    const { jobs } = await listJobs(library);
    expect(profileOfSameVehicle(jobs, { id: 'new', vin: 'v1', plate: '' })?.jobId).toBe(old.job.id);
    expect(profileOfSameVehicle(jobs, { id: 'new', vin: '', plate: 'a-1' })?.profile).toEqual(profile);
    expect(profileOfSameVehicle(jobs, { id: 'new', vin: 'V2', plate: 'A 1' })).toBeNull();
    expect(profileOfSameVehicle(jobs, { id: 'new', vin: '', plate: '' })).toBeNull();
  });

  it('deletes into the bin and brings back whole', async () => {
    const library = scratch();
    const { job, folder } = await createJob(library, { vehicle: 'Practice' }, clock);
    const run = await shortRun({ library: folder });
    const binned = await putIntoBin(library, job.id, clock);
    expect((await listJobs(library)).jobs).toEqual([]);
    expect((await listRuns(library)).runs).toEqual([]);
    expect(await listBin(library)).toEqual([
      { id: binned.id, deletedAt: '2026-03-05T09:00:00.000Z', title: 'Practice' },
    ]);
    expect(await restore(library, binned.id)).toBe(job.id);
    expect((await findJob(library, job.id)).runs.map((r) => r.meta.id)).toEqual([run.id]);
    expect(await codeOf(restore(library, '../../etc'))).toBe('library.path');
  });

  it('does not bin a job while one of its drives is being recorded', async () => {
    const library = scratch();
    const { job, folder } = await createJob(library, {}, clock);
    const open = await createRun({ where: { library: folder }, purpose: 'baseline', tool: 'test', clock });
    expect(await codeOf(putIntoBin(library, job.id, clock))).toBe('run.busy');
    await open.close();
    await putIntoBin(library, job.id, clock);
  });

  it('files a drive into a job, with another purpose, and out again', async () => {
    const library = scratch();
    const { job } = await createJob(library, {}, clock);
    const { id } = await shortRun({ library }, 'other');
    await fileRun(library, await findRun(library, id), job.id, 'baseline');
    expect((await findJob(library, job.id)).runs.map((r) => [r.meta.id, r.meta.purpose])).toEqual([
      [id, 'baseline'],
    ]);
    await fileRun(library, await findRun(library, id), null, 'other');
    expect((await listJobs(library)).loose.map((r) => r.meta.id)).toEqual([id]);
  });

  it('names a folder that it cannot address instead of hiding it', async () => {
    const library = scratch();
    const { folder } = await createJob(library, {}, clock);
    renameSync(folder, join(library, 'My job (copy)'));
    expect(inWords((await listJobs(library)).troubles[0])).toContain('"My job (copy)"');
  });
});

describe('a photo', () => {
  const photo = (bytes: Buffer, original = false) => ({ bytes, caption: 'pump', original });

  it('is told by its bytes, kept, and given out only when the job names it', async () => {
    const library = scratch();
    const { job, folder } = await createJob(library, {}, clock);
    const ref = await savePhoto(folder, job, photo(pointWith('taken here')), job.openedAt);
    expect(ref.file).toMatch(/\.png$/);
    const named = { ...job, photos: [ref] };
    expect(await readPhoto(folder, named, ref.file)).toMatchObject({ type: 'image/png', bytes: POINT });
    expect(readFileSync(join(folder, 'photos', ref.file))).toEqual(POINT);
    expect(existsSync(join(folder, 'originals'))).toBe(false);
    // Of an earlier version, which kept photos as they came.
    writeFileSync(join(folder, 'photos', ref.file), pointWith('taken here'));
    expect((await readPhoto(folder, named, ref.file)).bytes).toEqual(POINT);
    expect(await codeOf(readPhoto(folder, job, ref.file))).toBe('library.path');
    expect(await codeOf(readPhoto(folder, named, '../job.json'))).toBe('library.path');
    writeFileSync(join(folder, 'photos', ref.file), '<html><script>alert(1)</script>');
    expect(await codeOf(readPhoto(folder, named, ref.file))).toBe('input.format');
  });

  it.each(['<svg onload=x>', 'GIF89a', '', 'PK\u0003\u0004'])('is not %j', async (text) => {
    const { job, folder } = await createJob(scratch(), {}, clock);
    expect(photoKind(Buffer.from(text))).toBeNull();
    expect(await codeOf(savePhoto(folder, job, photo(Buffer.from(text)), job.openedAt))).toBe('input.format');
  });

  it('is refused when it is cut, and kept as it came where that is asked for', async () => {
    const { job, folder } = await createJob(scratch(), {}, clock);
    const whole = pointWith('taken here');
    expect(await codeOf(savePhoto(folder, job, photo(whole.subarray(0, 60), true), job.openedAt))).toBe(
      'input.format',
    );
    expect(existsSync(join(folder, 'originals'))).toBe(false);
    const { file } = await savePhoto(folder, job, photo(whole, true), job.openedAt);
    expect(readFileSync(join(folder, 'originals', file))).toEqual(whole);
    expect(readFileSync(join(folder, 'photos', file))).toEqual(POINT);
  });
});
