/** A simulation keeps its own order of events on a machine that stalls. */
import { describe, expect, it } from 'vitest';
import type { Clock } from '../../src/core/clock.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { orderlyClock } from '../../src/sim/orderly-clock.ts';

/** A machine's clock whose timers run only when it gets round to them, `nowUs` moved by hand. */
class LateClock implements Clock {
  us = 0;
  waiting: { readonly dueUs: number; readonly fn: () => void; done: boolean }[] = [];
  nowUs = (): number => this.us;
  wallMs = (): number => 0;
  after(ms: number, fn: () => void) {
    const entry = { dueUs: this.us + ms * 1000, fn, done: false };
    this.waiting.push(entry);
    return {
      cancel: () => {
        entry.done = true;
      },
    };
  }
  /** The machine comes back after a stall and runs what is due, in no better order than it likes. */
  wake(us: number): void {
    this.us = us;
    const due = this.waiting.filter((e) => !e.done && e.dueUs <= us).reverse();
    this.waiting = this.waiting.filter((e) => !e.done && e.dueUs > us);
    for (const e of due) if (!e.done) e.fn();
  }
}

describe('orderlyClock', () => {
  it('runs a chain before the time-out that it beats, each link at its own time', () => {
    const machine = new LateClock();
    const clock = orderlyClock(machine);
    const said: string[] = [];
    clock.after(200, () => said.push(`time-out ${clock.nowUs()}`));
    clock.after(10, () => clock.after(20, () => clock.after(5, () => said.push(`answer ${clock.nowUs()}`))));
    machine.wake(900_000);
    expect(said).toEqual(['answer 35000', 'time-out 200000']);
    expect(clock.nowUs()).toBe(900_000);
  });

  it('keeps the order of asking among timers of one time', async () => {
    const machine = new ManualClock();
    const clock = orderlyClock(machine);
    const said: number[] = [];
    for (const i of [1, 2, 3]) clock.after(5, () => said.push(i));
    clock.after(0, () => said.push(0));
    await machine.advance(5);
    expect(said).toEqual([0, 1, 2, 3]);
  });

  it('hands in what comes from outside after what fell due before it', () => {
    const machine = new LateClock();
    const clock = orderlyClock(machine);
    const said: string[] = [];
    clock.after(10, () => said.push('answer'));
    machine.us = 50_000; // nobody has run the timer yet
    expect(clock.nowUs()).toBe(10_000);
    clock.settle();
    said.push('request');
    expect(said).toEqual(['answer', 'request']);
    expect(clock.nowUs()).toBe(50_000);
  });

  it('takes cancelled timers out, before and while others run', () => {
    const machine = new LateClock();
    const clock = orderlyClock(machine);
    const said: string[] = [];
    const never = clock.after(10, () => said.push('never'));
    const other = clock.after(30, () => said.push('other'));
    clock.after(20, () => other.cancel());
    never.cancel();
    never.cancel();
    machine.wake(100_000);
    expect(said).toEqual([]);
  });

  it('does not make up for hours of sleep', () => {
    const machine = new LateClock();
    const clock = orderlyClock(machine);
    let ticks = 0;
    const tick = (): void => {
      ticks++;
      clock.after(50, tick);
    };
    tick();
    machine.wake(3_600_000_000);
    expect(ticks).toBeGreaterThan(30);
    expect(ticks).toBeLessThan(50);
  });

  it('gives others a turn while it catches up', () => {
    const machine = new LateClock();
    const clock = orderlyClock(machine);
    let done = 0;
    for (let i = 0; i < 100; i++)
      clock.after(1, () => {
        done++;
        machine.us += 1000; // each costs a millisecond
      });
    machine.wake(1000);
    expect(done).toBeGreaterThan(10);
    expect(done).toBeLessThan(25);
    for (let turns = 0; turns < 10; turns++) machine.wake(machine.us + 1);
    expect(done).toBe(100);
  });
});
