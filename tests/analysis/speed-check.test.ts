/** Vehicle speed against ground speed: an observation with its interval, and silence where nothing was measured. */
import { describe, expect, it } from 'vitest';
import { judgeTable } from '../../src/analysis/judge.ts';
import { SpeedCheck } from '../../src/analysis/road/speed-check.ts';
import type { Finding } from '../../src/analysis/types.ts';
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import { english } from '../../src/words/spelled.ts';

/** Minutes of steady driving; the car reads `factor` times the truth, cut off to whole km/h. */
function judged(factor: number, kmhOf: (tS: number) => number, receiver = true): Finding | undefined {
  const r = seededRandom('speed');
  const samples: Sample[] = [];
  for (let t = 0; t < 300; t++) {
    const at = (ms: number) => ({ tUs: t * 1e6 + ms * 1000, sentUs: t * 1e6 + ms * 1000 });
    samples.push({ signal: 'speed_kmh', ...at(0), value: Math.floor(factor * kmhOf(t)) });
    if (receiver) samples.push({ signal: 'gnss_speed_kmh', ...at(300), value: kmhOf(t) + 0.2 * r.normal() });
  }
  return judgeTable(samples, {}, null, 'test').findings.find((f) => f.id === 'road.speed');
}
const steps = (t: number): number => 60 + 15 * Math.floor(t / 60);

it('a car that reads as it should is shown good, with the truth in the interval', () => {
  const finding = judged(1.01, steps)!;
  expect(finding.verdict).toBe('shown good');
  expect(finding.measured!.interval[0]).toBeLessThan(1);
  expect(finding.measured!.interval[1]).toBeGreaterThan(1);
});

it('other wheels are told as an observation, never as a fault', () => {
  for (const factor of [0.9, 1.12]) {
    const finding = judged(factor, steps)!;
    expect(finding.verdict).toBe('not shown');
    expect(finding.needs!.id).toBe('road.speed.need.look');
    const pct = 100 * (factor - 1);
    expect(finding.measured!.interval[0]).toBeLessThan(pct);
    expect(finding.measured!.interval[1]).toBeGreaterThan(pct);
  }
});

it('is not the finding of a speed sensor that fails, with a receiver or without', () => {
  for (const receiver of [true, false]) {
    const samples: Sample[] = [];
    for (let t = 0; t < 300; t++) {
      const [tUs, kmh] = [t * 1e6, steps(t)];
      // Beyond what a car does, for longer than a slip of the link.
      const value = t > 150 && t < 230 ? 900 : kmh;
      samples.push({ signal: 'speed_kmh', tUs, sentUs: tUs, value });
      if (receiver) samples.push({ signal: 'gnss_speed_kmh', tUs: tUs + 3e5, sentUs: tUs + 3e5, value: kmh });
    }
    const { findings } = judgeTable(samples, {}, null, 'test');
    const ids = findings.map((f) => f.id);
    expect(new Set(ids).size).toBe(ids.length);
    expect(ids.includes('road.speed')).toBe(receiver);
    expect(findings.find((f) => f.id === 'sensor.speed_kmh')!.verdict).toBe('fault shown');
    // Its title speaks of no receiver.
    expect(english.known('finding.sensor.speed_kmh')).toBeNull();
  }
});

it('near the limit it says that it is not settled', () => {
  expect(judged(1.05, steps)!.needs!.id).toBe('road.speed.need.more');
});

it('says nothing without a receiver, without speed, or without a steady stretch', () => {
  expect(judged(1, steps, false)).toBeUndefined();
  expect(judged(1, () => 30)).toBeUndefined();
  expect(judged(1, (t) => 80 + 20 * Math.sin(t / 4))).toBeUndefined();
});

