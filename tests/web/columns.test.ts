/** Reduction to screen columns keeps what a technician must see: every extreme, every hole, nothing invented. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Columns, decimate, gridOver } from '../../web/columns.ts';

const filled = (samples: readonly (readonly [number, number | null])[], limit?: number): Columns => {
  const c = limit === undefined ? new Columns() : new Columns(limit);
  for (const [t, v] of samples) c.push(t, v);
  return c;
};

describe('columns', () => {
  it('takes overlapping deliveries once, and no time that is not a number', () => {
    const c = filled([
      [1, 10],
      [2, 20],
      [2, 99],
      [1.5, 99],
      [Number.NaN, 99],
      [3, 30],
    ]);
    expect([...c.t.subarray(0, c.length)]).toEqual([1, 2, 3]);
    expect([...c.v.subarray(0, c.length)]).toEqual([10, 20, 30]);
  });

  it('grows past its first size and drops the oldest at its bound', () => {
    const c = new Columns(4000);
    for (let i = 0; i < 10_000; i++) c.push(i, i);
    expect(c.length).toBeLessThanOrEqual(4000);
    expect(c.length).toBeGreaterThanOrEqual(3000);
    expect(c.t[c.length - 1]).toBe(9999);
    expect(c.v[0]).toBe(c.t[0]);
    expect(c.t.length).toBeLessThanOrEqual(4096);
  });

  it('finds the newest value at a time, over holes', () => {
    const c = filled([
      [1, 10],
      [2, null],
      [3, null],
    ]);
    expect(c.at(0.9)).toBeNull();
    expect(c.at(2.5)).toEqual({ t: 1, v: 10 });
    expect(c.from(2)).toBe(1);
    expect(c.from(9)).toBe(3);
  });

  it('knows its usual step, however it was interrupted', () => {
    const c = new Columns();
    expect(c.usualStepS()).toBe(Number.POSITIVE_INFINITY);
    for (let i = 0; i < 500; i++) c.push(i * 0.5 + (i > 250 ? 100 : 0), 0);
    expect(c.usualStepS()).toBe(0.5);
  });
});

describe('decimation', () => {
  it('keeps the smallest and the largest value of every screen column', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.integer({ min: 1, max: 40 }), fc.integer({ min: -50, max: 50 })), {
          maxLength: 400,
        }),
        fc.integer({ min: 1, max: 30 }),
        fc.double({ min: -20, max: 60, noNaN: true }),
        fc.double({ min: 1, max: 200, noNaN: true }),
        (steps, columns, from, span) => {
          let t = 0;
          const c = new Columns();
          for (const [dt, v] of steps) {
            t += dt * 0.01;
            c.push(t, v);
          }
          const grid = gridOver(from, from + span, columns);
          const out = decimate(c, grid, 1000);
          expect(out).toHaveLength(grid.x.length);
          for (let k = 1; k < grid.buckets - 1; k++) {
            const inside = [];
            for (let i = 0; i < c.length; i++)
              if (Math.floor(c.t[i]! / grid.widthS) === grid.firstBucket + k) inside.push(c.v[i]!);
            const shown = [out[2 * k], out[2 * k + 1]].filter((v) => v !== undefined && v !== null);
            expect(shown.length).toBe(Math.min(2, inside.length));
            if (inside.length > 0) {
              expect(Math.min(...shown)).toBe(Math.min(...inside));
              expect(Math.max(...shown)).toBe(Math.max(...inside));
            }
          }
        },
      ),
      { numRuns: 300, seed: 11 },
    );
  });

  it('keeps the order of the extremes, so that a rise is not drawn as a fall', () => {
    const grid = gridOver(0, 10, 1);
    const slot = 2 * (0 - grid.firstBucket);
    const shape = (values: number[]) => {
      const out = decimate(filled(values.map((v, i) => [1 + i, v])), grid, 100);
      return [out[slot], out[slot + 1]];
    };
    expect(shape([1, 2, 3, 4])).toEqual([1, 4]);
    expect(shape([4, 3, 2, 1])).toEqual([4, 1]);
    expect(shape([2, 1, 5, 3])).toEqual([1, 5]);
    expect(shape([3, 5, 1, 2])).toEqual([5, 1]);
  });

  it('does not move a peak when the window moves', () => {
    const c = filled(Array.from({ length: 200 }, (_, i) => [i * 0.1, i === 100 ? 9 : 0]));
    const whereIsPeak = (from: number) => {
      const grid = gridOver(from, from + 10, 50);
      return grid.x[decimate(c, grid, 5).indexOf(9)];
    };
    expect(whereIsPeak(4)).toBeCloseTo(whereIsPeak(4.13)!, 9);
    expect(whereIsPeak(4)).toBeCloseTo(10, 0);
  });

  it('draws a hole as a hole: no value within it, and the line broken right through it', () => {
    const samples: [number, number | null][] = [];
    for (let t = 0; t < 20; t += 0.1) if (t < 8 || t > 13) samples.push([t, 5]);
    const grid = gridOver(0, 20, 100);
    const out = decimate(filled(samples), grid, 2);
    grid.x.forEach((x, i) => {
      if (x > 8.3 && x < 12.9) expect(out[i]).toBeNull();
      else if (x > 0.2 && x < 7.7) expect(out[i]).not.toBeNull();
    });
  });

  it('breaks at a reported hole however short, and runs on where samples are merely sparse', () => {
    const grid = gridOver(0, 10, 100);
    const sparse = decimate(
      filled([
        [1, 1],
        [5, 2],
        [9, 3],
      ]),
      grid,
      6,
    );
    expect(sparse).not.toContain(null);
    expect(
      decimate(
        filled([
          [1, 1],
          [2, null],
          [3, 2],
        ]),
        grid,
        6,
      ),
    ).toContain(null);
  });

  it('carries the line to both edges of the window', () => {
    const grid = gridOver(4, 6, 10);
    const out = decimate(
      filled([
        [1, 7],
        [9, 8],
      ]),
      grid,
      100,
    );
    expect(out[0]).toBe(7);
    expect(out.at(-2)).toBe(8);
  });

  it('subtracts the newest value of another signal, not a later one', () => {
    const map = filled([
      [1, 150],
      [2, 150],
      [3, 150],
    ]);
    const baro = filled([
      [0.5, 100],
      [2.5, 90],
    ]);
    const out = decimate(map, gridOver(0, 4, 40), 10, baro).filter((v) => v != null);
    expect(out).toEqual([50, 50, 60]);
  });
});
