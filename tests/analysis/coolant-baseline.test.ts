/** More baselines never make more alarms that a drive can give by itself: the same drive against growing sets of healthy drives. */
import { describe, expect, it } from 'vitest';
import { type CoolantLesson, learnCoolant, mergeCoolant } from '../../src/analysis/coolant/baseline.ts';
import { CoolantDetector } from '../../src/analysis/coolant/detector.ts';
import { expectedHeat } from '../../src/analysis/coolant/warm-up-meter.ts';
import type { CleanSample } from '../../src/analysis/types.ts';
import { type Random, seededRandom } from '../../src/core/random.ts';

/** A drive that settles at some level, then climbs by some rate or only swings, at some speed. */
function drive(random: Random): CleanSample[] {
  const plateau = random.next() < 0.3 ? random.between(72, 84) : random.between(84, 96);
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
  plateauC: random.next() < 0.2 ? null : random.between(80, 97),
  beyondC: random.next() < 0.5 ? 0 : random.between(0, 4),
  warmUp: null,
  fanC: null,
});

/** When each fault of the coolant was said, run seconds; those that only a comparison can show are of no interest here. */
function saidAt(samples: readonly CleanSample[], lessons: readonly CoolantLesson[]): Map<string, number> {
  const baseline = lessons.length === 0 ? null : mergeCoolant(lessons);
  const detector = new CoolantDetector({ profile: {}, baseline });
  for (const s of samples) detector.step(s);
  const findings = detector.finish(2200e6).filter((f) => f.id !== 'coolant.warm-up');
  return new Map(findings.flatMap((f) => (f.verdict === 'fault shown' ? [[f.id, f.saidAtS!]] : [])));
}

