/**
 * The engine control unit's regulating half: from pedal and engine speed to throttle, flap, clutch command,
 * boost actuator, fuel and spark. Pressures in Pa absolute. It sees sensors, never the faults.
 */
import { along, type Car } from './cars.ts';
import { clamp } from './driver.ts';
import { type Flow, KELVIN, R_AIR, restriction } from './gas.ts';

export interface ManagementInput {
  readonly running: boolean;
  readonly pedal: number;
  readonly rpm: number;
  readonly inGear: boolean;
  readonly coolantC: number;
  readonly baroPa: number;
  readonly chargePa: number;
  readonly chargeK: number;
  readonly manifoldPa: number;
  readonly manifoldK: number;
  readonly filling: number;
  readonly engineKgps: number;
}

/** Air per fuel by mass at which both are used up (petrol, diesel; Heywood, from memory). */
export const STOICHIOMETRIC = { petrol: 14.6, diesel: 14.5 } as const;
const DIESEL_SMOKE_LAMBDA = 1.22;
/** About two litres of manifold filled in a quarter of a second: V / (R T · 0.25 s). */
const FILLS_IN_KG_PER_PA_S = 2e-3 / (R_AIR * 310 * 0.25);

export class Management {
  throttle = 0.02;
  flap = 1;
  boostActuator = 0.2;
  dumpValve = 0;
  clutchCommand = false;
  fuelKgps = 0;
  lambda = 1;
  /** Torque by spark as a share of the best. */
  sparkFactor = 1;
  fan = 0;
  /** Pressures asked for in the manifold and before the throttle. */
  manifoldTargetPa = 101325;
  chargeTargetPa = 101325;
  /** Demand for torque, 0 to 1, after the pedal map. */
  demand = 0;
  readonly #car: Car;
  #idle = 0;
  #throttleTrim = 1;
  #actuatorI = 0;
  #flapI = 0;
  #sudden = false;
  #pedalBefore = 0;
  #overrun = false;
  readonly #flow: Flow = { kgps: 0, perPa: 0 };

  /** Boost asked for at full demand as a share of the curve: what a unit learns from fuel and knock, differs by day. */
  readonly #boostShare: number;
  /** By what share of the gauge pressure its regulator misses in this pull; drawn anew as each begins. */
  readonly #missOfPull: () => number;
  #miss = 0;
  #pulling = false;

  constructor(car: Car, boostShare: number, missOfPull: () => number) {
    this.#car = car;
    this.#boostShare = boostShare;
    this.#missOfPull = missOfPull;
  }

  step(dtS: number, x: ManagementInput): void {
    const car = this.#car;
    this.fan =
      x.coolantC > car.fanC[0] + 5 ? 1 : x.coolantC > car.fanC[0] ? Math.max(this.fan, 0.55) : this.fan;
    if (x.coolantC < car.fanC[1]) this.fan = 0;
    if (!x.running) {
      this.throttle = 0.06;
      this.flap = 1;
      this.clutchCommand = false;
      this.fuelKgps = 0;
      this.boostActuator = 0.2;
      this.#idle = 0;
      this.manifoldTargetPa = this.chargeTargetPa = x.baroPa;
      return;
    }
    const derate = clamp(1 - (x.coolantC - 116) / 20, 0.45, 1);
    // Pedal map: full demand from 85 % on; a pedal at rest asks for nothing.
    this.demand = Math.min(1, (Math.max(0, x.pedal - 0.015) / 0.835) ** 1.12) * derate;
    if (!this.#pulling && this.demand > 0.45) this.#miss = this.#missOfPull();
    this.#pulling = this.demand > (this.#pulling ? 0.3 : 0.45);
    this.#overrun = x.inGear && x.pedal < 0.015 && x.rpm > (this.#overrun ? 1150 : 1450) && x.coolantC > 25;
    // Hot charge air is given less boost, 0.3 % a degree above 50 °C (common practice, no source).
    const hot = clamp(1 - 0.003 * (x.chargeK - KELVIN - 50), 0.8, 1);
    const fullPa = x.baroPa + along(car.fullBoostPa, x.rpm) * (x.baroPa / 101325) * this.#boostShare * hot;
    if (car.fuel === 'petrol') this.#petrol(dtS, x, fullPa);
    else this.#diesel(dtS, x, fullPa);
    this.#pedalBefore += ((x.pedal - this.#pedalBefore) * dtS) / 0.35;
  }

  /** More than zero when the engine turns slower than its idle speed wants, rpm. */
  #idleError(x: ManagementInput): number {
    return this.#car.idleRpm + clamp((65 - x.coolantC) * 7, 0, 420) - x.rpm;
  }

