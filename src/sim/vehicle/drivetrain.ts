/** Engine and car joined by a clutch that slips or holds; longitudinal forces only. SI units. */
import type { Car } from './cars.ts';
import { clamp } from './driver.ts';

export interface DrivetrainInput {
  torqueNm: number;
  /** 0 no gear. */
  gear: number;
  /** 0 open to 1 closed. */
  clutch: number;
  brakeMps2: number;
  gradePct: number;
  windMps: number;
  airKgpm3: number;
}

const EFFICIENCY = 0.94;

export class Drivetrain {
  engineRadps = 0;
  vehicleMps = 0;
  locked = false;
  altitudeM: number;
  distanceM = 0;
  readonly #car: Car;

  constructor(car: Car, altitudeM: number) {
    this.#car = car;
    this.altitudeM = altitudeM;
  }

  step(dtS: number, x: DrivetrainInput): void {
    const car = this.#car;
    const v = this.vehicleMps;
    const air = v + x.windMps;
    let force =
      0.5 * x.airKgpm3 * car.dragM2 * air * Math.abs(air) +
      car.massKg * 9.81 * (x.gradePct / 100) +
      (v > 0.05 ? car.massKg * 9.81 * car.rolling : 0);
    if (v > 0) force += car.massKg * x.brakeMps2;
    const ratio = x.gear === 0 ? 0 : (car.gears[x.gear - 1]! * car.finalDrive) / car.wheelM; // rad/s per m/s
    const capacity = 2.4 * car.torqueNm * x.clutch * x.clutch;
    let accel: number;
    if (ratio === 0 || x.clutch < 0.02) {
      this.locked = false;
      this.engineRadps += (dtS * x.torqueNm) / car.inertia;
      accel = -force / car.massKg;
    } else if (this.locked) {
      accel =
        (x.torqueNm * ratio * EFFICIENCY - force) / (car.massKg + car.inertia * ratio * ratio * EFFICIENCY);
      if (Math.abs(x.torqueNm - car.inertia * accel * ratio) > capacity) this.locked = false;
    } else {
      const slip = this.engineRadps - v * ratio;
      const through = capacity * clamp(slip / 4, -1, 1);
      this.engineRadps += (dtS * (x.torqueNm - through)) / car.inertia;
      accel = (through * ratio * EFFICIENCY - force) / car.massKg;
      // Equal speeds, or speeds that crossed within this step: dry friction then holds.
      const after = this.engineRadps - (v + accel * dtS) * ratio;
      if ((Math.abs(slip) < 1.5 || slip * after < 0) && Math.abs(x.torqueNm) < capacity) this.locked = true;
    }
    this.vehicleMps = v + accel * dtS;
    // Brakes and rolling resistance hold a standing car; neither pushes it backwards.
    if (this.vehicleMps < 0 || (v === 0 && x.brakeMps2 > 0 && this.vehicleMps < 0.05)) this.vehicleMps = 0;
    if (this.locked) this.engineRadps = this.vehicleMps * ratio;
    // Too slow to pass the next compression: it stands.
    if (this.engineRadps < 0 || (this.engineRadps < 4 && x.torqueNm <= 0)) this.engineRadps = 0;
    this.distanceM += this.vehicleMps * dtS;
    this.altitudeM += (this.vehicleMps * dtS * x.gradePct) / 100;
  }
}
