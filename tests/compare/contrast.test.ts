/** The difference of two sides: Welch's test where every pull is everywhere, and honest where they are not. */
import { describe, expect, it } from 'vitest';
import {
  type ComparedPoint,
  contrastOf,
  intervalOf,
  pairedContrast,
  studentT,
} from '../../src/compare/contrast.ts';
import { seededRandom } from '../../src/core/random.ts';

/** One pull each, at one point. */
const side = (name: ComparedPoint['side'], values: readonly number[], from: number): ComparedPoint[] =>
  values.map((value, i) => ({ side: name, pull: from + i, day: name, point: 'p', value }));

describe('against a published example', () => {
  // Student (1908), "The probable error of a mean", additional hours of sleep under two drugs; as printed in the
  // manual of R for t.test(extra ~ group): t = −1.8608, df = 17.776, interval −3.3654832 to 0.2054832.
  const first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
  const second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];

  it('gives Welch’s interval and degrees of freedom to the printed digits', () => {
    const c = contrastOf([...side('before', second, 0), ...side('after', first, 100)])!;
    const at = intervalOf(c, [], 0.95)!;
    expect(c.difference / Math.sqrt(c.variance!)).toBeCloseTo(-1.8608, 4);
    expect(at.degreesOfFreedom).toBeCloseTo(17.776, 3);
    expect(at.low).toBeCloseTo(-3.3654832, 6);
    expect(at.high).toBeCloseTo(0.2054832, 6);
  });

  // The same manual, the sleepers as pairs: t = −4.0621, df = 9, interval −2.4598858 to −0.7001142.
  it('gives the paired interval to the printed digits where the sides are pairs', () => {
    const all = [...side('before', second, 0), ...side('after', first, 100)];
    const sleeper = (o: ComparedPoint) => o.pull % 100;
    const at = intervalOf(pairedContrast(all, sleeper)!, [], 0.95)!;
    expect(at.degreesOfFreedom).toBeCloseTo(9, 9);
    expect(at.low).toBeCloseTo(-2.4598858, 6);
    expect(at.high).toBeCloseTo(-0.7001142, 6);
    expect(
      pairedContrast(
        all.filter((o) => o.pull % 100 < 2),
        sleeper,
      ),
    ).toBeNull();
  });

  it('gives the same when every pull is at several points', () => {
    const many = [...side('before', second, 0), ...side('after', first, 100)].flatMap((o) => [
      o,
      { ...o, point: 'q', value: o.value + 40 },
    ]);
    const at = intervalOf(contrastOf(many)!, [], 0.95)!;
    expect(at.low).toBeCloseTo(-3.3654832, 6);
    expect(at.degreesOfFreedom).toBeCloseTo(17.776, 3);
  });

  it('uses the quantiles of Student’s tables', () => {
    // As printed in any table of the distribution: 12.706, 2.228, 1.960 for 1, 10 and very many degrees of freedom.
    expect(studentT(0.975, 1)).toBeCloseTo(12.706, 3);
    expect(studentT(0.975, 10)).toBeCloseTo(2.228, 3);
    expect(studentT(0.975, Number.POSITIVE_INFINITY)).toBeCloseTo(1.96, 3);
  });
});

