/** Libraries of other formats: older ones brought up to date without losing anything, later ones read and left alone. */
import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { once } from 'node:events';
import {
  cpSync,
  existsSync,
  lstatSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { addressOf, tellAddress } from '../../src/desk/address.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { packJob } from '../../src/job/archive.ts';
import { putIntoBin } from '../../src/job/bin.ts';
import { saveSnapshot, writeJob } from '../../src/job/files.ts';
import { changeKinds } from '../../src/job/kinds-file.ts';
import { createJob, fileRun, listJobs, updateFields } from '../../src/job/library.ts';
import { editMarkIn } from '../../src/job/marks.ts';
import { check } from '../../src/run/check.ts';
import { findRun, recoverRun } from '../../src/run/library.ts';
import {
  bringUpToDate,
  LIBRARY_FORMAT,
  libraryStamp,
  readyToWrite,
  type Step,
} from '../../src/run/library-format.ts';
import { argv, ROOT } from '../cli/program.ts';
import { shortRun } from '../job/drives.ts';
import { POINT, pointWith } from '../job/point.ts';
import { scratch } from '../run/files.ts';

const clock = new ManualClock(0, Date.UTC(2026, 2, 5, 9));
const CAPTURES = resolve(ROOT, 'captures');

/** Key for key what the first version that had jobs wrote. */
const FIRST_JOB = {
  format: 'handback.job/1',
  id: '2026-01-10-first-0001',
  reference: '',
  plate: 'PRA-C1',
  vin: '',
  vehicle: 'Tarnwick estate (invented)',
  complaint: 'Howls',
  suspected: '',
  replaced: [],
  profile: {},
  technician: '',
  workshop: '',
  odometerKm: null,
  weather: '',
  openedAt: '2026-01-10T08:00:00.000Z',
  changedAt: '2026-01-10T08:00:00.000Z',
  closedAt: null,
  observations: [],
  snapshots: [],
  photos: [{ file: 'a-1.png', caption: '', at: '2026-01-10T08:00:00.000Z' }],
  teaching: [],
  sheet: {
    language: 'en',
    temperature: 'degC',
    pressure: 'kPa',
    speed: 'km/h',
    hidePlate: false,
    hideVin: false,
  },
  practice: false,
};

/** Cut off while it was recorded, by an early version. */
const EARLY = join('2026-01-10-first-0001', 'early-run');

/** A library as it was before it had a number: one run of every generation, alone and in jobs, and what lay beside. */
async function oldLibrary(): Promise<string> {
  const library = join(scratch(), 'library');
  const generations = [
    join(CAPTURES, 'clutch-never-closes'),
    ...readdirSync(join(CAPTURES, 'conformance')).map((name) => join(CAPTURES, 'conformance', name)),
  ].filter((folder) => existsSync(join(folder, 'run.json')));
  expect(generations.length).toBeGreaterThan(10);
  const job = join(library, '2026-01-10-first-0001');
  mkdirSync(join(job, 'photos'), { recursive: true });
  writeFileSync(join(job, 'job.json'), JSON.stringify(FIRST_JOB));
  writeFileSync(join(job, 'photos', 'a-1.png'), pointWith('place')); // as it came, with what its camera wrote
  for (const [i, from] of generations.entries()) {
    const name = from.split(/[\\/]/).at(-1)!;
    const inJob = name === 'early-run' || (name !== 'at-can29' && i % 2 === 0);
    cpSync(from, join(inJob ? job : library, name), { recursive: true });
  }
  const edit = { is: 'merge', from: 'ab/1800/turbocharger/petrol', into: 'ac/1800/turbocharger/petrol' };
  writeFileSync(
    join(library, 'kinds.json'),
    JSON.stringify({ format: 'handback.kinds/1', edits: [edit], undone: [] }),
  );
  cpSync(job, join(library, '.bin', '2026-01-12-090000-2026-01-09-gone-0002'), { recursive: true });
  writeFileSync(join(library, 'run.json.1a2b3c4d.tmp'), '{"form'); // a write that was cut off
  return library;
}

/** Path to digest of everything below, links not followed. */
function tree(folder: string): Record<string, string> {
  const out: Record<string, string> = {};
  for (const name of (readdirSync(folder, { recursive: true }) as string[]).sort()) {
    const path = join(folder, name);
    const info = lstatSync(path);
    out[name] = info.isFile()
      ? createHash('sha256').update(readFileSync(path)).digest('hex')
      : String(info.mode & 0o170000);
  }
  return out;
}

const codeOf = (promise: Promise<unknown>) =>
  promise.then(
    () => 'no error',
    (e: unknown) => (e instanceof HandbackError ? e.code : String(e)),
  );

describe('an older library', () => {
  it('is brought up to date when it is opened: everything in it is as it was, and is read as before', async () => {
    const library = await oldLibrary();
    const before = tree(library);
    const said = (list: Awaited<ReturnType<typeof listJobs>>) => ({
      jobs: list.jobs.map((j) => [j.job, j.runs.map((r) => r.meta.id)]),
      loose: list.loose.map((r) => r.meta.id),
      troubles: list.troubles,
    });
    const listed = said(await listJobs(library));
    const checked = await check(library);
    expect(listed.jobs).toHaveLength(1);
    expect(await libraryStamp(library)).toEqual({ format: 0, by: null });

    const daemon = new Daemon({ clock, library });
    await daemon.open();
    expect(daemon.state().readOnly).toBeNull();
    await daemon.close();
    // The one that was cut off while it was recorded is closed: its own bytes stay, and its end is added.
    const [capture, meta] = ['capture.txt', 'run.json'].map((f) => join(EARLY, f)) as [string, string];
    const now = readFileSync(join(library, capture));
    const old = readFileSync(join(CAPTURES, 'conformance', 'early-run', 'capture.txt'));
    expect(now.subarray(0, old.lastIndexOf(10) + 1)).toEqual(old.subarray(0, old.lastIndexOf(10) + 1));
    const { 'library.json': stamp, ...after } = tree(library);
    expect(stamp).toBeDefined();
    expect({ ...after, [capture]: before[capture], [meta]: before[meta] }).toEqual(before);
    expect((await libraryStamp(library)).format).toBe(LIBRARY_FORMAT);
    expect(said(await listJobs(library))).toEqual(listed);
    expect((await check(library)).items.map((i) => [i.path, i.ok])).toEqual(
      checked.items.map((i) => [i.path, i.ok]),
    );
  });

  it('is brought up to date by a command as well, and by one of two that come at once', async () => {
    const library = await oldLibrary();
    const told = await Promise.all([codeOf(readyToWrite(library)), codeOf(readyToWrite(library))]);
    expect(told).toContain('no error');
    for (const code of told) expect(['no error', 'run.busy']).toContain(code);
    expect((await libraryStamp(library)).format).toBe(LIBRARY_FORMAT);
    expect(await codeOf(readyToWrite(library))).toBe('no error');
    expect(readdirSync(library)).not.toContain('lock');
  });

  it('goes step by step and never back; a step that was cut off is begun anew and loses nothing', async () => {
    const library = await oldLibrary();
    const before = tree(library);
    const made: string[] = [];
    // Puts a note beside each job, and is cut off after so many writes.
    let power = 0;
    const noting =
      (to: number): Step =>
      async (root) => {
        for (const { folder } of (await listJobs(root)).jobs) {
          if (power-- === 0) throw new Error('power cut');
          writeFileSync(join(folder, `note-${to}.json`), `${to}`);
          made.push(`note-${to}`);
        }
      };
    const steps: Step[] = [async () => undefined, noting(2), noting(3)];
    await createJob(library, { vehicle: 'second' }, clock);
    for (const [cutAfter, reached] of [
      [0, 1],
      [1, 1],
      [3, 2],
    ] as const) {
      power = cutAfter;
      await expect(bringUpToDate(library, steps)).rejects.toThrow('power cut');
      expect([cutAfter, (await libraryStamp(library)).format]).toEqual([cutAfter, reached]);
      expect(tree(library)).toMatchObject(before);
    }
    power = 99;
    await bringUpToDate(library, steps);
    expect((await libraryStamp(library)).format).toBe(3);
    expect(tree(library)).toMatchObject(before);
    const done = made.length;
    // this program knows less than the steps of the test: theirs is a later format now
    expect(await codeOf(bringUpToDate(library))).toBe('library.read-only');
    await bringUpToDate(library, steps);
    expect(made).toHaveLength(done);
  });
});

/** A library of the format after ours, with a job, two drives, one of them left open, and kinds. */
async function laterLibrary() {
  const library = await oldLibrary();
  const job = await createJob(library, { vehicle: 'Later', reference: 'L-1', engine: 'ab' }, clock);
  await shortRun({ library: job.folder });
  const loose = await shortRun({ library }, 'other');
  const torn = join(library, 'at-can29');
  const meta = JSON.parse(readFileSync(join(torn, 'run.json'), 'utf8')) as object;
  writeFileSync(join(torn, 'run.json'), JSON.stringify({ ...meta, sha256: null, seconds: null }));
  const zip = join(scratch(), 'job.zip');
  await packJob(job.folder, zip, { plate: false, vin: false });
  const stamp = { format: `handback.library/${LIBRARY_FORMAT + 1}`, by: '9.1.0', colour: 'green' };
  writeFileSync(join(library, 'library.json'), JSON.stringify(stamp));
  return { library, job: job.job.id, folder: job.folder, loose: loose.id, zip };
}

describe('a library of a later format', () => {
  it('is read, judged and printed; every way of writing is refused, and not a byte of it changes', async () => {
    const { library, job, folder, loose, zip } = await laterLibrary();
    const before = tree(library);
    const settings = scratch();
    const daemon = new Daemon({
      clock,
      library,
      keepJudged: true,
      makePractice: () => Promise.reject(new Error('asked')),
    });
    const said = await daemon.open();
    expect(said.map((s) => s.id)).toContain('error.library-later');
    expect(daemon.state().readOnly).toContain('written by a later Handback (9.1.0');

    // read
    expect((await daemon.jobs.list('')).total).toBe(2);
    const run = (await daemon.jobs.open(job)).runs[0]!;
    expect((await daemon.run(run.id)).value.judgement).toBeDefined();
    expect(await daemon.jobs.verdicts(job)).toHaveLength(1);
    const sheet = await daemon.sheet({ of: { job }, choice: {}, pdf: false });
    expect(Buffer.from(sheet).toString('utf8')).toContain('Later');
    await daemon.jobs.pack(job, { plate: false, vin: false }, join(scratch(), 'again.zip'));

    // write
    const { jobs } = daemon;
    const entry = await findRun(library, loose);
    const { job: whole } = (await listJobs(library)).jobs.find((j) => j.job.id === job)!;
    const connected = clock.until(daemon.connect({ link: 'sim:twin-charged?front=slcan&answer=90' }));
    await connected;
    const refused: Record<string, () => Promise<unknown>> = {
      create: () => jobs.create({ vehicle: 'x' }),
      change: () => jobs.change(job, { plate: 'x' }),
      remove: () => jobs.remove(job),
      restore: () => jobs.restore('2026-01-12-090000-2026-01-09-gone-0002'),
      observe: () => jobs.observe(job, { runId: null, tS: null, kind: 'leaks', answer: 'none', text: '' }),
      photo: () => jobs.addPhoto(job, { bytes: POINT, caption: '', original: true }),
      snapshot: () => jobs.takeSnapshot(job, 'before'),
      handOver: () => jobs.handOver(job, 'because'),
      teach: () => jobs.setTeaching(job, run.id, null),
      file: () => jobs.fileRun(loose, job, 'verification'),
      unpack: () => jobs.unpack(zip),
      practice: () => jobs.makePractice(),
      mark: () => daemon.editMark(run.id, { tS: 1, key: 'N', text: 'x', removed: false }),
      record: () => daemon.startRun({ purpose: 'other' }),
      'record into the job': () => daemon.startRun({ purpose: 'other', job }),
      'record into a folder of it': () => daemon.startRunIn(join(library, 'mine'), { purpose: 'other' }),
      // below the daemon, where whatever comes later ends up
      'a job': () => createJob(library, {}, clock),
      'fields of a job': () => updateFields(library, job, { plate: 'x' }, clock),
      'job.json': () => writeJob(folder, whole),
      'kinds.json': () => changeKinds(library, () => ({ edits: [], undone: [] })),
      'marks.json': () => editMarkIn(join(folder, run.id), { tS: 1, key: 'N', text: 'x', removed: false }),
      'a snapshot': () => saveSnapshot(folder, { units: [] } as never, 'before', '2026-03-05T09:00:00.000Z'),
      'the bin': () => putIntoBin(library, job, clock),
      'a run moved': () => fileRun(library, entry, job, 'other'),
      'a run renamed': () => fileRun(library, entry, null, 'verification'),
      'a run closed': () => recoverRun(join(library, 'at-can29')),
      'the number': () => bringUpToDate(library),
      'a command': () => readyToWrite(library),
    };
    for (const [what, write] of Object.entries(refused))
      expect([what, await clock.until(codeOf(write()))]).toEqual([what, 'library.read-only']);

    // a second start finds this one; a program of that later version does not take it for its own
    const forget = await tellAddress(library, 'http://127.0.0.1:9/', settings);
    expect(readdirSync(settings)).toHaveLength(1);
    await forget();
    expect(readdirSync(settings)).toHaveLength(0);
    expect(await addressOf(library, settings)).toBeNull();
    await clock.until(daemon.close());
    expect(tree(library)).toEqual(before);
  });

  it('is refused by every command that writes, and read by those that read', async () => {
    const { library, job, folder, zip } = await laterLibrary();
    const before = tree(library);
    const kind = ['--library', library] as const;
    const run = async (...args: readonly string[]) => {
      const child = spawn(process.execPath, argv(...args, '--lang', 'de'), { cwd: ROOT });
      let err = '';
      child.stderr.on('data', (d: Buffer) => (err += d.toString()));
      child.stdout.resume();
      const [status] = (await once(child, 'close')) as [number];
      return { status, err };
    };
    const refused = (told: { status: number; err: string }) =>
      expect(told).toEqual({ status: 2, err: expect.stringMatching(SAID) });
    const out = join(scratch(), 'sheet.html');
    const [unpack, kinds, jobs, sheet] = await Promise.all([
      run('unpack', zip, ...kind),
      run('kinds', 'state', job, '--engine', 'x', ...kind),
      run('jobs', ...kind),
      run('sheet', folder, '--out', out),
    ]);
    refused(unpack);
    refused(kinds);
    expect([jobs.status, sheet.status]).toEqual([0, 0]);
    expect(statSync(out).size).toBeGreaterThan(1000);
    expect(tree(library)).toEqual(before);
  });
});

const SAID =
  /^Diese Bibliothek stammt von einem neueren Handback \(9\.1\.0; .*\n.*die neuere Version installieren/;

describe('a library.json that tells no format', () => {
  it('is no reason to guess: nothing is written until it is put right', async () => {
    const library = await oldLibrary();
    const file = join(library, 'library.json');
    const outside = join(scratch(), 'library.json');
    writeFileSync(outside, JSON.stringify({ format: 'handback.library/1', by: '0.1.0' }));
    const spoilt = ['', '{', '[]', '{"format":"handback.library/0","by":""}', '{"format":7,"by":""}'];
    for (const write of [
      ...spoilt.map((text) => () => writeFileSync(file, text)),
      () => writeFileSync(file, ' '.repeat(70_000)),
      () => mkdirSync(file),
      () => symlinkSync(outside, file),
    ]) {
      write();
      const before = tree(library);
      const daemon = new Daemon({ clock, library });
      expect((await daemon.open())[0]).toMatchObject({ id: 'error.library-stamp' });
      expect(await codeOf(daemon.jobs.create({}))).toBe('library.read-only');
      expect((await daemon.jobs.list('')).total).toBe(1);
      await daemon.close();
      expect(tree(library)).toEqual(before);
      rmSync(file, { recursive: true });
    }
    const daemon = new Daemon({ clock, library });
    await daemon.open();
    expect(daemon.state().readOnly).toBeNull();
    await daemon.close();
    expect((await libraryStamp(library)).format).toBe(LIBRARY_FORMAT);
  });
});

it('a disk that refused when the program started is tried again by itself', async () => {
  const folder = scratch();
  const library = join(folder, 'stick', 'library');
  writeFileSync(join(folder, 'stick'), 'in the way');
  const own = new ManualClock();
  const daemon = new Daemon({ clock: own, library });
  await daemon.open();
  expect(daemon.state().readOnly).toContain('The library cannot be written');
  await own.advance(20_000);
  expect(daemon.state().readOnly).not.toBeNull();
  rmSync(join(folder, 'stick'));
  await expect
    .poll(async () => {
      await own.advance(5000);
      return daemon.state().readOnly;
    })
    .toBeNull();
  await daemon.close();
});
