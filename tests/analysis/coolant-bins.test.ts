/** Five-second steps of a drive: what each holds, and each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { type Bin, BinMaker } from '../../src/analysis/coolant/bins.ts';
import type { CleanSample } from '../../src/analysis/types.ts';

type Said = readonly [tS: number, signal: string, value: number, flag?: CleanSample['flag']];

function steps(said: readonly Said[]): { bins: Bin[]; maker: BinMaker } {
  const maker = new BinMaker();
  const bins = said.flatMap(
    ([tS, signal, value, flag = null]) =>
      maker.push({ tUs: Math.round(tS * 1e6), signal, value, flag }) ?? [],
  );
  const last = maker.close();
  return { bins: last === null ? bins : [...bins, last], maker };
}
const last = (said: readonly Said[]): Bin => steps(said).bins.at(-1)!;

describe('the coolant of a step', () => {
  it('is the mean of its readings, with the highest and the lowest', () => {
    const { bins } = steps([
      [0, 'ect_c', 80],
      [2, 'ect_c', 83],
      [4.9, 'ect_c', 83],
      [5, 'ect_c', 90],
    ]);
    expect(bins).toMatchObject([
      { tS: 5, ect: 82, fresh: true, high: 83, low: 80 },
      { tS: 10, ect: 90, fresh: true, high: 90, low: 90 },
    ]);
    expect(new BinMaker().close()).toBeNull();
  });
  it('is the last reading where the step brought none, for 30 s', () => {
    const at = (s: number) => {
      const { ect, fresh, high, low } = last([
        [s, 'ect_c', 80],
        [35, 'rpm', 900],
      ]);
      return [ect, fresh, high, low];
    };
    expect([at(10), at(9.9)]).toEqual([
      [80, false, 80, 80],
      [null, false, Number.NaN, Number.NaN],
    ]);
  });
  it('comes after a hole of so long', () => {
    const hole = (s: number) =>
      last([
        [1, 'ect_c', 80],
        [s, 'ect_c', 80],
      ]).holeS;
    expect([4, 7, 21].map(hole)).toEqual([0, 4, 19]);
    expect(
      last([
        [1, 'ect_c', 80],
        [21, 'rpm', 800],
      ]).holeS,
    ).toBe(0);
    // Of readings within the step before it, the last one counts.
    expect(
      last([
        [1, 'ect_c', 80],
        [4, 'ect_c', 80],
        [11, 'ect_c', 80],
      ]).holeS,
    ).toBe(6);
  });
  it('is unsure where more than a quarter of its readings were flagged', () => {
    const unsure = (good: number, bad: number) =>
      last([
        ...Array.from({ length: good }, (_, k): Said => [k / 10, 'ect_c', 80]),
        ...Array.from({ length: bad }, (_, k): Said => [3 + k / 10, 'ect_c', 200, 'range']),
      ]).unsure;
    expect([unsure(3, 1), unsure(5, 2), unsure(6, 2)]).toEqual([false, true, false]);
    expect(
      last([
        [0, 'ect_c', 80],
        [1, 'rpm', 9999, 'range'],
        [1, 'rpm', 9999, 'range'],
      ]).unsure,
    ).toBe(false);
    // A flagged reading is none, and each step counts its own.
    const { bins } = steps([
      [0, 'ect_c', 80],
      [1, 'ect_c', 200, 'range'],
      [5, 'ect_c', 81],
    ]);
    expect(bins.map((b) => [b.ect, b.unsure])).toEqual([
      [80, true],
      [81, false],
    ]);
  });
  it('had been stuck before, where it repeated itself for a minute and then leapt further than coolant goes', () => {
    const unstuck = (stoodS: number, leapC: number, gapS: number) =>
      last([
        [1, 'ect_c', 70],
        ...Array.from({ length: 7 }, (_, k): Said => [2 + (stoodS * k) / 6, 'ect_c', 80]),
        [2 + stoodS + gapS, 'ect_c', 80 + leapC],
      ]).unstuck;
    expect([60, 59.9].map((s) => unstuck(s, 5, 1))).toEqual([true, false]);
    // A degree of rounding and 25 °C a minute: 1.42 °C in a second, 3.08 in five, within 10 s at all.
    expect([1.42, 1.41, -1.42].map((c) => unstuck(60, c, 1))).toEqual([true, false, true]);
    expect([3.09, 3.08].map((c) => unstuck(60, c, 5))).toEqual([true, false]);
    expect([10, 10.1].map((s) => unstuck(60, 6, s))).toEqual([true, false]);
    const { bins } = steps([
      ...Array.from({ length: 70 }, (_, k): Said => [k, 'ect_c', 80]),
      [70, 'ect_c', 90],
      [71, 'ect_c', 90],
      [75, 'ect_c', 90],
    ]);
    expect(bins.filter((b) => b.unstuck).map((b) => b.tS)).toEqual([75]);
  });
  it('did not stand still where nobody read it, for more than ten seconds', () => {
    const unstuck = (gapS: number) =>
      last([
        ...Array.from({ length: 7 }, (_, k): Said => [9 * k, 'ect_c', 80]),
        [54 + gapS, 'ect_c', 80],
        [55 + gapS, 'ect_c', 90],
      ]).unstuck;
    expect([6, 10, 10.1, 60].map(unstuck)).toEqual([true, true, false, false]);
  });
  it('did not leap by a step of 2 °C at most that it made three times before while it moved', () => {
    const unstuck = (stepC: number, times: number, leapC = stepC) =>
      last([
        ...Array.from({ length: times + 1 }, (_, k): Said => [k, 'ect_c', 80 - stepC * (times - k)]),
        ...Array.from({ length: 7 }, (_, k): Said => [times + 1 + 10 * k, 'ect_c', 80]),
        [times + 62, 'ect_c', 80 + leapC],
      ]).unstuck;
    expect([2, 3].map((n) => unstuck(1.5, n))).toEqual([true, false]);
    expect([2, 2.1].map((c) => unstuck(c, 3))).toEqual([false, true]);
    // It is the least of the three largest that counts, and 25 °C a minute more.
    expect([1.91, 1.92].map((c) => unstuck(1.5, 3, c))).toEqual([false, true]);
  });
});

describe('what else a step holds', () => {
  it('is whether the engine runs: above 300 rpm, or where nothing tells', () => {
    const running = (rpm: number) => last([[0, 'rpm', rpm]]).running;
    expect([300, 301].map(running)).toEqual([false, true]);
    expect(last([[0, 'ect_c', 80]]).running).toBe(true);
    expect(last([[0, 'rpm', 900]])).toMatchObject({ rpm: 900, speed: null });
  });
  it('is the air: outside where it is told, else the lowest at the intake above 30 km/h with the engine running', () => {
    const air = (kmh: number, rpm: number, more: readonly Said[] = []) =>
      last([[0, 'speed_kmh', kmh], [0, 'rpm', rpm], [0, 'iat_c', 22], ...more]).air;
    expect([air(30, 900), air(31, 900), air(31, 300), air(31, 301)]).toEqual([null, 22, null, 22]);
    expect(air(50, 900, [[1, 'iat_c', 30]])).toBe(22);
    expect(air(50, 900, [[1, 'iat_c', 15]])).toBe(15);
    expect(air(50, 900, [[1, 'ambient_c', 12]])).toBe(12);
    // Long after the last speed it is not said.
    expect(air(50, 900, [[60, 'rpm', 900]])).toBeNull();
    expect(
      last([
        [0, 'rpm', 900],
        [0, 'iat_c', 22],
        [1, 'speed_kmh', 0],
      ]).air,
    ).toBeNull();
  });
  it('are the signals that were used', () => {
    const { maker } = steps([
      [0, 'rpm', 900],
      [0, 'ect_c', 200, 'range'],
      [0, 'boost_act_kpa', 100],
      [0, 'ambient_c', 10],
    ]);
    expect(maker.signals()).toEqual(['ambient_c', 'rpm']);
  });
});

describe('the heat put in', () => {
  const heat = (...said: Said[]) => last(said).heat;
  it('is the air mass, or pressure or load times engine speed', () => {
    expect(heat([0, 'maf_gps', 10], [1, 'maf_gps', 20])).toBe(15);
    expect(heat([0, 'rpm', 2000], [1, 'map_kpa', 50])).toBe(10);
    expect(heat([0, 'rpm', 2000], [1, 'load_pct', 40])).toBe(8);
    expect(heat([0, 'map_kpa', 50])).toBeNull();
    expect(heat([0, 'rpm', 2000])).toBeNull();
  });
  it('stays with the best signal that was ever seen', () => {
    const { bins, maker } = steps([
      [0, 'rpm', 2000],
      [1, 'load_pct', 40],
      [2, 'map_kpa', 50],
      [3, 'load_pct', 40],
      [5, 'map_kpa', 60],
      [6, 'maf_gps', 9],
      [7, 'map_kpa', 60],
    ]);
    expect(bins.map((b) => [b.heatSource, b.heat])).toEqual([
      ['map_kpa', 10],
      ['maf_gps', 9],
    ]);
    expect(maker.heatSource).toBe('maf_gps');
  });
  it('is none of an engine that stands, up to 300 rpm', () => {
    expect(heat([0, 'rpm', 300], [1, 'maf_gps', 10])).toBe(0);
    expect(heat([0, 'rpm', 301], [1, 'maf_gps', 10])).toBe(10);
  });
  /** Pedal rest 14 %, then this pedal and engine speed; the manifold's lowest 30 kPa. */
  const pushed = (rpm: number, pedal: number, map: number | null = null) =>
    heat(
      [0, 'pedal_d_pct', 14],
      [0, 'rpm', rpm],
      ...(map === null ? [] : ([[0, 'map_kpa', 30]] as const)),
      [1, 'pedal_d_pct', pedal],
      ...(map === null ? [] : ([[1, 'map_kpa', map]] as const)),
      [2, 'maf_gps', 10],
    ) === 0;
  it('is none where the vehicle pushes the engine: pedal within 1.5 % of its rest above 1200 rpm', () => {
    expect([1200, 1201].map((rpm) => pushed(rpm, 14))).toEqual([false, true]);
    expect([15.5, 15.6].map((pedal) => pushed(2000, pedal))).toEqual([true, false]);
    expect(heat([0, 'rpm', 2000], [1, 'maf_gps', 10])).toBe(10);
  });
  it('is put in by a speed control, where the manifold stands more than 12 kPa above its lowest', () => {
    expect([42, 42.1].map((map) => pushed(2000, 14, map))).toEqual([true, false]);
    // The lowest is one of a running engine.
    const stopped = heat(
      [0, 'rpm', 0],
      [0, 'map_kpa', 10],
      [1, 'rpm', 2000],
      [1, 'pedal_d_pct', 14],
      [2, 'map_kpa', 50],
      [3, 'maf_gps', 10],
    );
    expect(stopped).toBe(0);
  });
  it('follows one sensor of the pedal, the first of two where there is one', () => {
    const both = (...pedals: Said[]) => heat([0, 'rpm', 2000], ...pedals, [3, 'maf_gps', 10]) === 0;
    expect(both([1, 'pedal_e_pct', 7])).toBe(true);
    expect(both([1, 'pedal_e_pct', 7], [2, 'pedal_e_pct', 20])).toBe(false);
    expect(both([1, 'pedal_d_pct', 14], [1, 'pedal_e_pct', 7], [2, 'pedal_e_pct', 30])).toBe(true);
    // Found later it takes over, with a rest of its own.
    expect(both([1, 'pedal_e_pct', 7], [2, 'pedal_d_pct', 14])).toBe(true);
    expect(both([1, 'pedal_e_pct', 7], [1, 'pedal_d_pct', 14], [2, 'pedal_d_pct', 30])).toBe(false);
    expect(both([1, 'pedal_d_pct', 14], [2, 'pedal_d_pct', 10], [2.5, 'pedal_d_pct', 12])).toBe(false);
  });
});
