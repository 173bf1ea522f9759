/** How level an engine holds its boost: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { ShapeWatch } from '../../src/analysis/boost/shape.ts';
import type { StretchPoint } from '../../src/analysis/boost/stretches.ts';
import { BARO, pull } from './pulls.ts';

describe('the shape', () => {
  /** Two pulls through both bands with so much boost in each. */
  const shape = (
    belowKpa: number,
    aboveKpa: number,
    more: Partial<StretchPoint> = {},
    rpms = [2000, 2600],
    pulls = 2,
  ) => {
    const watch = new ShapeWatch();
    for (let n = 0; n < pulls; n++)
      watch.stretch(
        pull(8, (k) => ({ rpm: rpms[k < 4 ? 0 : 1]!, map: 100 + (k < 4 ? belowKpa : aboveKpa), ...more })),
        BARO,
      );
    return watch.evidence();
  };
  it('is boost from 2600 to 3500 rpm over that from 2000 to 2500, of two pulls, by 2 % at least unsure', () => {
    expect(shape(100, 80)).toMatchObject({ fromS: 0.5, toS: 4 });
    const args = shape(100, 80)!.text.args as { share: number; low: number; high: number };
    expect(args.share).toBeCloseTo(0.8, 9);
    const se = 0.8 * Math.hypot(0.02, 0.02) * Math.SQRT1_2;
    expect(args.high - args.low).toBeCloseTo(2 * 1.645 * se, 9);
    expect(shape(100, 80, {}, [2000, 2600], 1)).toBeNull();
    expect([
      ...[
        [1999, 2600],
        [2500, 2600],
        [2000, 2599],
        [2000, 3500],
      ].map((rpms) => shape(100, 80, {}, rpms)),
    ]).toEqual([null, null, null, null]);
    expect(shape(100, 80, {}, [2499, 3499])).not.toBeNull();
  });
  it('is told at 85 % demand, settled, from 30 kPa on, and not by what stands still off barometric', () => {
    expect([84.9, 85].map((lagged) => shape(100, 80, { lagged }) === null)).toEqual([true, false]);
    expect(shape(100, 80, { settled: false })).toBeNull();
    expect([29.9, 30].map((kpa) => shape(kpa, 30) === null)).toEqual([true, false]);
    expect([shape(100, 80, { frozen: true }), shape(100, 80, { still: true })]).toEqual([null, null]);
  });
});
