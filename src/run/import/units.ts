/** Units as tables write them, and their conversion to the catalogue's units. Exact factors where one exists. */
import type { Unit } from '../../core/signals.ts';

type Dimension =
  | 'temperature'
  | 'pressure'
  | 'gauge pressure'
  | 'speed'
  | 'mass flow'
  | 'time'
  | 'rotation'
  | 'share'
  | 'voltage'
  | 'current'
  | 'torque'
  | 'angle'
  | 'number'
  | 'length'
  | 'volume flow'
  | 'other';

/** In the dimension's base unit a value is (v + add) × mul ÷ div; kept apart so that 212 °F is exactly 100 °C. */
interface UnitDef {
  readonly of: Dimension;
  readonly add?: number;
  readonly mul?: number;
  readonly div?: number;
  /** In place of a factor; NaN where the text cannot mean that. */
  readonly toBase?: (v: number) => number;
}

/** Minutes, a dot and two digits of seconds: 3.07 is 187 s, and nothing has a fraction of .60 and more. */
function dottedS(v: number): number {
  const min = Math.floor(v);
  const s = Math.round((v - min) * 1e8) / 1e6;
  return s < 60 ? min * 60 + s : Number.NaN;
}

/** The catalogue's units. */
const OWN = {
  '1': { of: 'number' },
  '%': { of: 'share' },
  degC: { of: 'temperature' },
  kPa: { of: 'pressure' },
  Pa: { of: 'pressure', div: 1000 },
  rpm: { of: 'rotation' },
  'km/h': { of: 'speed' },
  'g/s': { of: 'mass flow' },
  'kg/h': { of: 'mass flow', mul: 5, div: 18 },
  deg: { of: 'angle' },
  V: { of: 'voltage' },
  mA: { of: 'current' },
  s: { of: 'time' },
  min: { of: 'time', mul: 60 },
  km: { of: 'length' },
  m: { of: 'length', div: 1000 },
  Nm: { of: 'torque' },
  'L/h': { of: 'volume flow' },
  'mg/stroke': { of: 'other' },
  ppm: { of: 'other' },
  'mg/m3': { of: 'other' },
  L: { of: 'other' },
  g: { of: 'other' },
  count: { of: 'number' },
} as const satisfies Record<Unit, UnitDef>;

