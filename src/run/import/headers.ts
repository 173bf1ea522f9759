/** Which column is which: header texts matched to catalogue signals by name, label or the trade's usual words. */

import { saying } from '../../core/error-says.ts';
import type { Says } from '../../core/says.ts';
import { SIGNALS, type SignalName, signalDef } from '../../core/signals.ts';
import { conversion, isTimeUnit, isUnit } from './units.ts';

/** Generic words of the trade; the catalogue's names and labels are added by the lookup below. */
const WORDS: Readonly<Record<string, SignalName>> = {
  ect: 'ect_c',
  coolant: 'ect_c',
  'coolant temp': 'ect_c',
  'engine coolant temp': 'ect_c',
  'engine coolant temperature': 'ect_c',
  'water temp': 'ect_c',
  'water temperature': 'ect_c',
  map: 'map_kpa',
  'manifold pressure': 'map_kpa',
  'intake manifold pressure': 'map_kpa',
  'intake manifold absolute pressure': 'map_kpa',
  baro: 'baro_kpa',
  barometer: 'baro_kpa',
  'absolute barometric pressure': 'baro_kpa',
  'atmospheric pressure': 'baro_kpa',
  'ambient pressure': 'baro_kpa',
  'engine rpm': 'rpm',
  revs: 'rpm',
  speed: 'speed_kmh',
  'road speed': 'speed_kmh',
  vss: 'speed_kmh',
  'vehicle speed sensor': 'speed_kmh',
  load: 'load_pct',
  'engine load': 'load_pct',
  'calculated engine load': 'load_pct',
  'calculated load value': 'load_pct',
  'absolute load value': 'abs_load_pct',
  'abs load': 'abs_load_pct',
  iat: 'iat_c',
  'intake temp': 'iat_c',
  'intake air temp': 'iat_c',
  'charge air temperature': 'iat_c',
  maf: 'maf_gps',
  'air mass': 'maf_gps',
  'mass air flow': 'maf_gps',
  'mass air flow rate': 'maf_gps',
  'air flow rate': 'maf_gps',
  throttle: 'throttle_pct',
  tps: 'throttle_pct',
  'throttle pos': 'throttle_pct',
  'absolute throttle position': 'throttle_pct',
  'rel throttle': 'rel_throttle_pct',
  'cmd throttle': 'cmd_throttle_pct',
  'commanded throttle actuator': 'cmd_throttle_pct',
  pedal: 'pedal_d_pct',
  'pedal position': 'pedal_d_pct',
  'accelerator pedal': 'pedal_d_pct',
  'accelerator pedal position': 'pedal_d_pct',
  'accelerator pedal position d': 'pedal_d_pct',
  'accelerator position': 'pedal_d_pct',
  'pedal d': 'pedal_d_pct',
  'accelerator pedal position e': 'pedal_e_pct',
  'pedal e': 'pedal_e_pct',
  ambient: 'ambient_c',
  'ambient temp': 'ambient_c',
  'ambient air temperature': 'ambient_c',
  'outside temperature': 'ambient_c',
  oil: 'oil_c',
  'oil temp': 'oil_c',
  'engine oil temperature': 'oil_c',
  voltage: 'voltage_v',
  'battery voltage': 'voltage_v',
  'system voltage': 'voltage_v',
  'control module voltage': 'voltage_v',
  'commanded boost': 'boost_cmd_kpa',
  'boost cmd': 'boost_cmd_kpa',
  'boost act': 'boost_act_kpa',
  'comp inlet': 'comp_inlet_kpa',
  timing: 'timing_deg',
  'timing advance': 'timing_deg',
  'ignition advance': 'timing_deg',
  'spark advance': 'timing_deg',
  stft1: 'stft1_pct',
  'short term fuel trim': 'stft1_pct',
  'short term fuel trim bank 1': 'stft1_pct',
  ltft1: 'ltft1_pct',
  'long term fuel trim': 'ltft1_pct',
  'long term fuel trim bank 1': 'ltft1_pct',
  'lambda cmd': 'lambda_cmd',
  'commanded equivalence ratio': 'lambda_cmd',
  'torque ref': 'torque_ref_nm',
  'run time': 'run_time_s',
  'run time since engine start': 'run_time_s',
};

const TIME_WORDS = new Set([
  't',
  'time',
  'timestamp',
  'time stamp',
  'elapsed',
  'elapsed time',
  'relative time',
  'seconds',
  'datetime',
  'date time',
  'utc',
]);

