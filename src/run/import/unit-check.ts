/**
 * Whether the values of a table can be in the units of their names. A signal that cannot be, while another unit fits
 * how the signals go together, is named with that unit; what neither spacing nor range decides is said as well.
 */

import { median } from 'simple-statistics';
import { saying } from '../../core/error-says.ts';
import type { Says } from '../../core/says.ts';
import { type SignalName, signalDef, type Unit } from '../../core/signals.ts';
import type { SampleTable } from '../../signal/table.ts';
import { type TimeTaken, timeDoubt } from './time-check.ts';
import { beats, type Convert, type Counts, onGrid, whole } from './unit-grid.ts';
import { AIR_KPA, against, mostOutside, swingKpa, weighted } from './unit-rules.ts';
import { type Traits, traitsOf } from './unit-traits.ts';
import { conversion, gaugeKpa } from './units.ts';

export interface UnitDoubt {
  /** Signal, or "time". */
  readonly of: string;
  /** The unit that was assumed. */
  readonly unit: string;
  /** Units that fit, the likeliest first; empty when none does. */
  readonly likely: readonly string[];
  readonly why: Says;
}

export interface UnitCheck {
  /** Cannot be as assumed. */
  readonly wrong: readonly UnitDoubt[];
  /** Can be as assumed, and otherwise as well. */
  readonly open: readonly UnitDoubt[];
}

/** Sea level, kPa (ISO 2533); good enough to tell gauge from absolute when the table has no barometric pressure. */
const SEA_LEVEL_KPA = 101.325;
/** What tables write instead of the catalogue's unit, the likeliest first. */
const OTHERS: Readonly<Record<string, readonly string[]>> = {
  degC: ['degF', 'K'],
  kPa: ['psi', 'kPa gauge', 'psi gauge', 'bar', 'bar gauge', 'hPa', 'inHg'],
  'km/h': ['mph', 'm/s'],
  '%': ['fraction'],
  rpm: ['1000 rpm', 'rev/s'],
  V: ['mV'],
  'g/s': ['lb/min', 'kg/s', 'kg/h'],
};
/** Signals that judging lives on; of the others the values cannot be told from good ones. */
const CHECKED: readonly SignalName[] = [
  'rpm',
  'speed_kmh',
  'ect_c',
  'baro_kpa',
  'map_kpa',
  'ambient_c',
  'iat_c',
  'oil_c',
  'maf_gps',
  'throttle_pct',
  'pedal_d_pct',
  'pedal_e_pct',
  'load_pct',
  'voltage_v',
  'boost_cmd_kpa',
  'boost_act_kpa',
];

/**
 * @param assumed signals whose unit nobody stated
 * @param timeTaken unit that the times were taken to be in without being stated; null: they were, or are dates
 */
export function checkUnits(
  table: SampleTable,
  assumed: ReadonlySet<string>,
  timeTaken: TimeTaken | null,
): UnitCheck {
  const time = timeTaken === null ? null : timeDoubt(table, timeTaken);
  const traits = traitsOf(table, time?.seconds ?? 1);
  const wrong: UnitDoubt[] = time
    ? [{ of: 'time', unit: time.unit, likely: time.likely, why: time.why }]
    : [];
  const open: UnitDoubt[] = [];
  // What was found wrong is read as it is likely meant when the next signal is held against it.
  const meant = new Map<SignalName, Convert>();
  for (const signal of CHECKED) {
    if (!assumed.has(signal)) continue;
    const doubt = doubtOf(signal, traits, meant, assumed);
    if (!doubt) continue;
    (doubt.open ? open : wrong).push(doubt);
    if (!doubt.open && doubt.likely[0] !== undefined)
      meant.set(signal, toOwn(doubt.likely[0], signal, traits));
  }
  // A table that shows one signal to be in the usual unit has the others of the kind in it too.
  const shown = new Set([...assumed].filter((s) => isShown(s, traits)).map((s) => signalDef(s).unit));
  return { wrong, open: wrong.length > 0 ? [] : open.filter((o) => !shown.has(o.unit as Unit)) };
}

/** So many whole numbers in the catalogue's unit are no accident of another one (common practice, no source). */
const ENOUGH_STEPS = 16;

/** Nothing speaks against the usual unit, and its spacing speaks for it. */
function isShown(signal: string, t: Traits): boolean {
  const counts = t.counts.get(signal);
  return STEPPED.has(signal) && counts !== undefined && counts.size >= ENOUGH_STEPS && whole(counts);
}

const same: Convert = (v) => v;