/** Other spellings and units. Pound-force per square inch, pound, foot, mile, inch of mercury: ISO 80000, from memory. */
const SPELLINGS: Readonly<Record<string, UnitDef>> = {
  '': { of: 'number' },
  '-': { of: 'number' },
  lambda: { of: 'number' },
  λ: { of: 'number' },
  percent: { of: 'share' },
  pct: { of: 'share' },
  fraction: { of: 'share', mul: 100 },
  prozent: { of: 'share' },
  c: { of: 'temperature' },
  '°c': { of: 'temperature' },
  '℃': { of: 'temperature' },
  'deg c': { of: 'temperature' },
  celsius: { of: 'temperature' },
  'grad c': { of: 'temperature' },
  'grad celsius': { of: 'temperature' },
  f: { of: 'temperature', add: -32, mul: 5, div: 9 },
  '°f': { of: 'temperature', add: -32, mul: 5, div: 9 },
  '℉': { of: 'temperature', add: -32, mul: 5, div: 9 },
  degf: { of: 'temperature', add: -32, mul: 5, div: 9 },
  'deg f': { of: 'temperature', add: -32, mul: 5, div: 9 },
  fahrenheit: { of: 'temperature', add: -32, mul: 5, div: 9 },
  k: { of: 'temperature', add: -273.15 },
  kelvin: { of: 'temperature', add: -273.15 },
  bar: { of: 'pressure', mul: 100 },
  mbar: { of: 'pressure', div: 10 },
  hpa: { of: 'pressure', div: 10 },
  mpa: { of: 'pressure', mul: 1000 },
  psi: { of: 'pressure', mul: 6.894757293168 },
  psia: { of: 'pressure', mul: 6.894757293168 },
  'kpa abs': { of: 'pressure' },
  'kpa absolute': { of: 'pressure' },
  'bar abs': { of: 'pressure', mul: 100 },
  'bar absolute': { of: 'pressure', mul: 100 },
  'mbar abs': { of: 'pressure', div: 10 },
  'kpa absolut': { of: 'pressure' },
  'bar absolut': { of: 'pressure', mul: 100 },
  'mbar absolut': { of: 'pressure', div: 10 },
  'hpa absolut': { of: 'pressure', div: 10 },
  inhg: { of: 'pressure', mul: 3.386389 },
  'in hg': { of: 'pressure', mul: 3.386389 },
  mmhg: { of: 'pressure', mul: 0.133322387415 },
  // Gauge pressures become absolute only with the barometric pressure: gaugeKpa.
  psig: { of: 'gauge pressure', mul: 6.894757293168 },
  'psi gauge': { of: 'gauge pressure', mul: 6.894757293168 },
  'bar gauge': { of: 'gauge pressure', mul: 100 },
  'bar g': { of: 'gauge pressure', mul: 100 },
  barg: { of: 'gauge pressure', mul: 100 },
  'kpa gauge': { of: 'gauge pressure' },
  kpag: { of: 'gauge pressure' },
  'mbar gauge': { of: 'gauge pressure', div: 10 },
  'hpa gauge': { of: 'gauge pressure', div: 10 },
  'bar rel': { of: 'gauge pressure', mul: 100 },
  'bar relativ': { of: 'gauge pressure', mul: 100 },
  'mbar rel': { of: 'gauge pressure', div: 10 },
  'mbar relativ': { of: 'gauge pressure', div: 10 },
  'hpa relativ': { of: 'gauge pressure', div: 10 },
  'kpa relativ': { of: 'gauge pressure' },
  kph: { of: 'speed' },
  kmh: { of: 'speed' },
  kmph: { of: 'speed' },
  mph: { of: 'speed', mul: 1.609344 },
  'm/s': { of: 'speed', mul: 18, div: 5 },
  gps: { of: 'mass flow' },
  'g/sec': { of: 'mass flow' },
  'kg/s': { of: 'mass flow', mul: 1000 },
  'lb/min': { of: 'mass flow', mul: 453.59237, div: 60 },
  sec: { of: 'time' },
  secs: { of: 'time' },
  second: { of: 'time' },
  seconds: { of: 'time' },
  ms: { of: 'time', div: 1000 },
  msec: { of: 'time', div: 1000 },
  milliseconds: { of: 'time', div: 1000 },
  us: { of: 'time', div: 1_000_000 },
  µs: { of: 'time', div: 1_000_000 },
  μs: { of: 'time', div: 1_000_000 },
  microseconds: { of: 'time', div: 1_000_000 },
  ns: { of: 'time', div: 1_000_000_000 },
  sek: { of: 'time' },
  sekunden: { of: 'time' },
  millisekunden: { of: 'time', div: 1000 },
  minutes: { of: 'time', mul: 60 },
  minuten: { of: 'time', mul: 60 },
  stunden: { of: 'time', mul: 3600 },
  h: { of: 'time', mul: 3600 },
  hours: { of: 'time', mul: 3600 },
  'm.ss': { of: 'time', toBase: dottedS },
  'r/min': { of: 'rotation' },
  'rev/min': { of: 'rotation' },
  '1/min': { of: 'rotation' },
  'u/min': { of: 'rotation' },
  'umdr/min': { of: 'rotation' },
  'umdrehungen/min': { of: 'rotation' },
  upm: { of: 'rotation' },
  '/min': { of: 'rotation' },
  'min-1': { of: 'rotation' },
  'min⁻¹': { of: 'rotation' },
  '1000 rpm': { of: 'rotation', mul: 1000 },
  'rpm x 1000': { of: 'rotation', mul: 1000 },
  'rev/s': { of: 'rotation', mul: 60 },
  volt: { of: 'voltage' },
  volts: { of: 'voltage' },
  mv: { of: 'voltage', div: 1000 },
  a: { of: 'current', mul: 1000 },
  n·m: { of: 'torque' },
  'n m': { of: 'torque' },
  'n*m': { of: 'torque' },
  'lb-ft': { of: 'torque', mul: 1.3558179483314 },
  'ft-lb': { of: 'torque', mul: 1.3558179483314 },
  'lb ft': { of: 'torque', mul: 1.3558179483314 },
  '°': { of: 'angle' },
  degree: { of: 'angle' },
  degrees: { of: 'angle' },
  '° btdc': { of: 'angle' },
  '°kw': { of: 'angle' },
  'grad kw': { of: 'angle' },
  mile: { of: 'length', mul: 1.609344 },
  miles: { of: 'length', mul: 1.609344 },
  mi: { of: 'length', mul: 1.609344 },
  'l/min': { of: 'volume flow', mul: 60 },
};

const LOOKUP = new Map<string, UnitDef>([
  ...Object.entries(OWN).map(([name, def]): [string, UnitDef] => [name.toLowerCase(), def]),
  ...Object.entries(SPELLINGS),
  ['mg/hub', OWN['mg/stroke']],
]);

const spelled = (text: string): string =>
  text.trim().toLowerCase().replace(/\s+/g, ' ').replace(/^º/, '°').replace(/^° /, '°');

export function isUnit(text: string): boolean {
  return LOOKUP.has(spelled(text));
}

export function isTimeUnit(text: string): boolean {
  return LOOKUP.get(spelled(text))?.of === 'time';
}

/**
 * A function from values in the unit written `from` to the catalogue unit `to`; 'same' when nothing is to do;
 * null when `from` measures something else (or cannot be converted, as gauge pressure).
 */
export function conversion(from: string, to: Unit): ((value: number) => number) | 'same' | null {
  const source = LOOKUP.get(spelled(from));
  const target: UnitDef | undefined = LOOKUP.get(to.toLowerCase());
  if (!source || !target) return null;
  if (source.of !== target.of || (source.of === 'other' && source !== target)) return null;
  const { add = 0, mul = 1, div = 1, toBase = (v: number) => ((v + add) * mul) / div } = source;
  const { add: tAdd = 0, mul: tMul = 1, div: tDiv = 1 } = target;
  if (!source.toBase && add === tAdd && mul === tMul && div === tDiv) return 'same';
  return (value) => toBase(value) * (tDiv / tMul) - tAdd;
}

/** From the gauge pressure written `unit` to gauge kPa; null when `unit` is no gauge pressure. */
export function gaugeKpa(unit: string): ((value: number) => number) | null {
  const source = LOOKUP.get(spelled(unit));
  if (source?.of !== 'gauge pressure') return null;
  const { mul = 1, div = 1 } = source;
  return (value) => (value * mul) / div;
}
