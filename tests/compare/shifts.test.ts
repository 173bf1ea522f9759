/** What is neither better nor worse: rise at tip-in, plateau, warm-up; each margin and each limit from both sides. */
import { describe, expect, it } from 'vitest';
import { contrastOf, intervalOf } from '../../src/compare/contrast.ts';
import type { Gathered, GatheredTip } from '../../src/compare/gather.ts';
import {
  afterOneSecond,
  plateauShift,
  type ShiftRun,
  tipInShift,
  warmUpShift,
} from '../../src/compare/shifts.ts';
import type { Role } from '../../src/compare/types.ts';

/** Student's t for 10 degrees of freedom, 95 % two-sided, as printed in any table. */
const T10 = 2.2281;
const run = (role: Role, more: Partial<Gathered>, day: string = role): ShiftRun => ({
  ...{ role, day },
  gathered: {
    ...{ tips: [], plateauC: null, heatPerC: null, heatSource: 'maf_gps', air: null },
    ...more,
  } as unknown as Gathered,
});

describe('one second after demand rose', () => {
  const tip = (...points: [ms: number, mapKpa: number][]): GatheredTip => ({
    ...{ atUs: 5e6, airKpa: null, rpm: 2000 },
    points: points.map(([ms, mapKpa]) => ({ tUs: 5e6 + ms * 1000, mapKpa })),
  });
  it('lies on the line between the readings around it', () => {
    expect(afterOneSecond(tip([0, 90], [800, 120], [1200, 160], [1600, 170]), 100)).toBeCloseTo(40, 9);
    expect(afterOneSecond(tip([900, 120], [1300, 160]), 100)).toBeCloseTo(30, 9);
    expect(afterOneSecond(tip([800, 120], [1000, 150]), 100)).toBe(50);
  });
  it('is not known where either of them is further than 0.6 s', () => {
    expect(afterOneSecond(tip([400, 120], [1000, 150]), 100)).toBe(50);
    expect(afterOneSecond(tip([399, 120], [1000, 150]), 100)).toBeNull();
    expect(afterOneSecond(tip([900, 120], [1600, 120]), 100)).toBeCloseTo(20, 9);
    expect(afterOneSecond(tip([900, 120], [1601, 120]), 100)).toBeNull();
    expect(afterOneSecond(tip([1000, 120], [1100, 120]), 100)).toBeNull();
    expect(afterOneSecond(tip([800, 120], [999, 120]), 100)).toBeNull();
  });
});

