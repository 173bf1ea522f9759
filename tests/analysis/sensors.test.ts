/** What the plausibility front flags becomes a finding about the sensor, and only when it is sure. */
import { describe, expect, it } from 'vitest';
import { SensorDetector } from '../../src/analysis/sensors.ts';
import type { CleanSample, Finding, Spoken } from '../../src/analysis/types.ts';

type Flag = CleanSample['flag'];
const reading = (signal: string, tS: number, value: number, flag: Flag = null): CleanSample => ({
  signal,
  tUs: Math.round(tS * 1e6),
  value,
  flag,
});

function run(samples: readonly CleanSample[]) {
  const detector = new SensorDetector();
  const spoken: Spoken[] = [];
  for (const s of samples) spoken.push(...detector.step(s));
  const findings = detector.finish();
  return {
    spoken,
    of: (signal: string): Finding | undefined => findings.find((f) => f.id === `sensor.${signal}`),
  };
}

/** One reading a second. */
const steady = (
  signal: string,
  seconds: number,
  value: (t: number) => number,
  flag: (t: number) => Flag = () => null,
) => Array.from({ length: seconds }, (_, t) => reading(signal, t, value(t), flag(t)));

describe('sensor findings', () => {
  it('a sensor at its end stop for a minute is a fault, said once, when the minute is over', () => {
    const r = run(
      steady(
        'iat_c',
        200,
        (t) => (t < 50 ? 20 : -40),
        (t) => (t < 50 ? null : 'end stop'),
      ),
    );
    expect(r.spoken.map((s) => s.atS)).toEqual([110]);
    expect(r.of('iat_c')).toMatchObject({
      verdict: 'fault shown',
      saidAtS: 110,
      pointsTo: { id: 'sensor.points.circuit' },
      measured: { value: 75, unit: '%' },
    });
  });
  it('some seconds of it are told and not judged', () => {
    const r = run(
      steady(
        'iat_c',
        200,
        () => 20,
        (t) => (t >= 50 && t < 70 ? 'end stop' : null),
      ),
    );
    expect(r.spoken).toEqual([]);
    expect(r.of('iat_c')).toMatchObject({ verdict: 'not shown', evidence: [{ fromS: 50, toS: 69 }] });
    expect(r.of('iat_c')!.needs).toEqual({ id: 'sensor.need.left-out', args: { n: 20, of: 200 } });
  });
  it('two flagged readings are noise of the link and no finding', () => {
    const r = run(
      steady(
        'iat_c',
        200,
        () => 20,
        (t) => (t === 50 || t === 90 ? 'rate' : null),
      ),
    );
    expect(r.of('iat_c')).toBeUndefined();
  });
  it('a contact that fails sixty times is a fault without ever failing long', () => {
    const r = run(
      steady(
        'ambient_c',
        700,
        () => 20,
        (t) => (t % 10 === 5 ? 'rate' : null),
      ),
    );
    expect(r.of('ambient_c')).toMatchObject({
      verdict: 'fault shown',
      pointsTo: { id: 'sensor.points.wiring' },
    });
    expect(r.spoken.length).toBe(1);
  });
  it('manifold pressure belongs to boost, and readings late in time to nobody', () => {
    const flags = (of: Flag) => () => of;
    expect(run(steady('map_kpa', 200, () => 0, flags('end stop'))).of('map_kpa')).toBeUndefined();
    expect(run(steady('iat_c', 200, () => 20, flags('time'))).of('iat_c')).toBeUndefined();
  });
});

describe('the coolant sensor', () => {
  it('agrees with the air after a cold start: shown good', () => {
    const r = run([reading('iat_c', 0, 14), reading('ambient_c', 1, 11), reading('ect_c', 2, 15)]);
    expect(r.of('ect_c')).toMatchObject({ verdict: 'shown good', measured: { value: 1 } });
  });
  it('differs from the air by more than 15 °C: not shown, compare again', () => {
    const r = run([reading('iat_c', 0, 4), reading('ect_c', 2, 25)]);
    expect(r.of('ect_c')).toMatchObject({ verdict: 'not shown', measured: { value: 21 } });
    expect(r.of('ect_c')!.needs).toEqual({ id: 'sensor.need.night', args: {} });
  });
  it('is good only when the whole interval lies within the limit: 13 °C apart and 2 °C on either side', () => {
    const apart = (c: number) => run([reading('iat_c', 0, 4), reading('ect_c', 2, 4 + c)]).of('ect_c')!;
    expect(apart(13)).toMatchObject({ verdict: 'shown good', measured: { interval: [11, 15] } });
    expect(apart(14)).toMatchObject({ verdict: 'not shown', measured: { interval: [12, 16] } });
    expect(apart(1).measured!.interval).toEqual([0, 3]);
  });
  it('a warm start compares nothing', () => {
    const r = run([reading('iat_c', 0, 30), reading('ect_c', 2, 80)]);
    expect(r.of('ect_c')).toMatchObject({ verdict: 'not shown', measured: null });
  });

  const driving = (ect: (t: number) => number, kmh: number, seconds = 900) =>
    Array.from({ length: seconds }, (_, t) => [
      reading('ect_c', t, ect(t)),
      reading('speed_kmh', t + 0.5, kmh),
    ]).flat();
  it('that never moves through ten minutes of driving is the fault, not the cooling', () => {
    const r = run(driving(() => 21, 50));
    expect(r.of('ect_c')).toMatchObject({ verdict: 'fault shown', pointsTo: { id: 'sensor.points.wiring' } });
    expect(r.of('ect_c')!.saidAtS).toBeGreaterThan(598);
    expect(r.of('ect_c')!.saidAtS).toBeLessThan(604);
    expect(r.spoken.length).toBe(1);
  });
  it('may stand still at a stand, at its plateau, and for less than ten minutes', () => {
    expect(run(driving(() => 21, 0)).spoken).toEqual([]);
    expect(run(driving(() => 90, 50)).spoken).toEqual([]);
    expect(run(driving((t) => (t < 590 ? 21 : 22), 50)).spoken).toEqual([]);
  });
});
