/** Brings signals that arrive at their own times together at each pressure sample: the operating point. */
import type { Profile } from '../../core/profile.ts';
import type { CleanSample } from '../types.ts';

/**
 * Values are interpolated across gaps up to this long and never across a hole (ANALYSIS section 1). Chosen by hand,
 * not measured.
 */
export const MAX_GAP_US = 1_600_000;
/** A signal silent for this long is no longer waited for. Chosen by hand, not measured. */
const SILENT_US = 5_000_000;
/** Weather does not change sooner, and the item is asked for seldom. Chosen by hand, not measured. */
const AIR_HELD_US = 600e6;
/** Slower than this the intake is as warm as the engine bay (common practice, no source). */
const MOVING_KMH = 30;
const TRACK_CAP = 512;
const NONE: readonly OperatingPoint[] = [];

/** What the car was asked and what it gave at one pressure sample. */
export interface OperatingPoint {
  readonly tUs: number;
  /** Absolute, kPa. */
  readonly map: number;
  readonly rpm: number | null;
  readonly speed: number | null;
  /** Driver demand, 0 at rest to 100 at the floor; interpolated. */
  readonly demand: number | null;
  /** The smaller of the two demand samples around it: a lift between two samples cannot hide behind the larger. */
  readonly demandLow: number | null;
  readonly ect: number | null;
  /** Of the air around the vehicle, else of the intake on the move, °C. */
  readonly airC: number | null;
  /** Commanded boost pressure, absolute kPa. */
  readonly cmd: number | null;
  /** Measured boost pressure before the throttle, absolute kPa. */
  readonly act: number | null;
  /** Air mass flow, g/s. */
  readonly maf: number | null;
  /** Distance to the nearest sample of the signal that is worst off, s. */
  readonly ageS: number;
}

/**
 * Steps of demand a percent that are held to be the same reading: finer than a pedal's byte, 2.55. Not known how
 * chosen.
 */
const BITS_A_PERCENT = 20;

/** A demand as finely as it is read, so that readings that repeat themselves are known. */
export const toTheBit = ({ demand }: { readonly demand: number }): number =>
  Math.round(demand * BITS_A_PERCENT);

/** The one-byte MAP item ends here, kPa (SAE J1979, from memory). */
const MAP_TOP_KPA = 255;

/** A value at the item's end is a lower bound, not a measurement. */
export function isClipped(mapKpa: number): boolean {
  return mapKpa === MAP_TOP_KPA;
}

/** Recent samples of one signal, oldest dropped. */
class Track {
  #t: number[] = [];
  #v: number[] = [];
  #head = 0;

  get lastUs(): number {
    return this.#t.at(-1) ?? Number.NEGATIVE_INFINITY;
  }

  get last(): number | null {
    return this.#v.at(-1) ?? null;
  }

