/** Other cars of a kind as bounds of the coolant: where it settles, from where a fan turns it around, what a warm-up takes. */
import { describe, expect, it } from 'vitest';
import { type CoolantKind, mergeCoolant } from '../../src/analysis/coolant/baseline.ts';
import { CoolantDetector } from '../../src/analysis/coolant/detector.ts';
import { fanOf, learnCoolantKind, plateauOf, withCoolantKind } from '../../src/analysis/coolant/kind.ts';
import { expectedHeat } from '../../src/analysis/coolant/warm-up-meter.ts';
import type { CleanSample, Finding } from '../../src/analysis/types.ts';
import { seededRandom } from '../../src/core/random.ts';
import { english } from '../../src/words/spelled.ts';

const spoken = (x: unknown): string => english.say(x as Parameters<typeof english.say>[0]);

interface Car {
  readonly plateauC: number;
  readonly fanC: number;
  readonly heatPerC: number;
}

const taught = ({ plateauC, fanC, heatPerC }: Car, drives = 2) =>
  mergeCoolant(
    Array.from({ length: drives }, () => ({
      plateauC,
      fanC,
      beyondC: 0,
      warmUp: { heatPerC, furtherPerC: null, source: 'maf_gps' as const, airC: 10 },
    })),
  );

function kindOf(n: number, plateauSdC: number, at: Partial<Car> = {}, faulty?: Car): CoolantKind {
  const random = seededRandom(`coolant kind/${n}/${plateauSdC}`);
  const cars = Array.from({ length: n }, () => ({
    plateauC: (at.plateauC ?? 90) + plateauSdC * random.normal(),
    fanC: (at.fanC ?? 98) + plateauSdC * random.normal(),
    heatPerC: (at.heatPerC ?? 300) * Math.exp(0.05 * random.normal()),
  }));
  if (faulty) cars[0] = faulty;
  return learnCoolantKind(cars.map((c) => taught(c)))!;
}

/** Cold start, then a steady drive at 70 km/h that settles, in air of 15 °C; the last minutes standing when asked for. */
function drive(plateauC: number, heat = 1, standS = 0, standsAtC = plateauC): CleanSample[] {
  const out: CleanSample[] = [];
  for (let t = 0; t < 1500 + standS; t++) {
    const rise = t < 1500 ? 0 : Math.min(standsAtC - plateauC, (t - 1500) * 0.1);
    const swing = t < 1500 ? Math.sin(t / 40) : 0;
    const ect = t < 400 ? 15 + ((plateauC - 15) * t) / 400 : plateauC + swing + rise;
    const all = { ambient_c: 15, ect_c: Math.round(ect), maf_gps: 50 * heat, rpm: 2000, speed_kmh: 0 };
    all.speed_kmh = t < 1500 ? 70 : 0;
    for (const [signal, value] of Object.entries(all)) out.push({ signal, tUs: t * 1e6, value, flag: null });
  }
  return out;
}

function judged(samples: readonly CleanSample[], kind: CoolantKind | null, own: Car | null = null) {
  const baseline = withCoolantKind(own && taught(own), kind);
  const detector = new CoolantDetector({ profile: {}, baseline });
  const said = samples.flatMap((s) => detector.step(s));
  const findings = detector.finish(samples.at(-1)!.tUs);
  const of = (id: string): Finding => findings.find((f) => f.id === id)!;
  return {
    of,
    said: said.map((s) => s.finding.id),
    faults: findings.filter((f) => f.verdict === 'fault shown'),
  };
}

