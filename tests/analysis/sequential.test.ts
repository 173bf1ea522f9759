/** The sequential test against numbers worked by hand in docs/analysis.md, and its guarantee on streams without a climb. */
import { describe, expect, it } from 'vitest';
import { LEVEL } from '../../src/analysis/coolant/climb.ts';
import { SequentialTest } from '../../src/analysis/coolant/sequential.ts';
import { nullRate } from '../evaluate/null-streams.ts';

describe('the level test', () => {
  it('a level 1 °C beyond what driving explains adds 9.12 a minute at λ = 12, and is spoken of in the second minute', () => {
    // One λ: twelve steps of 0.76 with a twelfth of a start each, (1/12) Σ e^(0.76 k) = 1430; ln 1430 / ln 30,000 = 0.705.
    const single = new SequentialTest({ ...LEVEL, lambdas: [12] });
    for (let step = 0; step < 12; step++) single.step(1);
    expect(single.share()).toBeCloseTo(0.7048, 3);
    const mixed = new SequentialTest(LEVEL);
    let steps = 0;
    for (; mixed.share() < 1; steps++) mixed.step(1);
    expect(steps).toBeGreaterThan(12);
    expect(steps).toBeLessThanOrEqual(24);
  });
  it('goes no further beyond its bound than it forgets within minutes', () => {
    const test = new SequentialTest({ ...LEVEL, lambdas: [12] });
    expect(test.share()).toBe(-1);
    for (let step = 0; step < 1000; step++) test.step(1);
    const bound = Math.log(30_000);
    expect(test.share()).toBeCloseTo((bound + 10) / bound, 12);
    test.reset();
    expect(test.share()).toBe(-1);
  });
  it('alarms no more often than guaranteed on streams that just meet the assumption', () => {
    const { hours, alarms } = nullRate(LEVEL, 5000, 'test');
    // Ten are guaranteed at most in the mean; Poisson with that mean exceeds 20 once in 600.
    expect(alarms).toBeLessThanOrEqual(20);
    expect(hours / Math.max(1, alarms)).toBeGreaterThan(250);
  });
});
