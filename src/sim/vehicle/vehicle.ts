/** A simulated vehicle: driver, engine, chargers, cooling, sensors and codes stepped together 100 times a second. */
import { saying } from '../../core/error-says.ts';
import { HandbackError } from '../../core/errors.ts';
import { type Random, seededRandom } from '../../core/random.ts';
import type { SimRoad, SimVehicle, TroubleCode } from '../types.ts';
import { type AirInput, AirPath, FUEL_HEAT } from './airpath.ts';
import { Battery } from './battery.ts';
import { CARS, type Car } from './cars.ts';
import { TroubleCodes, type Watched } from './codes.ts';
import { Cooling } from './cooling.ts';
import { clamp, Driver } from './driver.ts';
import { Drivetrain } from './drivetrain.ts';
import { type FaultRequest, faultProblem, type Knobs, knobsFor } from './faults.ts';
import { KELVIN, pressureAtPa, R_AIR } from './gas.ts';
import { MagneticClutch } from './magnetic-clutch.ts';
import { frictionPa, kelvin, Management, STOICHIOMETRIC } from './management.ts';
import { Readiness } from './readiness.ts';
import { Recent } from './recent.ts';
import { ROUTE_LIST, type Route } from './routes.ts';
import { Sensors, type Truth } from './sensors.ts';

export { FAULTS } from './faults.ts';

/** For `sim --help`: what `vehicle` and `route` may name; the first is the default. */
export const VEHICLES: readonly {
  readonly name: string;
  readonly description: string;
  readonly induction: Car['induction'];
  readonly fuel: Car['fuel'];
}[] = Object.entries(CARS).map(([name, car]) => ({
  name,
  description: `${car.name}: ${car.description}`,
  induction: car.induction,
  fuel: car.fuel,
}));
export const ROUTES: readonly {
  readonly name: string;
  readonly description: string;
  readonly lengthS: number;
}[] = ROUTE_LIST.map((r) => ({ name: r.name, description: r.description, lengthS: lengthOf(r) }));

export interface VehicleOptions {
  /** One of VEHICLES, or one of its own; default twin-charged. */
  readonly vehicle?: string | Car;
  /** One of ROUTES, or one of its own; default road-test. */
  readonly route?: string | Route;
  /** Of FAULTS; default none. */
  readonly faults?: readonly FaultRequest[];
  /** Same seed, same run. Default 1. */
  readonly seed?: number;
  /** Weather; by default drawn from the seed: 8 to 24 °C, 99.5 to 103 kPa at sea level. `baroKpa` is at the start of the route. */
  readonly ambientC?: number;
  readonly baroKpa?: number;
  /** Coolant at the start, °C; default: the route's. */
  readonly startEctC?: number;
  readonly boostScatter?: BoostScatter;
}

/** Standard deviations of boost at like demand, as shares of the gauge pressure. */
export interface BoostScatter {
  /** Of what the control unit asks for in this run; default 1.2 %. */
  readonly run: number;
  /** Of what its regulator makes of it in each pull; default none. */
  readonly pull: number;
}

/** A SimVehicle that also tells the truth: for tests and for judging detectors, never for control units. */
export interface DrivenVehicle extends SimVehicle {
  readonly truth: Truth;
}

const STEP_S = 0.01;

/** @throws HandbackError input.usage on an unknown name or a value out of range. */
export function createVehicle(options: VehicleOptions = {}): DrivenVehicle {
  const named = options.vehicle ?? 'twin-charged';
  const car = typeof named === 'string' ? CARS[named] : named;
  if (!car)
    throw new HandbackError(
      'input.usage',
      saying('error.sim-unknown', {
        what: 'vehicle',
        word: String(named),
        known: Object.keys(CARS).join(', '),
      }),
    );
  const routeName = options.route ?? 'road-test';
  const route = typeof routeName === 'string' ? ROUTE_LIST.find((r) => r.name === routeName) : routeName;
  if (!route)
    throw new HandbackError(
      'input.usage',
      saying('error.sim-unknown', {
        what: 'route',
        word: String(routeName),
        known: ROUTE_LIST.map((r) => r.name).join(', '),
      }),
    );
  for (const fault of options.faults ?? []) {
    const problem = faultProblem(fault);
    if (problem) throw new HandbackError('input.usage', problem);
  }
  return new Simulation(car, route, knobsFor(options.faults ?? []), options);
}

