/** Two runs over time: no line over a hole, and boost above the air's pressure of that moment. */
import { describe, expect, it } from 'vitest';
import { boostOf, nearest, overlaid, withHoles } from '../../web/compare-series.ts';

describe('two runs over time', () => {
  it('draws no line where nothing came, and keeps every reading', () => {
    const t = [0, 0.5, 1, 1.5, 2, 122, 122.5, 123];
    const v = [800, 810, 805, 800, 800, 0, 300, 800];
    const drawn = withHoles({ t, v });
    expect(drawn.t).toEqual([0, 0.5, 1, 1.5, 2, 62, 122, 122.5, 123]);
    expect(drawn.v).toEqual([800, 810, 805, 800, 800, null, 0, 300, 800]);
  });

  it('breaks a line over its whole hole, also where the other run has readings meanwhile', () => {
    const t = [0, 1, 2, 32, 33];
    const other = Array.from({ length: 41 }, (_, k) => k - 1);
    const [x, one, two] = overlaid({ t, v: [1, 2, 3, 4, 5] }, { t: other.map((s) => s - 2), v: other }, 2);
    expect(x).toEqual(other);
    // null: the line breaks; undefined: it runs on
    expect([...x!].filter((at) => one![x!.indexOf(at)] === null)).toEqual(
      other.filter((s) => s > 2 && s < 32),
    );
    expect([...x!].map((_, i) => two![i])).toEqual(other);
  });

  it('keeps a hole that is known, and invents none between readings as usual', () => {
    const t = [0, 5, 10, 15, 20];
    expect(withHoles({ t, v: [70, null, 72, 73, 74] })).toEqual({ t, v: [70, null, 72, 73, 74] });
  });

  it('takes boost from the newest barometric reading, as the strips of one run do', () => {
    const boost = boostOf({
      map_kpa: { t: [0, 10, 20, 30], v: [99, 140, null, 133] },
      baro_kpa: { t: [5, 25], v: [99, 93] },
    });
    expect(boost).toEqual({ t: [0, 10, 20, 30], v: [0, 41, null, 40] });
  });

  it('reads nothing at a cursor amid a hole, and the nearer of two readings elsewhere', () => {
    const run = { t: [0, 1, 2, 120, 121], v: [800, 810, 820, 0, 300] };
    expect([-6, -5, 0.4, 0.6, 7, 60, 114, 116, 126].map((at) => nearest(run, at))).toEqual([
      ...[null, 800, 800, 810, 820, null, null, 0, 300],
    ]);
    expect(nearest({ t: [], v: [] }, 3)).toBeNull();
  });

  it('draws no boost without the air’s own pressure', () => {
    expect(boostOf({ map_kpa: { t: [0], v: [99] } })).toBeNull();
    expect(boostOf({ map_kpa: { t: [0], v: [99] }, baro_kpa: { t: [0], v: [null] } })).toBeNull();
  });
});
