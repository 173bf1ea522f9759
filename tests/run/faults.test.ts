/** Real files that vanish, come back, refuse to be synced; a computer that sleeps: what was received is kept. */

import { existsSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { check } from '../../src/run/check.ts';
import { createRun, type OpenRun } from '../../src/run/library.ts';
import { openRecording } from '../../src/run/recording.ts';
import { inWords } from '../in-words.ts';
import { FsTap } from '../torture/fs-tap.ts';
import { scratch } from './files.ts';

let tap: FsTap | null = null;
afterEach(() => {
  tap?.uninstall();
  tap = null;
});

async function started(library = scratch(), clock = new ManualClock(), sinceBootMs?: () => number) {
  tap ??= new FsTap();
  tap.install();
  const run = await createRun({
    where: { library },
    purpose: 'other',
    tool: 'test',
    clock,
    ...(sinceBootMs ? { sinceBootMs } : {}),
  });
  return { run, clock, library, tap };
}

let handed = 0;
async function drive(run: OpenRun, clock: ManualClock, seconds: number): Promise<void> {
  for (let i = 0; i < seconds * 4; i++) {
    run.capture.wire({ kind: 'rx', tUs: clock.nowUs(), bytes: Buffer.from(String(handed++)) });
    await clock.advance(250);
    await tap?.quiet();
  }
}

const rxIn = (folder: string): number =>
  readFileSync(join(folder, 'capture.txt'), 'latin1')
    .split('\n')
    .filter((l) => l.includes(' rx ')).length;

describe('a recording', () => {
  it('whose folder is deleted says so at once, makes it anew and holds everything', async () => {
    const { run, clock, library } = await started();
    await drive(run, clock, 3);
    rmSync(library, { recursive: true });
    await drive(run, clock, 3);
    expect(existsSync(join(run.folder, 'capture.txt'))).toBe(true);
    expect(run.capture.trouble).toBeNull();
    expect((await run.close()).sha256).not.toBeNull();
    expect(rxIn(run.folder)).toBe(24);
    expect(await check(run.folder)).toMatchObject({ ok: true });
  });

  it('whose stick is pulled goes on in memory, and into the same file when it is back', async () => {
    const { run, clock, library } = await started();
    await drive(run, clock, 3);
    renameSync(library, `${library}-away`);
    writeFileSync(library, 'no folder: nothing can be made here');
    await drive(run, clock, 3);
    expect(inWords(run.capture.trouble)).toMatch(/cannot be written.*kept in memory.*bring its folder back/);
    expect(inWords(run.capture.trouble)).not.toContain(library);
    rmSync(library);
    renameSync(`${library}-away`, library);
    await drive(run, clock, 3);
    expect(run.capture.trouble).toBeNull();
    await run.close();
    expect(rxIn(run.folder)).toBe(36);
    expect(await check(run.folder)).toMatchObject({ ok: true });
  });

  it('never writes over another file that stands in its place', async () => {
    const { run, clock } = await started();
    await drive(run, clock, 2);
    const path = join(run.folder, 'capture.txt');
    renameSync(path, `${path}.aside`);
    writeFileSync(path, 'somebody else’s');
    await drive(run, clock, 2);
    expect(inWords(run.capture.trouble)).toMatch(/another file stands in its place/);
    expect(readFileSync(path, 'utf8')).toBe('somebody else’s');
    rmSync(path);
    renameSync(`${path}.aside`, path);
    await drive(run, clock, 2);
    await run.close();
    expect(await check(run.folder)).toMatchObject({ ok: true });
  });

  it.each(['write', 'sync', 'rename', 'open'] as const)(
    'comes through when %s fails at any one time, or for a while',
    async (what) => {
      for (const [from, length] of [
        [0, 1],
        [1, 1],
        [2, 1],
        [0, 4],
        [2, 6],
        [6, 3],
      ] as const) {
        const { run, clock, tap: t } = await started();
        let n = 0;
        t.fail = (op) =>
          op === what && n++ >= from && n <= from + length
            ? Object.assign(new Error('EIO: i/o error, injected'), { code: 'EIO' })
            : null;
        await drive(run, clock, 6);
        let meta = await run.close().catch(() => null);
        for (let tries = 0; !meta && tries < 10; tries++) meta = await run.close().catch(() => null);
        expect(meta?.sha256).toMatch(/^[0-9a-f]{64}$/);
        t.fail = () => null;
        expect(rxIn(run.folder)).toBe(24);
        expect(await check(run.folder)).toMatchObject({ ok: true });
      }
    },
  );

  it('on a computer that slept an hour has an hour without samples, not a jump within a second', async () => {
    let asleepMs = 0;
    const clock = new ManualClock();
    const { run } = await started(scratch(), clock, () => clock.nowUs() / 1000 + asleepMs);
    for (let i = 0; i < 20; i++) {
      run.capture.sample({ signal: 'ect_c', tUs: clock.nowUs() - run.capture.startUs, sentUs: 0, value: 90 });
      await clock.advance(500);
    }
    asleepMs = 3_600_000;
    clock.jumpWall(3_600_000);
    run.capture.wire({ kind: 'rx', tUs: clock.nowUs(), bytes: Buffer.of(65) });
    for (let i = 0; i < 20; i++) {
      run.capture.sample({ signal: 'ect_c', tUs: clock.nowUs() - run.capture.startUs, sentUs: 0, value: 40 });
      await clock.advance(500);
    }
    const meta = await run.close();
    expect(meta.seconds).toBeCloseTo(3620, 0);
    const recording = await openRecording(run.folder);
    expect(recording.gaps).toEqual([
      { fromUs: 9_500_000, toUs: 3_610_000_000, why: expect.stringContaining('computer asleep: 3601 s') },
    ]);
    const { tS } = recording.table.series('ect_c');
    expect(tS[20]! - tS[19]!).toBeGreaterThan(3600);
    expect(recording.warnings.map(inWords).join()).toMatch(/slept for 3600 s/);
  });

  it('does not take a wall clock that was set for sleep: no time is added, no gap made', async () => {
    const clock = new ManualClock();
    const { run } = await started(scratch(), clock, () => clock.nowUs() / 1000);
    for (let i = 0; i < 20; i++) {
      if (i === 7) clock.jumpWall(-7_200_000);
      if (i === 14) clock.jumpWall(-3_000);
      run.capture.sample({ signal: 'ect_c', tUs: clock.nowUs() - run.capture.startUs, sentUs: 0, value: 90 });
      await clock.advance(500);
    }
    expect((await run.close()).seconds).toBeCloseTo(10, 3);
    const recording = await openRecording(run.folder);
    expect(recording.gaps).toEqual([]);
    expect(recording.warnings.map(inWords).join()).toMatch(/set back by 7200 s.*set back by 3 s/);
  });
});

it('a folder of this program holds no capture that is a pipe or another thing', async () => {
  const folder = join(scratch(), 'odd');
  mkdirSync(join(folder, 'capture.txt'), { recursive: true });
  await expect(openRecording(folder)).rejects.toMatchObject({ code: 'input.file' });
});
