/** Which column is which: header texts matched to catalogue signals by name, label or the trade's usual words. */

import { saying } from '../../core/error-says.ts';
import type { Says } from '../../core/says.ts';
import { SIGNALS, type SignalName, signalDef } from '../../core/signals.ts';
import { conversion, isTimeUnit, isUnit } from './units.ts';

/** Generic words of the trade, English and German; the catalogue's names and labels are added by the lookup below. */
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
  kühlmittel: 'ect_c',
  kühlmitteltemp: 'ect_c',
  'kühlmittel temp': 'ect_c',
  kühlmitteltemperatur: 'ect_c',
  motorkühlmitteltemperatur: 'ect_c',
  kühlwassertemperatur: 'ect_c',
  wassertemperatur: 'ect_c',
  saugrohrdruck: 'map_kpa',
  'saugrohrdruck absolut': 'map_kpa',
  saugrohrabsolutdruck: 'map_kpa',
  'absolutdruck saugrohr': 'map_kpa',
  luftdruck: 'baro_kpa',
  umgebungsdruck: 'baro_kpa',
  umgebungsluftdruck: 'baro_kpa',
  atmosphärendruck: 'baro_kpa',
  'barometrischer druck': 'baro_kpa',
  drehzahl: 'rpm',
  motordrehzahl: 'rpm',
  geschwindigkeit: 'speed_kmh',
  fahrgeschwindigkeit: 'speed_kmh',
  fahrzeuggeschwindigkeit: 'speed_kmh',
  motorlast: 'load_pct',
  'berechnete last': 'load_pct',
  'berechnete motorlast': 'load_pct',
  'absolute last': 'abs_load_pct',
  ansaugtemperatur: 'iat_c',
  ansauglufttemp: 'iat_c',
  ansauglufttemperatur: 'iat_c',
  luftmasse: 'maf_gps',
  luftmassenstrom: 'maf_gps',
  luftmassendurchsatz: 'maf_gps',
  drosselklappe: 'throttle_pct',
  drosselklappenstellung: 'throttle_pct',
  drosselklappenposition: 'throttle_pct',
  'drosselklappe relativ': 'rel_throttle_pct',
  'drosselklappe sollwert': 'cmd_throttle_pct',
  'drosselklappe soll': 'cmd_throttle_pct',
  fahrpedal: 'pedal_d_pct',
  fahrpedalstellung: 'pedal_d_pct',
  gaspedal: 'pedal_d_pct',
  gaspedalstellung: 'pedal_d_pct',
  pedalstellung: 'pedal_d_pct',
  'fahrpedal d': 'pedal_d_pct',
  'fahrpedal e': 'pedal_e_pct',
  außentemperatur: 'ambient_c',
  außenlufttemperatur: 'ambient_c',
  umgebungstemperatur: 'ambient_c',
  umgebungslufttemperatur: 'ambient_c',
  öltemperatur: 'oil_c',
  motoröltemperatur: 'oil_c',
  spannung: 'voltage_v',
  batteriespannung: 'voltage_v',
  bordspannung: 'voltage_v',
  bordnetzspannung: 'voltage_v',
  'ladedruck soll': 'boost_cmd_kpa',
  'ladedruck sollwert': 'boost_cmd_kpa',
  ladedrucksollwert: 'boost_cmd_kpa',
  sollladedruck: 'boost_cmd_kpa',
  'ladedruck ist': 'boost_act_kpa',
  'ladedruck istwert': 'boost_act_kpa',
  ladedruckistwert: 'boost_act_kpa',
  istladedruck: 'boost_act_kpa',
  'ladedruck gemessen': 'boost_act_kpa',
  'druck vor dem verdichter': 'comp_inlet_kpa',
  zündwinkel: 'timing_deg',
  zündzeitpunkt: 'timing_deg',
  'kurzzeit gemischkorrektur': 'stft1_pct',
  'langzeit gemischkorrektur': 'ltft1_pct',
  'lambda sollwert': 'lambda_cmd',
  'lambda soll': 'lambda_cmd',
  motormoment: 'torque_pct',
  bezugsmoment: 'torque_ref_nm',
  'zeit seit dem motorstart': 'run_time_s',
  'zeit seit motorstart': 'run_time_s',
  motorlaufzeit: 'run_time_s',
  'geschwindigkeit über grund': 'gnss_speed_kmh',
  'höhe über dem meer': 'gnss_height_m',
  'kurs über grund': 'gnss_course_deg',
};

/** Words that mean one of several signals: which, the caller has to say. */
const EITHER: Readonly<Record<string, readonly SignalName[]>> = {
  boost: ['map_kpa', 'boost_act_kpa'],
  'boost pressure': ['map_kpa', 'boost_act_kpa'],
  'charge pressure': ['map_kpa', 'boost_act_kpa'],
  ladedruck: ['map_kpa', 'boost_act_kpa'],
  'air temp': ['iat_c', 'ambient_c'],
  'air temperature': ['iat_c', 'ambient_c'],
  lufttemperatur: ['iat_c', 'ambient_c'],
  'engine temp': ['ect_c', 'oil_c'],
  'engine temperature': ['ect_c', 'oil_c'],
  motortemperatur: ['ect_c', 'oil_c'],
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
  'zeit',
  'zeitstempel',
  'uhrzeit',
  'messzeit',
  'relative zeit',
  'sekunden',
  'datum uhrzeit',
  'datum und uhrzeit',
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

const SPELT_OUT: Readonly<Record<string, string>> = { ä: 'ae', ö: 'oe', ü: 'ue', ß: 'ss' };

/** Letters and digits, umlauts spelt out: "Kühlmitteltemp. in" and "KUEHLMITTELTEMP" are one. */
const words = (text: string): string =>
  text
    .normalize('NFC')
    .toLowerCase()
    .replace(/[äöüß]/g, (letter) => SPELT_OUT[letter]!)
    .replace(/[^\p{L}\p{N}]+/gu, ' ')
    .replace(/(?<=.) in *$/, '')
    .trim();

const LOOKUP = new Map<string, string>();
for (const [word, signal] of Object.entries(WORDS)) LOOKUP.set(words(word), signal);
const AMBIGUOUS = new Map(Object.entries(EITHER).map(([word, signals]) => [words(word), signals]));
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
  // "Throttle (relative)": what stands in brackets belongs to the name where the whole is one.
  const whole = unit === null || isUnit(unit) ? null : named(text, null);
  if (whole) return whole;
  const direct = named(name, unit);
  if (direct) return direct;
  const trailing = unit === null ? trailingUnit(name) : null;
  const split = trailing && named(trailing.name, trailing.unit);
  return split || { is: 'unknown', why: saying('column.not-known') };
}

function named(name: string, unit: string | null): Meaning | null {
  const key = words(name);
  if (TIME_WORDS.has(key)) {
    if (key === 'seconds' || key === 'sekunden') return { is: 'time', unit: 's' };
    if (unit === null || isTimeUnit(unit)) return { is: 'time', unit };
    return { is: 'time', unit: null };
  }
  const signal = LOOKUP.get(key);
  if (signal !== undefined) return withUnit(signal, unit);
  const either = AMBIGUOUS.get(key);
  return either ? { is: 'unknown', why: saying('column.either', { which: either.join(', ') }) } : null;
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
  const m = /^(.*?)[[({]([^[\](){}]*)[\])}]\s*$/.exec(header.trim());
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
