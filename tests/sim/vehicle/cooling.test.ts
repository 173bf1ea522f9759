/** Coolant loop: heat is neither made nor lost, and each part does what it is there for. */
import { describe, expect, it } from 'vitest';
import { CARS } from '../../../src/sim/vehicle/cars.ts';
import { Cooling, type CoolingInput } from '../../../src/sim/vehicle/cooling.ts';

const car = CARS['twin-charged']!;
const cruise: CoolingInput = {
  wallW: 9000,
  frictionW: 2500,
  rpm: 2200,
  vehicleMps: 25,
  ambientC: 18,
  fan: 0,
  heater: 0.5,
  pumpHealth: 1,
  stuckOpening: null,
};

function run(loop: Cooling, seconds: number, input: (tS: number) => CoolingInput): void {
  for (let i = 0; i < seconds * 100; i++) loop.step(0.01, input(i / 100));
}

describe('coolant loop', () => {
  it('closes its heat balance over a run of every regime, to a thousandth', () => {
    const loop = new Cooling(car, 20, 18);
    const before = loop.storedJ();
    run(loop, 1500, (tS) => ({
      ...cruise,
      wallW: 3000 + 22000 * (0.5 + 0.5 * Math.sin(tS / 40)),
      rpm: tS % 200 < 30 ? 0 : 1500 + 1000 * Math.sin(tS / 25),
      vehicleMps: Math.max(0, 20 + 18 * Math.sin(tS / 90)),
      fan: tS > 800 && tS < 900 ? 1 : 0,
      pumpHealth: tS > 1200 ? 0.05 : 1,
    }));
    const stored = loop.storedJ() - before;
    expect(loop.heatInJ).toBeGreaterThan(1e7);
    expect(Math.abs(loop.heatInJ - loop.heatOutJ - stored)).toBeLessThan(loop.heatInJ / 1000);
  });

  it('warms at the rate that heat and heat capacities give while nothing opens yet', () => {
    const loop = new Cooling(car, 18, 18);
    run(loop, 120, () => ({ ...cruise, vehicleMps: 0, heater: 0 }));
    const c = car.heatCapacity;
    // All heat in, no loss worth naming: the mean of the stores rises by Q / C.
    const expected = ((cruise.wallW + cruise.frictionW) * 120) / (c.metal + c.coolant + c.oil);
    const mean =
      (c.metal * loop.metalC + c.coolant * loop.coolantC + c.oil * loop.oilC) / (c.metal + c.coolant + c.oil);
    expect(mean - 18).toBeGreaterThan(0.9 * expected);
    expect(mean - 18).toBeLessThan(1.01 * expected);
  });

  it('overshoots as the thermostat opens, then settles just above where it opens', () => {
    const loop = new Cooling(car, 40, 18);
    let highest = 0;
    run(loop, 900, (tS) => {
      if (tS < 600) highest = Math.max(highest, loop.coolantC);
      return cruise;
    });
    const [opens, full] = car.thermostatC;
    expect(loop.coolantC).toBeGreaterThan(opens - 1);
    expect(loop.coolantC).toBeLessThan(full);
    expect(highest).toBeGreaterThan(loop.coolantC + 1);
  });

  it('rises after the engine stops: the metal is hotter than the coolant', () => {
    const loop = new Cooling(car, 90, 18);
    run(loop, 300, () => ({ ...cruise, wallW: 22000, rpm: 3000 }));
    const atStop = loop.coolantC;
    run(loop, 90, () => ({ ...cruise, wallW: 0, frictionW: 0, rpm: 0, vehicleMps: 0, heater: 0 }));
    expect(loop.coolantC).toBeGreaterThan(atStop + 1);
    expect(loop.metalC).toBeLessThan(130);
  });

  it.each([
    ['no pump', { pumpHealth: 0 }],
    ['thermostat shut', { stuckOpening: 0 }],
  ])('climbs without end: %s', (_name, fault) => {
    const loop = new Cooling(car, 88, 18);
    run(loop, 240, () => ({ ...cruise, ...fault }));
    expect(loop.coolantC).toBeGreaterThan(105);
  });

  it('never warms up with the thermostat open, and is held by the fan when standing', () => {
    const open = new Cooling(car, 40, 18);
    run(open, 900, () => ({ ...cruise, stuckOpening: 0.7 }));
    expect(open.coolantC).toBeLessThan(70);

    const standing = { ...cruise, vehicleMps: 0, wallW: 5000, rpm: 2000, heater: 0 };
    const still = new Cooling(car, 95, 18);
    run(still, 600, () => standing);
    const blown = new Cooling(car, 95, 18);
    run(blown, 600, () => ({ ...standing, fan: 1 }));
    expect(still.coolantC).toBeGreaterThan(blown.coolantC + 15);
  });
});
