/** What was seen while the coolant was settled. */
import { describe, expect, it } from 'vitest';
import type { Bin } from '../../src/analysis/coolant/bins.ts';
import { Settled } from '../../src/analysis/coolant/settled.ts';
import { level, road, step } from './steps.ts';

describe('while settled', () => {
  function fed(bins: readonly Bin[], beyondC: number | null = -3) {
    const settled = new Settled();
    for (const bin of bins) settled.step(bin, road, beyondC === null ? null : { plateauC: 90, beyondC });
    return settled;
  }
  it('counts seconds: settled, moving from 30 km/h on, asked, watched', () => {
    const s = fed([
      step(0, 90),
      step(1, 90, { speed: 30 }),
      step(2, 90, { speed: 29 }),
      step(3, 90, { speed: 4 }),
    ]);
    expect([s.settledS, s.movingS, s.askedS, s.watchedS, s.fromS, s.toS]).toEqual([20, 10, 15, 20, 5, 20]);
    expect(fed([step(0, 90)], null).watchedS).toBe(0);
    expect(fed([step(0, 90, { running: false })]).settledS).toBe(0);
  });
  it('keeps the reading on the move of which driving explains the least, once it is settled', () => {
    const moved = (beyondC: number | null) => {
      const s = new Settled();
      const settled = beyondC === null ? null : { plateauC: 90, beyondC };
      s.step(step(0, 97), { ...road, allowC: 7 }, settled);
      s.step(step(1, 95), { ...road, kmh: 30, allowC: 3 }, settled);
      s.step(step(2, 99), { ...road, kmh: 29.9, allowC: 3 }, settled);
      return s.moved;
    };
    expect(moved(0)).toEqual({ ectC: 95, lessC: 92 });
    expect(moved(null).lessC).toBe(Number.NEGATIVE_INFINITY);
  });
  it('is restless where it leaps by 4 °C from one step to the next', () => {
    expect(fed([step(0, 90), step(1, 94), step(2, 90.1)]).restless).toBe(1);
    // In two steps it may go twice as far.
    expect(fed([step(0, 90), step(2, 98)]).restless).toBe(1);
    expect(fed([step(0, 90), step(2, 97.9)]).restless).toBe(0);
    expect(fed([step(0, 90), step(3, 94)]).restless).toBe(0);
  });
  it('is not where a reading of every 20 s came further: it is held against the last reading, not the last step', () => {
    const held = (k: number, c: number) => step(k, c, { fresh: false });
    expect(fed([step(0, 90), held(1, 90), held(2, 90), held(3, 90), step(4, 95)]).restless).toBe(0);
    expect(fed([step(0, 90), held(1, 90), step(2, 98)]).restless).toBe(1);
  });
  it('is held against how often readings come: at one in 7 s it may leap by 5.6 °C from one step to the next', () => {
    const at = (c: number) =>
      fed([...level(90, 5).map((v, k) => step(k === 0 ? 0 : Math.ceil(1.5 * k), v)), step(7, c)]).restless;
    // Five gaps of seven steps in all: 1.4 in the mean.
    expect([95.7, 95.5].map(at)).toEqual([1, 0]);
    const afterHole = fed([step(0, 90), step(5, 90), step(6, 94)]).restless;
    expect(afterHole).toBe(1);
  });
  it('counts of what it did while it settled only what came once it first stood within a degree of the plateau', () => {
    const s = new Settled();
    for (const [k, c] of [80, 84, 88.9, 89, 86, 90].entries()) s.step(step(k, c), road, null);
    expect([s.settledS, s.askedS]).toEqual([30, 0]);
    s.step(step(6, 91), road, { plateauC: 90, beyondC: -3 });
    expect([s.settledS, s.askedS, s.range]).toEqual([35, 20, [86, 91]]);
    const never = new Settled();
    never.step(step(0, 85), road, null);
    never.step(step(1, 91), road, { plateauC: 90, beyondC: -3 });
    expect([never.askedS, never.range]).toEqual([5, [91, 91]]);
  });
  it('tells the range on the move apart, from when there has been wind for a while', () => {
    const s = new Settled();
    const settled = { plateauC: 90, beyondC: -3 };
    s.step(step(0, 89), { ...road, kmh: 30 }, settled);
    s.step(step(1, 91), road, settled);
    s.step(step(2, 97), { ...road, kmh: 29.9 }, settled);
    expect([s.movingRange, s.range]).toEqual([
      [89, 91],
      [89, 97],
    ]);
  });
  it('keeps what it held before it climbed away, and goes on counting', () => {
    const s = fed([...level(90, 30), ...level(97, 20)].map((c, k) => step(k, c)));
    // The climb began at the end of the 30th step.
    s.climbs(150);
    expect(s.before).toEqual({ askedS: 150, middleC: 90, rangeC: [90, 90] });
    expect([s.askedS, s.quantile(0.975)]).toEqual([250, 97]);
    expect(fed([]).before).toBeNull();
  });
  it('tells below what a share of the asking lay, the range, and where it ended in the last two minutes', () => {
    const s = fed(
      [...level(88, 10), ...level(92, 30)].map((c, k) => step(k, c, { high: c + 1, low: c - 1 })),
    );
    expect([0.025, 0.25, 0.26, 0.975].map((q) => s.quantile(q))).toEqual([88, 88, 92, 92]);
    expect(s.range).toEqual([87, 93]);
    const end = new Settled();
    for (let k = 0; k < 40; k++)
      end.step(step(k, 90), road, { plateauC: 90, beyondC: k < 16 ? -5 : k < 28 ? 0 : 2 });
    expect(end.endC).toBe(1);
    expect(fed([]).endC).toBe(0);
  });
});
