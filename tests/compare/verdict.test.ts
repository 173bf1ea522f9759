/** Intervals against the margin, and many points at once. */
import { describe, expect, it } from 'vitest';
import { studentT } from '../../src/compare/contrast.ts';
import { effectVerdict, holmVerdicts, ruleOf, shiftVerdict } from '../../src/compare/verdict.ts';
import { seededRandom } from '../../src/core/random.ts';

describe('a verdict', () => {
  it.each([
    [0.1, 8, 'better'],
    [-4.9, 2, 'no worse'],
    [-4, -1, 'no worse'],
    [-8, -0.1, 'worse'],
    [-20, -6, 'worse'],
    [-6, 1, 'not shown'],
    [-30, 30, 'not shown'],
  ] as const)('of %d to %d %% against 5 %% is %s', (low, high, verdict) => {
    expect(effectVerdict(low, high, 5)).toBe(verdict);
  });

  it.each([
    [-2, 2.9, 'unchanged'],
    [0.5, 4, 'higher'],
    [-9, -1, 'lower'],
    [-4, 1, 'not shown'],
  ] as const)('of a shift from %d to %d against 3 is %s', (low, high, verdict) => {
    expect(shiftVerdict(low, high, 3)).toBe(verdict);
  });
});

describe('many points', () => {
  const normal = (centre: number, se: number) => (confidence: number) => {
    const half = studentT((1 + confidence) / 2, 1e6) * se;
    return { low: centre - half, high: centre + half };
  };

  it('needs more of each point than one alone would', () => {
    // 2.2 standard errors: enough for one point, too little for one of twenty.
    expect(holmVerdicts([normal(2.2, 1)], 0.1)).toEqual(['better']);
    const among = holmVerdicts([normal(2.2, 1), ...Array.from({ length: 19 }, () => normal(0, 1))], 0.1);
    expect(among[0]).toBe('not shown');
  });

  it('lets decided points give their share to the others', () => {
    // Alone among two it needs 2.24; once the other is decided 1.96 is enough.
    expect(holmVerdicts([normal(2.1, 1), normal(9, 1)], 0.1)).toEqual(['better', 'better']);
  });

  it('leaves a point without an interval not shown', () => {
    expect(holmVerdicts([() => null, normal(9, 1)], 5)).toEqual(['not shown', 'better']);
  });

  it('calls a healthy car with thirty points better or worse anywhere in at most 5 % of comparisons', () => {
    const random = seededRandom('holm');
    let wrong = 0;
    for (let k = 0; k < 1000; k++) {
      const points = Array.from({ length: 30 }, () => normal(random.normal(), 1));
      if (holmVerdicts(points, 0.001).some((v) => v !== 'not shown')) wrong++;
    }
    // 50 expected, standard deviation 7
    expect(wrong).toBeLessThan(72);
    expect(wrong).toBeGreaterThan(25);
  });
});

it('an interval that touches none or the margin is not beyond it, and the rule names both', () => {
  expect([effectVerdict(0, 5, 3), effectVerdict(-3, 5, 3), effectVerdict(-9, 0, 3)]).toEqual([
    ...['no worse', 'not shown', 'not shown'],
  ]);
  expect([effectVerdict(0.01, 5, 3), effectVerdict(-2.99, 5, 3), effectVerdict(-9, -3.5, 3)]).toEqual([
    ...['better', 'no worse', 'worse'],
  ]);
  expect([
    shiftVerdict(-3, 1, 3),
    shiftVerdict(-1, 3, 3),
    shiftVerdict(0, 5, 3),
    shiftVerdict(-5, 0, 3),
  ]).toEqual([...['not shown', 'not shown', 'not shown', 'not shown']]);
  expect([shiftVerdict(-2.99, 2.99, 3), shiftVerdict(0.01, 5, 3), shiftVerdict(-5, -0.01, 3)]).toEqual([
    ...['unchanged', 'higher', 'lower'],
  ]);
  expect(ruleOf(3).args).toEqual({ confidence: 0.95, margin: 0.03 });
});