describe('pulls that are not everywhere', () => {
  const pull = (
    name: ComparedPoint['side'],
    number: number,
    values: Record<string, number>,
    day: string = name,
  ): ComparedPoint[] =>
    Object.entries(values).map(([point, value]) => ({ side: name, pull: number, day, point, value }));

  it('compares only at points that both sides have', () => {
    const c = contrastOf([
      ...pull('before', 1, { a: 10, b: 20 }),
      ...pull('before', 2, { a: 11, b: 21 }),
      ...pull('after', 3, { b: 24, c: 90 }),
      ...pull('after', 4, { b: 25, c: 91 }),
    ])!;
    expect(c.difference).toBeCloseTo(4, 12);
    expect(contrastOf([...pull('before', 1, { a: 1 }), ...pull('after', 2, { b: 2 })])).toBeNull();
  });

  it('takes an effect that differs by point for an effect, not for scatter', () => {
    const effect = { a: 50, b: 10, c: 0 };
    const at = (
      number: number,
      name: ComparedPoint['side'],
      points: readonly ('a' | 'b' | 'c')[],
      e: number,
    ) =>
      pull(
        name,
        number,
        Object.fromEntries(points.map((p) => [p, 100 + (name === 'after' ? effect[p] : 0) + e])),
      );
    const c = contrastOf([
      ...at(1, 'before', ['a', 'b'], 1),
      ...at(2, 'before', ['b', 'c'], -1),
      ...at(3, 'before', ['a', 'b', 'c'], 0),
      ...at(4, 'after', ['a', 'b'], -1),
      ...at(5, 'after', ['b', 'c'], 1),
      ...at(6, 'after', ['a', 'b', 'c'], 0),
    ])!;
    expect(c.before.sd!).toBeLessThan(2);
    expect(c.after.sd!).toBeLessThan(2);
  });

  it('tells no scatter from pulls that share nothing, nor from one', () => {
    const alone = contrastOf([
      ...pull('before', 1, { a: 1 }),
      ...pull('before', 2, { b: 1 }),
      ...pull('after', 3, { a: 1, b: 1 }),
      ...pull('after', 4, { a: 1, b: 2 }),
    ])!;
    expect(alone.variance).toBeNull();
    expect(intervalOf(alone, [], 0.95)).toBeNull();
    const one = contrastOf([...side('before', [1], 0), ...side('after', [1, 2], 9)])!;
    expect(one.variance).toBeNull();
  });

  it('tells the scatter of two that share one point', () => {
    const c = contrastOf([...side('before', [1, 3], 0), ...side('after', [4, 8], 9)])!;
    expect(c.before).toMatchObject({
      pulls: 2,
      mean: 2,
      sd: expect.closeTo(Math.SQRT2, 12),
      degreesOfFreedom: 1,
    });
    expect(c.after.sd).toBeCloseTo(2 * Math.SQRT2, 12);
    expect(c.variance).toBeCloseTo(2 / 2 + 8 / 2, 12);
  });

  it('lets a shared day cancel, and halves the days’ part with two days a side', () => {
    const days = (before: readonly string[], after: readonly string[]): number =>
      contrastOf([
        ...before.flatMap((day, i) => pull('before', i, { a: i }, day)),
        ...after.flatMap((day, i) => pull('after', 10 + i, { a: i }, day)),
      ])!.dayFactor;
    expect(days(['mon', 'mon'], ['mon', 'mon'])).toBeCloseTo(0, 12);
    expect(days(['mon', 'mon'], ['tue', 'tue'])).toBeCloseTo(2, 12);
    expect(days(['mon', 'tue'], ['wed', 'thu'])).toBeCloseTo(1, 12);
  });
});

it('covers the truth in 93 to 97 % of trials with five pulls a side, whatever each pull passed', () => {
  const random = seededRandom('coverage');
  const trials = 1500;
  let covered = 0;
  for (let k = 0; k < trials; k++) {
    const all: ComparedPoint[] = [];
    for (const name of ['before', 'after'] as const)
      for (let i = 0; i < 5; i++) {
        const error = random.normal();
        const from = Math.floor(4 * random.next());
        for (let point = from; point < from + 5; point++)
          all.push({
            side: name,
            pull: i + (name === 'after' ? 100 : 0),
            day: name,
            point: String(point),
            value: 20 * point + error + 0.5 * random.normal() + (name === 'after' ? 3 + point : 0),
          });
      }
    const c = contrastOf(all)!;
    const truth = 3 + weightedPoint(all);
    const at = intervalOf(c, [], 0.95)!;
    if (at.low <= truth && truth <= at.high) covered++;
  }
  expect(covered / trials).toBeGreaterThan(0.93);
  expect(covered / trials).toBeLessThan(0.97);
});

it('covers the truth in 93 to 97 % of trials with six stretches driven once a side, whatever stretches differ by', () => {
  const random = seededRandom('coverage of pairs');
  const trials = 800;
  let covered = 0;
  for (let k = 0; k < trials; k++) {
    const all: ComparedPoint[] = [];
    for (let stretch = 0; stretch < 6; stretch++) {
      const road = 8 * random.normal();
      const from = Math.floor(3 * random.next());
      for (const side of ['before', 'after'] as const) {
        const error = random.normal();
        for (let point = from; point < from + 4; point++)
          all.push({
            side,
            pull: stretch + (side === 'after' ? 100 : 0),
            day: side,
            point: String(point),
            value: 20 * point + road + error + 0.5 * random.normal() + (side === 'after' ? 3 : 0),
          });
      }
    }
    const at = intervalOf(pairedContrast(all, (o) => o.pull % 100)!, [], 0.95)!;
    if (at.low <= 3 && 3 <= at.high) covered++;
    // What stretches differ by is not in it: without pairs it would be.
    if (k === 0) expect(at.high - at.low).toBeLessThan(8);
  }
  expect(covered / trials).toBeGreaterThan(0.93);
  expect(covered / trials).toBeLessThan(0.97);
});

/** The effect at a point is 3 plus its number: the mean number over shared points, weighted as documented. */
function weightedPoint(all: readonly ComparedPoint[]): number {
  let [sum, total] = [0, 0];
  for (const point of new Set(all.map((o) => o.point))) {
    const n = (s: ComparedPoint['side']) => all.filter((o) => o.point === point && o.side === s).length;
    const [b, a] = [n('before'), n('after')];
    if (a === 0 || b === 0) continue;
    const w = (a * b) / (a + b);
    sum += w * Number(point);
    total += w;
  }
  return sum / total;
}
