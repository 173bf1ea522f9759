/** What is done when nobody records and nobody asks: captures of ended runs compressed, and judged again. */
import { cpSync, existsSync, readdirSync, statSync, writeFileSync } from 'node:fs';
import { basename, join, resolve } from 'node:path';
import { Subject } from 'rxjs';
import { describe, expect, it, vi } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { checkCaches } from '../../src/desk/check-caches.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { JudgedAgain } from '../../src/desk/judged-again.ts';
import { GaveWay, QuietWork } from '../../src/desk/quiet-work.ts';
import { ReadingRoom } from '../../src/desk/reading-room.ts';
import { check } from '../../src/run/check.ts';
import { COMPRESSED_FILE, JUDGEMENT_FILE, SAMPLES_FILE } from '../../src/run/meta.ts';
import { Sealed } from '../../src/run/sealed.ts';
import { PATIENCE_MS } from '../patience.ts';
import { scratch } from '../run/files.ts';
import { IN_FULL } from '../torture/compressed.ts';

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
    const begun: { signal: AbortSignal; done: () => void; failed: (why: Error) => void }[] = [];
    const work = new QuietWork({
      clock,
      end$,
      isQuiet: () => quiet,
      work: (signal) =>
        new Promise((done, failed) => {
          begun.push({ signal, done, failed });
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
    // A question that somebody asked is no failure of the work; a disk that refuses is.
    begun[1]!.failed(new GaveWay('something else was asked'));
    await clock.advance(60_000);
    expect(begun).toHaveLength(3);
    begun[2]!.failed(new Error('the disk refused'));
    await clock.advance(60_000);
    expect(begun).toHaveLength(3);
    work.due();
    await clock.advance(60_000);
    begun[3]!.done();
    await clock.advance(60_000);
    expect(begun).toHaveLength(4);
    work.due();
    end$.next();
    await clock.advance(60_000);
    expect(begun).toHaveLength(4);
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

  it('judges what is missing or of another program, the job touched last first, and nothing twice', async () => {
    vi.stubEnv('XDG_CONFIG_HOME', scratch());
    const library = join(scratch(), 'library');
    const clock = new ManualClock(0, Date.UTC(2030, 0, 7, 8));
    const made = new Daemon({ clock, library });
    const runs: string[] = [];
    for (const vehicle of ['first', 'second', 'third']) {
      await clock.advance(60_000);
      const { job } = await made.jobs.create({ vehicle });
      const run = join(library, job.id, vehicle);
      cpSync(join(CAPTURES, 'clutch-never-closes'), run, { recursive: true });
      runs.push(run);
    }
    await clock.until(made.close());
    writeFileSync(join(runs[1]!, 'capture.txt'), 'not as it was recorded');
    const judgedMs = (run: string) => statSync(join(run, JUDGEMENT_FILE), { throwIfNoEntry: false })?.mtimeMs;

    /** What is asked of the reading room in a quiet time, until nothing is left to do. */
    const quietly = async () => {
      const room = new ReadingRoom({ library, keep: true });
      const again = new JudgedAgain({
        askQuietly: (what, args, signal) => {
          asked.push(what === 'judge' ? basename((args as unknown as [{ folder: string }])[0].folder) : what);
          return room.askQuietly(what, args, signal);
        },
      });
      const asked: string[] = [];
      const { signal } = new AbortController();
      for (let i = 0; i < 2; i++) await again.work(signal);
      await room.close();
      return asked;
    };
    expect(await quietly()).toEqual(['unjudged', 'third', 'second', 'first', 'unjudged']);
    expect(runs.map((run) => judgedMs(run) !== undefined)).toEqual([true, false, true]);
    expect(existsSync(join(runs[0]!, SAMPLES_FILE))).toBe(true);
    const first = judgedMs(runs[0]!);

    // by another program, as far as its key tells
    const sealed = new Sealed();
    const file = join(runs[2]!, JUDGEMENT_FILE);
    const text = (await sealed.read(file))!;
    await sealed.write(file, text.replace(/"of":"[0-9a-f]{8}/, '"of":"00000000'));
    expect(await quietly()).toEqual(['unjudged', 'third', 'second', 'unjudged']);
    expect(JSON.parse((await sealed.read(file))!).samples).toEqual(JSON.parse(text).samples);
    expect(judgedMs(runs[0]!)).toBe(first);
    vi.unstubAllEnvs();
  });

  it('never tries a run twice that fails, and goes on with one for which it gave way', async () => {
    const entry = (name: string) => ({ name, entry: { folder: name } });
    const asked: string[] = [];
    let gaveWay = false;
    const again = new JudgedAgain({
      askQuietly: (async (what: string, [arg]: [string[] & { folder: string }]) => {
        if (what === 'unjudged')
          return { judged: ['e'], unjudged: ['a', 'b', 'c'].filter((n) => !arg.includes(n)).map(entry) };
        asked.push(arg.folder);
        if (arg.folder === 'a') throw new Error('the reading thread ended');
        if (arg.folder === 'b' && !gaveWay) {
          gaveWay = true;
          throw new GaveWay('something else was asked');
        }
        return undefined;
      }) as unknown as ReadingRoom['askQuietly'],
    });
    const { signal } = new AbortController();
    await expect(again.work(signal)).rejects.toThrow('something else was asked');
    await again.work(signal);
    await again.work(signal);
    expect(asked).toEqual(['a', 'b', 'b', 'c']);
  });

  it('judges a run that ended, and tells how far it is; a recording and a question go first', async () => {
    const { library, folder } = withLongRun();
    const clock = new ManualClock();
    const daemon = new Daemon({ clock, library, keepJudged: true });
    await daemon.open();
    const tick = async (until: () => boolean) =>
      vi.waitFor(
        async () => {
          await clock.advance(10_000);
          expect(until()).toBe(true);
        },
        { timeout: PATIENCE_MS, interval: 5 },
      );
    const isJudged = () => existsSync(join(folder, SAMPLES_FILE));
    await tick(() => isJudged() || daemon.underWay().some((u) => u.what === 'other' && u.share > 0));
    await clock.until(daemon.connect({ link: 'sim:twin-charged?front=slcan&answer=90' }));
    const { id } = await clock.until(daemon.startRun({ purpose: 'other' }));
    expect(daemon.underWay()).toEqual([]);
    await clock.until(daemon.stopRun());
    await tick(() => isJudged() && existsSync(join(library, id, SAMPLES_FILE)));
    await clock.until(daemon.close());
    expect((await checkCaches(await check(library), true, IN_FULL)).map((c) => c.state)).not.toContain(
      'disagrees',
    );
  });
});
