/** What one pass over a table shows of its signals together: values by what the engine and the vehicle do. */
import { signalDef } from '../../core/signals.ts';
import type { SampleTable } from '../../signal/table.ts';
import type { Counts } from './unit-grid.ts';

/** A reading older than this says nothing about the present. */
const FRESH_S = 3;
/** Outside air moves slowly. */
const FRESH_AIR_S = 60;
const TURNS_RPM = 400;
const IDLING_RPM: readonly [number, number] = [500, 1100];
/** After the engine stopped the manifold needs a moment to fill. */
const OFF_S = 3;
const MOVES_FROM_KMH = 40;
/** Below this the clutch may slip, and the ratio is of no gear. */
const GEAR_RPM = 1500;
/** Slower, a whole number of speed is too coarse for a ratio. */
const GEAR_SPEED = 5;
const MOST_READINGS = 200_000;
/** A gain of speed is over so long, s, at most half as long again, and told once a second (common practice, no source). */
const GAIN_S = 4;
const GAIN_EVERY_S = 1;

export interface Traits {
  /** Distinct values of each signal and how often they came; end stops left out. */
  readonly counts: ReadonlyMap<string, Counts>;
  /** Manifold pressure while idling at a standstill, with the engine off, with it running. */
  readonly mapIdle: readonly number[];
  readonly mapOff: readonly number[];
  readonly mapRunning: readonly number[];
  /** While moving: intake and outside air. */
  readonly iatAmbient: readonly (readonly [number, number])[];
  /** While moving: intake air and coolant. */
  readonly iatEct: readonly (readonly [number, number])[];
  /** Coolant with the engine running: time, value. */
  readonly ect: readonly (readonly [tS: number, value: number])[];
  /** In gear: vehicle speed and engine speed. */
  readonly gears: readonly (readonly [speed: number, rpm: number])[];
  /** Moving, with air mass: air mass, manifold pressure, engine speed. */
  readonly air: readonly (readonly [maf: number, map: number, rpm: number])[];
  /** While the vehicle speeds up: mean air mass, vehicle speed before and after, and how long it took. */
  readonly gains: readonly Gain[];
}

export interface Gain {
  readonly maf: number;
  readonly fromSpeed: number;
  readonly toSpeed: number;
  readonly s: number;
}

/** Takes each reading of vehicle speed with the air mass of then. */
class Gains {
  readonly all: Gain[] = [];
  #window: { readonly tS: number; readonly speed: number; readonly maf: number }[] = [];
  #toldS = Number.NEGATIVE_INFINITY;

  step(tS: number, speed: number, maf: number | null): void {
    if (maf === null) {
      this.#window = [];
      return;
    }
    this.#window.push({ tS, speed, maf });
    while (this.#window.length > 1 && tS - this.#window[1]!.tS >= GAIN_S) this.#window.shift();
    const first = this.#window[0]!;
    const s = tS - first.tS;
    if (s < GAIN_S || s > 1.5 * GAIN_S || speed <= first.speed || tS - this.#toldS < GAIN_EVERY_S) return;
    this.#toldS = tS;
    const mean = this.#window.reduce((a, w) => a + w.maf, 0) / this.#window.length;
    this.all.push({ maf: mean, fromSpeed: first.speed, toSpeed: speed, s });
  }
}

/** @param secondsPerUnit what one second of the table's times really lasts: 0.001 when they are milliseconds */
export function traitsOf(table: SampleTable, secondsPerUnit: number): Traits {
  const counts = new Map<string, Map<number, number>>();
  const mapIdle: number[] = [];
  const mapOff: number[] = [];
  const mapRunning: number[] = [];
  const iatAmbient: [number, number][] = [];
  const iatEct: [number, number][] = [];
  const ect: [number, number][] = [];
  const gears: [number, number][] = [];
  const air: [number, number, number][] = [];
  const gains = new Gains();
  const latest = new Map<string, { tS: number; value: number }>();
  let offSinceS = Number.NaN;
  for (const { signal, tUs, value } of table) {
    if (signalDef(signal).endStops?.includes(value)) continue;
    const own = counts.get(signal) ?? new Map<number, number>();
    if (own.size === 0) counts.set(signal, own);
    if (own.size < 5000 || own.has(value)) own.set(value, (own.get(value) ?? 0) + 1);
    const tS = (tUs / 1e6) * secondsPerUnit;
    const fresh = (name: string, forS = FRESH_S): number | null => {
      const held = latest.get(name);
      return held && tS - held.tS <= forS ? held.value : null;
    };
    const rpm = signal === 'rpm' ? value : fresh('rpm');
    if (signal === 'rpm') {
      if (value !== 0) offSinceS = Number.NaN;
      else if (Number.isNaN(offSinceS)) offSinceS = tS;
    }
    const speed = signal === 'speed_kmh' ? value : fresh('speed_kmh');
    const runs = rpm === null ? speed !== null && speed > 0 : rpm > TURNS_RPM;
    const moves = runs && speed !== null && speed >= MOVES_FROM_KMH;
    if (signal === 'speed_kmh' && gains.all.length < MOST_READINGS) gains.step(tS, value, fresh('maf_gps'));
    const full = Math.max(own.size, gears.length, mapRunning.length, ect.length) >= MOST_READINGS;
    if (full) {
      // what MOST readings do not show, more will not
    } else if (signal === 'map_kpa') {
      if (runs) mapRunning.push(value);
      if (tS - offSinceS >= OFF_S) mapOff.push(value);
      if (rpm !== null && rpm >= IDLING_RPM[0] && rpm <= IDLING_RPM[1] && speed === 0) mapIdle.push(value);
      const maf = fresh('maf_gps');
      if (maf !== null && rpm !== null && moves) air.push([maf, value, rpm]);
    } else if (signal === 'iat_c' && moves) {
      const ambient = fresh('ambient_c', FRESH_AIR_S);
      if (ambient !== null) iatAmbient.push([value, ambient]);
      const coolant = fresh('ect_c', FRESH_AIR_S);
      if (coolant !== null) iatEct.push([value, coolant]);
    } else if (signal === 'ect_c' && runs) ect.push([tS, value]);
    else if (signal === 'speed_kmh' && value >= GEAR_SPEED && rpm !== null && rpm >= GEAR_RPM)
      gears.push([value, rpm]);
    const held = latest.get(signal);
    if (held) {
      held.tS = tS;
      held.value = value;
    } else latest.set(signal, { tS, value });
  }
  return { counts, mapIdle, mapOff, mapRunning, iatAmbient, iatEct, ect, gears, air, gains: gains.all };
}
