import { describe, expect, it } from 'vitest';
import { ChargingDetector } from '../../src/analysis/charging.ts';

/** One reading a second; `volts` gives the voltage at a second, `rpm` the engine speed. */
function judged(seconds: number, volts: (tS: number) => number, rpm: (tS: number) => number = () => 1500) {
  const detector = new ChargingDetector();
  const said = [];
  for (let tS = 0; tS < seconds; tS++)
    for (const [signal, value] of [
      ['rpm', rpm(tS)],
      ['voltage_v', volts(tS)],
    ] as const)
      said.push(...detector.step({ signal, value, tUs: tS * 1e6, flag: null }));
  return { finding: detector.finish()[0]!, said };
}

describe('charging', () => {
  it('is shown good in the usual band', () => {
    expect(judged(400, () => 14.1).finding.verdict).toBe('shown good');
  });

  it('is a fault when ten minutes of running never lift the battery above its rest voltage, and is said once', () => {
    const { finding, said } = judged(700, (t) => 12.5 - t / 2000);
    expect(finding.verdict).toBe('fault shown');
    expect(finding.saidAtS).toBe(601);
    expect(said).toHaveLength(1);
    const [low, high] = finding.measured!.interval;
    expect(low).toBeLessThan(high);
    expect(high).toBeLessThan(finding.limit!.value);
  });

  it('is not a fault under smart charging that rests for nine minutes and lifts on the overrun', () => {
    expect(judged(1800, (t) => (t % 560 < 540 ? 12.4 : 14.6)).finding.verdict).toBe('not shown');
  });

  it('is not judged with the engine stopped, over a short run, or without a reading', () => {
    expect(
      judged(
        900,
        () => 12.3,
        () => 0,
      ).finding.verdict,
    ).toBe('not shown');
    expect(judged(200, () => 14).finding).toMatchObject({
      verdict: 'not shown',
      needs: expect.stringContaining('5 minutes'),
    });
    expect(new ChargingDetector().finish()[0]).toMatchObject({
      verdict: 'not shown',
      needs: expect.any(String),
    });
  });
});
