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

/** The engine must have stood this long: while it runs down MAP dips for a second (KIT), on a petrol engine it lies low. */
const STAND_US = 2_500_000;
const KEEP_READINGS = 15;
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
      if (s.tUs - this.#rpmUs > 3e6) this.#stoppedSinceUs = null;
      this.#rpmZero = s.value < 50;
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
      if (s.tUs - this.#rpmUs > 3e6) {
        if (!this.#everRan) this.#firstMap = s.value;
        return;
      }
      const since = this.#stoppedSinceUs;
      if (this.#rpmZero && since !== null && (s.tUs - since > STAND_US || !this.#everRan)) {
        if (s.value > 55 && s.value < 108) this.#keep(this.#stopped, s.value);
      } else if (this.#profile.fuel === 'diesel' && this.#rpm > 550 && this.#rpm < 950 && this.#speed < 1)
        if (s.value > 70 && s.value < 120) this.#keep(this.#idle, s.value);
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
      return { kpa: median(this.#sensor), sdKpa: 0.6, source: 'barometric sensor' };
    if (this.#stopped.length > 0)
      return { kpa: median(this.#stopped), sdKpa: 0.8, source: 'MAP with the engine stopped' };
    const entered = this.#profile.baroKpa;
    if (entered) return { kpa: entered.value, sdKpa: 1.5, source: 'profile' };
    if (this.#heights.length === KEEP_READINGS)
      return {
        kpa: pressureAtKpa(median(this.#heights)),
        sdKpa: HEIGHT_SD_KPA,
        source: 'height of a receiver',
      };
    // KIT: a diesel's idle MAP sits 4 kPa above ambient, with a fault in the boost less. Never on petrol.
    if (this.#idle.length > 5) return { kpa: median(this.#idle) - 3, sdKpa: 2, source: 'idle MAP' };
    if (this.#taughtKpa !== null) return { kpa: this.#taughtKpa, sdKpa: 2, source: 'baseline runs' };
    return null;
  }
}

/** The standard atmosphere's pressure at a height in m (ISO 2533, from memory: 101.325 kPa, 288.15 K, 6.5 K/km). */
function pressureAtKpa(heightM: number): number {
  return 101.325 * (1 - (0.0065 * heightM) / 288.15) ** 5.25588;
}

/** Lowlands in ordinary weather: 101 kPa at sea level (ISO 2533) less 12 kPa per 1000 m. */
export const UNKNOWN_BARO: Baro = { kpa: 98, sdKpa: 4, source: 'standard air' };
