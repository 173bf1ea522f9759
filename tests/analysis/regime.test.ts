/** What driving explains above the plateau: the droop of the thermostat, repeated from the worked example of docs/analysis.md. */
import { describe, expect, it } from 'vitest';
import type { Bin } from '../../src/analysis/coolant/bins.ts';
import { Droop } from '../../src/analysis/coolant/droop.ts';
import { RegimeTracker } from '../../src/analysis/coolant/regime.ts';

const bin = (k: number, heat: number): Bin => ({
  tS: 5 * (k + 1),
  ect: 90,
  fresh: true,
  high: 90,
  low: 90,
  speed: 60,
  rpm: 2000,
  ambient: 20,
  heat,
  heatSource: 'maf_gps',
  running: true,
  unsure: false,
  holeS: 0,
});

describe('the droop of the thermostat', () => {
  it('is 4.4 °C a unit after 24 quiet steps of 1 °C at half a unit', () => {
    const droop = new Droop();
    expect(droop.perUnit).toBe(5);
    for (let k = 0; k < 24; k++) droop.teach(0.5, 1);
    expect(droop.perUnit).toBeCloseTo((120 + 12) / (24 + 6), 9);
  });
  /** Settles at 60 km/h with a heat of 20, then drives on with `heat` for `steps`, quiet at `d` above the plateau. */
  function levelAfter(heat: number, steps: number, d: number | null) {
    const regimes = new RegimeTracker(true);
    for (let k = 0; k < 400; k++) regimes.step(bin(k, 20));
    regimes.settle();
    let level = 0;
    for (let k = 400; k < 400 + steps; k++) {
      level = regimes.step(bin(k, heat)).levelC;
      if (d !== null) regimes.teach(d);
    }
    return level;
  }
  it('is nothing at the demand at which the plateau was learned', () => {
    expect(levelAfter(20, 24, null)).toBeCloseTo(0.95, 5);
  });
  it('allows more for more heat, less once the run has shown that it does not rise', () => {
    const untaught = levelAfter(30, 24, null);
    expect(untaught).toBeGreaterThan(0.95 + 1);
    expect(levelAfter(30, 240, 0)).toBeLessThan(levelAfter(30, 240, null) - 0.2);
    expect(levelAfter(60, 60, null)).toBeLessThanOrEqual(0.95 + 5 + 1e-9);
  });
  it('is not taught beyond its prior by a climb', () => {
    expect(levelAfter(30, 60, 40)).toBeLessThanOrEqual(levelAfter(30, 60, null) + 1e-9);
  });
  it('an unknown thermostat may swing by its hysteresis until it was held over a range of demand', () => {
    const unknown = new RegimeTracker();
    for (let k = 0; k < 400; k++) unknown.step(bin(k, 20));
    unknown.settle();
    expect(unknown.step(bin(400, 20)).levelC).toBeCloseTo(0.95 + 1.5, 5);
    for (let k = 401; k < 690; k++) {
      unknown.step(bin(k, k % 60 < 30 ? 2 : 60));
      unknown.teach(0);
    }
    expect(unknown.step(bin(690, 2)).levelC).toBeLessThan(0.95 + 0.1);
  });
});
