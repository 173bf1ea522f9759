/** Heat that a warm-up takes: which warm-ups count, and what is expected of the next one. */
import { describe, expect, it } from 'vitest';
import type { Bin } from '../../src/analysis/coolant/bins.ts';
import { expectedHeat, inAir, WarmUpMeter } from '../../src/analysis/coolant/warm-up-meter.ts';
import { step } from './steps.ts';

/** What came of it, and after how many steps. */
function measured(ects: readonly (number | null)[], more: (k: number) => Partial<Bin> = () => ({})) {
  const meter = new WarmUpMeter();
  const done = ects.flatMap((ect, k) => (meter.step(step(k, ect, more(k))) ? [k] : []));
  return { done, result: meter.result(), further: meter.further(), given: meter.given() };
}
/** From 30 °C to 70 °C in steps of 5 °C. */
const WARMING = [30, 35, 40, 45, 50, 55, 60, 65, 70];

describe('the warm-up', () => {
  it('is from 40 to 70 °C: the heat of its steps over the degrees it warmed', () => {
    const { done, result, further } = measured([...WARMING, 75]);
    expect(done).toEqual([8]);
    expect(further).toBeNull();
    // Six steps of five seconds at 20 of the heat's unit, over 30 °C.
    expect(result).toEqual({
      ...{ heatPerC: (6 * 5 * 20) / 30, startC: 30, airC: 20, fromC: 40, toC: 70, fromS: 15, toS: 45 },
    });
    expect(measured([30, 39.9, 50, 70]).result).toMatchObject({ heatPerC: (5 * 20) / 20, fromS: 15 });
    expect(measured([30, 40, 69.9]).result).toBeNull();
    expect(measured([null, ...WARMING, null]).result).toMatchObject({ startC: 30 });
  });
  it('is measured once more to 78 °C, of the same beginning', () => {
    const { done, result, further } = measured([...WARMING, 75, 77.9, 78, 79, 90]);
    expect(done).toEqual([8, 11]);
    expect(result).toMatchObject({ toC: 70, toS: 45 });
    // Nine steps over 38 °C.
    expect(further).toEqual({
      ...{ heatPerC: (9 * 5 * 20) / 38, startC: 30, airC: 20, fromC: 40, toC: 78, fromS: 15, toS: 60 },
    });
    // Over both ends in one step.
    const leapt = measured([30, 40, 60, 79]);
    expect(leapt.done).toEqual([3]);
    expect([leapt.result, leapt.further]).toEqual([leapt.further, leapt.result]);
    // Its air is that of its own end.
    const air = measured([...WARMING, 78], (k) => ({ air: k }));
    expect([air.result!.airC, air.further!.airC]).toEqual([8, 9]);
  });
  it('broken after 70 °C it is what it was to there, and has no further end', () => {
    const broken = (more: Partial<Bin>) => measured([...WARMING, 75, 80], (k) => (k === 9 ? more : {}));
    for (const more of [{ holeS: 21 }, { heat: null }, { unsure: true }, { unstuck: true }]) {
      const { result, further, given } = broken(more);
      expect([result?.toC, further, given.share]).toEqual([70, null, 1]);
    }
    expect(broken({ holeS: 20 }).further).not.toBeNull();
    // A cold soak after it does not begin anew.
    const cooled = measured([...WARMING, 20, 40, 60, 80]);
    expect([cooled.done, cooled.result?.toS, cooled.further]).toEqual([[8], 45, null]);
    const stood = measured([30, 40, 70, ...Array.from({ length: 9 }, () => 75), 78], (k) => ({
      speed: k < 3 ? 20 : 0,
    }));
    expect([stood.result?.toC, stood.further]).toEqual([70, null]);
  });
  it('counts from a start at 35 °C or colder', () => {
    const from = (c: number) => measured([c, 40, 50, 60, 70]).result?.startC ?? null;
    expect([35, 35.1].map(from)).toEqual([35, null]);
  });
  it('begins anew where it cooled down again, if it is still cold then', () => {
    const again = (c: number) => measured([20, 40, 50, c, 40, 55, 70]).result;
    expect(again(35)).toEqual({
      ...{ heatPerC: (2 * 5 * 20) / 30, startC: 35, airC: 20, fromC: 40, toC: 70, fromS: 25, toS: 35 },
    });
    expect(again(35.1)).toBeNull();
    // Its way is of the new beginning as well: 12 km/h after it are too slow, whatever was before.
    const slow = (k: number) => ({ speed: k < 3 ? 200 : 12 });
    expect(measured([20, 40, 50, 35, 40, 55, 70], slow).result).toBeNull();
  });
  it('is broken by 20 s without coolant, by heat that nothing told, by flagged readings', () => {
    const at5 = (more: Partial<Bin>) => measured(WARMING, (k) => (k === 5 ? more : {})).result !== null;
    expect([20, 21].map((holeS) => at5({ holeS }))).toEqual([true, false]);
    expect(at5({ heat: null })).toBe(false);
    expect(at5({ heat: null, running: false })).toBe(true);
    expect(at5({ unsure: true })).toBe(false);
    const before = (more: Partial<Bin>) => measured(WARMING, (k) => (k < 3 ? more : {})).result !== null;
    expect(before({ heat: null, unsure: true, holeS: 99 })).toBe(true);
  });
  it('is broken by a reading that had been stuck, and by a first one above 50 °C', () => {
    const unstuck = (at: number) =>
      measured(WARMING, (k) => (k === at ? { unstuck: true } : {})).result !== null;
    expect([1, 5, 8, 9].map(unstuck)).toEqual([false, false, false, true]);
    // Stuck at 38 °C and let go at the plateau: a degree would have taken all heat there is.
    expect(measured([30, 38, 38, 88, 88, 89]).result).toBeNull();
    const first = (c: number) => measured([30, c, 70]).result;
    expect(first(50)).toMatchObject({ fromC: 50, toC: 70, heatPerC: (5 * 20) / 20 });
    expect(first(50.1)).toBeNull();
  });
  it('needs heat at all', () => {
    expect(measured(WARMING, () => ({ heat: 0 })).result).toBeNull();
    expect(measured([...WARMING, 80], (k) => ({ heat: k === 9 ? 20 : 0 })).result!.toS).toBe(50);
    // A step without heat adds none.
    expect(measured(WARMING, (k) => (k === 4 ? { heat: null, running: false } : {})).result!.heatPerC).toBe(
      (5 * 5 * 20) / 30,
    );
  });
  it('needs 15 km/h in the mean: standing gives its heat to cabin and air', () => {
    const at = (speed: number | null) => measured([30, 40, 50, 60, 70], () => ({ speed })).result !== null;
    // Unknown is taken for just enough.
    expect([14.9, 15, null].map(at)).toEqual([false, true, true]);
    const unknown = (steps: number) =>
      measured([30, ...Array.from({ length: steps }, (_, k) => 40 + (30 * k) / (steps - 1))], () => ({
        speed: null,
      }));
    for (let n = 2; n <= 240; n++) expect(unknown(n).result, `${n} steps`).not.toBeNull();
    const shared = (kmh: number) =>
      measured([30, 40, 50, 70], (k) => ({ speed: k === 3 ? kmh : 0 })).result !== null;
    expect([29, 31].map(shared)).toEqual([false, true]);
    // Too slow once is too slow for good.
    expect(measured([30, 40, 70, 75, 80], (k) => ({ speed: k < 3 ? 10 : 200 })).result).toBeNull();
  });
});