function lengthOf(route: Route): number {
  return route.legs.reduce((sum, leg) => sum + leg.s, 0);
}

class Simulation implements DrivenVehicle {
  readonly vin: string;
  readonly supported: readonly string[];
  readonly route: { readonly name: string; readonly lengthS: number };
  readonly #car: Car;
  readonly #knobs: Knobs;
  readonly #driver: Driver;
  readonly #air: AirPath;
  readonly #cooling: Cooling;
  readonly #drive: Drivetrain;
  readonly #management: Management;
  readonly #sensors: Sensors;
  readonly #codes = new TroubleCodes();
  readonly #readiness: Readiness;
  readonly #noise: Random;
  readonly #clutch: MagneticClutch;
  readonly #seaLevelPa: number;
  readonly #ambientC: number;
  #steps = 0;
  #owedS = 0;
  #running = false;
  #runTimeS = 0;
  #fuelKg = 0;
  #startC: number;
  #torqueNm = 0;
  #combustion = 0;
  #windMps = 0;
  readonly #battery = new Battery();
  #pumpBubble = 1;
  #fanTurning = 0;
  #baroPa: number;
  readonly #recent = new Recent();
  #clutchSinceS = 9;
  #lastCommand = false;
  readonly #airInput: AirInput;

  constructor(car: Car, route: Route, knobs: Knobs, options: VehicleOptions) {
    const random = seededRandom(`${car.name}/${options.seed ?? 1}`);
    const weather = random.fork('weather');
    const ambientC = options.ambientC ?? weather.between(8, 24);
    const seaLevelPa = weather.between(99.5e3, 103e3);
    const startPa =
      options.baroKpa === undefined ? pressureAtPa(route.altitudeM, seaLevelPa) : options.baroKpa * 1000;
    this.#seaLevelPa = startPa / pressureAtPa(route.altitudeM, 1);
    this.#ambientC = ambientC;
    const startC = options.startEctC ?? Math.max(route.startC, ambientC);
    this.#startC = startC;
    this.#car = car;
    this.#knobs = knobs;
    this.vin = car.vin;
    this.supported = car.supported;
    this.route = { name: route.name, lengthS: lengthOf(route) };
    this.#driver = new Driver(car, route, random.fork('driver'));
    this.#air = new AirPath(car, startPa, kelvin(ambientC));
    this.#cooling = new Cooling(car, startC, ambientC);
    this.#drive = new Drivetrain(car, route.altitudeM);
    const scatter = options.boostScatter ?? { run: 0.012, pull: 0 };
    const regulator = random.fork('regulator');
    this.#management = new Management(
      car,
      1 + scatter.run * clamp(random.fork('adaptation').normal(), -2.5, 2.5),
      () => scatter.pull * clamp(regulator.normal(), -2.5, 2.5),
    );
    this.#sensors = new Sensors(car, random.fork('sensors'), knobs, startC, ambientC, startPa);
    this.#readiness = new Readiness(car.fuel);
    this.#noise = random.fork('engine');
    this.#clutch = new MagneticClutch(knobs, random.fork('clutch'));
    this.#airInput = {
      ambientPa: startPa,
      ambientK: kelvin(ambientC),
      engineRadps: 0,
      coolantK: kelvin(startC),
      fuelKgps: 0,
      throttle: 0,
      flap: 1,
      boostActuator: 0,
      dumpValve: 0,
      superchargerCoupling: 0,
      leakM2: knobs.leakM2,
      turboHealth: knobs.turboHealth,
      vehicleMps: 0,
    };
    this.#baroPa = startPa;
    this.#sensors.step(0, this.truth);
  }

  get timeS(): number {
    return this.#steps * STEP_S;
  }
  get ignition(): boolean {
    return this.#driver.ignition || this.#steps === 0;
  }
  /** Height comes from the grades of the route; the bends belong to the place, and say nothing of the driver. */
  get road(): SimRoad {
    const { distanceM, altitudeM, vehicleMps } = this.#drive;
    const courseDeg = 90 + 55 * Math.sin(distanceM / 700) + 20 * Math.sin(distanceM / 170);
    return { heightM: altitudeM, speedMps: vehicleMps, courseDeg };
  }
  get codes(): readonly TroubleCode[] {
    return this.#codes.list();
  }
  get mil(): boolean {
    return this.#codes.lamp;
  }
  get monitors() {
    return this.#readiness.list();
  }
  get sinceClear() {
    return this.#readiness.sinceClear();
  }

  signal(name: string): number | null {
    return this.supported.includes(name)
      ? ((this.#sensors.values as Readonly<Record<string, number>>)[name] ?? null)
      : null;
  }

  clearCodes(): boolean {
    if (this.#running || this.#drive.engineRadps > 1) return false;
    this.#codes.clear();
    this.#readiness.clear();
    return true;
  }

  advance(dtS: number): void {
    if (!(dtS >= 0)) throw new RangeError(`advance by ${dtS} s`);
    this.#owedS += dtS;
    while (this.#owedS >= STEP_S - 1e-9) {
      this.#owedS -= STEP_S;
      this.#step();
    }
  }

  #step(): void {
    const dt = STEP_S;
    const timeS = ++this.#steps * dt;
    const drive = this.#drive;
    const driver = this.#driver;
    const air = this.#air;
    const management = this.#management;
    const car = this.#car;
    const baroPa = pressureAtPa(drive.altitudeM, this.#seaLevelPa);
    const ambientC = this.#ambientC - 0.0065 * (drive.altitudeM - 120);
    const rpm = (drive.engineRadps * 30) / Math.PI;

    driver.step(dt, timeS, { vehicleMps: drive.vehicleMps, rpm, locked: drive.locked });
    this.#runState(dt, rpm);

    management.step(dt, {
      running: this.#running,
      pedal: driver.pedal,
      rpm,
      inGear: drive.locked && driver.clutch > 0.5,
      coolantC: this.#cooling.coolantC,
      baroPa,
      chargePa: air.chargePa,
      chargeK: air.chargeK,
      manifoldPa: air.manifoldPa,
      manifoldK: air.manifoldK,
      filling: air.filling(rpm),
      engineKgps: air.engineKgps,
    });
    if (management.clutchCommand !== this.#lastCommand) {
      this.#lastCommand = management.clutchCommand;
      this.#clutchSinceS = 0;
    }
    this.#clutchSinceS += dt;

    const x = this.#airInput;
    x.ambientPa = baroPa;
    x.ambientK = kelvin(ambientC);
    x.engineRadps = drive.engineRadps;
    x.coolantK = kelvin(this.#cooling.coolantC);
    x.fuelKgps = management.fuelKgps;
    x.throttle = management.throttle;
    x.flap = management.flap;
    x.boostActuator = management.boostActuator;
    x.dumpValve = management.dumpValve;
    x.superchargerCoupling = car.supercharger
      ? this.#clutch.step(dt, management.clutchCommand, air.midPa / baroPa - 1)
      : 0;
    x.vehicleMps = drive.vehicleMps;
    air.step(dt, x);

    this.#torque(dt, rpm);
    drive.step(dt, {
      torqueNm: this.#torqueNm,
      gear: driver.gear,
      clutch: driver.clutch,
      brakeMps2: driver.brakeMps2,
      gradePct: driver.gradePct,
      windMps: this.#windMps,
      airKgpm3: baroPa / (R_AIR * kelvin(ambientC)),
    });
    this.#cool(dt, timeS, rpm, ambientC);
    this.#battery.step(dt, {
      charging: this.#running && this.#knobs.charging,
      ignition: driver.ignition,
      running: this.#running,
      idling: drive.engineRadps < 95,
      starter: driver.starter,
      fan: this.#fanTurning,
      coolantC: this.#cooling.coolantC,
    });
    this.#baroPa = baroPa;
    if (this.#sensors.isDue(timeS)) this.#sensors.step(timeS, this.truth);
    if (this.#steps % 10 === 0) this.#supervise(dt * 10);
  }

  #runState(dt: number, rpm: number): void {
    if (!this.#driver.run) this.#running = false;
    else if (!this.#running && rpm > 190) {
      this.#running = true;
      this.#runTimeS = 0;
      this.#fuelKg = 0;
      this.#startC = this.#cooling.coolantC;
      this.#codes.beginTrip();
      this.#readiness.beginTrip(this.#startC);
    } else if (this.#running && rpm < 150) this.#running = false;
    if (this.#running) {
      this.#runTimeS += dt;
      this.#fuelKg += this.#management.fuelKgps * dt;
    } else if (!this.#driver.ignition) this.#runTimeS = 0;
  }

  #torque(dt: number, rpm: number): void {
    const car = this.#car;
    const air = this.#air;
    const m = this.#management;
    const omega = Math.max(40, this.#drive.engineRadps);
    // Fuel beyond what the air can burn gives no work.
    const burntKgps = Math.min(m.fuelKgps, air.engineKgps / STOICHIOMETRIC[car.fuel]);
    this.#combustion += (-this.#combustion * dt) / 0.25 + 0.012 * Math.sqrt(dt) * 3 * this.#noise.normal();
    this.#windMps += (-this.#windMps * dt) / 20 + 0.22 * Math.sqrt(dt) * this.#noise.normal();
    const indicatedW =
      burntKgps * FUEL_HEAT * car.indicatedEfficiency * m.sparkFactor * (1 + this.#combustion);
    const perPa = car.displacementM3 / (4 * Math.PI);
    const turning = this.#drive.engineRadps > 1 ? 1 : 0;
    const rubbing = turning * frictionPa(rpm, this.#cooling.oilC) * 0.8 * perPa;
    const pumping = turning * (air.exhaustPa - air.manifoldPa) * perPa;
    const belt = air.superchargerW / omega + turning * (3 + (500 + 420 * m.fan) / omega);
    const starter = this.#driver.starter ? Math.max(0, 150 * (1 - this.#drive.engineRadps / 45)) : 0;
    this.#torqueNm = indicatedW / omega - rubbing - pumping - belt + starter;
  }

  #cool(dt: number, timeS: number, rpm: number, ambientC: number): void {
    const knobs = this.#knobs;
    const car = this.#car;
    const fuelW = this.#management.fuelKgps * FUEL_HEAT;
    // The walls take a larger share of a small fire (Heywood, from memory).
    const share = car.wallShare * (1 + 0.35 * Math.exp(-fuelW / 25e3));
    const friction = frictionPa(rpm, this.#cooling.oilC) * 0.8;
    const frictionW = (friction * car.displacementM3 * this.#drive.engineRadps) / (4 * Math.PI);
    let pump = 1 - (1 - knobs.pumpLeft) * clamp((timeS - 300) / 420, 0, 1);
    if (timeS >= knobs.noCirculationFromS) pump = 0;
    if (knobs.airInSystem) {
      this.#pumpBubble +=
        (this.#noise.next() < dt / 6 ? this.#noise.between(0.1, 1) : this.#pumpBubble) - this.#pumpBubble;
      pump *= this.#pumpBubble;
    }
    const fan = knobs.fanDead ? 0 : this.#management.fan;
    this.#fanTurning += ((fan - this.#fanTurning) * dt) / 1.5;
    this.#cooling.step(dt, {
      wallW: fuelW * share,
      frictionW,
      rpm,
      vehicleMps: this.#drive.vehicleMps,
      ambientC,
      fan: this.#fanTurning,
      heater: clamp((22 - ambientC) / 14, 0.1, 1),
      pumpHealth: pump,
      stuckOpening: knobs.stuckOpening,
    });
  }

  /** After the last step. */
  get truth(): Truth {
    const air = this.#air;
    const m = this.#management;
    return {
      running: this.#running,
      runTimeS: this.#runTimeS,
      rpm: (this.#drive.engineRadps * 30) / Math.PI,
      vehicleMps: this.#drive.vehicleMps,
      baroPa: this.#baroPa,
      ambientC: this.#ambientC - 0.0065 * (this.#drive.altitudeM - 120),
      midPa: air.midPa,
      chargePa: air.chargePa,
      manifoldPa: air.manifoldPa,
      manifoldC: air.manifoldK - KELVIN,
      engineKgps: air.engineKgps,
      inletKgps: air.inletKgps,
      fuelKgps: m.fuelKgps,
      torqueNm: this.#torqueNm,
      pedal: this.#driver.pedal,
      throttle: m.throttle,
      throttleCommand: m.throttle,
      chargeTargetPa: m.chargeTargetPa,
      lambda: m.lambda,
      coolantC: this.#cooling.coolantC,
      oilC: this.#cooling.oilC,
      batteryV: this.#battery.volts,
      gear: this.#driver.gear,
      clutchLocked: this.#drive.locked,
      superchargerCoupling: this.#airInput.superchargerCoupling,
      clutchCommand: m.clutchCommand,
      thermostat: this.#cooling.opening,
      fan: this.#fanTurning,
      altitudeM: this.#drive.altitudeM,
    };
  }

  /** The control unit's own monitors, ten times a second, on its own readings. */
  #supervise(dt: number): void {
    if (!this.ignition) return;
    const v = this.#sensors.values;
    const m = this.#management;
    const mapPa = v.map_kpa! * 1000;
    this.#recent.step(dt, v.ect_c!, mapPa, m.manifoldTargetPa);
    const t = this.truth;
    const seen: Watched = {
      running: this.#running,
      runTimeS: this.#runTimeS,
      rpm: t.rpm,
      pedal: t.pedal,
      ectC: v.ect_c!,
      mapPa,
      baroPa: t.baroPa,
      midPa: t.midPa,
      chargePa: v.boost_act_kpa! * 1000,
      chargeTargetPa: m.chargeTargetPa,
      boosting: m.chargeTargetPa > t.baroPa + 2e3,
      clutchCommand: m.clutchCommand,
      clutchSinceS: this.#clutchSinceS,
      clutchCircuitOpen: this.#knobs.clutchCircuitOpen,
      voltageV: v.voltage_v!,
      fanOn: m.fan > 0,
      fanTurns: !this.#knobs.fanDead,
      fuelKg: this.#fuelKg,
      ectJumpC: this.#recent.ectJumpC,
      mapSpanPa: this.#recent.mapSpanPa,
      targetSpanPa: this.#recent.targetSpanPa,
      warmFuelKg: this.#warmFuelKg(),
    };
    this.#codes.step(dt, seen, () => {
      const frame: Record<string, number> = {};
      for (const name of this.supported) frame[name] = this.signal(name) ?? 0;
      return frame;
    });
    this.#readiness.step(dt, { running: this.#running, ectC: t.coolantC, vehicleMps: t.vehicleMps });
  }

  /** Fuel that a healthy engine burns to reach 80 °C in poor weather: the unit's own model. */
  #warmFuelKg(): number {
    const c = this.#car.heatCapacity;
    const heat = Math.max(10, 80 - this.#startC) * (c.metal + c.coolant + c.oil);
    return heat / (FUEL_HEAT * this.#car.wallShare * 0.5);
  }
}