describe('the rise at tip-in', () => {
  /** Gauge pressures after one second, at an engine speed each. */
  const tips = (role: Role, day: string, ...list: [rpm: number, kpa: number][]) => ({
    ...run(
      role,
      {
        tips: list.map(([rpm, kpa]) => ({
          ...{ atUs: 0, airKpa: null, rpm },
          points: [900, 1100].map((ms) => ({ tUs: ms * 1000, mapKpa: 97 + kpa })),
        })),
      },
      day,
    ),
    baroKpa: 97,
  });
  const many = (role: Role, day: string, kpa: number, n = 6) =>
    tips(
      role,
      day,
      ...Array.from({ length: n }, (_, k): [number, number] => [2000, kpa + (k % 2 ? 0.5 : -0.5)]),
    );
  it('compares tip-ins from below 1600, to 2400 and above', () => {
    const common = (before: number, after: number) =>
      tipInShift([
        tips('before', 'a', [before, 30], [before, 31]),
        tips('after', 'a', [after, 30], [after, 31]),
      ]).difference !== null;
    expect([common(1599, 1600), common(1600, 2399), common(2399, 2400), common(2400, 6000)]).toEqual([
      ...[false, true, false, true],
    ]);
    expect(common(1000, 1599)).toBe(true);
  });
  it('is unchanged within 10 kPa with the whole interval, and higher or lower beyond none', () => {
    const verdict = (kpa: number) => tipInShift([many('before', 'a', 30), many('after', 'a', 30 + kpa)]);
    const half = (() => {
      const of = (side: 'before' | 'after', from: number) =>
        [0, 1, 2, 3, 4, 5].map((k) => ({
          ...{ side, pull: from + k, day: 'a', point: 'p', value: k % 2 ? 0.5 : -0.5 },
        }));
      return intervalOf(contrastOf([...of('before', 0), ...of('after', 9)])!, [], 0.95)!.high;
    })();
    expect(half).toBeLessThan(1);
    expect([9.99 - half, 10.01 - half].map((d) => verdict(d).verdict)).toEqual(['unchanged', 'higher']);
    expect([half - 9.99, half - 10.01].map((d) => verdict(d).verdict)).toEqual(['unchanged', 'lower']);
    expect(verdict(4)).toMatchObject({
      ...{ before: 30, after: 34, difference: 4, margin: 10, unit: 'kPa', needs: null },
      interval: [expect.closeTo(4 - half, 9), expect.closeTo(4 + half, 9)],
    });
  });
  it('of different days is allowed 2 kPa each', () => {
    const at = tipInShift([many('before', 'a', 30), many('after', 'b', 34)]).interval!;
    const c = contrastOf(
      [many('before', 'a', 30), many('after', 'b', 34)].flatMap(({ role, day, gathered }, i) =>
        gathered.tips.map((tip, k) => ({
          ...{ side: role, pull: 10 * i + k, day, point: 'p', value: tip.points[0]!.mapKpa - 97 },
        })),
      ),
    )!;
    const by = intervalOf(c, [[2 * 2 ** 2, 10]], 0.95)!;
    expect(at).toEqual([expect.closeTo(by.low, 9), expect.closeTo(by.high, 9)]);
  });
  it('is told in air within 8 °C, where anything tells of it', () => {
    const inAir = (beforeC: number | null, afterC: number | null) => {
      const of = (side: ReturnType<typeof many>, c: number | null) => ({
        ...side,
        gathered: {
          ...side.gathered,
          air: c === null ? null : { c, source: 'ambient temperature' as const },
        },
      });
      return tipInShift([of(many('before', 'a', 30), beforeC), of(many('after', 'a', 60), afterC)]);
    };
    expect([inAir(20, 12), inAir(20, null), inAir(null, null)].map((s) => s.verdict)).toEqual([
      ...['higher', 'higher', 'higher'],
    ]);
    expect(inAir(20, 11.9)).toMatchObject({
      ...{ verdict: 'not shown', before: 30, after: 60, difference: 30 },
      needs: { id: 'compare.need.tip-air-apart', args: { byC: expect.closeTo(8.1, 9) } },
    });
    expect(inAir(-7, 23).verdict).toBe('not shown');
  });
  it('without common tip-ins, or with one a side, asks for them', () => {
    const asked = { id: 'compare.need.tip-ins', args: { holdS: 3, rpm: 1500 } };
    const none = tipInShift([tips('before', 'a', [2000, 30]), tips('after', 'a')]);
    expect(none).toMatchObject({ verdict: 'not shown', before: null, interval: null, needs: asked });
    const one = tipInShift([tips('before', 'a', [2000, 30]), tips('after', 'a', [2000, 35])]);
    expect(one).toMatchObject({ verdict: 'not shown', difference: 5, interval: null, needs: asked });
  });
});

describe('where the coolant settles', () => {
  const shift = (before: readonly number[], after: readonly number[]) =>
    plateauShift([
      ...before.map((plateauC) => run('before', { plateauC })),
      ...after.map((plateauC) => run('after', { plateauC })),
      run('after', {}),
    ]);
  it('differs from drive to drive by 0.7 °C: unchanged within 3 °C with the whole interval', () => {
    const half = T10 * 0.7 * Math.sqrt(2);
    const at = shift([90], [90.5]);
    expect(at).toMatchObject({ before: 90, after: 90.5, difference: 0.5, margin: 3, unit: 'degC' });
    expect(at.interval).toEqual([expect.closeTo(0.5 - half, 3), expect.closeTo(0.5 + half, 3)]);
    const verdict = (d: number) => shift([90], [90 + d]).verdict;
    expect([2.99 - half, 3.01 - half, half - 0.01, half + 0.01].map(verdict)).toEqual([
      ...['unchanged', 'not shown', 'not shown', 'higher'],
    ]);
    expect([half - 2.99, half - 3.01, -half - 0.01].map(verdict)).toEqual([
      ...['unchanged', 'not shown', 'lower'],
    ]);
    expect(shift([90], [91.5]).needs!.id).toBe('compare.need.another-run');
    expect(shift([90], [90]).needs).toBeNull();
  });
  it('is surer of more drives, in their mean', () => {
    const at = shift([89, 91], [92, 93, 94]);
    expect([at.before, at.after, at.difference]).toEqual([90, 93, 3]);
    expect(at.interval![1] - 3).toBeCloseTo(T10 * 0.7 * Math.sqrt(1 / 2 + 1 / 3), 3);
  });
  it('asks for the side that has none, for ten minutes', () => {
    const asked = (role: Role) => ({ id: 'compare.need.settle', args: { role, minutes: 10 } });
    expect(shift([], [90])).toMatchObject({ before: null, after: 90, needs: asked('before') });
    expect(shift([90], [])).toMatchObject({ before: 90, after: null, needs: asked('after') });
    expect(shift([], [])).toMatchObject({ before: null, after: null, needs: asked('after') });
  });
});

