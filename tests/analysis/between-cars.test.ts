/** What cars of a kind tell of a further one, worked by hand: level by level, and how wide it makes them. */
import { describe, expect, it } from 'vitest';
import {
  another,
  type CarGives,
  learnBetween,
  learnOne,
  shareOfKind,
} from '../../src/analysis/between-cars.ts';
import { robust, studentT } from '../../src/analysis/spread.ts';

const DIFFER = { unknown: 0.125, least: 0.01 };
/** Normal quantiles: two-sided 95 %, and 3.5 standard errors for a fault, of which a one-sided 95 % is told apart. */
const [BOTH, FAULT, ONE] = [1.96, 3.5, 1.645];

describe('how far another car may lie', () => {
  it('is what is taken of unseen cars, of one or two', () => {
    for (const n of [1, 2]) {
      const sd = 0.125 * Math.sqrt(1 + 1 / n);
      const told = another(n, 0.5, DIFFER);
      expect(told.sd).toBeCloseTo(sd, 12);
      expect(told.far).toBeCloseTo((FAULT - ONE) * sd, 12);
    }
  });
  it('is what they show, from three on, at the least what sensors differ by', () => {
    const sd = (seen: number, df = 2) => (studentT(BOTH, df) / BOTH) * seen;
    expect(another(3, 0.02, DIFFER).sd).toBeCloseTo(sd(0.02), 12);
    expect(another(3, 0.001, DIFFER).sd).toBeCloseTo(sd(0.01), 12);
    expect(another(3, 0.02, DIFFER, 8).sd).toBeCloseTo(sd(0.02, 8), 12);
    // Cars that are alike to the bit leave no degrees of freedom to tell.
    expect(another(3, 0, DIFFER, Number.NaN).sd).toBeCloseTo(sd(0.01), 12);
  });
  it('in the tails is Student’s with a fifth fewer degrees of freedom, no wider than of unseen cars unless it is seen', () => {
    const bound = (n: number) => FAULT * 0.125 * Math.sqrt(1 + 1 / n);
    const whole = (n: number, seen: number) => {
      const { sd, far } = another(n, seen, DIFFER);
      return far + ONE * sd;
    };
    expect(whole(30, 0.02)).toBeCloseTo(studentT(FAULT, 0.8 * 29) * 0.02, 12);
    expect(whole(3, 0.02)).toBeCloseTo(bound(3), 12);
    const edge = 0.125 * Math.sqrt(1 + 1 / 10);
    expect(studentT(FAULT, 0.8 * 9) * edge).toBeGreaterThan(bound(10));
    expect(whole(10, edge)).toBeCloseTo(bound(10), 12);
    expect(whole(10, 1.001 * edge)).toBeCloseTo(studentT(FAULT, 0.8 * 9) * 1.001 * edge, 12);
    // Three that differ so much are so wide already that the bound adds nothing.
    expect(another(3, 0.999 * 0.125 * Math.sqrt(4 / 3), DIFFER).far).toBe(0);
  });
});