function doubtOf(
  signal: SignalName,
  t: Traits,
  meant: ReadonlyMap<SignalName, Convert>,
  assumed: ReadonlySet<string>,
): (UnitDoubt & { readonly open: boolean }) | null {
  const counts = t.counts.get(signal);
  // A reading that never changes is a matter of the sensor, and judged as such; but the air does not change.
  if (!counts || (counts.size < 2 && !STEADY.has(signal))) return null;
  const { unit } = signalDef(signal);
  const others = OTHERS[unit] ?? [];
  const as = (changed: Partial<Record<SignalName, Convert>>) =>
    against(signal, t, (name) => changed[name] ?? meant.get(name) ?? same);
  const why = as({});
  const fits = others.filter((other) => as({ [signal]: toOwn(other, signal, t) }) === null);
  const found = (likely: readonly string[], reason: Says, open = false) => ({
    of: signal,
    unit,
    likely: signal === 'map_kpa' ? bySwing(likely, t) : likely,
    why: reason,
    open,
  });
  const spaced = fits.filter((other) => inStepsOf(other, signal, counts, t));
  if (spaced.length > 0) return found(spaced, why ?? saying('unit.steps', { unit: spaced[0]! }));
  if (why !== null) {
    if (fits.length > 0) return found(fits, why);
    const partner = PARTNER[signal];
    if (partner && assumed.has(partner) && !meant.has(partner)) {
      // Either of two signals that do not go together may be the wrong one; if not one, then both.
      const mended = (own: string | null, other: string) =>
        as({
          [partner]: toOwn(other, partner, t),
          ...(own === null ? {} : { [signal]: toOwn(own, signal, t) }),
        }) === null;
      if (others.some((other) => mended(null, other))) return null;
      const both = others.filter((other) => mended(other, other));
      if (both.length > 0) return found(both, why);
    }
    return mostOutside(signal, counts, same) === null ? null : found([], why);
  }
  if (readings(counts) < WORTH_READINGS) return null;
  const left = isShown(signal, t) ? [] : fits.filter((other) => USUAL.has(other));
  return left.length > 0 ? found(left, saying('unit.both'), true) : null;
}

/** Of fewer readings nothing is judged, and their unit is not worth a remark. */
const WORTH_READINGS = 30;
const readings = (counts: Counts): number => [...counts.values()].reduce((sum, n) => sum + n, 0);

const PARTNER: Partial<Record<SignalName, SignalName>> = { ambient_c: 'iat_c' };
const STEADY: ReadonlySet<string> = new Set<SignalName>(['baro_kpa', 'ambient_c']);
/** Worth a remark when nothing speaks against them. */
const USUAL: ReadonlySet<string> = new Set(['degF', 'mph', 'psi', 'kPa gauge', 'kg/h']);
/** Signals that come in whole steps of the catalogue's unit. */
const STEPPED: ReadonlySet<string> = new Set<SignalName>([
  'ect_c',
  'iat_c',
  'ambient_c',
  'oil_c',
  'map_kpa',
  'baro_kpa',
  'speed_kmh',
]);

function inStepsOf(other: string, signal: SignalName, counts: Counts, t: Traits): boolean {
  if (!STEPPED.has(signal) || other.endsWith('gauge')) return false;
  const convert = toOwn(other, signal, t);
  return onGrid(counts, convert) || (signal === 'speed_kmh' && beats(counts, convert(1)));
}

/** How far manifold pressure swings on most drives, kPa (20 to 130 on the open ones): orders units that all fit. */
const USUAL_SWING_KPA = 70;

function bySwing(units: readonly string[], t: Traits): readonly string[] {
  const off = (unit: string) => {
    const swing = swingKpa(t, toOwn(unit, 'map_kpa', t));
    return swing === null || swing === 0 ? 0 : Math.abs(Math.log(swing / USUAL_SWING_KPA));
  };
  return units.toSorted((a, b) => off(a) - off(b));
}

/** From the unit that may be meant to the catalogue's. */
function toOwn(other: string, signal: SignalName, t: Traits): Convert {
  const plain = conversion(other, signalDef(signal).unit);
  if (typeof plain === 'function') return plain;
  const gauge = gaugeKpa(other);
  if (gauge === null) throw new Error(`no conversion from ${other}`);
  const air = airKpa(t);
  return (v) => gauge(v) + air;
}

function airKpa(t: Traits): number {
  const baro = weighted(t.counts.get('baro_kpa') ?? new Map());
  const mean = baro.length === 0 ? SEA_LEVEL_KPA : median(baro);
  return mean >= AIR_KPA[0] && mean <= AIR_KPA[1] ? mean : SEA_LEVEL_KPA;
}