describe('baselines', () => {
  it('of whatever healthy drives: each one more leaves the alarms as they are, or fewer and later', () => {
    const alarms = new Set<string>();
    let silenced = 0;
    for (let seed = 0; seed < 40; seed++) {
      const random = seededRandom(`property/${seed}`);
      const samples = drive(random);
      const lessons = Array.from({ length: 4 }, () => lesson(random));
      let before = saidAt(samples, []);
      for (const id of before.keys()) alarms.add(`${id}/${seed}`);
      for (let n = 1; n <= lessons.length; n++) {
        const now = saidAt(samples, lessons.slice(0, n));
        for (const [id, atS] of now)
          expect(atS, `${id} of ${seed} with ${n}`).toBeGreaterThanOrEqual(
            before.get(id) ?? Number.POSITIVE_INFINITY,
          );
        silenced += before.size - now.size;
        before = now;
      }
    }
    // The property is not held by saying nothing, nor by taking no notice of the drives that teach.
    expect([...alarms].filter((a) => a.startsWith('coolant.climb')).length).toBeGreaterThan(15);
    expect([...alarms].filter((a) => a.startsWith('coolant.too-cold')).length).toBeGreaterThan(2);
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

describe('what one healthy drive teaches', () => {
  const second = (
    t: number,
    ect: number,
    more: Readonly<Record<string, number | null>> = {},
  ): CleanSample[] =>
    Object.entries({ ambient_c: 15, ect_c: ect, maf_gps: 20, rpm: 2000, speed_kmh: 80, ...more }).flatMap(
      ([signal, value]) => (value === null ? [] : [{ signal, tUs: t * 1e6, value, flag: null }]),
    );
  const swing = (t: number): number => 90 + Math.sin(t / 40);
  /** Cold, then settled at 90 °C from 400 s on, and `ect` from 1000 s to 1300 s. */
  const taught = (
    ect: (t: number) => number = swing,
    more: (t: number) => Readonly<Record<string, number | null>> = () => ({}),
  ) =>
    learnCoolant(
      Array.from({ length: 1300 }, (_, t) =>
        second(t, t < 400 ? 20 + (70 * t) / 400 : t < 1000 ? swing(t) : ect(t), more(t)),
      ).flat(),
      {},
    );
  it('is its plateau and its warm-up with the air', () => {
    const { plateauC, warmUp, beyondC, fanC } = taught();
    expect(plateauC).toBeCloseTo(90, 0);
    expect(warmUp).toEqual({
      ...{ heatPerC: expect.closeTo(20 / 0.175, -1), furtherPerC: expect.closeTo(20 / 0.175, -1) },
      ...{ source: 'maf_gps', airC: 15 },
    });
    expect([beyondC, fanC]).toEqual([0, null]);
    expect(taught(swing, () => ({ ambient_c: null })).warmUp).toBeNull();
    expect(taught(swing, () => ({ maf_gps: null })).warmUp).toBeNull();
    expect(learnCoolant([], {})).toEqual({ plateauC: null, beyondC: 0, warmUp: null, fanC: null });
  });
  it('is the excess that lasted a minute in all, beyond what the road explains', () => {
    // At 80 km/h 2.8 °C above the plateau are explained; the highest of a minute count for nothing.
    const beyond = (c: number, s: number) =>
      taught((t) => (t >= 1100 && t < 1100 + s ? 90 + c : swing(t))).beyondC;
    expect(beyond(6, 60)).toBeLessThan(1);
    expect(beyond(6, 75)).toBeGreaterThan(2);
    expect(beyond(6, 75)).toBeLessThan(4);
    expect(beyond(2, 75)).toBe(0);
    const stopped = taught(
      (t) => (t >= 1100 ? 96 : swing(t)),
      (t) => (t >= 1100 ? { rpm: 0, speed_kmh: 0 } : {}),
    );
    expect(stopped.beyondC).toBeLessThan(1);
  });
});

describe('several drives', () => {
  const lessons = (...plateaus: (number | null)[]) =>
    mergeCoolant(
      plateaus.map((plateauC, k) => ({ plateauC, beyondC: k, warmUp: null, fanC: k === 1 ? 97 : null })),
    );
  it('teach the middle of their plateaus, the lowest, and a degree below the highest', () => {
    expect(lessons(92, null, 88, 90)).toMatchObject({
      ...{ drives: 4, plateauC: 90, leastPlateauC: 91, lowestPlateauC: 88, beyondC: 3 },
      ...{ plateausC: [88, 90, 92], fansC: [97], warmUps: [] },
    });
    expect(lessons(null)).toMatchObject({ plateauC: null, leastPlateauC: null, lowestPlateauC: null });
    expect(lessons()).toMatchObject({ drives: 0, beyondC: 0 });
    expect(lessons(88, 90).plateauC).toBe(90);
    const warmUp = { heatPerC: 100, furtherPerC: 110, source: 'maf_gps', airC: 10 } as const;
    const one = mergeCoolant([{ plateauC: null, beyondC: 0, warmUp, fanC: null }]);
    expect(one.warmUps).toEqual([warmUp]);
  });
});

it('a healthy drive teaches where it settled, what its warm-up took, and from where the fan turned it around', () => {
  /** Warm within 400 s, 1000 s on the road, then standing: up by so much, and back by so much. */
  const stand = (upC: number, backC: number) =>
    Array.from({ length: 1900 }, (_, t) => {
      const s = t - 1400;
      const stood = Math.min(upC, s * 0.05) - (s > 300 ? Math.min(backC, (s - 300) * 0.1) : 0);
      const ect = t < 400 ? 15 + (75 * t) / 400 : 90 + (s < 0 ? Math.sin(t / 40) : stood);
      const [rpm, speed_kmh, maf_gps] = s < 0 ? [2000, 70, 25] : [800, 0, 4];
      const all = { ambient_c: 15, ect_c: Math.round(ect * 10) / 10, maf_gps, rpm, speed_kmh };
      return Object.entries(all).map(([signal, value]) => ({ signal, value, tUs: t * 1e6, flag: null }));
    }).flat();
  const taught = learnCoolant(stand(8, 3), {});
  expect(taught).toMatchObject({ beyondC: 0, fanC: 98, warmUp: { source: 'maf_gps', airC: 15 } });
  expect(taught.plateauC).toBeGreaterThan(89);
  expect(taught.plateauC).toBeLessThan(91);
  // 25 g/s over 75 °C in 400 s.
  expect(taught.warmUp!.heatPerC).toBeCloseTo((25 * 400) / 75, 0);
  expect([learnCoolant(stand(8, 1), {}).fanC, learnCoolant(stand(3, 2), {}).fanC]).toEqual([null, null]);
});
