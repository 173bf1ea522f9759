/** How signals must fit each other and the world, whatever the car: the reasons against a unit. */

import { median, quantile } from 'simple-statistics';
import { saying } from '../../core/error-says.ts';
import type { Says } from '../../core/says.ts';
import { type SignalName, signalDef } from '../../core/signals.ts';
import type { Convert, Counts } from './unit-grid.ts';
import type { Traits } from './unit-traits.ts';

/** From the values as they stand to the catalogue's unit, of any signal. */
export type UnitReading = (signal: SignalName) => Convert;

/** Air pressure from the highest roads to the highest weather (common practice, no source). */
export const AIR_KPA: readonly [number, number] = [55, 110];

/** Why a signal's values cannot be what `reading` makes of them; null when they can. */
export function against(signal: SignalName, t: Traits, reading: UnitReading): Says | null {
  const own = reading(signal);
  const counts = t.counts.get(signal)!;
  if (signal === 'ect_c')
    return coolant(t.ect.map(([tS, v]) => [tS, own(v)])) ?? mostOutside(signal, counts, own, [-39, Infinity]);
  const range = mostOutside(signal, counts, own);
  if (range !== null) return range;
  switch (signal) {
    case 'map_kpa':
      return manifold(t, own);
    case 'ambient_c':
      return outsideAir(t, own, reading('iat_c'));
    case 'iat_c':
      return intakeAir(t, own, reading('ambient_c'), reading('ect_c'));
    case 'speed_kmh':
      return gearing(t, own);
    case 'rpm':
      return engineSpeed(t, own);
    case 'throttle_pct':
    case 'pedal_d_pct':
    case 'pedal_e_pct':
    case 'load_pct':
      return share(signal, t, own);
    case 'maf_gps':
      return displacement(t, own, reading('map_kpa')) ?? hauling(t, own, reading('speed_kmh'));
    default:
      return null;
  }
}

export function mostOutside(
  signal: SignalName,
  counts: Counts,
  own: Convert,
  [low, high]: readonly [number, number] = signalDef(signal).plausible,
): Says | null {
  let all = 0;
  let outside = 0;
  for (const [value, n] of counts) {
    const v = own(value);
    all += n;
    if (!(v >= low && v <= high)) outside += n;
  }
  return outside > all / 2
    ? Number.isFinite(high)
      ? saying('unit.outside', { part: outside / all, low, high, unit: signalDef(signal).unit })
      : saying('unit.outside-low', { part: outside / all, low, unit: signalDef(signal).unit })
    : null;
}

/** Above this no coolant stays (common practice, no source); a drive in °F stays there once it is at 60 °C. */
const BOILING_C = 140;
const BOILED_S = 30;
/** Sound coolant spends its time here, and a climb to boiling begins here; in °F a warm-up passes it in minutes. */
const WORKING_C: readonly [number, number] = [75, 115];
/** Settled coolant in °F keeps within twenty units most of its time; a runaway climb, put in or real, does not. */
const PLATEAU_UNITS = 20;
const PLATEAU_SHARE = 0.6;
const ECT_HOLE_S = 30;

/** A fault may drive coolant beyond 140 °C, but it worked longer below, and it does not settle there. */
function coolant(ect: readonly (readonly [number, number])[]): Says | null {
  let workingS = 0;
  let hotS = 0;
  let lastS = Number.NaN;
  const hot: number[] = [];
  for (const [tS, v] of ect) {
    const dtS = tS - lastS <= ECT_HOLE_S ? tS - lastS : 0;
    lastS = tS;
    if (v > BOILING_C) {
      hotS += dtS;
      hot.push(v);
    } else if (v >= WORKING_C[0] && v <= WORKING_C[1]) workingS += dtS;
  }
  if (hotS < BOILED_S || hotS <= workingS) return null;
  if (densest(hot, PLATEAU_UNITS) < PLATEAU_SHARE * hot.length) return null;
  return saying('unit.boiling', { min: Math.max(1, hotS / 60), limitC: BOILING_C });
}

/** Most of the values that lie within a width of each other. */
function densest(values: readonly number[], width: number): number {
  const sorted = values.toSorted((a, b) => a - b);
  let most = 0;
  for (let from = 0, to = 0; from < sorted.length; from++) {
    while (to < sorted.length && sorted[to]! <= sorted[from]! + width) to++;
    most = Math.max(most, to - from);
  }
  return most;
}

const same: Convert = (v) => v;

