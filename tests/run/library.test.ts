import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ManualClock, systemClock } from '../../src/core/clock.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { check } from '../../src/run/check.ts';
import {
  createRun,
  defaultLibrary,
  findRun,
  listRuns,
  type NewRun,
  recoverRun,
} from '../../src/run/library.ts';
import { lockLibrary } from '../../src/run/lock.ts';
import { openRecording } from '../../src/run/recording.ts';
import { inWords } from '../in-words.ts';
import { plain, scratch } from './files.ts';

const codeOf = (promise: Promise<unknown>) =>
  promise.then(
    () => 'no error',
    (e: unknown) => (e instanceof HandbackError ? e.code : String(e)),
  );

/** One minute and a half of a little drive, every second two answers. */
async function record(where: NewRun['where'], more: Partial<NewRun> = {}) {
  const clock = new ManualClock(9_000_000);
  const run = await createRun({ where, purpose: 'verification', tool: '0.1.0', clock, ...more });
  run.capture.wire({
    kind: 'dialect',
    tUs: clock.nowUs(),
    dialect: { family: 'at', bus: 'can11', headers: true },
  });
  const ask = async (request: string, answer: string) => {
    run.capture.wire({
      kind: 'request',
      tUs: clock.nowUs(),
      payload: Buffer.from(request, 'hex'),
      ecu: null,
    });
    run.capture.wire({ kind: 'tx', tUs: clock.nowUs(), bytes: Buffer.from(`${request}\r`) });
    await clock.advance(40);
    run.capture.wire({ kind: 'rx', tUs: clock.nowUs(), bytes: Buffer.from(`${answer}\r\r>`) });
    run.capture.wire({ kind: 'done', tUs: clock.nowUs(), outcome: 'answered' });
  };
  for (let i = 0; i < 90; i++) {
    await ask('010C', `7E804410C${(4 * (800 + i)).toString(16).toUpperCase().padStart(4, '0')}`);
    await ask('0105', '7E803410582');
    await clock.advance(920);
  }
  run.capture.mark('N', 'noise gone');
  return { clock, run };
}