  push(tUs: number, v: number, keepFromUs: number): void {
    this.#t.push(tUs);
    this.#v.push(v);
    while (
      this.#t.length - this.#head > TRACK_CAP ||
      (this.#head + 1 < this.#t.length && this.#t[this.#head + 1]! <= keepFromUs)
    )
      this.#head++;
    if (this.#head > TRACK_CAP) {
      this.#t = this.#t.slice(this.#head);
      this.#v = this.#v.slice(this.#head);
      this.#head = 0;
    }
  }

  /** Interpolated value, the lower neighbour and the distance to the nearer one; null across a hole. */
  at(tUs: number): { value: number; low: number; ageUs: number } | null {
    let hi = this.#t.length - 1;
    while (hi > this.#head && this.#t[hi - 1]! >= tUs) hi--;
    const t1 = this.#t[hi];
    const v1 = this.#v[hi];
    if (t1 === undefined || v1 === undefined || t1 < tUs) return null;
    if (t1 === tUs) return { value: v1, low: v1, ageUs: 0 };
    if (hi <= this.#head) return null;
    const t0 = this.#t[hi - 1]!;
    const v0 = this.#v[hi - 1]!;
    if (t1 - t0 > MAX_GAP_US) return null;
    const w = (tUs - t0) / (t1 - t0);
    return { value: v0 + w * (v1 - v0), low: Math.min(v0, v1), ageUs: Math.min(tUs - t0, t1 - tUs) };
  }
}

/**
 * A throttle tells what the driver asks for only when it is wide open: short of that the same opening stands for a light foot and
 * for a heavy one, with the clutch of a compressor open or closed. From there on it counts, below it is no pull and no stretch
 * (common practice, no source; tried on healthy simulated cars, docs/analysis.md).
 */
const WIDE_OPEN_PCT = 85;
const SHORT_OF_OPEN_PCT = 44;
/**
 * What a sensor of demand reads at the floor, %. Those of the open drives (KIT and the petrol car) rest at 14 to 16 %,
 * taken until it is seen to rest, and reach 79 to 85 % at the floor; one that rests lower counts from zero (common
 * practice, no source).
 */
const SENSOR_FLOOR_PCT = 80;
const UNSEEN_REST_PCT = 15;
const FROM_ZERO_BELOW_PCT = 8;
const FROM_ZERO_FLOOR_PCT = 92;
/** A rest is a reading below the second that repeats itself within the first, %. Not known how chosen. */
const REST_WITHIN_PCT = 0.7;
const REST_BELOW_PCT = 30;
/** A sensor that passes the floor is not followed further than this, %. Not known how chosen. */
const MOST_DEMAND_PCT = 105;
/** Coolant hardly changes within so long (common practice, no source). */
const ECT_HOLDS_US = 60e6;

/** One demand sensor: rest is learned, the floor is taken from the kind of sensor. */
class DemandSensor {
  readonly track = new Track();
  #rest: number | null = null;
  #same = 0;
  #previous = Number.NaN;
  readonly #throttle: boolean;

  constructor(throttle: boolean) {
    this.#throttle = throttle;
  }

  push(tUs: number, v: number, keepFromUs: number): void {
    this.track.push(tUs, v, keepFromUs);
    // Three like values in a row: a spike to zero must not move the rest.
    this.#same = Math.abs(v - this.#previous) <= REST_WITHIN_PCT ? this.#same + 1 : 0;
    this.#previous = v;
    if (this.#same >= 2 && v < REST_BELOW_PCT && (this.#rest === null || v < this.#rest)) this.#rest = v;
  }

  percent(raw: number): number {
    const rest = this.#rest ?? UNSEEN_REST_PCT;
    const floor = rest < FROM_ZERO_BELOW_PCT ? FROM_ZERO_FLOOR_PCT : SENSOR_FLOOR_PCT;
    const pct = Math.max(0, Math.min(MOST_DEMAND_PCT, ((raw - rest) / (floor - rest)) * 100));
    return this.#throttle && pct < WIDE_OPEN_PCT ? Math.min(pct, SHORT_OF_OPEN_PCT) : pct;
  }
}

/** In the order of preference. A diesel's throttle is an intake flap and says nothing about the driver. */
export function demandSignals(profile: Profile): readonly string[] {
  const pedal = ['pedal_d_pct', 'pedal_e_pct'];
  return profile.fuel === 'diesel' ? pedal : [...pedal, 'rel_throttle_pct', 'throttle_pct'];
}

/** Streams operating points in time order; a point is late by at most 1.6 s. */
export class PointAligner {
  readonly #demand: ReadonlyMap<string, DemandSensor>;
  readonly #tracks: ReadonlyMap<string, Track> = new Map(
    ['rpm', 'speed_kmh', 'boost_cmd_kpa', 'boost_act_kpa', 'maf_gps'].map((s) => [s, new Track()]),
  );
  readonly #all: readonly Track[];
  #pending: { tUs: number; map: number }[] = [];
  #ect: { tUs: number; v: number } | null = null;
  #ambient: { tUs: number; v: number } | null = null;
  #intake: { tUs: number; v: number } | null = null;
  #nowUs = Number.NEGATIVE_INFINITY;
  #demandName: string | null = null;

  constructor(profile: Profile) {
    this.#demand = new Map(demandSignals(profile).map((s) => [s, new DemandSensor(s.includes('throttle'))]));
    this.#all = [...this.#tracks.values(), ...[...this.#demand.values()].map((d) => d.track)];
  }

  /** The signal that stands for the driver's demand; null before any came. */
  get demandName(): string | null {
    return this.#demandName;
  }

  step(s: CleanSample): readonly OperatingPoint[] {
    if (s.flag !== null || !Number.isFinite(s.value)) return NONE;
    if (s.tUs < this.#nowUs) return NONE;
    this.#nowUs = s.tUs;
    const keepFromUs = (this.#pending[0]?.tUs ?? s.tUs) - MAX_GAP_US;
    if (s.signal === 'map_kpa') this.#pending.push({ tUs: s.tUs, map: s.value });
    else if (s.signal === 'ect_c') this.#ect = { tUs: s.tUs, v: s.value };
    else if (s.signal === 'ambient_c') this.#ambient = { tUs: s.tUs, v: s.value };
    else if (s.signal === 'iat_c') {
      if ((this.#tracks.get('speed_kmh')!.last ?? 0) > MOVING_KMH) this.#intake = { tUs: s.tUs, v: s.value };
    } else {
      const demand = this.#demand.get(s.signal);
      if (demand) demand.push(s.tUs, s.value, keepFromUs);
      else this.#tracks.get(s.signal)?.push(s.tUs, s.value, keepFromUs);
    }
    return this.#release(false);
  }

  finish(): readonly OperatingPoint[] {
    return this.#release(true);
  }

  #release(all: boolean): readonly OperatingPoint[] {
    let out: OperatingPoint[] | null = null;
    for (;;) {
      const head = this.#pending[0];
      if (!head) return out ?? NONE;
      if (!all && this.#nowUs - head.tUs <= MAX_GAP_US && this.#awaits(head.tUs)) return out ?? NONE;
      this.#pending.shift();
      out ??= [];
      out.push(this.#point(head.tUs, head.map));
    }
  }

  /** True while a signal that is alive may still bring the neighbour that the point at `tUs` needs. */
  #awaits(tUs: number): boolean {
    for (const { lastUs } of this.#all) if (lastUs < tUs && this.#nowUs - lastUs < SILENT_US) return true;
    return false;
  }

  #point(tUs: number, map: number): OperatingPoint {
    let ageUs = 0;
    const value = (name: string, needed: boolean): number | null => {
      const at = this.#tracks.get(name)?.at(tUs) ?? null;
      if (at && needed) ageUs = Math.max(ageUs, at.ageUs);
      return at?.value ?? null;
    };
    let demand: number | null = null;
    let demandLow: number | null = null;
    for (const [name, sensor] of this.#demand) {
      const at = sensor.track.at(tUs);
      if (!at) continue;
      this.#demandName = name;
      demand = sensor.percent(at.value);
      demandLow = sensor.percent(at.low);
      ageUs = Math.max(ageUs, at.ageUs);
      break;
    }
    const rpm = value('rpm', true);
    const speed = value('speed_kmh', true);
    const cmd = value('boost_cmd_kpa', false);
    const act = value('boost_act_kpa', false);
    const maf = value('maf_gps', false);
    const air = [this.#ambient, this.#intake].find((a) => a !== null && tUs - a.tUs < AIR_HELD_US);
    const airC = air?.v ?? null;
    const ect = this.#ect !== null && tUs - this.#ect.tUs < ECT_HOLDS_US ? this.#ect.v : null;
    return { tUs, map, rpm, speed, demand, demandLow, ect, airC, cmd, act, maf, ageS: ageUs / 1e6 };
  }
}
