/** What the sensors make of the truth: lag, noise, the step of the encoding, and the faults of sensors. */
import type { Random } from '../../core/random.ts';
import { along, type Car } from './cars.ts';
import { clamp } from './driver.ts';
import type { Knobs } from './faults.ts';
import { R_AIR } from './gas.ts';

/** The physics as it is, before any sensor. Pressures Pa, temperatures °C, flows kg/s. */
export interface Truth {
  readonly running: boolean;
  readonly runTimeS: number;
  readonly rpm: number;
  readonly vehicleMps: number;
  readonly baroPa: number;
  readonly ambientC: number;
  readonly midPa: number;
  readonly chargePa: number;
  readonly manifoldPa: number;
  readonly manifoldC: number;
  readonly engineKgps: number;
  readonly inletKgps: number;
  readonly fuelKgps: number;
  readonly torqueNm: number;
  readonly pedal: number;
  readonly throttle: number;
  readonly throttleCommand: number;
  readonly chargeTargetPa: number;
  readonly lambda: number;
  readonly coolantC: number;
  readonly oilC: number;
  readonly batteryV: number;
  readonly gear: number;
  readonly clutchLocked: boolean;
  readonly superchargerCoupling: number;
  readonly clutchCommand: boolean;
  readonly thermostat: number;
  readonly fan: number;
  readonly altitudeM: number;
}

/** Step of each signal as SAE J1979 encodes it (from memory). */
const STEP = {
  load_pct: 100 / 255,
  abs_load_pct: 100 / 255,
  throttle_pct: 100 / 255,
  rel_throttle_pct: 100 / 255,
  cmd_throttle_pct: 100 / 255,
  pedal_d_pct: 100 / 255,
  pedal_e_pct: 100 / 255,
  stft1_pct: 100 / 128,
  ltft1_pct: 100 / 128,
  map_kpa: 1,
  baro_kpa: 1,
  rpm: 0.25,
  speed_kmh: 1,
  timing_deg: 0.5,
  ect_c: 1,
  iat_c: 1,
  ambient_c: 1,
  oil_c: 1,
  maf_gps: 0.01,
  run_time_s: 1,
  voltage_v: 0.001,
  lambda_cmd: 2 / 65536,
  boost_cmd_kpa: 1 / 32,
  boost_act_kpa: 1 / 32,
  torque_pct: 1,
  torque_ref_nm: 1,
} as const;
type Reading = keyof typeof STEP;

const FAST_S = 0.02;
const SLOW_S = 0.1;

export class Sensors {
  /** Readings in catalogue units, as the control unit would report them now; all of them from the first `step` on. */
  readonly values: Record<Reading, number> = { ...STEP };
  readonly #car: Car;
  readonly #random: Random;
  readonly #faults: Random;
  readonly #knobs: Knobs;
  readonly #bias: { ltft: number; iat: number; map: number; pedal: number };
  #nextFastS = 0;
  #nextSlowS = 0;
  #map: number;
  #charge: number;
  #maf = 0;
  #speed = 0;
  #iat: number;
  #ect: number;
  #stft = 0;
  #frozenMap: number | null = null;
  #spikeUntilS = 0;
  #spike: number | null = null;
  #bubbleUntilS = 0;
  #nextBubbleS = 20;
  #bubbleC = 0;