/** What a header says. `convert` takes a cell's number to the catalogue unit; null where nothing is to do. */
export type Meaning =
  | { readonly is: 'time'; readonly unit: string | null }
  | {
      readonly is: 'signal';
      readonly signal: string;
      readonly convert: ((value: number) => number) | null;
      /** The table itself says the unit; else the values are in the unit of the name or they mislead. */
      readonly stated: boolean;
      /** An assumption worth telling, or null. */
      readonly remark: Says | null;
    }
  | { readonly is: 'unknown'; readonly why: Says };

const words = (text: string): string =>
  text
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, ' ')
    .trim();

const LOOKUP = new Map<string, string>();
for (const [word, signal] of Object.entries(WORDS)) LOOKUP.set(word, signal);
for (const [name, def] of Object.entries(SIGNALS)) {
  LOOKUP.set(words(name), name);
  if (!LOOKUP.has(words(def.label))) LOOKUP.set(words(def.label), name);
}

const SIGNAL_PATTERN = /^[a-z][a-z0-9_]{0,39}$/;

/** Names that a table in long form may bring along although the catalogue does not know them. */
export function isSignalName(text: string): boolean {
  return SIGNAL_PATTERN.test(text);
}

/** The signals that judging lives on, for messages; docs/signals.md lists all. */
export const USUAL_SIGNALS = [...new Set(Object.values(WORDS))].join(' ');

export function isKnownSignal(name: string): boolean {
  return Object.hasOwn(SIGNALS, name);
}

/** A signal fixed by the caller; the unit still comes from the header's brackets. */
export function mappedMeaning(header: string, signal: string): Meaning {
  const { unit } = splitBrackets(header);
  return withUnit(signal, unit ?? trailingUnit(header)?.unit ?? null);
}

/** A time column fixed by the caller; the unit still comes from the header. */
export function timeMeaning(header: string): Meaning {
  const unit = splitBrackets(header).unit ?? trailingUnit(header)?.unit ?? null;
  return { is: 'time', unit: unit !== null && isTimeUnit(unit) ? unit : null };
}

export function headerMeaning(header: string): Meaning {
  const text = header.trim();
  if (text === '') return { is: 'unknown', why: saying('column.none') };
  const { name, unit } = splitBrackets(text);
  const direct = named(name, unit);
  if (direct) return direct;
  const trailing = unit === null ? trailingUnit(name) : null;
  const split = trailing && named(trailing.name, trailing.unit);
  return split || { is: 'unknown', why: saying('column.not-known') };
}

function named(name: string, unit: string | null): Meaning | null {
  const key = words(name);
  if (TIME_WORDS.has(key)) {
    if (key === 'seconds') return { is: 'time', unit: 's' };
    if (unit === null || isTimeUnit(unit)) return { is: 'time', unit };
    return { is: 'time', unit: null };
  }
  const signal = LOOKUP.get(key);
  return signal === undefined ? null : withUnit(signal, unit);
}

function withUnit(signal: string, unit: string | null): Meaning {
  const own = signalDef(signal).unit;
  if (unit === null) return { is: 'signal', signal, convert: null, stated: false, remark: null };
  if (!isUnit(unit))
    return {
      is: 'signal',
      signal,
      convert: null,
      stated: false,
      remark: saying('column.unit', { unit, own }),
    };
  const convert = isKnownSignal(signal) ? conversion(unit, own) : 'same';
  if (convert === null) return { is: 'unknown', why: saying('column.not-from', { unit, own }) };
  return { is: 'signal', signal, convert: convert === 'same' ? null : convert, stated: true, remark: null };
}

function splitBrackets(header: string): { name: string; unit: string | null } {
  const m = /^([^[({]*)[[({]([^\])}]*)[\])}]\s*$/.exec(header.trim());
  return m ? { name: m[1]!, unit: m[2]!.trim() } : { name: header, unit: null };
}

/** "speed_mph", "Coolant temperature °F", "Engine speed, 1/min": the longest ending that is a unit. */
function trailingUnit(text: string): { name: string; unit: string } | null {
  const separator = /[\s_,;:/-]+/g;
  for (let m = separator.exec(text); m; m = separator.exec(text)) {
    const unit = text.slice(m.index + m[0].length);
    if (m.index > 0 && unit !== '' && isUnit(unit)) return { name: text.slice(0, m.index), unit };
  }
  return null;
}