  #petrol(dtS: number, x: ManagementInput, fullPa: number): void {
    const car = this.#car;
    const lowPa = 0.2 * x.baroPa;
    const topPa = car.induction === 'naturally aspirated' ? x.baroPa : fullPa;
    const error = this.#idleError(x);
    const idling = x.pedal < 0.02 && !this.#overrun && x.rpm < 2000;
    // Only near idle speed does the integral learn; far above it would unlearn and then let the engine die.
    if (idling && Math.abs(error) < 200) this.#idle = clamp(this.#idle + error * dtS * 14, -6e3, 22e3);
    const idlePa = 0.3 * x.baroPa + this.#idle + clamp(error * 32, -9e3, 24e3);
    this.sparkFactor = idling ? clamp(1 + error * 0.0018, 0.8, 1.12) : 1;
    const wantPa = lowPa + (topPa - lowPa) * this.demand;
    this.manifoldTargetPa = this.#overrun ? lowPa : Math.max(wantPa, Math.max(idlePa, lowPa));
    const boosting = this.manifoldTargetPa > 0.97 * x.baroPa && car.turbo !== null;
    this.chargeTargetPa = boosting ? Math.max(x.baroPa, this.manifoldTargetPa * 1.035) : x.baroPa;
    this.#clutch(x);
    this.#boost(dtS, x, boosting);

    // Throttle from the flow the target needs, trimmed slowly by what the manifold then shows.
    const needKgps =
      (this.manifoldTargetPa * car.displacementM3 * x.rpm * x.filling) / (120 * R_AIR * x.manifoldK) +
      // At idle the manifold must fill sooner than the slow engine would draw it full.
      (idling ? Math.max(0, this.manifoldTargetPa - x.manifoldPa) * FILLS_IN_KG_PER_PA_S : 0);
    const upPa = Math.max(x.chargePa, x.baroPa * 0.9);
    restriction(1, upPa, Math.min(this.manifoldTargetPa, 0.985 * upPa), x.chargeK, this.#flow);
    const miss = (this.manifoldTargetPa - x.manifoldPa) / x.baroPa;
    if (!boosting) this.#throttleTrim = clamp(this.#throttleTrim + miss * dtS * 0.6, 0.8, 1.25);
    const area = (needKgps / this.#flow.kgps / car.throttleM2) * this.#throttleTrim;
    const aim = this.demand > 0.96 ? 1 : clamp(area, 0.0012, 1);
    this.throttle += ((aim - this.throttle) * dtS) / (0.045 + dtS);
    this.dumpValve = car.turbo && x.chargePa > 1.2 * Math.max(this.chargeTargetPa, x.baroPa) ? 1 : 0;

    const load = this.manifoldTargetPa / x.baroPa;
    const rich =
      load > 1.3 ? clamp((x.rpm - 2600) / 2500, 0, 1) * 0.13 : car.turbo ? 0 : load > 0.92 ? 0.09 : 0;
    const cold = clamp((30 - x.coolantC) / 250, 0, 0.12);
    this.lambda = 1 - rich - cold;
    this.fuelKgps =
      this.#overrun || x.rpm > car.maxRpm ? 0 : x.engineKgps / (STOICHIOMETRIC.petrol * this.lambda);
  }

  #diesel(dtS: number, x: ManagementInput, fullPa: number): void {
    const car = this.#car;
    const perPa = (car.displacementM3 * x.rpm * x.filling) / (120 * R_AIR * 330);
    const fullKgps = (fullPa * perPa) / (STOICHIOMETRIC.diesel * (DIESEL_SMOKE_LAMBDA + 0.06));
    const error = this.#idleError(x);
    const idling = x.pedal < 0.02 && !this.#overrun;
    if (idling && Math.abs(error) < 200) this.#idle = clamp(this.#idle + error * dtS * 4e-7, 0, 5e-4);
    const idleKgps = this.#overrun ? 0 : clamp(1.2e-4 + this.#idle + error * 1.1e-6, 0, 8e-4);
    const wantKgps = Math.max(this.demand * fullKgps, x.rpm < 1300 || idling ? idleKgps : 0);
    const smokeKgps = x.engineKgps / (STOICHIOMETRIC.diesel * DIESEL_SMOKE_LAMBDA);
    this.fuelKgps = this.#overrun || x.rpm > car.maxRpm ? 0 : Math.min(wantKgps, smokeKgps);
    this.lambda = this.fuelKgps > 0 ? Math.min(8, x.engineKgps / (this.fuelKgps * STOICHIOMETRIC.diesel)) : 8;
    this.chargeTargetPa = x.baroPa + (fullPa - x.baroPa) * Math.min(1, this.demand * 1.15) ** 0.9;
    this.manifoldTargetPa = this.chargeTargetPa;
    this.#boost(dtS, x, this.demand > 0.12);
    this.throttle = 1;
    this.flap = 1;
  }