  constructor(car: Car, random: Random, knobs: Knobs, startC: number, ambientC: number, baroPa: number) {
    this.#car = car;
    this.#random = random;
    this.#faults = random.fork('faults');
    this.#knobs = knobs;
    this.#map = this.#charge = baroPa;
    this.#ect = startC;
    this.#iat = ambientC + 0.3 * (startC - ambientC);
    const r = random.fork('bias');
    this.#bias = {
      ltft: 1.5 * r.normal(),
      iat: 0.5 * r.normal(),
      map: 0.4 * r.normal(),
      pedal: 15.3 + 0.4 * r.normal(),
    };
  }

  /** Whether one of them reads at this time; between, `step` changes nothing. */
  isDue(timeS: number): boolean {
    return timeS >= this.#nextFastS || timeS >= this.#nextSlowS;
  }

  step(timeS: number, x: Truth): void {
    if (timeS >= this.#nextFastS) {
      this.#nextFastS += FAST_S;
      this.#fast(timeS, x);
    }
    if (timeS >= this.#nextSlowS) {
      this.#nextSlowS += SLOW_S;
      this.#slow(timeS, x);
    }
  }

  #fast(timeS: number, x: Truth): void {
    const r = this.#random;
    const v = this.values;
    const car = this.#car;
    const smooth = FAST_S / (0.02 + FAST_S);
    this.#map += (x.manifoldPa - this.#map) * smooth;
    this.#charge += (x.chargePa - this.#charge) * smooth;
    // Pulsation of the strokes, seen at random phase: larger when slow and when the pressure is high.
    const ripple = x.running ? 0.006 + 4 / Math.max(600, x.rpm) : 0.001;
    const mapKpa = this.#map / 1000 + this.#bias.map + (0.2 + ripple * (this.#map / 1000)) * r.normal();
    if (timeS >= this.#knobs.mapFrozenFromS) this.#frozenMap ??= timeS > 0 ? v.map_kpa : mapKpa;
    v.map_kpa = stepped(this.#frozenMap ?? clamp(mapKpa, 0, 255), STEP.map_kpa);
    v.boost_act_kpa = stepped(this.#charge / 1000 + 0.35 * r.normal(), STEP.boost_act_kpa);
    v.boost_cmd_kpa = stepped(x.chargeTargetPa / 1000, STEP.boost_cmd_kpa);
    v.rpm = stepped(
      Math.max(0, x.rpm * (1 + (x.running ? 0.0015 + 1.2 / Math.max(500, x.rpm) : 0) * 0.7 * r.normal())),
      STEP.rpm,
    );
    this.#maf += (x.inletKgps * 1000 - this.#maf) * (FAST_S / (0.06 + FAST_S));
    v.maf_gps = stepped(Math.max(0, this.#maf * (1 + 0.012 * r.normal())), STEP.maf_gps);
    v.pedal_d_pct = stepped(
      clamp(this.#bias.pedal + x.pedal * (100 - this.#bias.pedal - 18), 0, 100),
      STEP.pedal_d_pct,
    );
    v.pedal_e_pct = stepped(
      clamp(this.#bias.pedal / 2 + (x.pedal * (100 - this.#bias.pedal - 18)) / 2, 0, 100),
      STEP.pedal_e_pct,
    );
    const plate = (share: number): number => 11 + 78 * Math.sqrt(clamp(share, 0, 1));
    v.throttle_pct = stepped(clamp(plate(x.throttle) + 0.12 * r.normal(), 0, 100), STEP.throttle_pct);
    v.rel_throttle_pct = stepped(
      clamp(plate(x.throttle) - 11.5 + 0.12 * r.normal(), 0, 100),
      STEP.rel_throttle_pct,
    );
    v.cmd_throttle_pct = stepped(plate(x.throttleCommand), STEP.cmd_throttle_pct);
    this.#loads(x);
    const knock = x.manifoldPa / x.baroPa;
    const advance =
      x.rpm < 1100 && x.pedal < 0.02
        ? 7
        : clamp(15 + x.rpm * 0.0052 - knock * 11.5 + (x.rpm > 2500 ? 3 : 0), -4, 38);
    v.timing_deg = stepped(x.running ? advance + 0.8 * r.normal() : 0, STEP.timing_deg);
    this.#stft += (-this.#stft * FAST_S) / 1.6 + 1.1 * Math.sqrt(FAST_S) * r.normal();
    const closedLoop = x.running && x.fuelKgps > 0 && x.lambda > 0.98 && x.runTimeS > 25;
    v.stft1_pct = stepped(closedLoop ? clamp(this.#stft, -25, 25) : 0, STEP.stft1_pct);
    v.lambda_cmd = stepped(x.fuelKgps > 0 || !x.running ? Math.min(1.99, x.lambda) : 1.99, STEP.lambda_cmd);
    v.torque_pct = stepped(clamp((100 * x.torqueNm) / car.torqueNm, -125, 130), STEP.torque_pct);
    v.torque_ref_nm = stepped(car.torqueNm, STEP.torque_ref_nm);
    v.run_time_s = stepped(Math.min(65535, Math.floor(x.runTimeS)), STEP.run_time_s);
  }

  /** Calculated and absolute load as SAE J1979 defines PIDs 04 and 43 (from memory). */
  #loads(x: Truth): void {
    const car = this.#car;
    const v = this.values;
    if (!x.running || x.rpm < 100) {
      v.load_pct = stepped(0, STEP.load_pct);
      v.abs_load_pct = stepped(0, STEP.abs_load_pct);
      return;
    }
    const strokesPerS = x.rpm / 120; // each cylinder fills once in two turns; displacement is of the whole engine
    const absolute = x.engineKgps / strokesPerS / (1.184 * car.displacementM3);
    v.abs_load_pct = stepped(clamp(100 * absolute, 0, 400), STEP.abs_load_pct);
    if (car.fuel === 'diesel') {
      v.load_pct = stepped(
        clamp((100 * Math.max(0, x.torqueNm)) / (car.torqueNm * 1.03), 0, 100),
        STEP.load_pct,
      );
      return;
    }
    const peakKgps =
      ((101325 + along(car.fullBoostPa, x.rpm)) *
        car.displacementM3 *
        strokesPerS *
        along(car.filling, x.rpm)) /
      (R_AIR * 308);
    const weather = (x.baroPa / 101325) * Math.sqrt(298 / (x.ambientC + 273));
    v.load_pct = stepped(clamp((100 * x.engineKgps) / (peakKgps * weather), 0, 100), STEP.load_pct);
  }

  #slow(timeS: number, x: Truth): void {
    const r = this.#random;
    const v = this.values;
    this.#speed += (x.vehicleMps * 3.6 - this.#speed) * (SLOW_S / (0.15 + SLOW_S));
    v.speed_kmh = Math.floor(this.#speed + 0.05 * Math.abs(r.normal()));
    // Thin flow leaves the sensor to the warm engine bay.
    const flowing = x.engineKgps / (x.engineKgps + 0.004);
    const around = flowing * x.manifoldC + (1 - flowing) * (0.45 * x.coolantC + 0.55 * x.ambientC);
    this.#iat += ((around - this.#iat) * SLOW_S) / (3 + 8 * (1 - flowing));
    v.iat_c = stepped(this.#iat + this.#bias.iat + 0.15 * r.normal(), STEP.iat_c);
    v.ect_c = stepped(this.#coolant(timeS, x) + 0.14 * r.normal(), STEP.ect_c);
    v.oil_c = stepped(x.oilC + 0.2 * r.normal(), STEP.oil_c);
    v.ambient_c = stepped(x.ambientC + 0.1 * r.normal(), STEP.ambient_c);
    v.baro_kpa = stepped(x.baroPa / 1000 + 0.05 * r.normal(), STEP.baro_kpa);
    v.voltage_v = stepped(x.batteryV + 0.025 * r.normal(), STEP.voltage_v);
    v.ltft1_pct = stepped(this.#bias.ltft, STEP.ltft1_pct);
  }

  #coolant(timeS: number, x: Truth): number {
    const r = this.#faults;
    let truth = x.coolantC;
    if (this.#knobs.airInSystem && x.running) {
      if (timeS >= this.#nextBubbleS) {
        this.#bubbleUntilS = timeS + r.between(1.5, 5);
        this.#nextBubbleS = timeS + r.between(8, 35);
        this.#bubbleC = r.between(6, 16) * (r.next() < 0.6 ? -1 : 1);
      }
      if (timeS < this.#bubbleUntilS) truth += this.#bubbleC;
    }
    const lagS = this.#knobs.airInSystem ? 1.2 : 3.5;
    this.#ect += ((truth - this.#ect) * SLOW_S) / (lagS + SLOW_S);
    if (this.#knobs.spikesPerMin > 0) {
      if (timeS >= this.#spikeUntilS) this.#spike = null;
      if (this.#spike === null && r.next() < (this.#knobs.spikesPerMin / 60) * SLOW_S) {
        this.#spikeUntilS = timeS + r.between(0.2, 1.4);
        const kind = r.next();
        this.#spike =
          kind < 0.3 ? -40 : kind < 0.85 ? this.#ect - r.between(10, 70) : this.#ect + r.between(8, 40);
      }
      if (this.#spike !== null) return clamp(this.#spike, -40, 215);
    }
    return this.#ect;
  }
}

const stepped = (value: number, step: number): number => Math.round(value / step) * step;