describe('what cars of a kind are taken to give', () => {
  const one = (n: number, car: Partial<Car>, drives = 2) =>
    learnCoolantKind(
      Array.from({ length: n }, () => taught({ plateauC: 90, fanC: 98, heatPerC: 300, ...car }, drives)),
    )!;
  it('of one car: 5 % for a plateau, 6 % for a fan, 20 % for a warm-up, and a drive of 1 °C and 1.5 °C', () => {
    const { plateau, fan, warmUp } = one(1, {});
    // Of one car and of another, so the square root of two.
    expect(plateau!.sd).toBeCloseTo(0.05 * Math.SQRT2, 9);
    expect(fan!.sd).toBeCloseTo(0.06 * Math.SQRT2, 9);
    expect(warmUp.maf_gps!.sd).toBeCloseTo(0.2 * Math.SQRT2, 9);
    expect(plateauOf(one(1, {}))!.withinC).toBeCloseTo(1.96 * Math.hypot(90 * 0.05 * Math.SQRT2, 1), 9);
    expect(fanOf(one(1, {}))!.withinC).toBeCloseTo(1.96 * Math.hypot(98 * 0.06 * Math.SQRT2, 1.5), 9);
    const { farC } = plateauOf(one(1, {}))!;
    expect(farC).toBeCloseTo(1.645 * Math.hypot(90 * plateau!.sd, 1) + 90 * plateau!.far, 9);
  });
  it('of cars that are all alike still half a step of a reading, 3 % for a warm-up', () => {
    const { plateau, fan, warmUp } = one(30, {});
    // Thirty cars: Student's t with 29 degrees of freedom against the normal distribution, 2.045 to 1.960.
    for (const [of, least] of [
      [plateau!, 0.006],
      [fan!, 0.006],
      [warmUp.maf_gps!, 0.03],
    ] as const)
      expect(of.sd / least).toBeCloseTo(2.045 / 1.96, 2);
  });
  it('of one car is the mean of its drives, of a warm-up in the air of the middle one', () => {
    const drives = [
      [88, 96, 280, 4],
      [92, 101, 320, 4],
      [93, 103, 300, 4],
    ].map(([plateauC, fanC, heatPerC, airC]) => ({
      ...{ plateauC: plateauC!, fanC: fanC!, beyondC: 0 },
      warmUp: { heatPerC: heatPerC!, furtherPerC: null, source: 'maf_gps' as const, airC: airC! },
    }));
    const { plateau, fan, warmUp, cars } = learnCoolantKind([mergeCoolant(drives)])!;
    expect([plateau!.value, fan!.value, cars]).toEqual([expect.closeTo(91, 9), expect.closeTo(100, 9), 1]);
    expect(warmUp.maf_gps!.value).toBeCloseTo(Math.cbrt(280 * 320 * 300), 6);
    const air = [1, 6, 20].map((airC) => ({ ...drives[0]!, warmUp: { ...drives[0]!.warmUp, airC } }));
    expect(learnCoolantKind([mergeCoolant(air)])!.warmUp.maf_gps!.airC).toBe(6);
  });
  it('counts the cars that taught anything, and is nothing without', () => {
    const nothing = mergeCoolant([]);
    expect(learnCoolantKind([nothing])).toBeNull();
    expect(learnCoolantKind([nothing, taught({ plateauC: 90, fanC: 98, heatPerC: 300 })])!.cars).toBe(1);
    expect(withCoolantKind(null, null)).toBeNull();
    expect(withCoolantKind(nothing, null)).toBe(nothing);
    expect([plateauOf(undefined), fanOf(undefined)]).toEqual([null, null]);
  });
});

describe('where it settles', () => {
  it('lets a low engine be shown good by its kind, and says against how many cars and how wide that is', () => {
    const low = drive(82);
    expect(judged(low, null).of('coolant.too-cold').verdict).toBe('not shown');
    const f = judged(low, kindOf(10, 1, { plateauC: 82 })).of('coolant.too-cold');
    expect(f.verdict).toBe('shown good');
    expect(f.evidence.map((e) => spoken(e.text)).join(' ')).toMatch(
      /Held against 10 other cars of this kind: a healthy one may settle at 7\d\.\d to 8\d\.\d\s°C/,
    );
  });

  it('shows an open thermostat where no healthy car of the kind settles, and only asks on where one might', () => {
    const thirty = kindOf(30, 0.7);
    const far = judged(drive(82), thirty).of('coolant.too-cold');
    expect([far.verdict, spoken(far.limit!.source)]).toEqual(['fault shown', '30 other cars of this kind']);
    const near = judged(drive(84), kindOf(10, 1)).of('coolant.too-cold');
    expect(near.verdict).toBe('not shown');
    expect(spoken(near.needs)).toMatch(/held against 10 other cars of this kind a healthy one settles at/);
    const high = judged(drive(95), kindOf(30, 0.7)).of('coolant.climb');
    expect(high.verdict).toBe('not shown');
    expect(spoken(high.needs)).toMatch(/30 other cars of this kind/);
  });

  it('is left alone by one or two cars: what they say is too wide for any verdict', () => {
    for (const n of [1, 2]) {
      const kind = kindOf(n, 0.1);
      expect(plateauOf(kind)!.farC).toBeGreaterThan(15);
      for (const plateauC of [82, 86, 90, 95]) {
        const [alone, beside] = [judged(drive(plateauC), null), judged(drive(plateauC), kind)];
        expect(beside.faults).toEqual([]);
        for (const id of ['coolant.too-cold', 'coolant.climb'])
          expect(beside.of(id).verdict, `${id} ${plateauC}`).toBe(alone.of(id).verdict);
      }
    }
  });

  it('gives way to the car’s own drives and to an entered thermostat', () => {
    const own = { plateauC: 82, fanC: 98, heatPerC: 300 };
    expect(judged(drive(82), kindOf(30, 0.7), own).of('coolant.too-cold').verdict).toBe('shown good');
  });

  it('is widened, not spoilt, by one faulty car of ten', () => {
    const [sound, spoilt] = [kindOf(10, 1), kindOf(10, 1, {}, { plateauC: 76, fanC: 112, heatPerC: 700 })];
    for (const of of [plateauOf, fanOf]) {
      expect(Math.abs(of(spoilt)!.valueC - of(sound)!.valueC)).toBeLessThan(1);
      expect(of(spoilt)!.withinC).toBeLessThan(2 * of(sound)!.withinC);
    }
    const heat = (k: CoolantKind) => expectedHeat([], 10, 'maf_gps', k.warmUp.maf_gps)!;
    expect(Math.abs(heat(spoilt).ln - heat(sound).ln)).toBeLessThan(0.06);
    expect(heat(spoilt).se).toBeLessThan(1.3 * heat(sound).se);
  });
});