describe('what several cars give', () => {
  const of = (values: readonly number[]) => learnOne(values, DIFFER);
  it('of one number a car is its robust mean and spread, and one car more', () => {
    const seen = robust([-0.1, 0, 0.1]).sd * Math.sqrt(1 + 1 / 3);
    const { value, cars, sd } = of([90, 100, 110]);
    expect([value, cars]).toEqual([expect.closeTo(100, 9), 3]);
    expect(sd).toBeCloseTo((studentT(BOTH, 2) / BOTH) * seen, 9);
    expect(of([100]).value).toBe(100);
    expect(() => of([])).toThrow(RangeError);
  });
  it('of cars alike in the mean is what they differ by from place to place, less what their few pulls explain', () => {
    const given = (variance: number): CarGives[] =>
      [
        [110, 90],
        [90, 110],
        [100, 100],
      ].flatMap((values, car) => values.map((value, cell) => ({ car, cell, value, variance })));
    const rest = robust([0.1, -0.1, -0.1, 0.1, 0, 0].map((x) => x * Math.sqrt(3 / 2))).sd;
    const sd = (variance: number) => learnBetween(given(variance), DIFFER).get(0)!.sd;
    // Each place has three cars; four places of each car are told anew, so 2 · 4 degrees of freedom.
    const expected = (own2: number) => (studentT(BOTH, 8) / BOTH) * Math.sqrt(rest ** 2 / 3 + own2);
    expect(sd(0.001)).toBeCloseTo(expected(rest ** 2 - 0.001), 9);
    expect(sd(1)).toBeCloseTo(expected(0), 9);
  });
  it('of places that two of them drove each is told from these two', () => {
    // Each car gives 10 % more at one of its places and 10 % less at the other.
    const given: CarGives[] = [
      [0, 0, 110],
      [0, 2, 90],
      [1, 0, 90],
      [1, 1, 110],
      [2, 1, 90],
      [2, 2, 110],
    ].map(([car, cell, value]) => ({ car: car!, cell: cell!, value: value!, variance: 0.001 }));
    const rest = robust([0.1, -0.1, -0.1, 0.1, -0.1, 0.1].map((x) => x * Math.sqrt(2))).sd;
    const { value, cars, sd } = learnBetween(given, DIFFER).get(1)!;
    expect([value, cars]).toEqual([expect.closeTo(100, 9), 2]);
    expect(sd).toBeCloseTo((studentT(BOTH, 8) / BOTH) * Math.sqrt(rest ** 2 / 2 + rest ** 2 - 0.001), 9);
  });
  it('of cars that drove no place in common is the least', () => {
    const given = [0, 1, 2].map((k) => ({ car: k, cell: k, value: 100, variance: 0.001 }));
    expect(learnBetween(given, DIFFER).get(0)!.sd).toBeCloseTo((studentT(BOTH, 2) / BOTH) * 0.01, 9);
  });
  it('has degrees of freedom of level and rest together', () => {
    // Levels 0.8, 1, 1.2; about them ±5 % by turns, which leaves levels as they are.
    const [a, b] = [1.05, 0.95];
    const given = [
      [80 * a, 80 * b],
      [100 * b, 100 * a],
      [120 * a, 120 * b],
      [100, 100],
    ].flatMap((values, car) => values.map((value, cell) => ({ car, cell, value, variance: 0.002 })));
    const learned = learnBetween(given, DIFFER);
    const level2 = robust([-0.2, 0, 0.2, 0]).sd ** 2 * (1 + 1 / 4);
    // The shape is that of the middle car: both places lie within 3 % of 100.
    expect(learned.get(0)!.value).toBeGreaterThan(97);
    expect(learned.get(0)!.value).toBeLessThan(103);
    const shape = [0, 1].map((c) => learned.get(c)!.value);
    const levels = [0.8, 1, 1.2, 1];
    const left = given.map((g) => (g.value / (shape[g.cell]! * levels[g.car]!) - 1) * Math.sqrt(4 / 3));
    const rest = robust(left).sd;
    const rest2 = rest ** 2 / 4 + Math.max(0, rest ** 2 - 0.002);
    const df = (3 * (level2 + rest2) ** 2) / (level2 ** 2 + rest2 ** 2 / 4);
    expect(learned.get(0)!.sd).toBeCloseTo((studentT(BOTH, df) / BOTH) * Math.sqrt(level2 + rest2), 3);
  });
  it('knows a place that one car alone drove by what the others show that car to be', () => {
    // The third gives 20 % more than the middle; what it gave sixty of is fifty of the middle car.
    const given = [
      { car: 0, cell: 0, value: 80, variance: 1e-6 },
      { car: 1, cell: 0, value: 100, variance: 1e-6 },
      { car: 2, cell: 0, value: 120, variance: 1e-6 },
      { car: 2, cell: 1, value: 60, variance: 1 },
    ];
    const learned = learnBetween(given, DIFFER);
    expect([...learned].map(([cell, x]) => [cell, x.cars, Math.round(100 * x.value) / 100])).toEqual([
      [0, 3, 100],
      [1, 1, 50],
    ]);
  });
  it('of cars that are a level times one shape tells that shape, and no level in the middle of them', () => {
    const places = [100, 80, 200];
    const levels = [1, 1.1, 1.5, 2, 1.25];
    const driven = [[0, 1], [0, 1], [0, 1], [1, 2], [2]];
    const given = driven.flatMap((cells, car) =>
      cells.map((cell) => ({ car, cell, value: levels[car]! * places[cell]!, variance: 1e-6 })),
    );
    const shape = [0, 1, 2].map((cell) => learnBetween(given, DIFFER).get(cell)!.value);
    // Places that the same cars drove stand to each other as in each of them.
    expect(shape[0]! / shape[1]!).toBeCloseTo(100 / 80, 9);
    const of = driven.map((cells, car) => {
      const own = cells.map((cell) => (levels[car]! * places[cell]!) / shape[cell]! - 1);
      return own.reduce((a, x) => a + x, 0) / own.length;
    });
    expect(robust(of).mean).toBeCloseTo(0, 6);
  });
  it('takes the middle car for the measure where cars drove different places', () => {
    // Two places of like cars but one, which went to the first alone and gives half as much again.
    const given = [
      ...[0, 1, 2, 3].flatMap((car) => [0, 1].map((cell) => ({ car, cell, value: 100, variance: 1e-6 }))),
      { car: 4, cell: 0, value: 150, variance: 1e-6 },
    ];
    const learned = learnBetween(given, DIFFER);
    const levels = robust([0, 0, 0, 0, 0.5]);
    expect(learned.get(1)!.value).toBeCloseTo(100 * (1 + levels.mean), 1);
    expect(learned.get(0)!.value).toBeCloseTo(learned.get(1)!.value, 6);
  });
});

it('own drives and the kind are weighed by their variance; where they contradict, the kind by how far they lie apart', () => {
  expect(shareOfKind(0.01, 0.03, 0.1)).toBeCloseTo(0.25, 12);
  expect(shareOfKind(0.01, 0.03, 0.3)).toBeCloseTo(0.1, 12);
  expect(shareOfKind(0.01, 0.03, -0.3)).toBeCloseTo(0.1, 12);
});