describe('the warm-up', () => {
  const cold = (role: Role, heatPerC: number | null, c: number | null = 15, more: Partial<Gathered> = {}) =>
    run(role, { heatPerC, air: c === null ? null : { c, source: 'ambient temperature' }, ...more });
  const many = (n: number, factor: number) =>
    Array.from({ length: n }, () => [cold('before', 200), cold('after', 200 * factor)]).flat();
  it('differs from drive to drive by a fifth: unchanged within 30 % with the whole interval', () => {
    const half = T10 * 0.2 * Math.sqrt(2);
    const at = warmUpShift(many(1, 1.1));
    expect(at).toMatchObject({ margin: 30, unit: '%', verdict: 'not shown' });
    expect(at.needs).toMatchObject({ id: 'compare.need.cold-starts', args: { sd: 0.2 } });
    expect([at.before, at.after, at.difference]).toEqual([200, 220, 10].map((x) => expect.closeTo(x, 9)));
    expect(at.interval).toEqual([
      expect.closeTo(110 * Math.exp(-half) - 100, 1),
      expect.closeTo(110 * Math.exp(half) - 100, 1),
    ]);
    const of20 = T10 * 0.2 * Math.sqrt(2 / 20);
    const verdict = (ln: number) => warmUpShift(many(20, Math.exp(ln))).verdict;
    const [up, down] = [Math.log(1.3), Math.log(0.7)];
    expect([up - of20 - 0.001, up - of20 + 0.001, of20 + 0.001].map(verdict)).toEqual([
      ...['unchanged', 'not shown', 'higher'],
    ]);
    expect([down + of20 + 0.001, down + of20 - 0.001].map(verdict)).toEqual(['unchanged', 'lower']);
    expect(warmUpShift(many(20, 1)).needs).toBeNull();
  });
  it('is compared in air within 8 °C, told by the same signal', () => {
    const air = (c: number | null, source: Gathered['heatSource'] = 'maf_gps') =>
      warmUpShift([cold('before', 200, 10), cold('after', 200, c, { heatSource: source })]);
    expect([18, 18.1, 2, 1.9].map((c) => air(c).difference === null)).toEqual([false, true, false, true]);
    expect(air(18.1).needs).toMatchObject({
      ...{ id: 'compare.need.air-apart', args: { byC: expect.closeTo(8.1, 9) } },
    });
    expect(air(null).needs!.id).toBe('compare.need.air-unknown');
    expect(warmUpShift([cold('before', 200, null), cold('after', 200)]).needs!.id).toBe(
      'compare.need.air-unknown',
    );
    expect(air(10, 'map_kpa').needs!.id).toBe('compare.need.heat-signals');
  });
  it('asks for a start below 35 °C until 70 °C of the side that has none', () => {
    const asked = (role: Role) => ({ id: 'compare.need.cold', args: { role, fromC: 35, toC: 70 } });
    expect(warmUpShift([cold('before', 200), cold('after', null)]).needs).toMatchObject(asked('after'));
    expect(warmUpShift([cold('before', null), cold('after', 200)]).needs).toMatchObject(asked('before'));
    expect(warmUpShift([]).needs).toMatchObject(asked('after'));
  });
});