describe('a steady stretch', () => {
  type At = readonly [tS: number, car: number, ground: number];
  /** Both links at these times, the car's first. */
  const checked = (list: readonly At[]) => {
    const check = new SpeedCheck();
    // A reading after a hole, as the first of all, begins nothing yet.
    for (const [tS, car, ground] of [[list[0]![0] - 1, 60, 0] as const, ...list]) {
      check.step({ signal: 'speed_kmh', tUs: tS * 1e6, value: car, flag: null });
      check.step({ signal: 'gnss_speed_kmh', tUs: tS * 1e6, value: ground, flag: null });
    }
    return check.finding();
  };
  /** Once a second for `n` seconds; one stretch is six readings. */
  const seconds = (n: number, car: (t: number) => number, ground: (t: number) => number = () => 60): At[] =>
    Array.from({ length: n }, (_, t) => [t, car(t), ground(t)]);
  const stretches = (list: readonly At[]) => {
    // Twelve sound stretches before make it a finding.
    const before = seconds(72, () => 60);
    const f = checked([
      ...before,
      [999, 60, 0],
      ...list.map(([t, car, ground]): At => [1000 + t, car, ground]),
    ])!;
    return (f.evidence[0]!.text.args as { stretches: number }).stretches - 12;
  };
  it('is five seconds long; twelve make a statement', () => {
    expect([71, 72].map((n) => checked(seconds(n, () => 60)) !== null)).toEqual([false, true]);
    expect([5, 6, 11, 12].map((n) => stretches(seconds(n, () => 60)))).toEqual([0, 1, 1, 2]);
  });
  it('is of 50 km/h and more over ground', () => {
    expect(
      [49.9, 50].map((kmh) =>
        stretches(
          seconds(
            6,
            () => 50,
            () => kmh,
          ),
        ),
      ),
    ).toEqual([0, 1]);
  });
  it('moves by 2 km/h at the most, of either link', () => {
    expect([2, 2.1].map((d) => stretches(seconds(6, (t) => (t === 3 ? 60 + d : 60))))).toEqual([1, 0]);
    const ground = (d: number) =>
      stretches(
        seconds(
          6,
          () => 60,
          (t) => (t === 3 ? 60 + d : 60),
        ),
      );
    expect([2, 2.1, -2, -2.1].map(ground)).toEqual([1, 0, 1, 0]);
    // It begins anew where it moved.
    expect(stretches(seconds(9, (t) => (t < 3 ? 60 : 70)))).toBe(1);
    expect(stretches(seconds(8, (t) => (t < 3 ? 60 : 70)))).toBe(0);
  });
  it('has no hole of more than 1.5 s in either link', () => {
    const holed = (s: number) => stretches([0, 1, 2, 2 + s, 3 + s, 4 + s].map((t): At => [t, 60, 60]));
    expect([1.5, 1.6].map(holed)).toEqual([1, 0]);
    const check = (carS: number) => {
      const speed = new SpeedCheck();
      for (let t = 0; t < 200; t++) {
        if (t % carS === 0) speed.step({ signal: 'speed_kmh', tUs: t * 1e6, value: 60, flag: null });
        speed.step({ signal: 'gnss_speed_kmh', tUs: t * 1e6, value: 60, flag: null });
      }
      return speed.finding() !== null;
    };
    expect([1, 2, 3].map(check)).toEqual([true, true, false]);
    const flagged = new SpeedCheck();
    for (const [tS, value] of seconds(200, () => 60))
      for (const signal of ['speed_kmh', 'gnss_speed_kmh'])
        flagged.step({ signal, tUs: tS * 1e6, value, flag: 'range' });
    expect(flagged.finding()).toBeNull();
  });
  it('gives the share by which the car reads more, its scatter, and what a whole km/h leaves open', () => {
    // Twelve stretches at 80 km/h over ground: half of them 4 % and half of them 6 % more.
    const list = seconds(
      72,
      (t) => (Math.floor(t / 6) % 2 ? 83.2 : 84.8),
      () => 80,
    );
    const f = checked(list)!;
    const half = (1.96 * 1.2533 * 1.4826 * 1) / Math.sqrt(12);
    const step = 100 / 80;
    expect(f.measured!.value).toBe(5);
    expect(f.measured!.interval[0]).toBeCloseTo(5 - half - step / 2, 1);
    expect(f.measured!.interval[1]).toBeCloseTo(5 + half + step, 1);
    expect(f).toMatchObject({ fromS: 0, toS: 71, limit: { value: 5, unit: '%' }, aside: true });
    expect(f.evidence[0]).toMatchObject({
      ...{ fromS: 0, toS: 71, text: { args: { pct: expect.closeTo(5, 9), stretches: 12, kmh: 80 } } },
    });
    expect(f.rule.args).toEqual({ fromKmh: 50, steadyS: 5, stepKmh: 1, usualPct: 5 });
  });
  it('is usual within 5 % with the whole interval, odd beyond it, else not settled', () => {
    const at = (pct: number) => {
      const { verdict, needs } = checked(
        seconds(
          72,
          () => 100 + pct,
          () => 100,
        ),
      )!;
      return [verdict, needs?.id.replace('road.speed.need.', '')];
    };
    // Without scatter: half a percent below to one above.
    expect([3.99, 4.01, 5.49, 5.51].map(at)).toEqual([
      ['shown good', undefined],
      ['not shown', 'more'],
      ['not shown', 'more'],
      ['not shown', 'look'],
    ]);
    expect([-4.49, -4.51, -5.99, -6.01].map(at)).toEqual([
      ['shown good', undefined],
      ['not shown', 'more'],
      ['not shown', 'more'],
      ['not shown', 'look'],
    ]);
  });
});
