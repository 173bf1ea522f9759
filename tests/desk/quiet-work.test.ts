/** What is done when nobody records and nobody asks: captures of ended runs compressed. */
import { cpSync, existsSync, readdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { Subject } from 'rxjs';
import { describe, expect, it, vi } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { QuietWork } from '../../src/desk/quiet-work.ts';
import { ReadingRoom } from '../../src/desk/reading-room.ts';
import { check } from '../../src/run/check.ts';
import { COMPRESSED_FILE } from '../../src/run/meta.ts';
import { PATIENCE_MS } from '../patience.ts';
import { scratch } from '../run/files.ts';

const CAPTURES = resolve(import.meta.dirname, '../../captures');
const captures = (folder: string) => readdirSync(folder).filter((name) => name.startsWith('capture'));

function withLongRun() {
  const library = join(scratch(), 'library');
  const folder = join(library, 'run');
  cpSync(join(CAPTURES, 'clutch-never-closes'), folder, { recursive: true });
  return { library, folder };
}

describe('quiet work', () => {
  it('waits until it is due and quiet, gives way, and is begun anew until it is done', async () => {
    const clock = new ManualClock();
    const end$ = new Subject<void>();
    let quiet = false;
    const begun: { signal: AbortSignal; done: () => void }[] = [];
    const work = new QuietWork({
      clock,
      end$,
      isQuiet: () => quiet,
      work: (signal) =>
        new Promise((done, failed) => {
          begun.push({ signal, done });
          signal.addEventListener('abort', () => failed(signal.reason));
        }),
    });
    quiet = true;
    await clock.advance(60_000);
    expect(begun).toHaveLength(0);
    quiet = false;
    work.due();
    await clock.advance(60_000);
    expect(begun).toHaveLength(0);
    quiet = true;
    await clock.advance(60_000);
    expect(begun).toHaveLength(1);
    work.giveWay();
    expect(begun[0]!.signal.aborted).toBe(true);
    await clock.advance(60_000);
    expect(begun).toHaveLength(2);
    begun[1]!.done();
    await clock.advance(60_000);
    expect(begun).toHaveLength(2);
    work.due();
    end$.next();
    await clock.advance(60_000);
    expect(begun).toHaveLength(2);
  });

  it('compresses ended runs of an opened library, never the one being recorded', async () => {
    const { library, folder } = withLongRun();
    const clock = new ManualClock();
    const daemon = new Daemon({ clock, library, keepJudged: true });
    await daemon.open();
    await clock.until(daemon.connect({ link: 'sim:twin-charged?front=slcan&answer=90' }));
    const { id } = await clock.until(daemon.startRun({ purpose: 'other' }));
    await clock.advance(60_000);
    expect([captures(folder), captures(join(library, id))]).toEqual([['capture.txt'], ['capture.txt']]);
    await clock.until(daemon.stopRun());
    await vi.waitFor(
      async () => {
        await clock.advance(10_000);
        for (const run of [folder, join(library, id)]) expect(captures(run)).toEqual([COMPRESSED_FILE]);
      },
      { timeout: PATIENCE_MS, interval: 50 },
    );
    expect((await daemon.run(id)).value.summary.id).toBe(id);
    await clock.until(daemon.close());
    expect((await check(library)).ok).toBe(true);
  });

  it('in the reading room gives way to any question', async () => {
    const { library, folder } = withLongRun();
    const room = new ReadingRoom({ library });
    const { signal } = new AbortController();
    const quiet = room.askQuietly('compress', [], signal).catch((e: Error) => e.message);
    await room.ask('verdicts', ['none']).catch(() => undefined);
    expect(await quiet).toBe('something else was asked');
    await room.askQuietly('compress', [], signal);
    expect(existsSync(join(folder, COMPRESSED_FILE))).toBe(true);
    expect(room.isQuiet).toBe(true);
    await room.close();
  });
});
