/**
 * Intake and exhaust as three volumes in a row: between the chargers, before the throttle, manifold.
 * Each fills and empties as an ideal gas; the step is linearly implicit, so that a wide-open throttle
 * (a stiff connection) needs no finer steps. SI units.
 */
import { along, type Car } from './cars.ts';
import { clamp } from './driver.ts';
import { CP_AIR, CP_EXHAUST, type Flow, R_AIR, restriction } from './gas.ts';

export interface AirInput {
  ambientPa: number;
  ambientK: number;
  engineRadps: number;
  coolantK: number;
  fuelKgps: number;
  /** Openings from 0 to 1. */
  throttle: number;
  flap: number;
  /** 1 asks the turbocharger for all it can give. */
  boostActuator: number;
  dumpValve: number;
  /** Speed of the supercharger as a share of its belt speed: 0 clutch open, 1 closed without slip. */
  superchargerCoupling: number;
  /** Effective area of a hole in the charge pipe, m². */
  leakM2: number;
  /** Health of the turbocharger: its efficiency as a share of new. */
  turboHealth: number;
  vehicleMps: number;
}

const LHV = 43e6; // J/kg, petrol and diesel alike within 2 % (Heywood, from memory)
export const FUEL_HEAT = LHV;
const DUMP_M2 = 3e-4;

export class AirPath {
  /** Absolute pressures: between the chargers, before the throttle, in the manifold. */
  midPa: number;
  chargePa: number;
  manifoldPa: number;
  chargeK: number;
  manifoldK: number;
  turboRadps = 1500;
  exhaustPa: number;
  exhaustK = 600;
  /** Air into the cylinders, through the air filter and out of the leak, kg/s. */
  engineKgps = 0;
  inletKgps = 0;
  leakKgps = 0;
  /** Drag of the supercharger on its belt, W. */
  superchargerW = 0;
  readonly #car: Car;
  #coolerK: number;
  readonly #a: Flow = { kgps: 0, perUpPa: 0, perDownPa: 0 };
  readonly #b: Flow = { kgps: 0, perUpPa: 0, perDownPa: 0 };
  readonly #c: Flow = { kgps: 0, perUpPa: 0, perDownPa: 0 };
  readonly #d: Flow = { kgps: 0, perUpPa: 0, perDownPa: 0 };

  constructor(car: Car, ambientPa: number, ambientK: number) {
    this.#car = car;
    this.midPa = this.chargePa = this.manifoldPa = this.exhaustPa = ambientPa;
    this.chargeK = this.manifoldK = this.#coolerK = ambientK;
  }

