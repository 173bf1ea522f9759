/** Barometric pressure: its own sensor, else the manifold with the engine stopped, else what is known beforehand. */
import { median } from 'simple-statistics';
import type { Profile } from '../../core/profile.ts';
import type { CleanSample } from '../types.ts';

export interface Baro {
  readonly kpa: number;
  /** Standard uncertainty, kPa. */
  readonly sdKpa: number;
  readonly source:
    | 'barometric sensor'
    | 'MAP with the engine stopped'
    | 'profile'
    | 'height of a receiver'
    | 'baseline runs'
    | 'idle MAP'
    | 'standard air';
}

/** The engine must have stood this long: while it runs down MAP dips (KIT: for 1 s), on a petrol engine it lies low. */
const STAND_US = 2_500_000;
/** So many such readings are kept. Not known how chosen. */
const KEEP_READINGS = 15;
/** An engine speed older than this says nothing: the log may hide a start and a stop. Not known how chosen. */
const RPM_HOLDS_US = 3e6;
/** Below this the engine stands: a sensor may read a little, no engine turns so slowly (common practice, no source). */
export const STANDS_BELOW_RPM = 50;
/** Air pressure between the highest roads and the highest weather, kPa (common practice, no source). */
const AIR_PRESSURE_KPA: readonly [number, number] = [55, 108];
/** A diesel idles at such speeds, rpm, and such manifold pressures, kPa (common practice, no source). */
const DIESEL_IDLE_RPM: readonly [number, number] = [550, 950];
const DIESEL_IDLE_KPA: readonly [number, number] = [70, 120];
/** KIT: a diesel's idle MAP sits 4 kPa above ambient, with a fault in the boost less: between the two; from so many. */
const IDLE_ABOVE_KPA = 3;
const IDLE_READINGS = 5;
/**
 * Standard uncertainty by source, kPa: half a step and the sensor, the same while MAP settles, and a person's entry.
 * Not known how chosen.
 */
const SENSOR_SD_KPA = 0.6;
const STOPPED_SD_KPA = 0.8;
const ENTERED_SD_KPA = 1.5;
/**
 * Weather moves the pressure at sea level by 1.2 kPa or so from day to day (common practice, no source); a receiver's
 * height is off by some ten metres, 0.1 kPa.
 */
const HEIGHT_SD_KPA = 1.5;

export class Barometer {
  readonly #profile: Profile;
  readonly #taughtKpa: number | null;
  #sensor: number[] = [];
  #stopped: number[] = [];
  #idle: number[] = [];
  #heights: number[] = [];
  #stoppedSinceUs: number | null = null;
  #rpmZero = false;
  #rpmUs = Number.NEGATIVE_INFINITY;
  #rpm = Number.NaN;
  #speed = Number.NaN;
  #everRan = false;
  #firstMap: number | null = null;
  /** Asked for at each sample, changed by few. */
  #now: Baro | null | undefined;

  constructor(profile: Profile, taughtKpa: number | null) {
    this.#profile = profile;
    this.#taughtKpa = taughtKpa;
  }

  step(s: CleanSample): void {
    if (s.flag !== null) return;
    if (s.signal === 'baro_kpa') this.#keep(this.#sensor, s.value);
    else if (s.signal === 'gnss_height_m') this.#keep(this.#heights, s.value);
    else if (s.signal === 'speed_kmh') this.#speed = s.value;
    else if (s.signal === 'rpm') {
      // A hole in the log may hide a start and a stop.
      if (s.tUs - this.#rpmUs > RPM_HOLDS_US) this.#stoppedSinceUs = null;
      this.#rpmZero = s.value < STANDS_BELOW_RPM;
      this.#rpm = s.value;
      this.#rpmUs = s.tUs;
      if (!this.#rpmZero) {
        this.#stoppedSinceUs = null;
        this.#everRan = true;
      } else {
        // Before the first start there is no run-down to wait for.
        if (!this.#everRan && this.#firstMap !== null) this.#keep(this.#stopped, this.#firstMap);
        this.#firstMap = null;
        this.#stoppedSinceUs ??= s.tUs;
      }
    } else if (s.signal === 'map_kpa') {
      if (s.tUs - this.#rpmUs > RPM_HOLDS_US) {
        if (!this.#everRan) this.#firstMap = s.value;
        return;
      }
      const since = this.#stoppedSinceUs;
      if (this.#rpmZero && since !== null && (s.tUs - since > STAND_US || !this.#everRan)) {
        if (within(s.value, AIR_PRESSURE_KPA)) this.#keep(this.#stopped, s.value);
      } else if (this.#profile.fuel === 'diesel' && within(this.#rpm, DIESEL_IDLE_RPM) && this.#speed < 1)
        if (within(s.value, DIESEL_IDLE_KPA)) this.#keep(this.#idle, s.value);
    }
  }

  get now(): Baro | null {
    if (this.#now === undefined) this.#now = this.#best();
    return this.#now;
  }

  #keep(list: number[], v: number): void {
    list.push(v);
    if (list.length > KEEP_READINGS) list.shift();
    this.#now = undefined;
  }

  #best(): Baro | null {
    if (this.#sensor.length > 0)
      return { kpa: median(this.#sensor), sdKpa: SENSOR_SD_KPA, source: 'barometric sensor' };
    if (this.#stopped.length > 0)
      return { kpa: median(this.#stopped), sdKpa: STOPPED_SD_KPA, source: 'MAP with the engine stopped' };
    const entered = this.#profile.baroKpa;
    if (entered) return { kpa: entered.value, sdKpa: ENTERED_SD_KPA, source: 'profile' };
    if (this.#heights.length === KEEP_READINGS)
      return {
        kpa: pressureAtKpa(median(this.#heights)),
        sdKpa: HEIGHT_SD_KPA,
        source: 'height of a receiver',
      };
    // Never on petrol.
    if (this.#idle.length > IDLE_READINGS)
      return { kpa: median(this.#idle) - IDLE_ABOVE_KPA, sdKpa: 2, source: 'idle MAP' };
    if (this.#taughtKpa !== null) return { kpa: this.#taughtKpa, sdKpa: 2, source: 'baseline runs' };
    return null;
  }
}

const within = (value: number, [low, high]: readonly [number, number]): boolean =>
  value > low && value < high;

/** The standard atmosphere at sea level, its lapse and the exponent that follows from them (ISO 2533, from memory). */
const SEA_LEVEL_AIR_KPA = 101.325;
const SEA_LEVEL_K = 288.15;
const LAPSE_K_PER_M = 0.0065;
const EXPONENT = 5.25588;

/** The standard atmosphere's pressure at a height in m. */
function pressureAtKpa(heightM: number): number {
  return SEA_LEVEL_AIR_KPA * (1 - (LAPSE_K_PER_M * heightM) / SEA_LEVEL_K) ** EXPONENT;
}

/** Lowlands in ordinary weather: 101 kPa at sea level (ISO 2533) less 12 kPa per 1000 m. */
export const UNKNOWN_BARO: Baro = { kpa: 98, sdKpa: 4, source: 'standard air' };
