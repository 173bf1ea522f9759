/** Vehicle speed against ground speed: an observation with its interval, and silence where nothing was measured. */
import { expect, it } from 'vitest';
import { judgeTable } from '../../src/analysis/judge.ts';
import type { Finding } from '../../src/analysis/types.ts';
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';

/** Minutes of steady driving; the car reads `factor` times the truth, cut off to whole km/h. */
function judged(factor: number, kmhOf: (tS: number) => number, receiver = true): Finding | undefined {
  const r = seededRandom('speed');
  const samples: Sample[] = [];
  for (let t = 0; t < 300; t++) {
    const at = (ms: number) => ({ tUs: t * 1e6 + ms * 1000, sentUs: t * 1e6 + ms * 1000 });
    samples.push({ signal: 'speed_kmh', ...at(0), value: Math.floor(factor * kmhOf(t)) });
    if (receiver) samples.push({ signal: 'gnss_speed_kmh', ...at(300), value: kmhOf(t) + 0.2 * r.normal() });
  }
  return judgeTable(samples, {}, null, 'test').findings.find((f) => f.id === 'sensor.speed_kmh');
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

it('near the limit it says that it is not settled', () => {
  expect(judged(1.05, steps)!.needs!.id).toBe('road.speed.need.more');
});

it('says nothing without a receiver, without speed, or without a steady stretch', () => {
  expect(judged(1, steps, false)).toBeUndefined();
  expect(judged(1, () => 30)).toBeUndefined();
  expect(judged(1, (t) => 80 + 20 * Math.sin(t / 4))).toBeUndefined();
});