  /** Clutch command: at any high demand up to the top of the band, on a sudden one up to the changeover (common practice, no source). */
  #clutch(x: ManagementInput): void {
    const sc = this.#car.supercharger;
    if (!sc) return;
    const high = this.manifoldTargetPa > (this.clutchCommand ? 1.06 : 1.14) * x.baroPa;
    if (!high) this.#sudden = false;
    else if (x.pedal - this.#pedalBefore > 0.2) this.#sudden = true;
    const top = this.#sudden ? sc.handOverRpm : sc.bandTopRpm;
    // Once the turbocharger holds the pressure above the band, the flap stands open and the clutch may let go.
    const relieved = this.clutchCommand && x.rpm > sc.bandTopRpm && this.flap > 0.85;
    if (relieved) this.#sudden = false;
    this.clutchCommand =
      high &&
      x.rpm > (this.clutchCommand ? 850 : 950) &&
      x.rpm < top + (this.clutchCommand ? 80 : 0) &&
      !relieved;
  }

  /** Flap first, boost actuator second: two regulators on the charge pressure. */
  #boost(dtS: number, x: ManagementInput, boosting: boolean): void {
    const sc = this.#car.supercharger;
    const aimPa = this.chargeTargetPa + this.#miss * Math.max(0, this.chargeTargetPa - x.baroPa);
    const errorPa = aimPa - x.chargePa;
    if (!boosting) {
      this.#actuatorI = 0.3;
      this.boostActuator += ((0.25 - this.boostActuator) * dtS) / 0.2;
    } else {
      const own = errorPa + (this.clutchCommand ? 4e3 : 0);
      this.#actuatorI = clamp(this.#actuatorI + (own / 22e3) * dtS, 0, 1);
      const aim = clamp(this.#actuatorI + own / 26e3, 0, 1);
      this.boostActuator += ((aim - this.boostActuator) * dtS) / (0.12 + dtS);
    }
    if (!sc) return;
    let aim = 1;
    if (this.clutchCommand) {
      this.#flapI = clamp(this.#flapI - (errorPa / 9e3) * dtS, 0, 1);
      aim = clamp(this.#flapI - errorPa / 30e3, 0, 1);
    } else this.#flapI = 0;
    const opening = clamp(aim - this.flap, -9 * dtS, 3.5 * dtS);
    this.flap = clamp(this.flap + opening, 0, 1);
  }
}

/** Heat of friction and the torque it costs: Heywood's fit for the whole of it, 0.97 + 0.15 n + 0.05 n² bar (from memory). */
export function frictionPa(rpm: number, oilC: number): number {
  const n = rpm / 1000;
  const warm = 0.97e5 + 0.15e5 * n + 0.05e5 * n * n;
  // Thick oil: about two and a half times at freezing (common practice, no source).
  return warm * (1 + 1.6 * Math.exp(-(oilC + 5) / 32));
}

export const kelvin = (celsius: number): number => celsius + KELVIN;
