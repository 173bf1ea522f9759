/**
 * Coolant loop as four stores of heat (metal, coolant in the engine, coolant in the radiator, oil), a pump whose
 * flow follows engine speed, a wax thermostat that lags, a radiator in moving air, a heater. Temperatures in °C, heat in W.
 */
import type { Car } from './cars.ts';

export interface CoolingInput {
  /** Heat from the burning gas into the walls, W. */
  wallW: number;
  /** Friction heat, W. */
  frictionW: number;
  rpm: number;
  vehicleMps: number;
  ambientC: number;
  /** 0 off to 1 full. */
  fan: number;
  heater: number;
  /** Share of the pump's flow that is left. */
  pumpHealth: number;
  /** Thermostat stuck at this opening; null when it works. */
  stuckOpening: number | null;
}

/** Coolant is water and glycol in equal parts: about 3.6 kJ/(kg K). */
const COOLANT_CP = 3600;
/** Relief pressure of the cap: the mixture boils off above this, °C (common practice: 1.4 bar cap, about 125). */
const BOILS_C = 124;
/** The wax needs this long to follow, s, and opens this much later than it closes, °C (common practice, no source). */
const WAX_LAG_S = 18;
const WAX_HYSTERESIS_C = 2.4;

export class Cooling {
  metalC: number;
  coolantC: number;
  radiatorC: number;
  oilC: number;
  /** Thermostat opening, 0 to 1. */
  opening = 0;
  /** Kept so that the balance can be checked: all heat that came in and went out since the start, J. */
  heatInJ = 0;
  heatOutJ = 0;
  readonly #car: Car;
  #waxC: number;

  constructor(car: Car, startC: number, ambientC: number) {
    this.#car = car;
    this.metalC = this.coolantC = this.#waxC = startC;
    // A car that stood for an hour has a radiator and an oil pan colder than its block.
    this.radiatorC = ambientC + 0.25 * (startC - ambientC);
    this.oilC = ambientC + 0.85 * (startC - ambientC);
  }

  /** Heat held above 0 °C, J. */
  storedJ(): number {
    const c = this.#car.heatCapacity;
    return (
      c.metal * this.metalC + c.coolant * this.coolantC + c.radiator * this.radiatorC + c.oil * this.oilC
    );
  }

  step(dtS: number, x: CoolingInput): void {
    const car = this.#car;
    const c = car.heatCapacity;
    const flow = ((car.pumpKgps * x.rpm) / 1000) * x.pumpHealth + 0.006; // the rest is thermosiphon

    this.#waxC += ((this.coolantC - this.#waxC) * dtS) / (WAX_LAG_S + dtS);
    const [opens, full] = car.thermostatC;
    const closing = (this.#waxC - opens + WAX_HYSTERESIS_C / 2) / (full - opens);
    const openingNow = (this.#waxC - opens - WAX_HYSTERESIS_C / 2) / (full - opens);
    const free = Math.min(closing, Math.max(openingNow, this.opening));
    this.opening = x.stuckOpening ?? Math.min(1, Math.max(0, free));

    // From the metal: convection with flow, and boiling at the walls once the metal is far above the coolant's point.
    const boiling = Math.max(0, this.metalC - 128) * 60;
    const metalToCoolantW = (260 + (2400 * flow) / (flow + 0.55) + boiling) * (this.metalC - this.coolantC);
    const metalToOilW = 110 * (this.metalC - this.oilC);
    const metalToAirW = (6 + 0.9 * x.vehicleMps) * (this.metalC - x.ambientC);
    const oilToAirW = (3 + 0.5 * x.vehicleMps) * (this.oilC - x.ambientC);

    const share = 0.88 * this.opening + 0.004;
    const radiatorFlow = flow * share;
    const toRadiatorW = radiatorFlow * COOLANT_CP * (this.coolantC - this.radiatorC);
    // Air through the core: driving wind and fan; the conductance has an air and a coolant side.
    const airKgps = 0.012 + 0.05 * x.vehicleMps + 0.75 * x.fan;
    const conductance =
      (car.radiatorWpK * (airKgps / (airKgps + 0.55)) * (0.25 + radiatorFlow)) / (0.4 + radiatorFlow);
    const airW = airKgps * 1005;
    const radiatorW = airW * (1 - Math.exp(-conductance / airW)) * (this.radiatorC - x.ambientC);
    const heaterW = 14 * x.heater * Math.min(1, flow / 0.25) * (this.coolantC - x.ambientC);
    const steamW = Math.max(0, this.coolantC - BOILS_C) * 2500;

    const inW = x.wallW + x.frictionW;
    const outW = metalToAirW + oilToAirW + radiatorW + heaterW + steamW;
    this.metalC +=
      (dtS * (x.wallW + 0.45 * x.frictionW - metalToCoolantW - metalToOilW - metalToAirW)) / c.metal;
    this.oilC += (dtS * (0.55 * x.frictionW + metalToOilW - oilToAirW)) / c.oil;
    this.coolantC += (dtS * (metalToCoolantW - toRadiatorW - heaterW - steamW)) / c.coolant;
    this.radiatorC += (dtS * (toRadiatorW - radiatorW)) / c.radiator;
    this.heatInJ += inW * dtS;
    this.heatOutJ += outW * dtS;
  }
}
