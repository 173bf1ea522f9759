import { describe, expect, it } from 'vitest';
import { ChargingDetector } from '../../src/analysis/charging.ts';
import { spelled } from '../../src/words/spelled.ts';

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

  it('is printed to hundredths of a volt, whatever the sensor resolves', () => {
    const { measured } = judged(700, (t) => 12.192 + (t % 7) / 1000).finding;
    expect(measured).toEqual({ value: 12.2, unit: 'V', interval: [12.14, 12.25] });
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
      needs: { id: 'charging.need.run', args: { runS: 300 } },
    });
    expect(new ChargingDetector().finish()[0]).toMatchObject({
      verdict: 'not shown',
      ...{ needs: { id: 'charging.need.record' }, measured: null, evidence: [], fromS: null, toS: null },
    });
  });

  it('names the voltage that half of the time lay at or below, to a hundredth', () => {
    const { finding } = judged(401, (t) => (t <= 220 ? 13.123 : 14.567));
    expect(finding.measured).toEqual({ value: 13.12, unit: 'V', interval: [13.12, 14.57] });
    expect(finding.evidence[0]!.text.args).toMatchObject({ middleV: 13.12 });
    expect(finding).toMatchObject({ fromS: 1, toS: 400 });
    // However short a time each voltage was read, and all of them.
    expect(judged(6, (t) => 13 + t / 10).finding.measured).toEqual({
      value: 13.3,
      unit: 'V',
      interval: [13.1, 13.5],
    });
    expect(judged(2, () => 13).finding.measured!.value).toBe(13);
  });

  it('says what it measured: the interval holds its value, and only a whole interval beyond the limit is a verdict', () => {
    for (const volts of [
      () => 14.1,
      (t: number) => 12.5 - t / 2000,
      (t: number) => (t % 560 < 540 ? 12.4 : 14.6),
      (t: number) => 12 + (t % 30) / 10,
      () => 12.66,
    ]) {
      const { finding } = judged(800, volts);
      const { value, interval } = finding.measured!;
      const limit = finding.limit!.value;
      expect(interval[0]).toBeLessThanOrEqual(value);
      expect(value).toBeLessThanOrEqual(interval[1]);
      if (finding.verdict === 'shown good') expect(interval[0]).toBeGreaterThan(limit);
      else if (finding.verdict === 'fault shown') expect(interval[1]).toBeLessThan(limit);
      else expect(interval[0] <= limit && interval[1] + 0.05 >= limit).toBe(true);
    }
  });

  it.each([
    // each threshold from both sides: voltage 12.7, ten minutes, five minutes, engine speed 500, holes 30 s, 95 %
    ['a whole half step below the limit', 12.64, 602, 1500, 'fault shown'],
    ['less than half a step below it', 12.66, 602, 1500, 'not shown'],
    ['ten minutes and no less', 12.5, 601, 1500, 'not shown'],
    ['ten minutes', 12.5, 602, 1500, 'fault shown'],
    ['at the limit', 12.7, 700, 1500, 'not shown'],
    ['just above it', 12.71, 302, 1500, 'shown good'],
    ['five minutes and no less', 14, 300, 1500, 'not shown'],
    ['five minutes', 14, 301, 1500, 'shown good'],
    ['cranking', 14, 400, 500, 'not shown'],
    ['just running', 14, 400, 501, 'shown good'],
  ] as const)('%s', (_, volts, seconds, rpm, verdict) => {
    expect(
      judged(
        seconds,
        () => volts,
        () => rpm,
      ).finding.verdict,
    ).toBe(verdict);
  });

  it('tells how much of the time the voltage lay from 13.2 V to 14.9 V', () => {
    const share = (volts: number) =>
      judged(400, () => volts).finding.evidence[0]!.text.args as { bandShare: number };
    expect([13.19, 13.2, 14.9, 14.91].map((v) => share(v).bandShare)).toEqual([0, 1, 1, 0]);
    expect(judged(401, (t) => (t % 4 === 0 ? 13 : 14)).finding.evidence[0]!.text.args).toMatchObject({
      ...{ lowV: 13, highV: 14, middleV: 14, bandShare: 0.75, fromV: 13.2, toV: 14.9, share: 0.95 },
    });
  });

  it('measures a fault by the highest of the stretch that no charge lifted, half a step on either side', () => {
    const { finding } = judged(700, (t) => (t < 20 ? 12.9 : [12.2, 12.4, 12.3][t % 3]!));
    expect(finding).toMatchObject({ verdict: 'fault shown', fromS: 20, saidAtS: 620 });
    expect(finding.measured!.value).toBe(12.4);
    expect(finding.measured!.interval[0]).toBeCloseTo(12.15, 9);
    expect(finding.measured!.interval[1]).toBeCloseTo(12.45, 9);
    expect(finding.evidence[0]).toMatchObject({
      ...{ fromS: 20, toS: 620, text: { args: { lowV: 12.2, highV: 12.4, lastedS: 600 } } },
    });
  });

  it('lets a fortieth of the time lie below, no more', () => {
    expect(judged(1001, (t) => (t > 0 && t <= 24 ? 12 : 14)).finding.verdict).toBe('shown good');
    expect(judged(1001, (t) => (t > 0 && t <= 26 ? 12 : 14)).finding.verdict).toBe('not shown');
  });

  it('starts anew after a hole and a stop', () => {
    const spaced = (gapS: number) => {
      const detector = new ChargingDetector();
      for (let tS = 0; tS <= 700; tS += tS === 300 ? gapS : 1)
        for (const [signal, value] of [
          ['rpm', 1500],
          ['voltage_v', 12.4],
        ] as const)
          detector.step({ signal, value, tUs: tS * 1e6, flag: null });
      return detector.finish()[0]!.verdict;
    };
    expect(spaced(30)).toBe('fault shown');
    expect(spaced(31)).toBe('not shown');
    expect(
      judged(
        900,
        () => 12.4,
        (t) => (t === 450 ? 0 : 1500),
      ).finding.verdict,
    ).toBe('not shown');
  });

  it('writes its numbers as the sensor gives them', () => {
    const { finding } = judged(400, (t) => 14 + (t % 3) / 7);
    expect(spelled(finding).evidence[0]!.text).toMatch(
      /^Engine running: 14\.00\u00a0V to 14\.29\u00a0V for 95\u00a0% of the time/,
    );
    expect(spelled(finding).rule).toMatch(/below 12\.7\u00a0V.* for 10\u00a0min\./);
  });
});