  /** Pressure ratio of the compressor at its present speed: Euler's equation with a slip factor of 0.7. */
  #turboRatio(inletK: number, health: number): number {
    const turbo = this.#car.turbo;
    if (!turbo) return 1;
    const tip = this.turboRadps * turbo.radiusM;
    const efficiency = turbo.compressorEfficiency * (0.5 + 0.5 * health);
    return (1 + (efficiency * 0.7 * tip * tip) / (CP_AIR * inletK)) ** 3.5;
  }

  /** Share of the swept volume that fills with air at manifold density. */
  filling(rpm: number): number {
    const back = Math.min(3, Math.max(0, this.exhaustPa / this.manifoldPa - 1));
    return along(this.#car.filling, rpm) * (1 - 0.035 * back);
  }

  step(dtS: number, x: AirInput): void {
    const car = this.#car;
    const sc = car.supercharger;
    const rpm = (x.engineRadps * 30) / Math.PI;
    const [v1, v2, v3] = car.volumesM3;

    // Ambient to the first volume: the supercharger pushes, the flap lets through either way. A compressor that
    // stands still would choke the engine: suction then pushes the sprung flap open (common practice, no source).
    const suction = clamp((x.ambientPa - this.midPa - 1500) / 5000, 0, 1);
    const open = sc ? 0.01 + 0.99 * Math.max(x.flap, suction) : 1;
    restriction(car.intakeM2 * open, x.ambientPa, this.midPa, x.ambientK, this.#a);
    if (sc && this.midPa > x.ambientPa) {
      // Recirculation goes through the flap's own body, which is smaller than the pipe.
      const narrower = Math.min(1, sc.flapM2 / car.intakeM2);
      this.#a.kgps *= narrower;
      this.#a.perUpPa *= narrower;
      this.#a.perDownPa *= narrower;
    }
    let pushed = 0;
    let pushedPerMid = 0;
    let midK = x.ambientK;
    this.superchargerW = 0;
    if (sc && x.superchargerCoupling > 0) {
      const turnsPerS = (x.engineRadps / (2 * Math.PI)) * sc.ratio * x.superchargerCoupling;
      const swept = (x.ambientPa / (R_AIR * x.ambientK)) * sc.volumeM3 * turnsPerS * sc.filling;
      pushed = Math.max(0, swept - sc.gapKgpsPerPa * (this.midPa - x.ambientPa));
      pushedPerMid = pushed > 0 ? -sc.gapKgpsPerPa : 0;
      const rise = Math.max(0, (this.midPa / x.ambientPa) ** 0.2857 - 1) / sc.efficiency;
      this.superchargerW = swept * CP_AIR * x.ambientK * rise + 2.2 * turnsPerS * x.superchargerCoupling;
      midK = x.ambientK * (1 + rise);
    }
    const entering = this.#a.kgps + pushed;

    // First to second: the turbocharger's compressor as a source of pressure behind its own resistance.
    const pi = this.#turboRatio(midK, x.turboHealth);
    restriction(car.intakeM2, pi * this.midPa, this.chargePa, midK, this.#b);
    // Second to third: the throttle; second to outside: leak, dump valve.
    restriction(
      Math.max(1e-9, car.throttleM2 * x.throttle),
      this.chargePa,
      this.manifoldPa,
      this.chargeK,
      this.#c,
    );
    restriction(x.leakM2 + DUMP_M2 * x.dumpValve, this.chargePa, x.ambientPa, this.chargeK, this.#d);
    // Third to the cylinders: speed and density.
    const perPa =
      (car.displacementM3 * (x.engineRadps / (4 * Math.PI)) * this.filling(rpm)) / (R_AIR * this.manifoldK);

    const k1 = v1 / (R_AIR * midK * dtS);
    const k2 = v2 / (R_AIR * this.chargeK * dtS);
    const k3 = v3 / (R_AIR * this.manifoldK * dtS);
    const b1 = k1 - this.#a.perDownPa - pushedPerMid + pi * this.#b.perUpPa;
    const c1 = this.#b.perDownPa;
    const a2 = -pi * this.#b.perUpPa;
    const b2 = k2 - this.#b.perDownPa + this.#c.perUpPa + this.#d.perUpPa;
    const c2 = this.#c.perDownPa;
    const a3 = -this.#c.perUpPa;
    const b3 = k3 - this.#c.perDownPa + perPa;
    const r1 = entering - this.#b.kgps;
    const r2 = this.#b.kgps - this.#c.kgps - this.#d.kgps;
    const r3 = this.#c.kgps - perPa * this.manifoldPa;
    // Tridiagonal solve for the three pressure changes.
    const m2 = a2 / b1;
    const bb2 = b2 - m2 * c1;
    const rr2 = r2 - m2 * r1;
    const m3 = a3 / bb2;
    const d3 = (r3 - m3 * rr2) / (b3 - m3 * c2);
    const d2 = (rr2 - c2 * d3) / bb2;
    const d1 = (r1 - c1 * d2) / b1;
    this.midPa = Math.max(5e3, this.midPa + d1);
    this.chargePa = Math.max(5e3, this.chargePa + d2);
    this.manifoldPa = Math.max(5e3, this.manifoldPa + d3);
    this.engineKgps = perPa * this.manifoldPa;
    this.inletKgps = entering + this.#a.perDownPa * d1 + pushedPerMid * d1;
    this.leakKgps = this.#d.kgps + this.#d.perUpPa * d2;

    this.#temperatures(dtS, x, midK, pi);
    this.#turbine(dtS, x);
  }

  #temperatures(dtS: number, x: AirInput, midK: number, pi: number): void {
    const turbo = this.#car.turbo;
    const flow = Math.max(0, this.#b.kgps);
    const hotK = turbo ? midK * (1 + (pi ** 0.2857 - 1) / turbo.compressorEfficiency) : midK;
    // The charge cooler stores heat: a second pull soon after the first breathes warmer air.
    const exchange = turbo ? (flow * CP_AIR * 0.78) / (1 + flow / 0.25) : 0;
    const toAir = 40 + 22 * x.vehicleMps;
    const heat = exchange * (hotK - this.#coolerK);
    this.#coolerK += (dtS * (heat - toAir * (this.#coolerK - x.ambientK))) / 2600;
    const outK = flow > 1e-4 ? hotK - heat / (flow * CP_AIR + 1) : this.chargeK;
    this.chargeK += ((outK - this.chargeK) * dtS) / (0.15 + dtS);
    // The manifold's walls warm a thin stream more than a thick one.
    const wall = 0.16 / (1 + this.engineKgps / 0.012) + 0.02;
    const intoK = this.chargeK + wall * (x.coolantK - this.chargeK);
    this.manifoldK += ((intoK - this.manifoldK) * dtS) / (0.25 + dtS);
  }

  #turbine(dtS: number, x: AirInput): void {
    const turbo = this.#car.turbo;
    const exhaustKgps = this.engineKgps + x.fuelKgps;
    const rise = exhaustKgps > 1e-5 ? (0.33 * x.fuelKgps * LHV) / (exhaustKgps * CP_EXHAUST) : 0;
    const targetK = exhaustKgps > 1e-5 ? Math.min(1230, this.manifoldK + 40 + rise) : x.coolantK;
    this.exhaustK += ((targetK - this.exhaustK) * dtS) / (0.6 + dtS);
    if (!turbo) {
      this.exhaustPa = x.ambientPa * (1 + 0.9 * exhaustKgps);
      return;
    }
    const shut = x.boostActuator;
    const capacity = turbo.capacityClosed + (turbo.capacityOpen - turbo.capacityClosed) * (1 - shut);
    const through = exhaustKgps * (1 - turbo.wasteShare * (1 - shut));
    // Stodola's ellipse gives the pressure before the turbine, the isentropic drop its power.
    const behindPa = x.ambientPa * (1 + 0.6 * exhaustKgps);
    this.exhaustPa = Math.sqrt(
      behindPa * behindPa + (through * through * this.exhaustK) / (capacity * capacity),
    );
    const drop = 1 - (behindPa / this.exhaustPa) ** 0.248;
    const turbineW = turbo.turbineEfficiency * x.turboHealth * through * CP_EXHAUST * this.exhaustK * drop;
    const tip = this.turboRadps * turbo.radiusM;
    const compressorW = Math.max(0, this.#b.kgps) * 0.7 * tip * tip;
    const bearingW = 1.1e-6 * this.turboRadps * this.turboRadps;
    const accel = (turbineW - compressorW - bearingW) / (turbo.inertia * Math.max(600, this.turboRadps));
    this.turboRadps = Math.min(26000, Math.max(300, this.turboRadps + accel * dtS));
  }
}
