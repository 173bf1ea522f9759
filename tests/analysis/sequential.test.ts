/** The sequential test against numbers worked by hand in docs/analysis.md, and its guarantee on streams without a climb. */
import { describe, expect, it } from 'vitest';
import { LEVEL } from '../../src/analysis/coolant/climb.ts';
import { SequentialTest } from '../../src/analysis/coolant/sequential.ts';
import { nullRate } from '../evaluate/null-streams.ts';

describe('the level test', () => {
  it('a level 2 °C beyond what driving explains is spoken of in the second minute', () => {
    const test = new SequentialTest(LEVEL);
    for (let step = 0; step < 12; step++) test.step(2);
    expect(test.share()).toBeGreaterThan(0.6);
    expect(test.share()).toBeLessThan(1);
    for (let step = 12; step < 24; step++) test.step(2);
    expect(test.share()).toBeGreaterThan(1);
  });
  it('alarms no more often than guaranteed on streams that just meet the assumption', () => {
    const { hours, alarms } = nullRate(LEVEL, 5000, 'test');
    // Ten are guaranteed at most in the mean; Poisson with that mean exceeds 20 once in 600.
    expect(alarms).toBeLessThanOrEqual(20);
    expect(hours / Math.max(1, alarms)).toBeGreaterThan(250);
  });
});
