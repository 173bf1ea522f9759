/**
 * Intake and exhaust as three volumes in a row: between the chargers, before the throttle, manifold.
 * Each fills and empties as an ideal gas; the step is implicit, so that a wide-open throttle
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
const SECANT_STEPS = 8;

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
  #sweptKgps = 0;
  #flapSuction = 0;
  readonly #a: Flow = { kgps: 0, perPa: 0 };
  readonly #b: Flow = { kgps: 0, perPa: 0 };
  readonly #c: Flow = { kgps: 0, perPa: 0 };
  readonly #d: Flow = { kgps: 0, perPa: 0 };

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

  /**
   * Implicit Euler on the three pressures. Conductances instead of tangents: the root in the flow law makes
   * Newton's method jump between forward and backward flow, the secant closes in from one side.
   */
  step(dtS: number, x: AirInput): void {
    const car = this.#car;
    const sc = car.supercharger;
    const rpm = (x.engineRadps * 30) / Math.PI;
    const [a, b, c, d] = [this.#a, this.#b, this.#c, this.#d];
    const midK = this.#supercharger(x);
    const pi = this.#turboRatio(midK, x.turboHealth);
    const swept = this.#sweptKgps;
    // To the cylinders: speed and density.
    const perPa =
      (car.displacementM3 * (x.engineRadps / (4 * Math.PI)) * this.filling(rpm)) / (R_AIR * this.manifoldK);
    const [v1, v2, v3] = car.volumesM3;
    const k1 = v1 / (R_AIR * midK * dtS);
    const k2 = v2 / (R_AIR * this.chargeK * dtS);
    const k3 = v3 / (R_AIR * this.manifoldK * dtS);
    const throttleM2 = Math.max(1e-9, car.throttleM2 * x.throttle);
    const leakM2 = x.leakM2 + DUMP_M2 * x.dumpValve;
    let [p1, p2, p3] = [this.midPa, this.chargePa, this.manifoldPa];
    // A compressor that stands still would choke the engine: suction pushes the sprung flap open
    // (common practice, no source). It moves between steps, not within one.
    const suction = clamp((x.ambientPa - this.midPa - 1500) / 5000, 0, 1);
    this.#flapSuction += ((suction - this.#flapSuction) * dtS) / (0.07 + dtS);
    const open = sc ? 0.01 + 0.99 * Math.max(x.flap, this.#flapSuction) : 1;
    for (let i = 0; i < SECANT_STEPS; i++) {
      // Ambient to the first volume: the supercharger pushes, the flap lets through either way.
      // Recirculation goes through the flap's own body, which is smaller than the pipe.
      const inletM2 = (sc && p1 > x.ambientPa ? Math.min(sc.flapM2, car.intakeM2) : car.intakeM2) * open;
      restriction(inletM2, x.ambientPa, p1, x.ambientK, a);
      const gap = sc && swept > 0 ? sc.gapKgpsPerPa : 0;
      const pushed = Math.max(0, swept - gap * (p1 - x.ambientPa));
      // First to second: the turbocharger's compressor as a source of pressure behind its own resistance.
      restriction(car.intakeM2, pi * p1, p2, midK, b);
      // Second to third: the throttle. Second to outside: leak and dump valve.
      restriction(throttleM2, p2, p3, this.chargeK, c);
      restriction(leakM2, p2, x.ambientPa, this.chargeK, d);

      const b1 = k1 + a.perPa + (pushed > 0 ? gap : 0) + pi * b.perPa;
      const c1 = -b.perPa;
      const a2 = -pi * b.perPa;
      const b2 = k2 + b.perPa + c.perPa + d.perPa;
      const c2 = -c.perPa;
      const a3 = -c.perPa;
      const b3 = k3 + c.perPa + perPa;
      const r1 = a.kgps + pushed - b.kgps - k1 * (p1 - this.midPa);
      const r2 = b.kgps - c.kgps - d.kgps - k2 * (p2 - this.chargePa);
      const r3 = c.kgps - perPa * p3 - k3 * (p3 - this.manifoldPa);
      // Tridiagonal solve for the three corrections.
      const m2 = a2 / b1;
      const bb2 = b2 - m2 * c1;
      const rr2 = r2 - m2 * r1;
      const m3 = a3 / bb2;
      const d3 = (r3 - m3 * rr2) / (b3 - m3 * c2);
      const d2 = (rr2 - c2 * d3) / bb2;
      const d1 = (r1 - c1 * d2) / b1;
      p1 = Math.max(0.6 * p1, p1 + d1);
      p2 = Math.max(0.6 * p2, p2 + d2);
      p3 = Math.max(0.6 * p3, p3 + d3);
      this.inletKgps = a.kgps + pushed;
      if (Math.abs(d1) + Math.abs(d2) + Math.abs(d3) < 60) break;
    }
    this.midPa = p1;
    this.chargePa = p2;
    this.manifoldPa = p3;
    this.engineKgps = perPa * p3;
    this.leakKgps = d.kgps;

    this.#temperatures(dtS, x, midK, pi);
    this.#turbine(dtS, x);
  }

  /** Air swept by the supercharger and its drag; returns the temperature behind it, K. */
  #supercharger(x: AirInput): number {
    const sc = this.#car.supercharger;
    this.superchargerW = 0;
    this.#sweptKgps = 0;
    if (!sc || x.superchargerCoupling <= 0) return x.ambientK;
    const turnsPerS = (x.engineRadps / (2 * Math.PI)) * sc.ratio * x.superchargerCoupling;
    this.#sweptKgps = (x.ambientPa / (R_AIR * x.ambientK)) * sc.volumeM3 * turnsPerS * sc.filling;
    const rise = Math.max(0, (this.midPa / x.ambientPa) ** 0.2857 - 1) / sc.efficiency;
    this.superchargerW = this.#sweptKgps * CP_AIR * x.ambientK * rise + 2.2 * turnsPerS;
    return x.ambientK * (1 + rise);
  }

  #temperatures(dtS: number, x: AirInput, midK: number, pi: number): void {
    const turbo = this.#car.turbo;
    const flow = Math.max(0, this.#b.kgps);
    const hotK = turbo ? midK * (1 + (pi ** 0.2857 - 1) / turbo.compressorEfficiency) : midK;
    // The charge cooler stores heat: a second pull soon after the first breathes warmer air.
    const exchange = turbo ? (flow * CP_AIR * 0.9) / (1 + flow / 0.6) : 0;
    const toAir = 40 + 22 * x.vehicleMps;
    const heat = exchange * (hotK - this.#coolerK);
    this.#coolerK += (dtS * (heat - toAir * (this.#coolerK - x.ambientK))) / 3800;
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