/** Any engine's idle, from a strong vacuum to a charged engine at sea level (common practice, no source). */
const IDLE_KPA: readonly [number, number] = [16.5, 118];
/** Half of all readings of a running engine below this (common practice, no source), or a few below LEAST_MAP_KPA. */
const RUNNING_KPA = 20;
const LEAST_MAP_KPA = 10;
const LEAST_SHARE = 0.03;
const FEWEST_READINGS = 10;

function manifold(t: Traits, own: Convert): Says | null {
  const idle = middle(t.mapIdle, own);
  if (idle !== null && (idle < IDLE_KPA[0] || idle > IDLE_KPA[1]))
    return saying('unit.idling', { kpa: idle });
  const off = middle(t.mapOff, own);
  if (off !== null && (off < AIR_KPA[0] || off > AIR_KPA[1]))
    return saying('unit.standing', { kpa: off, lowKpa: AIR_KPA[0], highKpa: AIR_KPA[1] });
  const running = middle(t.mapRunning, own);
  if (running !== null && idle === null && off === null && running < RUNNING_KPA)
    return saying('unit.running', { kpa: running });
  const low = t.mapRunning.filter((v) => own(v) < LEAST_MAP_KPA).length;
  if (running !== null && low > LEAST_SHARE * t.mapRunning.length)
    return saying('unit.running-low', { part: low / t.mapRunning.length, kpa: LEAST_MAP_KPA });
  return null;
}

/** Warmer outside air has not been measured (57 °C; from memory). */
const HOTTEST_AIR_C = 50;
/** Moving, intake air is warmer than outside air by −12 to 24 °C on the open trips (medians 1 to 10). */
const ABOVE_AIR_C: readonly [number, number] = [-15, 45];
/** Moving, intake air is colder than warm coolant by 33 °C or more on all open drives (medians). */
const BELOW_COOLANT_C = 0;
const WARM_COOLANT_C = 70;

function outsideAir(t: Traits, own: Convert, intake: Convert): Says | null {
  const air = middle(weighted(t.counts.get('ambient_c')!), own);
  if (air !== null && air > HOTTEST_AIR_C) return saying('unit.air-hot', { airC: air });
  return aboveAir(t.iatAmbient.map(([iat, ambient]) => intake(iat) - own(ambient)));
}

function intakeAir(t: Traits, own: Convert, ambientAir: Convert, coolantOf: Convert): Says | null {
  const air = aboveAir(t.iatAmbient.map(([iat, ambient]) => own(iat) - ambientAir(ambient)));
  if (air !== null) return air;
  const warm = t.iatEct
    .map(([iat, ect]) => [own(iat), coolantOf(ect)] as const)
    .filter(([, c]) => c >= WARM_COOLANT_C);
  const above = middle(
    warm.map(([iat, ect]) => iat - ect),
    same,
  );
  return above !== null && above > BELOW_COOLANT_C ? saying('unit.above-coolant', { byC: above }) : null;
}

function aboveAir(differences: readonly number[]): Says | null {
  const above = middle(differences, same);
  if (above === null || (above >= ABOVE_AIR_C[0] && above <= ABOVE_AIR_C[1])) return null;
  return saying(above > 0 ? 'unit.warmer' : 'unit.colder', { byC: Math.abs(above) });
}

/** Lowest gear of a car: 6 to 10 km/h at 1000 rpm; highest below 75 (common practice, no source). */
const LOWEST_GEAR_KMH = 5.6;
const HIGHEST_GEAR_KMH = 75;
const GEAR_WIDTH = 0.03;
const GEAR_SHARE = 0.01;
const GEAR_SPREAD = 1.25;

/** Speeds that follow the engine over a range of its speeds are a gear; none is that short, none that long. */
function gearing({ gears }: Traits, own: Convert): Says | null {
  const ratios = gears
    .map(([speed, rpm]) => [(own(speed) / rpm) * 1000, rpm] as const)
    .sort((a, b) => a[0] - b[0]);
  if (ratios.length < 3 * FEWEST_READINGS) return null;
  const gear = lowestGear(ratios);
  if (gear !== null && gear < LOWEST_GEAR_KMH) return saying('unit.low-gear', { kmh: gear, rpm: 1000 });
  const top = quantile(
    ratios.map(([r]) => r),
    0.95,
  );
  return top > HIGHEST_GEAR_KMH ? saying('unit.high-gear', { kmh: top, rpm: 1000 }) : null;
}

function lowestGear(ratios: readonly (readonly [ratio: number, rpm: number])[]): number | null {
  const least = Math.max(FEWEST_READINGS, GEAR_SHARE * ratios.length);
  for (let from = 0, to = 0; from < ratios.length; from++) {
    const [ratio] = ratios[from]!;
    while (to < ratios.length && ratios[to]![0] <= ratio * (1 + 2 * GEAR_WIDTH)) to++;
    if (to - from < least) continue;
    const rpms = ratios.slice(from, to).map(([, rpm]) => rpm);
    if (quantile(rpms, 0.9) > GEAR_SPREAD * quantile(rpms, 0.1)) return ratio * (1 + GEAR_WIDTH);
  }
  return null;
}