describe('what a warm-up takes', () => {
  const heatPerC = 50 * (400 / 75);

  it('is held against other cars without any own drive, and narrowed by own drives, smoothly', () => {
    const kind = kindOf(10, 1, { heatPerC }).warmUp.maf_gps!;
    const own = (n: number) => Array.from({ length: n }, () => ({ heatPerC: heatPerC * 1.15, airC: 10 }));
    const at = (n: number) => expectedHeat(own(n), 10, 'maf_gps', kind)!;
    const mine = Math.log(heatPerC * 1.15);
    expect(at(0).cars).toBe(10);
    expect(Math.abs(at(1).ln - mine)).toBeLessThan(Math.abs(at(0).ln - mine));
    expect(Math.abs(at(8).ln - mine)).toBeLessThan(Math.abs(at(1).ln - mine));
    expect(at(8).se).toBeLessThan(at(1).se);
    expect(at(1).se).toBeLessThan(expectedHeat(own(1), 10, 'maf_gps')!.se);
    expect(at(8).far).toBeLessThan(at(1).far);
  });

  it('a healthy one is shown good by thirty cars, three times as much a fault, twice as much keeps the verdict waiting', () => {
    const kind = kindOf(30, 0.7, { heatPerC });
    const warm = (times: number) => judged(drive(90, times), kind).of('coolant.warm-up');
    expect(warm(1).verdict).toBe('shown good');
    expect(warm(3).verdict).toBe('fault shown');
    const few = judged(drive(90, 2), kindOf(3, 0.7, { heatPerC })).of('coolant.warm-up');
    expect([few.verdict, spoken(few.limit!.source)]).toEqual(['not shown', '3 other cars of this kind']);
    expect(warm(1.8).aside).toBe(false);
    expect(spoken(warm(1).evidence[1]!.text)).toMatch(/30 other cars of this kind let expect/);
  });
});

describe('the fan', () => {
  it('is missed beyond where any healthy car of the kind is turned around, and not before', () => {
    const kind = kindOf(30, 0.7, { fanC: 96 });
    const reach = fanOf(kind)!.valueC + fanOf(kind)!.farC;
    expect(reach).toBeLessThan(104);
    const stands = (toC: number) => judged(drive(90, 1, 300, toC), kind);
    const below = stands(Math.floor(reach + 4)).of('coolant.fan');
    expect(below.verdict).toBe('not shown');
    expect(spoken(below.evidence[0]!.text)).toMatch(/30 other cars of this kind a fan that works may turn/);
    const beyond = stands(Math.ceil(reach + 8));
    expect(beyond.of('coolant.fan').verdict).toBe('fault shown');
    expect(beyond.said).toContain('coolant.fan');
    expect(spoken(beyond.of('coolant.fan').evidence[0]!.text)).toMatch(/30 other cars of this kind/);
  });
});
