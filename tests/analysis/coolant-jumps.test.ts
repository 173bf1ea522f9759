/** Bubbles at the coolant sensor: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { JumpWatch } from '../../src/analysis/coolant/jumps.ts';
import type { CleanSample } from '../../src/analysis/types.ts';
import { level } from './steps.ts';

describe('bubbles at the sensor', () => {
  /** One reading a second; `swing`: what is read beside 90 °C. */
  function fed(swings: number, swing: readonly number[], { everyS = 60, running = true, times = 1 } = {}) {
    const watch = new JumpWatch();
    let at = -1;
    for (let s = 0; s < 20 + swings * everyS; s++) {
      const k = (s - 20) % everyS;
      const value = s >= 20 && k < swing.length ? 90 + swing[k]! : 90;
      const sample = { signal: 'ect_c', tUs: s * 1e6 * times, sentUs: 0, value, flag: null } as CleanSample;
      if (watch.step(sample, running) && at < 0) at = s;
    }
    return { at, watch };
  }
  const bubble = [3, 6, 3];
  it('are five swings of 5 °C within ten minutes', () => {
    expect(fed(5, bubble).at).toBe(20 + 4 * 60 + 3);
    expect(fed(4, bubble).at).toBe(-1);
    expect(fed(5, bubble, { everyS: 150 }).at).toBeGreaterThan(0);
    expect(fed(5, bubble, { everyS: 151 }).at).toBe(-1);
    expect(fed(5, [3, 5.6, 3]).at).toBeGreaterThan(0);
    expect(fed(5, [3, 4.9, 3]).at).toBe(-1);
  });
  it('come and go over three readings and three seconds; a step is a broken contact', () => {
    expect(fed(5, [3, 6]).at).toBe(-1);
    expect(fed(5, [3, 6.5], { times: 2 }).at).toBe(-1);
    expect(fed(5, [3, 4, 6, 4, 3], { times: 0.5 }).at).toBe(-1);
    expect(fed(5, [6, 6, 6]).at).toBe(-1);
    expect(fed(5, [6, 5, 6]).at).toBe(-1);
    expect(fed(5, [6, 3.5, 6]).at).toBeGreaterThan(0);
  });
  it('are gone within 40 s', () => {
    // The line that follows is where they end.
    const long = (s: number) => [3, ...level(14, s - 2), 6];
    expect(fed(5, long(42), { everyS: 100 }).at).toBeGreaterThan(0);
    expect(fed(5, long(43), { everyS: 100 }).at).toBe(-1);
  });
  it('are not looked for while the engine stands, nor across holes of more than five seconds', () => {
    expect(fed(5, bubble, { running: false }).at).toBe(-1);
    const slow = [3, 8, 8, 3];
    expect(fed(5, slow, { times: 5, everyS: 20 }).at).toBeGreaterThan(0);
    expect(fed(5, slow, { times: 5.1, everyS: 20 }).at).toBe(-1);
    expect(fed(5, bubble, { times: 2 }).watch.everyS).toBe(2);
  });
  it('are measured from a line that follows by no more than 0.15 °C a second', () => {
    // Three readings: 3 °C away, then 6, of which the line has made up 0.15.
    expect(fed(5, bubble).watch.found!.largestC).toBeCloseTo(5.85, 9);
  });
  it('count on after they were told', () => {
    expect(fed(7, bubble).watch.found).toMatchObject({ swings: 7, fromS: 23, toS: 20 + 6 * 60 + 3 });
  });
});