/** No road engine runs slower or faster through a drive (common practice, no source). */
const ENGINE_RPM: readonly [number, number] = [450, 8000];

function engineSpeed(t: Traits, own: Convert): Says | null {
  const turning = weighted(t.counts.get('rpm')!)
    .map(own)
    .filter((v) => v > 0);
  const mid = middle(turning, same);
  if (mid === null || (mid >= ENGINE_RPM[0] && mid <= ENGINE_RPM[1])) return null;
  return saying('unit.turning', { rpm: mid });
}

/** A pedal or load that never passes one per cent over many different readings is a share of one. */
function share(signal: SignalName, t: Traits, own: Convert): Says | null {
  const counts = t.counts.get(signal)!;
  const most = Math.max(...[...counts.keys()].map(own));
  return counts.size >= FEWEST_READINGS && most <= 1 ? saying('unit.never-passes', { most }) : null;
}

/** Swept volume times filling that the air mass means, litres; from a small to a very large car (common practice, no source). */
const VOLUME_L: readonly [number, number] = [0.4, 8];
/** Gas constant of dry air, kPa·m³/(kg·K); at an intake of 300 K. */
const R_AIR = 0.287;
const INTAKE_K = 300;

function displacement(t: Traits, own: Convert, pressure: Convert): Says | null {
  // Two turns an intake: n/120 fillings a second.
  const volumes = t.air.map(([maf, map, rpm]) => (own(maf) * 120 * R_AIR * INTAKE_K) / (pressure(map) * rpm));
  const litres = middle(volumes, same);
  if (litres === null || (litres >= VOLUME_L[0] && litres <= VOLUME_L[1])) return null;
  return saying('unit.litres', { litres });
}

/**
 * Power at the wheels that a gram of air a second makes, W: 43 kJ in a gram of fuel, twenty times as much air, 40 % of it on the
 * crankshaft, nine tenths of that at the wheels (common practice, no source; petrol comes out alike). Rolling takes 1.2 % of the
 * weight, air 0.39 v³ (0.65 m² of drag area).
 */
const WHEEL_W_PER_GPS = 750;
const ROLLING_MPS2 = 0.012 * 9.80665;
const DRAG_KG_PER_M = 0.39;
/** Faster than this, and gaining this much, the engine's power goes into the vehicle (common practice, no source). */
const GAINING_MPS = 8;
const GAINING_MPS2 = 0.8;
/** Passenger cars and vans weigh up to 3.5 t; with what a hill or a trailer adds (common practice, no source). */
const HEAVIEST_KG = 4500;

/** What the air would have to have sped up: a vehicle that is too heavy got its air in a smaller unit. */
function hauling({ gains }: Traits, own: Convert, speed: Convert): Says | null {
  const masses = gains.flatMap(({ maf, fromSpeed, toSpeed, s }) => {
    const [from, to] = [speed(fromSpeed) / 3.6, speed(toSpeed) / 3.6];
    const mps = (from + to) / 2;
    const mps2 = (to - from) / s;
    if (mps < GAINING_MPS || mps2 < GAINING_MPS2) return [];
    return [(WHEEL_W_PER_GPS * own(maf) - DRAG_KG_PER_M * mps ** 3) / (mps * (mps2 + ROLLING_MPS2))];
  });
  const kg = middle(masses, same);
  return kg === null || kg <= HEAVIEST_KG ? null : saying('unit.hauls', { tonnes: kg / 1000 });
}

function middle(values: readonly number[], own: Convert): number | null {
  return values.length < FEWEST_READINGS ? null : own(median([...values]));
}

/** Range of readings of a running engine's manifold pressure, kPa: nine in ten of them; null when there are too few. */
export function swingKpa(t: Traits, own: Convert): number | null {
  if (t.mapRunning.length < FEWEST_READINGS) return null;
  const sorted = quantile([...t.mapRunning], [0.05, 0.95]);
  return Math.abs(own(sorted[1]!) - own(sorted[0]!));
}

/** Up to a thousand values that are spread as the counted ones. */
export function weighted(counts: Counts): number[] {
  let total = 0;
  for (const n of counts.values()) total += n;
  const out: number[] = [];
  for (const [value, n] of counts)
    for (let k = Math.max(1, Math.round((1000 * n) / total)); k > 0; k--) out.push(value);
  return out;
}
