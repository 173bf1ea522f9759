import { readFileSync } from 'node:fs';
import { createRequire, syncBuiltinESMExports } from 'node:module';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ManualClock, systemClock, type Timer } from '../../src/core/clock.ts';
import { HandbackError } from '../../src/core/errors.ts';
import type { CaptureFile } from '../../src/run/capture/file.ts';
import { CLOCK_JUMP_MS } from '../../src/run/capture/format.ts';
import { type CaptureItem, CaptureParser } from '../../src/run/capture/parser.ts';
import { CaptureWriter } from '../../src/run/capture/writer.ts';
import { inWords } from '../in-words.ts';
import { scratch } from './files.ts';

/** A disk in memory that can be full, slow to take bytes, or broken. */
class Disk implements CaptureFile {
  content = Buffer.alloc(0);
  room = Number.POSITIVE_INFINITY;
  synced = 0;
  closed = false;

  async write(bytes: Uint8Array, position: number): Promise<number> {
    const taken = Math.min(bytes.length, Math.max(0, this.room - position), 1000);
    if (taken === 0) throw Object.assign(new Error('ENOSPC: no space left on device'), { code: 'ENOSPC' });
    const grown = Buffer.alloc(Math.max(this.content.length, position + taken));
    this.content.copy(grown);
    grown.set(bytes.subarray(0, taken), position);
    this.content = grown;
    return taken;
  }

  async sync(): Promise<void> {
    this.synced = this.content.length;
  }

  async close(): Promise<void> {
    this.closed = true;
  }

  items(): CaptureItem[] {
    const parser = new CaptureParser();
    return [...parser.push(this.content), ...parser.end()];
  }

  texts(): string[] {
    return this.content.toString().split('\n');
  }
}

async function start(clock = new ManualClock(5_000_000), maxPendingBytes = 1 << 20) {
  const disk = new Disk();
  const writer = await CaptureWriter.create('run/capture.txt', {
    clock,
    openFile: async () => disk,
    maxPendingBytes,
  });
  return { clock, disk, writer };
}

const rx = (clock: ManualClock, n = 3) =>
  ({ kind: 'rx', tUs: clock.nowUs(), bytes: Buffer.alloc(n, 0x41) }) as const;

