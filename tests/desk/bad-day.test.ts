/** A full disk, a program that is ended or killed amid its work: what is said, and what is left. */
import { existsSync, mkdirSync, readdirSync, utimesSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { writeOut } from '../../src/cli/write-out.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { createJob } from '../../src/job/library.ts';
import { createRun } from '../../src/run/library.ts';
import { lockRun } from '../../src/run/lock.ts';
import { scratch } from '../run/files.ts';
import { FsTap } from '../torture/fs-tap.ts';

const clock = new ManualClock(0, Date.UTC(2026, 2, 5, 9));
let tap: FsTap | null = null;
afterEach(() => {
  tap?.uninstall();
  tap = null;
});

/** The first so many bytes still have room. */
function full(leftBytes = 0): FsTap {
  tap = new FsTap();
  tap.fail = (op) => {
    if (op !== 'write' || leftBytes-- > 0) return null;
    return Object.assign(new Error('ENOSPC: no space left on device, write'), { code: 'ENOSPC' });
  };
  tap.install();
  return tap;
}
const ROOM = { message: expect.stringContaining('the disk is full'), hint: expect.stringContaining('room') };

describe('on a full disk', () => {
  it('a run that cannot begin leaves no folder behind, whichever of its files has no room, and says what to do', async () => {
    const library = scratch();
    const begin = () => createRun({ where: { library }, purpose: 'other', tool: 'test', clock });
    for (const writes of [0, 1]) {
      full(writes);
      await expect(begin()).rejects.toMatchObject(ROOM);
      tap?.uninstall();
      expect(readdirSync(library)).toEqual([]);
    }
    const run = await begin();
    await run.close();
    expect(readdirSync(run.folder)).toContain('run.json');
  });

  it('a job that cannot be opened leaves no folder behind', async () => {
    const library = scratch();
    full();
    await expect(createJob(library, { plate: 'AB 1' }, clock)).rejects.toMatchObject(ROOM);
    expect(readdirSync(library)).toEqual([]);
  });

  it('half a sheet is not left where a whole one was asked for, and a file that was there is not taken away', async () => {
    const folder = scratch();
    const out = join(folder, 'sheet.html');
    full();
    await expect(writeOut(out, '<html>')).rejects.toMatchObject(ROOM);
    expect(readdirSync(folder)).toEqual([]);
    tap?.uninstall();
    writeFileSync(out, 'of before');
    await expect(writeOut(out, '<html>', 'wx')).rejects.toMatchObject({ code: 'run.write' });
    expect(readdirSync(folder)).toEqual(['sheet.html']);
  });
});

describe('a program that ends', () => {
  it('gives up the practice drives that are being made, and waits until nothing of them is left', async () => {
    let left = false;
    const daemon = new Daemon({
      clock,
      library: join(scratch(), 'library'),
      makePractice: (_library, _say, { signal }) =>
        new Promise((_, reject) =>
          signal.addEventListener('abort', () =>
            setImmediate(() => {
              left = true;
              reject(signal.reason);
            }),
          ),
        ),
    });
    await daemon.jobs.makePractice();
    await daemon.close();
    expect(left).toBe(true);
  });

  it('when killed while a job was taken in leaves a folder that the next start takes away; one in use stays', async () => {
    const library = scratch();
    for (const name of [
      '.import-0a1b2c3d4e5f',
      '.practice-0a1b2c3d',
      '.import-0a1b2c3d4e60',
      '.bin',
      '.mine',
    ]) {
      mkdirSync(join(library, name, 'job'), { recursive: true });
      writeFileSync(join(library, name, 'job', 'capture.txt'), 'x');
    }
    const release = await lockRun(join(library, '.import-0a1b2c3d4e60'));
    const daemon = new Daemon({ clock, library });
    expect(await daemon.open()).toEqual([]);
    await daemon.close();
    await release();
    const left = readdirSync(library).filter((n) => n.startsWith('.'));
    expect(left.sort()).toEqual(['.bin', '.import-0a1b2c3d4e60', '.mine']);
    expect(existsSync(join(library, '.mine', 'job', 'capture.txt'))).toBe(true);
  });

  it('when killed while it wrote a file leaves what it had begun, which the next start takes away; one in use stays', async () => {
    const library = scratch();
    const { folder } = await createJob(library, { plate: 'AB 1' }, clock);
    const old = ['job.json.0a1b2c3d.tmp', 'photos/p1.jpg.0a1b2c3d.tmp', 'run-0-other/run.json.0a1b2c3d.tmp'];
    const theirs = ['job.json.ffffffff.tmp', 'notes.tmp', 'notes.0a1b2c3d.tmp.txt'];
    for (const name of [...old, ...theirs]) {
      mkdirSync(dirname(join(folder, name)), { recursive: true });
      writeFileSync(join(folder, name), 'x');
      const at = new Date(Date.now() - (name.includes('ffffffff') ? 60_000 : 2 * 3_600_000));
      utimesSync(join(folder, name), at, at);
    }
    const daemon = new Daemon({ clock, library });
    await daemon.open();
    await daemon.close();
    expect(old.filter((n) => existsSync(join(folder, n)))).toEqual([]);
    expect(theirs.filter((n) => existsSync(join(folder, n)))).toEqual(theirs);
    expect(existsSync(join(folder, 'job.json'))).toBe(true);
  });
});
