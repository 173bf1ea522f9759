/** What the road asks of the cooling: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { BIN_S } from '../../src/analysis/coolant/bins.ts';
import { RoadLoad } from '../../src/analysis/coolant/road-load.ts';

describe('what the road asks', () => {
  /** W a kilogram of level driving at 72 km/h: 20 m/s. */
  const LEVEL = 0.012 * 9.80665 * 20 + ((0.5 * 1.2 * 0.65) / 1500) * 20 ** 3 + 3;
  const at = (climbWkg: number, sdWkg = 0) => ({ climbWkg, sdWkg }) as Parameters<RoadLoad['step']>[1];
  it('is power over that of level driving; what the receiver may have made up is no hill', () => {
    const first = (climb: number, sd = 0) => {
      const load = new RoadLoad();
      load.step(72, at(climb, sd));
      return load.steepness!;
    };
    expect(first(LEVEL)).toBeCloseTo(2, 9);
    expect(first(LEVEL, LEVEL / 2)).toBeCloseTo(1.5, 9);
    expect(first(1, 2)).toBe(1);
    expect(first(-LEVEL / 2, 2)).toBeCloseTo(0.5, 9);
    expect(first(-2 * LEVEL)).toBe(0);
  });
  it('follows with 45 s up and 120 s down, and is forgotten a minute after the road was lost', () => {
    const load = new RoadLoad();
    load.step(72, at(0));
    load.step(72, at(LEVEL));
    const up = 1 + (1 - Math.exp(-BIN_S / 45));
    expect(load.steepness).toBeCloseTo(up, 9);
    load.step(72, at(0));
    expect(load.steepness).toBeCloseTo(up + (1 - up) * (1 - Math.exp(-BIN_S / 120)), 9);
    for (let k = 0; k < 60 / BIN_S; k++) load.step(72, null);
    expect(load.steepness).not.toBeNull();
    load.step(null, at(0));
    expect(load.steepness).toBeNull();
  });
  it('is flat for sure after two minutes of at most 0.6 over level driving, twice the error included', () => {
    const flat = (steps: number, share: number, sdShare = 0) => {
      const load = new RoadLoad();
      for (let k = 0; k < steps; k++) load.step(72, at(share * LEVEL, sdShare * LEVEL));
      return load.flat;
    };
    expect([23, 24].map((n) => flat(n, 0.59))).toEqual([false, true]);
    expect(flat(24, 0.61)).toBe(false);
    expect(flat(24, 0.4, 0.09)).toBe(true);
    expect(flat(24, 0.4, 0.11)).toBe(false);
  });
});
