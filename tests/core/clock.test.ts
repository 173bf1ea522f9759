import { stat } from 'node:fs/promises';
import { describe, expect, it } from 'vitest';
import { ManualClock, sleep, systemClock } from '../../src/core/clock.ts';

describe('manual clock', () => {
  it('fires timers in order of time, then of setting, and lets awaiting code run between them', async () => {
    const clock = new ManualClock();
    const seen: string[] = [];
    clock.after(20, () => seen.push(`b@${clock.nowUs()}`));
    clock.after(10, () => seen.push(`a@${clock.nowUs()}`));
    clock.after(20, () => seen.push('c'));
    const cancelled = clock.after(15, () => seen.push('never'));
    cancelled.cancel();
    void (async () => {
      await sleep(clock, 5);
      seen.push(`slept@${clock.nowUs()}`);
      await sleep(clock, 7);
      seen.push(`again@${clock.nowUs()}`);
    })();
    await clock.advance(30);
    expect(seen).toEqual(['slept@5000', 'a@10000', 'again@12000', 'b@20000', 'c']);
    expect(clock.nowUs()).toBe(30_000);
  });

  it('keeps monotonic time when the wall clock jumps', async () => {
    const clock = new ManualClock(0, 1_000_000);
    clock.jumpWall(-3_600_000);
    await clock.advance(1000);
    expect(clock.nowUs()).toBe(1_000_000);
    expect(clock.wallMs()).toBe(1_000_000 - 3_600_000 + 1000);
  });
  it('stands still while the disk works, however long, and moves on for what awaits its timers', async () => {
    const clock = new ManualClock();
    const slow = async (): Promise<number> => {
      for (let i = 0; i < 100; i++) await stat('.');
      const uptoUs = clock.nowUs();
      await sleep(clock, 50);
      await stat('.');
      return uptoUs;
    };
    expect(await clock.until(slow(), 20)).toBe(0);
    expect(clock.nowUs()).toBe(60_000);
    await expect(clock.until(new Promise(() => undefined), 20, 100)).rejects.toThrow('not settled');
    expect(clock.nowUs()).toBe(160_000);
  });
});

describe('system clock', () => {
  it('gives whole microseconds that do not fall', () => {
    let last = systemClock.nowUs();
    for (let i = 0; i < 1000; i++) {
      const now = systemClock.nowUs();
      expect(Number.isInteger(now)).toBe(true);
      expect(now).toBeGreaterThanOrEqual(last);
      last = now;
    }
  });
});