describe('a run', () => {
  it('is recorded, listed, found, opened and checked', async () => {
    const library = join(scratch(), 'lib');
    const profile = profileSchema.parse({ induction: 'twin-charged', clutch: true, handOverRpm: 3500 });
    const { run } = await record({ library }, { vehicle: 'Practice estate', profile });
    const meta = await run.close({ counters: { sent: 180, answered: 180 }, vin: 'TESTVIN0000000001' });
    expect(meta).toMatchObject({
      vehicle: 'Practice estate',
      vin: 'TESTVIN0000000001',
      seconds: 90,
      recovered: false,
    });
    expect(meta.id).toMatch(/^2026-01-05-080000-verification-[0-9a-f]{4}$/);
    expect(readdirSync(run.folder).sort()).toEqual(['capture.txt', 'run.json']);

    const { runs, troubles } = await listRuns(library);
    expect(troubles).toEqual([]);
    expect(runs).toEqual([{ folder: run.folder, meta, leftOpen: false }]);
    expect((await findRun(library, meta.id)).folder).toBe(run.folder);
    expect(await codeOf(findRun(library, '../..'))).toBe('library.path');

    const r = await openRecording(run.folder);
    expect(r.warnings).toEqual([]);
    expect(r).toMatchObject({ kind: 'run', meta, profile, gaps: [] });
    expect(r.marks).toEqual([{ tUs: 90_000_000, key: 'N', text: 'noise gone' }]);
    expect(r.table.length).toBe(180);
    expect(r.table.at(0)).toEqual({ signal: 'rpm', tUs: 40_000, sentUs: 0, value: 800 });
    expect(r.table.at(1)).toEqual({ signal: 'ect_c', tUs: 80_000, sentUs: 40_000, value: 90 });

    // the capture alone gives the same
    const alone = await openRecording(join(run.folder, 'capture.txt'));
    expect(plain(alone.table)).toEqual(plain(r.table));

    const report = await check(library);
    expect(report).toMatchObject({ ok: true, troubles: [] });
    expect(report.items[0]).toMatchObject({
      kind: 'run',
      ok: true,
      closed: true,
      hash: 'matches',
      digests: 2,
      tornTail: false,
    });
  });

  it('is never written over and never recorded twice at a time', async () => {
    const folder = join(scratch(), 'one');
    const { run, clock } = await record({ folder });
    const again: NewRun = { where: { folder }, purpose: 'other', tool: '0', clock };
    expect(await codeOf(createRun(again))).toBe('run.busy');
    expect(await codeOf(recoverRun(folder))).toBe('run.busy');
    expect((await listRuns(folder)).runs[0]).toMatchObject({ leftOpen: false });
    expect((await openRecording(folder)).warnings.map(inWords).join()).toMatch(/not closed/);
    await run.close();
    expect(await codeOf(createRun(again))).toBe('library.path');
    expect(existsSync(join(folder, 'lock'))).toBe(false);
  });

  it('tells a folder that cannot be made', async () => {
    const file = join(scratch(), 'file');
    writeFileSync(file, '');
    const clock = new ManualClock();
    expect(await codeOf(createRun({ where: { library: file }, purpose: 'other', tool: '0', clock }))).toBe(
      'library.path',
    );
  });

  it('left open is recovered: nothing but the torn line goes, and that is kept in a note', async () => {
    const folder = join(scratch(), 'left');
    const { run } = await record({ folder });
    const meta = await run.close();
    // As a killed process leaves it: no hash, a dead writer's lock, a torn last line, no end.
    const capture = join(folder, 'capture.txt');
    const lines = readFileSync(capture, 'utf8').split('\n');
    writeFileSync(capture, `${lines.slice(0, -4).join('\n')}\n91000000 rx 4142`);
    writeFileSync(join(folder, 'run.json'), JSON.stringify({ ...meta, sha256: null, seconds: null }));
    writeFileSync(
      join(folder, 'lock'),
      JSON.stringify({ pid: 2 ** 30, host: hostname(), atMs: Date.now(), token: 'x' }),
    );

    expect((await listRuns(folder)).runs[0]).toMatchObject({ leftOpen: true });
    const before = await check(folder);
    expect(before.items[0]).toMatchObject({ ok: false, closed: false, tornTail: true, hash: null });
    const samples = plain((await openRecording(folder)).table);
    expect(samples).toHaveLength(180);

    const recovered = await recoverRun(folder);
    expect(recovered).toMatchObject({ recovered: true, id: meta.id });
    expect(recovered.seconds).toBeCloseTo(89.08, 2);
    const after = await check(folder);
    expect(after.items[0]).toMatchObject({
      ok: true,
      closed: true,
      hash: 'matches',
      damagedLines: 0,
      changed: [],
    });
    const r = await openRecording(folder);
    expect(plain(r.table)).toEqual(samples);
    expect(r.warnings.map(inWords).join()).toMatch(
      /interrupted and closed later; a torn last line was taken out: .*91000000 rx 4142/,
    );
    expect(await recoverRun(folder)).toEqual(recovered);
    expect(existsSync(join(folder, 'lock'))).toBe(false);
  });

  it('killed before its first line is recovered as an empty run', async () => {
    const folder = join(scratch(), 'empty');
    const { run } = await record({ folder });
    const meta = await run.close();
    writeFileSync(join(folder, 'run.json'), JSON.stringify({ ...meta, sha256: null, seconds: null }));
    writeFileSync(join(folder, 'capture.txt'), 'handback-cap');
    expect((await recoverRun(folder)).seconds).toBe(0);
    expect((await check(folder)).ok).toBe(true);
  });

  it('a lock from before the computer started, or half written, does not hold', async () => {
    const numbered = { pid: process.pid, host: hostname() }; // one that had this process's number before it
    const before = [
      { ...numbered, atMs: 1000 },
      { ...numbered, atMs: Date.now(), token: 'x' },
    ];
    for (const lock of ['', '{', ...before.map((b) => JSON.stringify(b))]) {
      const folder = join(scratch(), 'locked');
      mkdirSync(folder);
      writeFileSync(join(folder, 'lock'), lock);
      const { run } = await record({ folder });
      await run.close();
    }
    const folder = join(scratch(), 'elsewhere');
    mkdirSync(folder);
    writeFileSync(
      join(folder, 'lock'),
      JSON.stringify({ pid: 1, host: 'another-computer', atMs: Date.now() }),
    );
    expect(await codeOf(record({ folder }))).toBe('run.busy');
  });

  it('a lock of this computer under an earlier name does not hold; of another one it says what to do', async () => {
    const folder = scratch();
    const lock = join(folder, 'lock');
    const release = await lockLibrary(folder);
    const own = JSON.parse(readFileSync(lock, 'utf8'));
    await release();
    const dead = { ...own, pid: 2 ** 30, host: 'earlier-name' };
    if (own.machine !== null) {
      writeFileSync(lock, JSON.stringify(dead));
      await (await lockLibrary(folder))();
    }
    writeFileSync(lock, JSON.stringify({ ...dead, machine: '00' }));
    const refused = await lockLibrary(folder).catch((e: HandbackError) => e);
    expect(refused).toMatchObject({ code: 'run.busy' });
    expect((refused as HandbackError).hint).toMatch(/"earlier-name".*delete the file .*lock/);
  });
});

