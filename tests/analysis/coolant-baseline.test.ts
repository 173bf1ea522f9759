/** More baselines never make more climb alarms: the same drive against growing sets of healthy drives. */
import { describe, expect, it } from 'vitest';
import { type CoolantLesson, mergeCoolant } from '../../src/analysis/coolant/baseline.ts';
import { CoolantDetector } from '../../src/analysis/coolant/detector.ts';
import { expectedHeat } from '../../src/analysis/coolant/warm-up-meter.ts';
import type { CleanSample } from '../../src/analysis/types.ts';
import { type Random, seededRandom } from '../../src/core/random.ts';

/** A drive that settles at some level, then climbs by some rate or only swings, at some speed. */
function drive(random: Random): CleanSample[] {
  const plateau = random.between(84, 96);
  const perMin = random.next() < 0.3 ? 0 : random.between(0.3, 8);
  const mostC = random.between(3, 25);
  const onsetS = random.between(1000, 1500);
  const kmh = random.between(15, 110);
  const out: CleanSample[] = [];
  for (let t = 0; t < 2200; t++) {
    const climb = Math.min(mostC, Math.max(0, ((t - onsetS) / 60) * perMin));
    const ect = Math.round((t < 500 ? 20 + ((plateau - 20) * t) / 500 : plateau + Math.sin(t / 50)) + climb);
    const speed = Math.max(0, kmh * (1 + 0.3 * Math.sin(t / 90)));
    const all = {
      ambient_c: 15,
      ect_c: ect,
      maf_gps: 6 + 0.3 * speed,
      rpm: 900 + 20 * speed,
      speed_kmh: speed,
    };
    for (const [signal, value] of Object.entries(all)) out.push({ signal, tUs: t * 1e6, value, flag: null });
  }
  return out;
}

const lesson = (random: Random): CoolantLesson => ({
  plateauC: random.next() < 0.2 ? null : random.between(84, 97),
  beyondC: random.next() < 0.5 ? 0 : random.between(0, 4),
  warmUp: null,
  fanC: null,
});

function climbSaidAt(samples: readonly CleanSample[], lessons: readonly CoolantLesson[]): number | null {
  const baseline = lessons.length === 0 ? null : mergeCoolant(lessons);
  const detector = new CoolantDetector({ profile: {}, baseline });
  for (const s of samples) detector.step(s);
  return detector.finish(2200e6).find((f) => f.id === 'coolant.climb')!.saidAtS;
}

describe('baselines', () => {
  it('of whatever healthy drives: each one more leaves the alarms as they are, or fewer and later', () => {
    let alarms = 0;
    let silenced = 0;
    for (let seed = 0; seed < 40; seed++) {
      const random = seededRandom(`property/${seed}`);
      const samples = drive(random);
      const lessons = Array.from({ length: 4 }, () => lesson(random));
      let before = climbSaidAt(samples, []);
      if (before !== null) alarms++;
      for (let n = 1; n <= lessons.length; n++) {
        const now = climbSaidAt(samples, lessons.slice(0, n));
        if (now !== null) expect(now).toBeGreaterThanOrEqual(before ?? Number.POSITIVE_INFINITY);
        if (now === null && before !== null) silenced++;
        before = now;
      }
    }
    // The property is not held by saying nothing, nor by taking no notice of the drives that teach.
    expect(alarms).toBeGreaterThan(15);
    expect(silenced).toBeGreaterThan(0);
  }, 60_000);
});

describe('the heat that a warm-up takes', () => {
  it('follows the air: 20 °C colder takes half as much again', () => {
    const drives = [-10, 0, 10, 20].map((airC) => ({ airC, heatPerC: 200 * Math.exp(-0.02 * airC) }));
    const at = (airC: number) => Math.exp(expectedHeat(drives, airC, 'maf_gps')!.ln);
    expect(at(0)).toBeCloseTo(200, 0);
    expect(at(-20) / at(0)).toBeCloseTo(Math.exp(0.4), 2);
  });
  it('is surer for more drives, and unsure of weather that none had', () => {
    const drives = Array.from({ length: 12 }, (_, k) => ({ airC: k, heatPerC: 200 }));
    const se = (n: number, airC: number) => expectedHeat(drives.slice(0, n), airC, 'maf_gps')!.se;
    expect(se(12, 5)).toBeLessThan(se(3, 1));
    expect(se(12, 40)).toBeGreaterThan(1.2 * se(12, 5));
    expect(expectedHeat([], 5, 'maf_gps')).toBeNull();
  });
  it('is less sure where manifold pressure stands for the air mass', () => {
    const one = [{ airC: 0, heatPerC: 200 }];
    expect(expectedHeat(one, 0, 'map_kpa')!.se).toBeGreaterThan(1.2 * expectedHeat(one, 0, 'maf_gps')!.se);
  });
});
