/** What a stand tells of the fan: seen to work, asked for, missing, or nothing. */
import { describe, expect, it } from 'vitest';
import type { Bin } from '../../src/analysis/coolant/bins.ts';
import { FanWatch } from '../../src/analysis/coolant/fan.ts';
import { say } from '../../src/analysis/coolant/says.ts';

/** Steps of five seconds at a plateau of 90 °C. */
function watch(
  ects: readonly number[],
  speed: (k: number) => number | null,
  onC: number | null = null,
  { running = true, trusted = true, plateau = 90 as number | null, holeS = (_k: number): number => 0 } = {},
): FanWatch {
  const fan = new FanWatch(onC === null ? null : { value: onC, source: say('coolant.source.default') });
  ects.forEach((ect, k) => {
    const bin: Bin = {
      tS: 5 * (k + 1),
      ect,
      fresh: true,
      high: ect,
      low: ect,
      speed: speed(k),
      rpm: 800,
      air: 20,
      heat: 2,
      running,
      unsure: false,
      unstuck: false,
      holeS: holeS(k),
      heatSource: 'maf_gps',
    };
    fan.step(bin, plateau, trusted);
  });
  return fan;
}
const stands = () => 0;
const drives = () => 50;

describe('the fan', () => {
  it('is seen when a rise at a stand is turned around', () => {
    const fan = watch([90, 91, 93, 95, 96, 96, 95, 94, 93, 92, 91, 90], stands);
    // Means of six: 94.8 °C at the most, 93.5 of 96 to 91, 92.5 of 95 to 90.
    expect(fan.seenAtS).toBe(60);
    expect(fan.seenC).toBe(96);
    expect(fan.asked).toBe(true);
  });
  it('is not seen across a hole longer than a reading holds: what was done in it nobody knows', () => {
    const ects = [90, 91, 93, 95, 96, 96, 96, 96, 90, 89, 88, 88, 88];
    const across = (s: number) => watch(ects, stands, null, { holeS: (k) => (k === 8 ? s : 0) });
    expect(across(30).seenAtS).toBe(55);
    expect(across(31).seenAtS).toBeNull();
    expect(across(31).askedAtS).toBe(15);
  });
  it('is not seen by readings that scatter: the mean of half a minute must have come back', () => {
    const scattered = [90, 91, 93, 95, 97, 94, 96, 93, 96, 94, 97, 95, 94, 96];
    expect(watch(scattered, stands).seenAtS).toBeNull();
  });
  it('is asked for by a stand at 100 °C, wherever the coolant settles: with how high it stood, and whether it came back', () => {
    const hot = (ects: readonly number[], plateau: number | null = null, more = {}) => {
      const { asked, dueC, dueBack, unanswered } = watch(ects, stands, null, { plateau, ...more });
      return { asked, dueC, dueBack, unanswered };
    };
    const stood = [100, 100, 100, 100, 100, 100];
    const silent = { asked: true, dueC: 100, dueBack: false, unanswered: true };
    expect(hot(stood)).toEqual(silent);
    expect(hot(stood, 99)).toEqual(silent);
    expect(hot([99, ...stood.slice(1)])).toMatchObject({ asked: false, dueC: null });
    // Half a minute of it.
    expect(hot(stood.slice(1))).toMatchObject({ asked: false, dueC: null });
    expect(hot(stood, null, { trusted: false })).toMatchObject({ asked: false, dueC: null });
    expect(hot([...stood, 102, 102, 102, 102, 102, 102])).toMatchObject({ dueC: 102, dueBack: false });
    expect(hot([...stood, 98, 98, 98, 98, 98])).toMatchObject({ dueBack: false });
    expect(hot([...stood, 98, 98, 98, 98, 98, 98])).toMatchObject({ dueC: 100, dueBack: true });
    expect(watch([...stood, ...stood], drives, null, { plateau: null }).asked).toBe(false);
  });
  it('is asked for when a stand raises the coolant and ends too soon, and answered by a later stand', () => {
    const asked = watch([90, 91, 92, 93, 93, 92], (k) => (k < 4 ? 0 : 50));
    expect(asked.askedAtS).toBe(20);
    expect(asked.asked).toBe(true);
    expect(asked.seenAtS).toBeNull();
    const answered = watch([90, 93, 93, 90, 91, 95, 95, 93, 92, 91, 90, 89], (k) =>
      k === 2 || k === 3 ? 50 : 0,
    );
    expect(answered.seenAtS).not.toBeNull();
  });
  it('is unanswered where the mean of half a minute came to 100 °C at a stand and no fan brought it back', () => {
    const to = (c: number) => [90, 92, ...Array.from({ length: 6 }, () => c)];
    expect([99.9, 100].map((c) => watch(to(c), stands).unanswered)).toEqual([false, true]);
    expect([watch(to(99), stands).askedC, watch(to(100), drives).askedC]).toEqual([99, null]);
    expect(watch(to(100), drives).unanswered).toBe(false);
    expect(watch([...to(100), 98, 97, 96, 95, 94, 93], stands).unanswered).toBe(false);
  });
  it('is not asked for by a stand that does not warm the coolant, nor by a climb while driving', () => {
    expect(watch([90, 91, 92, 91, 91, 90], stands).asked).toBe(false);
    expect(watch([90, 92, 94, 96, 93, 90], drives).askedAtS).toBeNull();
    expect(watch([90, 92, 94, 96, 93, 90], drives).seenAtS).toBeNull();
  });
  it('is not told of by an engine that stands, by readings in doubt, nor where no speed is known', () => {
    const turned = [90, 91, 93, 95, 96, 96, 95, 94, 93, 92, 91, 90];
    expect(watch(turned, stands, null, { running: false }).asked).toBe(false);
    expect(watch(turned, stands, null, { trusted: false }).asked).toBe(false);
    expect(watch(turned, () => null).asked).toBe(false);
    expect([4.9, 5].map((kmh) => watch(turned, () => kmh).asked)).toEqual([true, false]);
  });
  it('is not missing while the coolant falls', () => {
    const falling = Array.from({ length: 12 }, (_, k) => 110 - 0.2 * k);
    expect(watch(falling, stands, 98).missing).toBeNull();
    expect(watch([...falling].reverse(), stands, 98).missing).not.toBeNull();
  });
  it('is missing when the coolant stands 6 °C beyond that for half a minute without falling', () => {
    const rising = [96, 98, 100, 102, 104, 105, 105, 106, 106, 107, 107];
    expect(watch(rising, stands, 98).missing).toMatchObject({ ectC: 107, on: { value: 98 }, saidAtS: 50 });
    expect(watch(rising, stands).missing).toBeNull();
    expect(watch(rising, drives, 98).missing).toBeNull();
    expect(watch([...rising.slice(0, 7), 103, 101, 99, 97], stands, 98).missing).toBeNull();
  });
  it('is waited for at stands with the plateau known: two minutes without being asked for, ten once it is', () => {
    const given = (ects: readonly number[], plateau: number | null = 90) => {
      const { left, ...more } = watch(ects, stands, null, { plateau }).given();
      return { left: left?.id ?? null, ...more };
    };
    const flat = (n: number) => Array<number>(n).fill(91);
    const none = { share: 0, over: false, early: true, fromS: null, toS: null };
    expect(given([])).toEqual({ left: null, ...none });
    expect(given(flat(150), null)).toEqual({ left: null, ...none });
    expect(given(flat(23))).toMatchObject({ left: 'leg.left.fan', over: false, early: false, toS: null });
    expect(given(flat(24))).toMatchObject({ left: 'leg.left.fan-over', share: 0, over: true, toS: null });
    const asking = (n: number) => [90, 91, 93, 95, ...Array<number>(n - 4).fill(95)];
    const asked = { share: 0.5, fromS: 15 };
    expect(given(asking(119))).toMatchObject({ left: 'leg.left.fan-asked', over: false, ...asked, toS: 595 });
    expect(given(asking(120))).toMatchObject({ left: 'leg.left.fan-unseen', over: true, ...asked, toS: 600 });
    const seen = [90, 91, 93, 95, 96, 96, 95, 94, 93, 92, 91, 90];
    expect(given(seen)).toMatchObject({ left: null, share: 1, fromS: 5, toS: 60 });
  });
});