describe('what is expected of the next', () => {
  const drive = (heatPerC: number, airC: number) => ({ heatPerC, airC });
  it('in other air takes 2 % less heat a degree', () => {
    expect(inAir(drive(300, 10), 15)).toBeCloseTo(Math.log(300) - 0.1, 12);
  });
  it('by one drive is that drive, with twice the scatter’s variance and what half the slope leaves open', () => {
    for (const [source, sd] of [
      ['maf_gps', 0.17],
      ['map_kpa', 0.22],
      ['load_pct', 0.22],
    ] as const) {
      const at = expectedHeat([drive(300, 10)], 15, source)!;
      expect(at.ln).toBeCloseTo(Math.log(300) - 0.1, 12);
      expect(at.se).toBeCloseTo(Math.sqrt(2 * sd ** 2 + (5 * 0.01) ** 2), 12);
      expect([at.far, at.drives, at.cars]).toEqual([0, 1, 0]);
    }
    expect(expectedHeat([], 15, 'maf_gps')).toBeNull();
  });
  it('by several is their line, weighed with what is assumed of slope and scatter', () => {
    const drives = [drive(Math.exp(6), 0), drive(Math.exp(5.7), 10), drive(Math.exp(5.6), 20)];
    // By hand: mean air 10 °C, mean ln 5.7667, sxx 200, their own slope −0.02 wherever the middle lies.
    const own = 200 / 0.17 ** 2;
    const weight = own + 1 / 0.01 ** 2;
    const b = (-0.02 * own - 0.02 / 0.01 ** 2) / weight;
    const mean = (6 + 5.7 + 5.6) / 3;
    const sse = (6 - mean + 10 * b) ** 2 + (5.7 - mean) ** 2 + (5.6 - mean - 10 * b) ** 2;
    const variance = (sse + 6 * 0.17 ** 2) / (1 + 6);
    const at = expectedHeat(drives, 25, 'maf_gps')!;
    expect(at.ln).toBeCloseTo(mean + 15 * b, 12);
    expect(at.se).toBeCloseTo(Math.sqrt(variance + variance / 3 + 15 ** 2 / weight), 12);
    // A steeper line of their own counts by what it is known to.
    const steep = [drive(Math.exp(6), 0), drive(Math.exp(5), 20)];
    const steepOwn = 200 / 0.17 ** 2;
    const slope = (-0.05 * steepOwn - 0.02 / 0.01 ** 2) / (steepOwn + 1 / 0.01 ** 2);
    expect(expectedHeat(steep, 20, 'maf_gps')!.ln).toBeCloseTo(5.5 + 10 * slope, 12);
  });
  it('by the kind alone is what its cars take, in other air less surely', () => {
    const kind = { value: 300, cars: 5, sd: 0.1, far: 0.2, airC: 10 };
    const at = expectedHeat([], 15, 'maf_gps', kind)!;
    expect(at.ln).toBeCloseTo(Math.log(300) - 0.1, 12);
    expect(at.se).toBeCloseTo(Math.sqrt(0.17 ** 2 + 0.1 ** 2 + (5 * 0.01) ** 2), 12);
    expect([at.far, at.drives, at.cars]).toEqual([0.2, 0, 5]);
  });
  it('by both lies between, each weighed by its variance', () => {
    const kind = { value: 300, cars: 5, sd: 0.1, far: 0.2, airC: 10 };
    const at = expectedHeat([drive(330, 10)], 10, 'maf_gps', kind)!;
    const apart = Math.log(300 / 330);
    const share = 0.17 ** 2 / (0.17 ** 2 + Math.max(0.1 ** 2, apart ** 2));
    expect(at.ln).toBeCloseTo(Math.log(330) + share * apart, 12);
    expect(at.se).toBeCloseTo(Math.sqrt(0.17 ** 2 + 0.17 ** 2 * (1 - share)), 12);
    expect(at.far).toBeCloseTo(0.2 * share, 12);
    expect([at.drives, at.cars]).toEqual([1, 5]);
  });
});