describe('damage to a run', () => {
  it('is placed by check, and the rest is still read', async () => {
    const folder = join(scratch(), 'hurt');
    const { run } = await record({ folder });
    await run.close();
    const capture = join(folder, 'capture.txt');
    const text = readFileSync(capture, 'utf8');
    const lines = text.split('\n');
    const at = lines.findIndex((l) => l.includes(' rx ') && l.startsWith('1'));
    lines[at] = lines[at]!.replace(' rx ', ' rX ');
    writeFileSync(capture, lines.join('\n'));
    const item = (await check(folder)).items[0]!;
    expect(item).toMatchObject({ ok: false, hash: 'differs', damagedLines: 1, damaged: [{ line: at + 1 }] });
    expect(item.changed).toHaveLength(1);
    expect(item.changed[0]!.fromLine).toBeLessThanOrEqual(at + 1);
    expect(item.changed[0]!.toLine).toBeGreaterThan(at + 1);
    const r = await openRecording(folder);
    expect(r.table.length).toBe(179);
    expect(r.warnings.map(inWords).join('\n')).toMatch(new RegExp(`line ${at + 1} cannot be read`));
    expect(r.warnings.map(inWords).join('\n')).toMatch(/SHA-256 differs/);

    // even the first line
    writeFileSync(capture, `X${text.slice(1)}`);
    expect((await openRecording(capture)).table.length).toBe(180);
    expect((await check(capture)).items[0]).toMatchObject({ kind: 'capture', ok: false, damagedLines: 1 });
  });

  it('of run.json: named; the drive is still read', async () => {
    const folder = join(scratch(), 'meta');
    const { run } = await record({ folder });
    const meta = await run.close();
    const path = join(folder, 'run.json');
    writeFileSync(path, '{ "format":');
    expect((await openRecording(folder)).table.length).toBe(180);
    expect((await check(folder)).ok).toBe(false);
    writeFileSync(path, JSON.stringify({ ...meta, seconds: 'long' }));
    expect((await openRecording(folder)).warnings.map(inWords).join()).toMatch(/run\.json: seconds:/);
    expect((await listRuns(folder)).troubles.map(inWords).join()).toMatch(/seconds/);
    writeFileSync(path, JSON.stringify({ ...meta, format: 'handback.run/2' }));
    expect(await codeOf(openRecording(folder))).toBe('input.version');
    rmSync(path);
    expect((await openRecording(folder)).table.length).toBe(180);
    renameSync(join(folder, 'capture.txt'), join(folder, 'other'));
    expect(await codeOf(openRecording(folder))).toBe('input.file');
  });

  it('of the first line of a capture made with the real clock: it is still known for one', async () => {
    const folder = join(scratch(), 'real');
    const run = await createRun({ where: { folder }, purpose: 'other', tool: '0', clock: systemClock });
    run.capture.sample({ signal: 'ect_c', tUs: 5, sentUs: 5, value: 90 });
    await run.close();
    const capture = join(folder, 'capture.txt');
    writeFileSync(capture, `#${readFileSync(capture, 'utf8')}`);
    expect(plain((await openRecording(capture)).table)).toEqual([['ect_c', 5, 90]]);
  });

  it('a capture of a later version is refused as such', async () => {
    const folder = scratch();
    writeFileSync(join(folder, 'c'), 'handback-capture 3\n0 anchor start 2026-01-05T08:00:00.000Z\n');
    expect(await codeOf(openRecording(join(folder, 'c')))).toBe('input.version');
  });
});

describe('the library', () => {
  it('lies where the platform keeps user data', () => {
    expect(defaultLibrary({ XDG_DATA_HOME: '/data' }, 'linux', '/home/a')).toBe('/data/handback');
    expect(defaultLibrary({ XDG_DATA_HOME: 'relative' }, 'linux', '/home/a')).toBe(
      '/home/a/.local/share/handback',
    );
    expect(defaultLibrary({}, 'darwin', '/Users/a')).toBe('/Users/a/Library/Application Support/Handback');
    expect(defaultLibrary({ LOCALAPPDATA: '/l' }, 'win32', '/u')).toBe('/l/Handback/Library');
  });

  it('may hold runs in job folders, and may not exist', async () => {
    const library = scratch();
    const { run } = await record({ library: join(library, 'job-1') });
    await run.close();
    mkdirSync(join(library, 'notes'));
    expect((await listRuns(library)).runs.map((r) => r.folder)).toEqual([run.folder]);
    expect(await listRuns(join(library, 'nowhere'))).toEqual({ runs: [], troubles: [] });
    expect(await codeOf(check(join(library, 'notes')))).toBe('input.file');
  });
});
