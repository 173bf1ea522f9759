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
  it('sixty stretches of one kind are sure, thirty of a reading that was stuck', () => {
    const verdict = (kind: Flag, n: number) =>
      run(Array.from({ length: n }, (_, k) => reading('iat_c', 10 * k, 20, kind))).of('iat_c')!.verdict;
    const each = [59, 60].map((n) => (['range', 'rate', 'end stop'] as const).map((k) => verdict(k, n)));
    expect(each.map((of) => [...new Set(of)])).toEqual([['not shown'], ['fault shown']]);
    expect([29, 30].map((n) => verdict('stuck', n))).toEqual(['not shown', 'fault shown']);
  });
  it('readings up to 5 s apart are one stretch; ten stretches are told; so is one of a minute', () => {
    const every = (s: number, n: number) =>
      run(Array.from({ length: n }, (_, k) => reading('iat_c', s * k, 20, 'range'))).of('iat_c')!;
    expect(every(5, 3).evidence).toMatchObject([{ fromS: 0, toS: 10, text: { args: { n: 3 } } }]);
    expect(every(5.1, 3).evidence).toHaveLength(3);
    expect([10, 11].map((n) => every(6, n).evidence.length)).toEqual([10, 10]);
    expect([12, 13].map((n) => every(5, n).saidAtS)).toEqual([null, 60]);
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

  it('is compared as it was in the first minute, at 40 °C and below, with the air that is nearest', () => {
    const at = (s: number, ectC = 15) =>
      run([reading('iat_c', 0, 14), reading('ect_c', s, ectC), reading('ect_c', 90, 60)]).of('ect_c')!;
    expect([60, 60.1].map((s) => at(s).measured?.value ?? null)).toEqual([1, null]);
    expect([40, 40.1].map((c) => at(2, c).measured?.value ?? null)).toEqual([26, null]);
    const nearest = (iat: number, ambient: number) =>
      run([reading('iat_c', 0, iat), reading('ambient_c', 1, ambient), reading('ect_c', 2, 15)]).of('ect_c')!
        .measured!.value;
    expect([nearest(12, 20), nearest(20, 12), nearest(19, 10)]).toEqual([3, 3, 4]);
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
  it('that never moves says since when, and at what', () => {
    const [first] = run([reading('ect_c', 0, 20), ...driving(() => 21, 50)]).of('ect_c')!.evidence;
    expect(first).toMatchObject({
      ...{ fromS: 0, text: { id: 'sensor.unchanged', args: { c: 21, lastedS: 600 } } },
    });
    expect(first!.toS).toBeGreaterThan(598);
  });
  it('tells how it agrees, and what the rule is', () => {
    const { evidence, limit, signals, rule } = run([
      reading('iat_c', 3, 14),
      reading('ambient_c', 4, 11),
      reading('ect_c', 5, 15),
    ]).of('ect_c')!;
    expect(evidence).toMatchObject([
      { fromS: 3, toS: 63, text: { id: 'sensor.start-both', args: { ectC: 15, intakeC: 14, outsideC: 11 } } },
    ]);
    expect([limit!.value, signals]).toEqual([15, ['ect_c', 'iat_c', 'ambient_c']]);
    expect(rule.args).toEqual({ stretchS: 60, belowC: 60, unchangedS: 600, apartC: 15, readC: 2 });
    const alone = run([reading('ambient_c', 0, 11), reading('ect_c', 2, 15)]).of('ect_c')!;
    expect(alone.evidence[0]!.text).toMatchObject({ id: 'sensor.start', args: { ectC: 15, airC: 11 } });
    expect(alone.signals).toEqual(['ect_c', 'ambient_c']);
    // The first reading of a signal is that of the start.
    const again = run([reading('iat_c', 0, 14), reading('ect_c', 1, 15), reading('ect_c', 2, 30)]);
    expect(again.of('ect_c')!.measured!.value).toBe(1);
    expect(run([reading('rpm', 0, 800)]).of('rpm')).toBeUndefined();
    const flagged = run([reading('iat_c', 0, 14, 'rate'), reading('ect_c', 1, 15)]);
    expect(flagged.of('ect_c')!.needs!.id).toBe('sensor.need.stand');
  });
  it('never moves below 60 °C, at 5 km/h and more, read every 10 s or sooner', () => {
    const saidAt = (ect: number, kmh: number, everyS = 1) =>
      run([
        reading('speed_kmh', 0, kmh),
        ...Array.from({ length: 700 }, (_, k) => reading('ect_c', everyS * k, ect)),
      ]).of('ect_c')!.saidAtS;
    expect([59.9, 60].map((c) => saidAt(c, 50))).toEqual([600, null]);
    expect([4.9, 5].map((kmh) => saidAt(21, kmh))).toEqual([null, 600]);
    expect([10, 10.1].map((s) => saidAt(21, 50, s))).toEqual([600, null]);
  });
  it('may stand still at a stand, at its plateau, and for less than ten minutes', () => {
    expect(run(driving(() => 21, 0)).spoken).toEqual([]);
    expect(run(driving(() => 90, 50)).spoken).toEqual([]);
    expect(run(driving((t) => (t < 590 ? 21 : 22), 50)).spoken).toEqual([]);
  });
});
