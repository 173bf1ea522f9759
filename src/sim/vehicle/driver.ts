/** The driver: follows the route with feet and hands that lag, wander and differ from seed to seed. */
import type { Random } from '../../core/random.ts';
import type { Car } from './cars.ts';
import type { Route, RouteLeg } from './routes.ts';

/** What the driver can see and feel. */
export interface Seen {
  readonly vehicleMps: number;
  readonly rpm: number;
  readonly locked: boolean;
}

const SHIFT = { clutchOutS: 0.18, leverS: 0.45, clutchInS: 0.5, doneS: 1.0 };

export class Driver {
  ignition = false;
  starter = false;
  /** True while the ignition circuit runs the engine. */
  run = false;
  /** 0 to 1. */
  pedal = 0;
  clutch = 0;
  /** Deceleration by the brakes, m/s². */
  brakeMps2 = 0;
  gear = 0;
  gradePct = 0;
  /** The leg being driven; the last one is held for ever. */
  leg: RouteLeg;
  readonly #car: Car;
  readonly #route: Route;
  readonly #random: Random;
  /** Habits, fixed for a run. */
  readonly #habit: {
    speedFactor: number;
    tipInS: number;
    pedalFactor: number;
    changeUpRpm: number;
    lagS: number;
    pauseS: number;
  };
  #legIndex = 0;
  #legStartS = 0;
  #wanderMps = 0;
  #jitter = 0;
  #foot = 0;
  #integral = 0;
  #shiftS = -1;
  #nextGear = 0;
  #sinceShiftS = 9;
  #phase: 'approach' | 'pull' | 'after' = 'approach';
  #phaseS = 0;
  #afterMps = 0;
  #afterGear: number | null = null;
  #pullJitter = 0;

  constructor(car: Car, route: Route, random: Random) {
    this.#car = car;
    this.#route = route;
    this.#random = random;
    this.leg = route.legs[0]!;
    this.#habit = {
      speedFactor: random.between(0.96, 1.04),
      tipInS: random.between(0.18, 0.45),
      pedalFactor: random.between(0.96, 1.03),
      changeUpRpm: car.changeUpRpm * random.between(0.92, 1.1),
      lagS: random.between(0.18, 0.34),
      pauseS: random.between(0.6, 1.8),
    };
  }

  step(dtS: number, timeS: number, seen: Seen): void {
    while (timeS - this.#legStartS >= this.leg.s - 1e-9 && this.#legIndex < this.#route.legs.length - 1) {
      this.#legStartS += this.leg.s;
      this.leg = this.#route.legs[++this.#legIndex]!;
      this.#phase = 'approach';
      this.#phaseS = 0;
      this.#pullJitter = this.#random.normal();
    }
    const r = this.#random;
    this.#wanderMps += dtS * (-this.#wanderMps / 12) + Math.sqrt(dtS) * 0.16 * r.normal();
    this.#jitter += dtS * (-this.#jitter / 0.5) + Math.sqrt(dtS) * 0.008 * r.normal();
    this.#sinceShiftS += dtS;
    this.#phaseS += dtS;
    const leg = this.leg;
    const inLegS = timeS - this.#legStartS;
    const grade = 'gradePct' in leg ? (leg.gradePct ?? 0) : 0;
    this.gradePct += ((grade - this.gradePct) * dtS) / 4;

    this.ignition = leg.do !== 'key-off';
    this.run = leg.do !== 'key-off' && leg.do !== 'key-on';
    // Key turned until it catches; a driver who stalls the engine starts it again.
    const stalled = this.run && seen.rpm < (this.starter ? 450 : 200);
    this.starter = stalled && (leg.do !== 'start' || inLegS > 0.4);
    if (this.starter) {
      this.clutch = 0;
      this.#shiftS = -1;
      this.#press(dtS, 0);
      return;
    }

    if (leg.do === 'drive' || leg.do === 'pull') this.#drive(dtS, inLegS, seen, leg);
    else this.#stand(dtS, seen, leg.do === 'rev' ? leg.rpm : null);
  }

  #stand(dtS: number, seen: Seen, rpm: number | null): void {
    if (seen.vehicleMps > 0.3) {
      this.#follow(dtS, seen, 0, null);
      return;
    }
    this.brakeMps2 = 3;
    this.clutch = 0;
    this.gear = 0;
    this.#shiftS = -1;
    this.#integral = 0;
    if (rpm === null) this.#press(dtS, 0);
    else {
      this.#integral = clamp(this.#integral, 0, 0.2);
      const error = (rpm - seen.rpm) / 1000;
      this.#press(dtS, clamp(0.055 + 0.05 * error + this.#jitter, 0, 0.3));
    }
  }

  #drive(dtS: number, inLegS: number, seen: Seen, leg: RouteLeg & { do: 'drive' | 'pull' }): void {
    if (leg.do === 'drive') {
      const target = (leg.kmh / 3.6) * this.#habit.speedFactor + this.#wanderMps;
      this.#follow(dtS, seen, Math.max(2, target), leg.gear ?? null);
      return;
    }
    const perMps = (this.#car.gears[leg.gear - 1]! * this.#car.finalDrive * 30) / Math.PI / this.#car.wheelM;
    const fromMps = (leg.fromRpm + 40 * this.#pullJitter) / perMps;
    if (this.#phase === 'approach') {
      this.#follow(dtS, seen, fromMps, leg.gear);
      const there =
        this.gear === leg.gear && seen.locked && Math.abs(seen.vehicleMps - fromMps) < 0.06 * fromMps;
      if (!there) this.#phaseS = 0;
      if (this.#phaseS > this.#habit.pauseS) {
        this.#phase = 'pull';
        this.#phaseS = 0;
      }
      return;
    }
    if (this.#phase === 'pull') {
      const aim = clamp((leg.pedalPct / 100) * this.#habit.pedalFactor + 0.012 * this.#pullJitter, 0, 1);
      const ramp = Math.min(1, this.#phaseS / this.#habit.tipInS);
      this.clutch = 1;
      this.brakeMps2 = 0;
      this.#foot = Math.max(this.#foot, aim * ramp);
      if (ramp >= 1) this.#foot = aim;
      this.pedal = clamp(this.#foot + this.#jitter * 0.6, 0, 1);
      if (seen.rpm >= Math.min(leg.toRpm, 0.88 * this.#car.maxRpm) || inLegS > leg.s - 3) {
        this.#phase = 'after';
        this.#afterMps = seen.vehicleMps * 0.97;
        this.#afterGear = seen.rpm > 3000 ? null : leg.gear;
        this.#integral = 0;
      }
      return;
    }
    // After the pull: hold the speed in the same gear until the leg is over, unless it is far too high.
    this.#follow(dtS, seen, Math.min(this.#afterMps, 36), this.#afterGear);
  }

  /** Speed by feel: acceleration wanted, pedal or brake for it, gears. */
  #follow(dtS: number, seen: Seen, targetMps: number, gear: number | null): void {
    const car = this.#car;
    const v = seen.vehicleMps;
    const want = clamp(0.42 * (targetMps - v), targetMps < 1 ? -1.8 : -1.9, 1.35);
    if (this.#shiftS >= 0) {
      this.#shift(dtS, seen);
      return;
    }
    if (this.gear === 0) {
      this.gear = 1;
      this.clutch = 0;
    }
    this.#chooseGear(seen, want, targetMps, gear);
    if (this.#shiftS >= 0) return;

    const ratio = (car.gears[this.gear - 1]! * car.finalDrive) / car.wheelM;
    const load = car.massKg * 9.81 * (car.rolling + this.gradePct / 100) + 0.6 * car.dragM2 * v * v;
    const force = car.massKg * want + load;
    const drag = 0.09 * car.torqueNm * ratio;
    if (force < -drag || (want < -0.5 && v < 3)) {
      this.#integral *= 1 - dtS;
      this.brakeMps2 = clamp((-force - drag * 0.8) / car.massKg, targetMps < 1 ? 0.4 : 0, 6);
      this.#press(dtS, 0);
    } else {
      this.brakeMps2 = targetMps < 1 && v < 4 ? 1 : 0;
      // In town and below a foot rests well short of high demand; on hills and motorways it does not.
      const brisk = this.gradePct > 3 || targetMps > 24 ? 0.62 : 0.4;
      const share = (force / ratio / 0.94 + 0.09 * car.torqueNm) / car.torqueNm;
      this.#integral = clamp(this.#integral + dtS * 0.025 * (targetMps - v), -0.15, 0.35);
      this.#press(dtS, clamp(0.03 + 0.62 * share + this.#integral + this.#jitter * 0.5, 0, brisk));
    }
    this.#pedalClutch(dtS, seen, targetMps);
  }

  /** Pulling away and stopping; otherwise the clutch stays closed. */
  #pedalClutch(dtS: number, seen: Seen, targetMps: number): void {
    if (targetMps < 1 && seen.rpm < 1050) {
      this.clutch = 0;
      return;
    }
    if (seen.locked) {
      this.clutch = Math.min(1, this.clutch + dtS * 3);
      // A driver does not let it stall.
      if (seen.rpm < 620) this.clutch = 0;
      return;
    }
    const rate = seen.rpm > 1150 ? 0.55 : seen.rpm > 980 ? 0.12 : -0.8;
    this.clutch = clamp(this.clutch + rate * dtS, 0.1, 1);
    if (this.gear === 1 && seen.vehicleMps < 3) this.#press(dtS, Math.max(this.pedal, 0.14));
  }

  #chooseGear(seen: Seen, want: number, targetMps: number, gear: number | null): void {
    const car = this.#car;
    const rpmIn = (g: number): number =>
      (seen.vehicleMps * car.gears[g - 1]! * car.finalDrive * 30) / Math.PI / car.wheelM;
    if (!seen.locked && this.clutch < 0.15 && this.gear > 1 && rpmIn(this.gear) < 950) {
      // Rolled nearly to a stand with the clutch down: take the gear that fits before letting it in again.
      while (this.gear > 1 && rpmIn(this.gear) < 1250) this.gear--;
      return;
    }
    if (!seen.locked || this.#sinceShiftS < 1.2) return;
    if (gear !== null && gear !== this.gear) {
      const rpm = rpmIn(gear);
      if (rpm > 1000 && rpm < car.maxRpm * 0.8 && (gear > this.gear || want < 1)) {
        this.#begin(gear);
        return;
      }
    }
    const wished = gear !== null && this.gear === gear;
    const busy = this.pedal > 0.3 ? (this.pedal - 0.3) * 3000 : 0;
    const climbing = this.gradePct > 3 ? 350 : 0;
    const limit = gear !== null && gear < this.gear + 1 ? 9000 : this.#habit.changeUpRpm + busy + climbing;
    if (!wished && this.gear < car.gears.length && seen.rpm > limit && rpmIn(this.gear + 1) > 1150)
      this.#begin(this.gear + 1);
    else if (this.gear > 1 && seen.rpm < (wished ? 880 : 1080 + climbing) && targetMps > 1)
      this.#begin(seen.vehicleMps < 3.2 ? 1 : this.gear - 1);
    else if (!wished && this.gear > 2 && this.pedal > 0.55 && want > 0.8 && seen.rpm < 1900)
      this.#begin(this.gear - 1);
  }

  #begin(gear: number): void {
    this.#nextGear = gear;
    this.#shiftS = 0;
  }

  #shift(dtS: number, seen: Seen): void {
    this.#shiftS += dtS;
    const t = this.#shiftS;
    this.brakeMps2 = 0;
    if (t < SHIFT.clutchInS) {
      this.#press(dtS * 2.5, 0);
      if (t > SHIFT.clutchOutS) this.clutch = 0;
      if (t > SHIFT.leverS) this.gear = this.#nextGear;
    } else {
      this.clutch = Math.min(1, this.clutch + dtS * 2.6);
      this.#press(dtS, 0.1);
    }
    if ((t > SHIFT.doneS && seen.locked) || t > 2.5) {
      this.#shiftS = -1;
      this.#sinceShiftS = 0;
    }
  }

  /** The foot follows with its lag and no faster than an unhurried foot. */
  #press(dtS: number, aim: number): void {
    const step = ((aim - this.#foot) * dtS) / this.#habit.lagS;
    this.#foot = clamp(this.#foot + clamp(step, -2.5 * dtS, 0.8 * dtS), 0, 1);
    this.pedal = this.#foot;
  }
}

export function clamp(x: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, x));
}
