/** A file of a run that is a link to somewhere else is opened by nobody: not read, not written, not packed. */

import { mkdirSync, readFileSync, renameSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeEach, describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { check } from '../../src/run/check.ts';
import { createRun, recoverRun } from '../../src/run/library.ts';
import { openRecording } from '../../src/run/recording.ts';
import { inWords } from '../in-words.ts';
import { scratch } from './files.ts';

let home: string;
let folder: string;
let id: string;

beforeEach(async () => {
  home = scratch();
  const clock = new ManualClock();
  const where = { library: join(home, 'library') };
  const run = await createRun({ where, purpose: 'other', tool: 'test', clock });
  run.capture.sample({ signal: 'rpm', tUs: 1000, sentUs: 0, value: 800 });
  await run.close();
  ({ folder, id } = run);
});

/** Moves a file of the run out of the library and leaves a link in its place. */
function linkOut(name: string): string {
  const outside = join(home, `outside-${name}`);
  renameSync(join(folder, name), outside);
  symlinkSync(outside, join(folder, name));
  return outside;
}

async function onAllPaths(): Promise<(string | undefined)[]> {
  const daemon = new Daemon({ clock: new ManualClock(), library: join(home, 'library') });
  const answers = await Promise.allSettled([
    daemon.run(id),
    daemon.series(id, { points: 100 }),
    daemon.sheet({ of: { run: id }, choice: {}, pdf: false }),
    daemon.compare({ before: [id], after: [id], comeBack: [] }),
    openRecording(folder),
    recoverRun(folder),
  ]);
  await daemon.close();
  return answers.map((a) => (a.status === 'rejected' ? a.reason.code : 'opened'));
}

describe('linked out of the library', () => {
  it('a capture is refused on every path, and by check with its reason', async () => {
    linkOut('capture.txt');
    const codes = await onAllPaths();
    expect(codes.slice(0, 5)).toEqual(Array(5).fill('input.file'));
    expect(await check(folder)).toMatchObject({
      ok: false,
      items: [
        {
          ok: false,
          remarks: expect.arrayContaining([expect.objectContaining({ id: 'error.no-plain-file' })]),
        },
      ],
    });
  });

  it('a capture of a run left open is not completed: nothing outside is written to', async () => {
    const path = join(folder, 'run.json');
    writeFileSync(path, readFileSync(path, 'utf8').replace(/"sha256": "\w+"/, '"sha256": null'));
    const outside = linkOut('capture.txt');
    const before = readFileSync(outside, 'utf8');
    await expect(recoverRun(folder)).rejects.toMatchObject({ code: 'input.file' });
    expect(readFileSync(outside, 'utf8')).toBe(before);
  });

  it('run.json is refused: the run is not listed, and the library says why', async () => {
    linkOut('run.json');
    const codes = await onAllPaths();
    expect(codes.slice(0, 4)).toEqual(Array(4).fill('library.path'));
    expect((await openRecording(folder)).warnings.map(inWords).join()).toMatch(
      /not a plain file.*read without it/,
    );
    expect((await check(join(home, 'library'))).troubles.map(inWords).join()).toContain('not a plain file');
  });

  it('a whole run folder is not entered', async () => {
    const outside = join(home, 'elsewhere');
    renameSync(folder, outside);
    symlinkSync(outside, folder);
    expect((await onAllPaths()).slice(0, 3)).toEqual(Array(3).fill('library.path'));
  });

  it('a capture that is a pipe, a device or a folder holds up nobody', async () => {
    rmSync(join(folder, 'capture.txt'));
    mkdirSync(join(folder, 'capture.txt'));
    expect((await onAllPaths()).slice(0, 2)).toEqual(['input.file', 'input.file']);
    rmSync(join(folder, 'capture.txt'), { recursive: true });
    symlinkSync('/dev/zero', join(folder, 'capture.txt'));
    expect((await onAllPaths()).slice(0, 2)).toEqual(['input.file', 'input.file']);
  });
});
