/** Air: the standard atmosphere and flow through a restriction against textbook values. */
import { describe, expect, it } from 'vitest';
import { type Flow, pressureAtPa, R_AIR, restriction } from '../../../src/sim/vehicle/gas.ts';

describe('standard atmosphere', () => {
  // ISO 2533:1975, table of pressure over geopotential height (from memory).
  it.each([
    [0, 101325],
    [500, 95461],
    [1000, 89875],
    [2000, 79495],
    [5000, 54020],
  ])('%d m', (heightM, pa) => {
    expect(pressureAtPa(heightM)).toBeGreaterThan(pa * 0.9998);
    expect(pressureAtPa(heightM)).toBeLessThan(pa * 1.0002);
  });
});

describe('restriction', () => {
  const flow: Flow = { kgps: 0, perPa: 0 };

  it('stays within 6 % of the exact isentropic nozzle (Heywood, appendix C, from memory)', () => {
    const g = 1.4;
    for (let r = 0.05; r < 0.975; r += 0.025) {
      const critical = (2 / (g + 1)) ** (g / (g - 1));
      const q = Math.max(r, critical);
      const exact = Math.sqrt(((2 * g) / (g - 1)) * (q ** (2 / g) - q ** ((g + 1) / g)));
      restriction(1e-4, 1e5, r * 1e5, 300, flow);
      const psi = (flow.kgps * Math.sqrt(R_AIR * 300)) / (1e-4 * 1e5);
      expect(Math.abs(psi / exact - 1), `pressure ratio ${r}`).toBeLessThan(0.06);
    }
  });

  it('flows backwards as much as forwards, and not at all at equal pressure', () => {
    restriction(1e-4, 1.2e5, 1e5, 300, flow);
    const forwards = flow.kgps;
    restriction(1e-4, 1e5, 1.2e5, 300, flow);
    expect(flow.kgps).toBe(-forwards);
    restriction(1e-4, 1e5, 1e5, 300, flow);
    expect(flow.kgps).toBeCloseTo(0, 12);
  });

  it('has a conductance that gives the flow back, without a step where laminar begins', () => {
    let before = 0;
    for (let down = 1e5; down > 2e4; down -= 100) {
      restriction(1e-4, 1e5, down, 300, flow);
      expect(flow.perPa * (1e5 - down)).toBeCloseTo(flow.kgps, 9);
      expect(flow.kgps - before).toBeGreaterThanOrEqual(-1e-12);
      expect(flow.kgps - before).toBeLessThan(6e-4);
      before = flow.kgps;
    }
  });
});
