/** Tables of service 06: monitors, tests, unit-and-scaling ids. From memory of SAE J1979-DA; ids left out stay raw. */

/** value = (count - zero) * mul / div in `unit`; ids from 80 up are signed. */
export interface UnitId {
  readonly unit: string;
  readonly mul: number;
  readonly div: number;
  readonly zero?: number;
}

const u = (unit: string, mul: number, div: number, zero?: number): UnitId =>
  zero === undefined ? { unit, mul, div } : { unit, mul, div, zero };

export const UNIT_IDS: Readonly<Record<number, UnitId>> = {
  1: u('count', 1, 1),
  2: u('count', 1, 10),
  3: u('count', 1, 100),
  4: u('count', 1, 1000),
  5: u('1', 1, 32768),
  6: u('1', 10, 32768),
  7: u('rpm', 1, 4),
  8: u('km/h', 1, 100),
  9: u('km/h', 1, 1),
  10: u('mV', 122, 1000),
  11: u('V', 1, 1000),
  12: u('V', 1, 100),
  13: u('mA', 1, 256),
  14: u('A', 1, 1000),
  15: u('A', 1, 100),
  16: u('ms', 1, 1),
  17: u('ms', 100, 1),
  18: u('s', 1, 1),
  19: u('mΩ', 1, 1),
  20: u('Ω', 1, 1),
  21: u('kΩ', 1, 1),
  22: u('degC', 1, 10, 400),
  23: u('kPa', 1, 100),
  24: u('kPa', 117, 10000),
  25: u('kPa', 79, 1000),
  26: u('kPa', 1, 1),
  27: u('kPa', 10, 1),
  28: u('deg', 1, 100),
  29: u('deg', 1, 2),
  30: u('lambda', 1, 32768),
  31: u('air-fuel ratio', 1, 20),
  32: u('ratio', 1, 256),
  33: u('mHz', 1, 1),
  34: u('Hz', 1, 1),
  35: u('kHz', 1, 1),
  36: u('count', 1, 1),
  37: u('km', 1, 1),
  38: u('mV/ms', 1, 10),
  39: u('g/s', 1, 100),
  40: u('g/s', 1, 1),
  41: u('Pa/s', 1, 4),
  42: u('kg/h', 1, 1000),
  43: u('switches', 1, 1),
  44: u('g/cylinder', 1, 100),
  45: u('mg/stroke', 1, 100),
  46: u('true or false', 1, 1),
  47: u('%', 1, 100),
  48: u('%', 100, 65536),
  49: u('L', 1, 1000),
  52: u('min', 1, 1),
  53: u('ms', 10, 1),
  54: u('g', 1, 100),
  55: u('g', 1, 10),
  56: u('g', 1, 1),
  129: u('count', 1, 1),
  130: u('count', 1, 10),
  131: u('count', 1, 100),
  132: u('count', 1, 1000),
  133: u('1', 1, 32768),
  134: u('1', 10, 32768),
  138: u('mV', 122, 1000),
  139: u('V', 1, 1000),
  140: u('V', 1, 100),
  141: u('mA', 1, 256),
  142: u('A', 1, 1000),
  144: u('ms', 1, 1),
  150: u('degC', 1, 10),
  156: u('deg', 1, 100),
  157: u('deg', 1, 2),
  168: u('g/s', 1, 1),
  169: u('Pa/s', 1, 4),
  175: u('%', 1, 100),
  252: u('kPa', 1, 100),
  253: u('kPa', 1, 1000),
  254: u('Pa', 1, 4),
};

export const TEST_IDS: Readonly<Record<number, string>> = {
  1: 'Rich to lean threshold voltage',
  2: 'Lean to rich threshold voltage',
  3: 'Low voltage for switch time',
  4: 'High voltage for switch time',
  5: 'Rich to lean switch time',
  6: 'Lean to rich switch time',
  7: 'Least voltage in the test',
  8: 'Greatest voltage in the test',
  9: 'Time between transitions',
  10: 'Sensor period',
  11: 'Misfires, mean of the last ten drives',
  12: 'Misfires, last or present drive',
};

const row = (first: number, names: readonly string[]): Record<number, string> =>
  Object.fromEntries(names.map((name, i) => [first + i, name]));
const sensors = (what: string): string[] =>
  [1, 2, 3, 4].flatMap((bank) => [1, 2, 3, 4].map((s) => `${what}, bank ${bank} sensor ${s}`));
const banks = (what: string, n: 1 | 2 | 4 = 4): string[] =>
  Array.from({ length: n }, (_, i) => `${what}, bank ${i + 1}`);

export const MONITOR_IDS: Readonly<Record<number, string>> = {
  ...row(0x01, sensors('Oxygen sensor')),
  ...row(0x21, banks('Catalyst')),
  ...row(0x31, banks('Exhaust gas recirculation')),
  ...row(0x35, banks('Valve timing')),
  57: 'Evaporative system, cap off',
  58: 'Evaporative system, 0.090 inch leak',
  59: 'Evaporative system, 0.040 inch leak',
  60: 'Evaporative system, 0.020 inch leak',
  61: 'Evaporative purge flow',
  ...row(0x41, sensors('Oxygen sensor heater')),
  ...row(0x61, banks('Heated catalyst')),
  ...row(0x71, banks('Secondary air')),
  ...row(0x81, banks('Fuel system')),
  ...row(0x85, banks('Boost pressure control', 2)),
  ...row(0x90, banks('NOx adsorber', 2)),
  ...row(0x98, banks('NOx catalyst', 2)),
  161: 'Misfire, all cylinders',
  ...row(
    0xa2,
    Array.from({ length: 12 }, (_, i) => `Misfire, cylinder ${i + 1}`),
  ),
  ...row(0xb0, banks('Particle filter', 2)),
};
