/** How numbers, times and names are written on the page. */
import type { Unit } from '../src/core/signals.ts';

const UNIT_TEXT: Partial<Record<Unit, string>> = { degC: '°C', deg: '°', '1': '', count: '' };
const DIGITS: Partial<Record<Unit, number>> = { V: 1, 'g/s': 1, 'L/h': 1, '1': 2 };

/** "−41 kPa": true minus sign, no more digits than the sensor gives. */
export function withUnit(value: number, unit: Unit): string {
  const text = UNIT_TEXT[unit] ?? unit;
  return `${number(value, DIGITS[unit] ?? 0)}${text === '' ? '' : `\u00a0${text}`}`;
}

export function number(value: number, digits = 0): string {
  const text = value.toFixed(digits);
  return (Number(text) === 0 ? text.replace('-', '') : text).replace('-', '−');
}

/** "12:41", "1:02:03". */
export function clockOf(seconds: number): string {
  const s = Math.max(0, Math.floor(seconds));
  const two = (n: number) => String(n).padStart(2, '0');
  const h = Math.floor(s / 3600);
  const m = Math.floor(s / 60) % 60;
  return h > 0 ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`;
}

/** "5 s", "3 min", "2 h": an age in one figure. */
export function ageOf(seconds: number): string {
  if (seconds < 90) return `${Math.round(seconds)} s`;
  return seconds < 5400 ? `${Math.round(seconds / 60)} min` : `${Math.round(seconds / 3600)} h`;
}

export function dateOf(iso: string): string {
  const date = new Date(iso);
  return Number.isNaN(date.getTime())
    ? iso
    : date.toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'short' });
}

const SUFFIX_UNIT: Record<string, string> = {
  c: '°C',
  kpa: 'kPa',
  pa: 'Pa',
  pct: '%',
  v: 'V',
  gps: 'g/s',
  kmh: 'km/h',
  rpm: 'rpm',
  deg: '°',
  s: 's',
  nm: 'Nm',
};

/** The unit that a signal's name ends in. */
export const unitOfName = (name: string): string => SUFFIX_UNIT[name.split('_').at(-1)!] ?? '';

const FINDING_TITLE: Record<string, string> = {
  'boost.clutch-band': 'Boost in the clutch band',
  'boost.above-hand-over': 'Boost above the hand-over',
  'boost.clutch-open': 'No boost where the clutch should be open',
  'boost.intermittent': 'Boost at every engagement',
  'boost.low-speed': 'Boost at low engine speed',
  'boost.hand-over-dip': 'Boost through the hand-over',
  'boost.leak': 'Boost held on the pressure side',
  'boost.surplus': 'Boost not above the expected',
  'coolant.climb': 'Coolant stays settled',
  'coolant.jumps': 'Coolant without jumps',
  'coolant.warm-up': 'Coolant warms up',
  'coolant.too-cold': 'Coolant reaches its plateau',
  'charging.voltage': 'Charging voltage',
  'link.gaps': 'Link without gaps',
};

/** A heading for a finding; an id without one is spelt out. */
export function titleOf(id: string): string {
  const known = FINDING_TITLE[id];
  if (known) return known;
  const [system = '', ...rest] = id.split('.');
  if (system === 'sensor') return `Sensor of ${signalText(rest.join('.'))}`;
  return `${system.charAt(0).toUpperCase()}${system.slice(1)}: ${rest.join(' ').replaceAll(/[-_]/g, ' ')}`;
}

export const MARKS = [
  { key: 'N', text: 'Noise' },
  { key: 'S', text: 'Smell' },
  { key: 'H', text: 'Heater warm' },
  { key: 'V', text: 'Vibration' },
  { key: 'M', text: 'Look here' },
] as const;

const SIGNAL_TEXT: Record<string, string> = {
  ect_c: 'coolant temperature',
  map_kpa: 'manifold absolute pressure',
  baro_kpa: 'barometric pressure',
  rpm: 'engine speed',
  speed_kmh: 'vehicle speed',
  load_pct: 'calculated load',
  abs_load_pct: 'absolute load',
  iat_c: 'intake air temperature',
  maf_gps: 'air mass flow',
  throttle_pct: 'throttle position',
  rel_throttle_pct: 'relative throttle position',
  cmd_throttle_pct: 'commanded throttle',
  pedal_d_pct: 'accelerator pedal D',
  pedal_e_pct: 'accelerator pedal E',
  ambient_c: 'ambient temperature',
  oil_c: 'oil temperature',
  voltage_v: 'supply voltage',
  boost_cmd_kpa: 'commanded boost pressure',
  boost_act_kpa: 'measured boost pressure',
  comp_inlet_kpa: 'compressor inlet pressure',
  timing_deg: 'ignition timing',
  stft1_pct: 'short term fuel trim',
  ltft1_pct: 'long term fuel trim',
  lambda_cmd: 'commanded lambda',
  torque_pct: 'engine torque',
  torque_ref_nm: 'reference torque',
  run_time_s: 'time since engine start',
};

export const signalText = (name: string): string => SIGNAL_TEXT[name] ?? name;