describe('the capture writer', () => {
  it('has everything on disk and synced within a second', async () => {
    const { clock, disk, writer } = await start();
    for (let i = 0; i < 25; i++) {
      writer.wire(rx(clock));
      await clock.advance(100);
    }
    await clock.advance(1000);
    expect(disk.synced).toBe(disk.content.length);
    const times = disk
      .items()
      .flatMap((i) => (i.is === 'record' && i.record.kind === 'rx' ? [i.record.tUs] : []));
    expect(times).toEqual(Array.from({ length: 25 }, (_, i) => i * 100_000));
    writer.wire(rx(clock));
    await clock.advance(999);
    expect(disk.synced).toBe(disk.content.length);
    expect(disk.texts().filter((t) => t.includes(' rx '))).toHaveLength(26);
    await writer.close();
  });

  it('counts times from the run start; what came before stands at its beginning', async () => {
    const { clock, disk, writer } = await start();
    writer.wire({ kind: 'rx', tUs: clock.nowUs() - 4_000, bytes: Buffer.of(1) });
    await clock.advance(250);
    expect(writer.mark('N', 'gone')).toBe(250_000);
    writer.note('odd');
    await writer.close();
    expect(disk.texts().slice(0, 5)).toEqual([
      'handback-capture 1',
      '0 anchor start 2026-01-05T08:00:00.000Z',
      '0 rx 01',
      '250000 mark {"key":"N","text":"gone"}',
      '250000 note "odd"',
    ]);
  });

  it('anchors the wall clock and seals a digest each minute', async () => {
    const { clock, disk, writer } = await start();
    for (let i = 0; i < 185; i++) {
      writer.wire(rx(clock));
      await clock.advance(1000);
    }
    await writer.close();
    const kinds = disk
      .texts()
      .flatMap((t) => (/ (anchor|digest) /.test(t) ? [t.split(' ').slice(0, 3).join(' ')] : []));
    expect(kinds).toEqual([
      '0 anchor start',
      '60000000 anchor minute',
      '60000000 digest 1',
      '120000000 anchor minute',
      '120000000 digest 2',
      '180000000 anchor minute',
      '180000000 digest 3',
      '185000000 anchor end',
      '185000000 digest 4',
    ]);
    expect(disk.items().every((i) => i.is === 'record')).toBe(true);
  });

  it('notices that the wall clock was set; run time goes on as before', async () => {
    const { clock, disk, writer } = await start();
    await clock.advance(10_000);
    clock.jumpWall(600_000);
    writer.wire(rx(clock));
    await clock.advance(1000);
    clock.jumpWall(-50_000);
    writer.wire(rx(clock));
    await clock.advance(1000);
    await writer.close();
    const text = disk.content.toString();
    expect(text).toMatch(
      /10500000 anchor resume 2026-01-05T08:10:10.500Z\n10500000 note "the wall clock was set forward by 600 s/,
    );
    expect(text).toMatch(/note "the wall clock was set back by 50 s"/);
  });

  it('notices at the minute that the wall clock was set while nothing came', async () => {
    const { clock, disk, writer } = await start();
    await clock.advance(10_000);
    clock.jumpWall(600_000);
    await clock.advance(51_000);
    expect(disk.content.toString()).toMatch(
      /60000000 anchor resume 2026-01-05T08:11:00.000Z\n60000000 note "the wall clock was set forward by 600 s/,
    );
    await writer.close();
  });

  it('counts the sleep of the computer as time of the run, and says how long it was', async () => {
    const disk = new Disk();
    const clock = new ManualClock(5_000_000);
    let asleepMs = 0;
    const writer = await CaptureWriter.create('run/capture.txt', {
      ...{ clock, openFile: async () => disk },
      sinceBootMs: () => clock.nowUs() / 1000 + asleepMs,
    });
    await clock.advance(10_000);
    asleepMs = 90_000;
    clock.jumpWall(90_000);
    writer.mark('N', 'awake');
    await clock.advance(1000);
    await writer.close();
    const text = disk.content.toString();
    expect(text).toMatch(/\n100000000 note "the computer slept for 90 s"\n/);
    expect(text).toMatch(/\n100000000 mark /);
    expect(text).not.toContain('wall clock was set');
  });

  it('counts two seconds of sleep, and of a real computer asks how long it has been up', async () => {
    const os = createRequire(import.meta.url)('node:os') as { uptime: () => number };
    const { uptime } = os;
    try {
      const disk = new Disk();
      const writer = await CaptureWriter.create('run/capture.txt', {
        ...{ clock: systemClock, openFile: async () => disk },
      });
      os.uptime = () => uptime() + 100;
      syncBuiltinESMExports();
      writer.mark('N', 'awake');
      await writer.close();
      expect(disk.content.toString()).toMatch(/ note "the computer slept for 100 s"\n/);
    } finally {
      os.uptime = uptime;
      syncBuiltinESMExports();
    }
    const disk = new Disk();
    const clock = new ManualClock(5_000_000);
    let asleepMs = 0;
    const writer = await CaptureWriter.create('run/capture.txt', {
      ...{ clock, openFile: async () => disk },
      sinceBootMs: () => clock.nowUs() / 1000 + asleepMs,
    });
    writer.mark('N', 'before');
    asleepMs = CLOCK_JUMP_MS;
    clock.jumpWall(CLOCK_JUMP_MS);
    writer.mark('N', 'awake');
    await writer.close();
    expect(disk.content.toString()).toContain('the computer slept for 2 s');
  });

  it('notices at the minute that the computer slept, were the wall clock set so that nothing shows', async () => {
    const disk = new Disk();
    const clock = new ManualClock(5_000_000);
    let asleepMs = 0;
    const writer = await CaptureWriter.create('run/capture.txt', {
      ...{ clock, openFile: async () => disk },
      sinceBootMs: () => clock.nowUs() / 1000 + asleepMs,
    });
    writer.mark('N', 'before');
    asleepMs = 90_000;
    await clock.advance(61_000);
    expect(disk.content.toString()).toContain('the computer slept for 90 s');
    await writer.close();
  });

  it('goes on writing each second after it was flushed, and leaves nothing waiting when it ends', async () => {
    class Waiting extends ManualClock {
      waits = 0;
      override after(ms: number, fn: () => void): Timer {
        let due = true;
        const over = (): void => {
          if (due) this.waits--;
          due = false;
        };
        this.waits++;
        const timer = super.after(ms, () => {
          over();
          fn();
        });
        return { cancel: () => [over(), timer.cancel()] };
      }
    }
    for (const end of ['close', 'giveUp'] as const) {
      const clock = new Waiting(5_000_000);
      const { disk, writer } = await start(clock);
      writer.wire(rx(clock));
      await writer.flush();
      writer.mark('N', 'after');
      await clock.advance(1000);
      expect(disk.content.toString()).toContain('after');
      writer.wire(rx(clock));
      await writer[end]();
      expect(clock.waits).toBe(0);
    }
  });

  it('takes a disk that takes no byte for one that refuses', async () => {
    const { clock, disk, writer } = await start();
    disk.write = async () => 0;
    writer.wire(rx(clock));
    await clock.advance(1000);
    expect(writer.trouble).not.toBeNull();
  });

  it('that is given up tells up to when it was kept, and when the last of it came', async () => {
    const { clock, disk, writer } = await start();
    writer.wire(rx(clock));
    await clock.advance(4000);
    writer.wire(rx(clock));
    await clock.advance(1000);
    disk.room = disk.content.length;
    writer.wire(rx(clock));
    await clock.advance(2000);
    writer.wire(rx(clock));
    const { keptS, cameS } = await writer.giveUp();
    expect([keptS, cameS, disk.closed]).toEqual([4, 7, true]);
  });

  it('tries a refused write again after a second, not before', async () => {
    const { clock, disk, writer } = await start();
    disk.room = 0;
    writer.wire(rx(clock));
    await clock.advance(500);
    expect(writer.trouble).not.toBeNull();
    disk.room = Number.POSITIVE_INFINITY;
    await clock.advance(999);
    expect(writer.trouble).not.toBeNull();
    await clock.advance(1);
    expect(writer.trouble).toBeNull();
    await writer.close();
  });

  it('hands on each line as it is written, with its record, and of bytes that they came', async () => {
    const disk = new Disk();
    const clock = new ManualClock();
    const lines: string[] = [];
    const kinds: string[] = [];
    const writer = await CaptureWriter.create('run/capture.txt', {
      ...{ clock, openFile: async () => disk },
      onLine: (line, record) => {
        lines.push(line);
        kinds.push(record.kind);
      },
      onWire: (kind) => kinds.push(kind),
    });
    writer.wire(rx(clock));
    writer.mark('N', 'gone');
    await writer.close();
    expect(kinds).toEqual(['anchor', 'rx', 'mark', 'anchor']);
    expect(lines).toEqual(disk.texts().filter((t) => / (anchor|mark) /.test(t)));
  });

  it('loses nothing while the disk is full, says so, and goes on by itself', async () => {
    const { clock, disk, writer } = await start();
    writer.wire(rx(clock));
    await clock.advance(1000);
    disk.room = disk.content.length + 7; // the next write is torn in the middle of a line
    for (let i = 0; i < 50; i++) {
      writer.wire(rx(clock, 40));
      await clock.advance(200);
    }
    expect(inWords(writer.trouble)).toMatch(/the disk is full.*kept in memory.*make room/);
    const refused = await writer.close().catch((e: unknown) => e);
    expect(refused).toBeInstanceOf(HandbackError);
    expect((refused as HandbackError).code).toBe('run.write');
    disk.room = Number.POSITIVE_INFINITY;
    const { seconds } = await writer.close();
    expect(writer.trouble).toBeNull();
    expect(seconds).toBeCloseTo(11, 6);
    expect(disk.closed).toBe(true);
    const items = disk.items();
    expect(items.every((i) => i.is === 'record')).toBe(true);
    expect(items.filter((i) => i.is === 'record' && i.record.kind === 'rx')).toHaveLength(51);
  });

  it('keeps what comes while its end is being written, should the disk refuse that end', async () => {
    const { clock, disk, writer } = await start();
    writer.wire(rx(clock));
    await clock.advance(1000);
    const write = disk.write.bind(disk);
    disk.write = async () => {
      writer.wire(rx(clock, 7));
      throw new Error('EIO: i/o error, write');
    };
    await expect(writer.close()).rejects.toThrow();
    expect(disk.closed).toBe(false);
    disk.write = write;
    await writer.close();
    expect(disk.texts().flatMap((t) => (t.includes(' rx ') ? [t.split(' ')[2]!.length / 2] : []))).toEqual([
      3, 7,
    ]);
    expect(disk.items().every((i) => i.is === 'record')).toBe(true);
  });

  it('repeats the system’s words without what it was doing, and other words as they are', async () => {
    const said = async (message: string) => {
      const { clock, disk, writer } = await start();
      disk.write = async () => {
        throw new Error(message);
      };
      writer.wire(rx(clock));
      await clock.advance(1000);
      return inWords(writer.trouble);
    };
    const told = await said('EIO: i/o error, write');
    expect(told).toContain('EIO: i/o error');
    expect(told).not.toContain('error, write');
    expect(await said('the drive says EIO: bad, twice')).toContain('the drive says EIO: bad, twice');
  });

  it('goes on by itself once there is room, without being closed', async () => {
    const { clock, disk, writer } = await start();
    disk.room = 30;
    writer.wire(rx(clock));
    await clock.advance(3000);
    expect(writer.trouble).not.toBeNull();
    disk.room = Number.POSITIVE_INFINITY;
    await clock.advance(1500);
    expect(writer.trouble).toBeNull();
    expect(disk.texts().filter((t) => t.includes(' rx '))).toHaveLength(1);
    await writer.close();
  });

  it('bounds the memory and notes what that cost', async () => {
    const { clock, disk, writer } = await start(new ManualClock(), 5000);
    disk.room = 0;
    for (let i = 0; i < 100; i++) {
      writer.wire(rx(clock, 100));
      await clock.advance(10);
    }
    expect(inWords(writer.trouble)).toMatch(/\d+ records are lost already/);
    disk.room = Number.POSITIVE_INFINITY;
    await clock.advance(2000);
    expect(disk.content.length).toBeLessThan(6000);
    writer.wire(rx(clock));
    await writer.close();
    const kept = disk.texts().filter((t) => t.includes(' rx ')).length;
    const note = /"(\d+) records from 0\.\d+ s on were lost: the disk refused/.exec(disk.content.toString());
    expect(Number(note?.[1]) + kept).toBe(101);
    const at = disk.texts().flatMap((t) => (t.includes(' rx ') ? [Number.parseInt(t, 10)] : []));
    const firstLostUs = at.find((tUs, k) => at[k + 1] !== tUs + 10_000)! + 10_000;
    expect(disk.content.toString()).toContain(`records from ${firstLostUs / 1e6} s on were lost`);
    expect(disk.items().every((i) => i.is === 'record')).toBe(true);
  });

  it('writes a real file with the hash it promises, and never over another', async () => {
    const path = join(scratch(), 'capture.txt');
    const clock = new ManualClock();
    const writer = await CaptureWriter.create(path, { clock });
    writer.wire(rx(clock));
    const { sha256 } = await writer.close();
    const { createHash } = await import('node:crypto');
    expect(createHash('sha256').update(readFileSync(path)).digest('hex')).toBe(sha256);
    const again = await CaptureWriter.create(path, { clock }).catch((e: unknown) => e);
    expect((again as HandbackError).code).toBe('run.busy');
    writer.wire(rx(clock)); // after the end: nothing happens
    expect((await writer.close()).sha256).toBe(sha256);
  });
});

it('writes again what stood beside a deleted capture until that succeeds, and then no more', async () => {
  const clock = new ManualClock();
  const disk = new Disk() as Disk & { confirm: NonNullable<CaptureFile['confirm']> };
  let gone = false;
  let tries = 0;
  disk.confirm = async () => {
    const was = gone;
    gone = false; // the file itself is made anew at the first look
    return was;
  };
  const writer = await CaptureWriter.create(join(scratch(), 'capture.txt'), {
    clock,
    openFile: async () => disk,
    onMadeAgain: async () => {
      if (++tries < 3) throw new Error('no room for run.json');
    },
  });
  await clock.advance(1000);
  gone = true;
  for (let i = 0; i < 8; i++) {
    writer.note(`note ${i}`);
    await clock.advance(1000);
  }
  await writer.close();
  expect(tries).toBe(3);
  expect(writer.trouble).toBeNull();
});
