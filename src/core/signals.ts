/**
 * The catalogue of signals: one name, unit, label and plausible range for each quantity, whoever measured it.
 * Names are stable (tables and scripts use them); the unit is part of the name's suffix where there is one.
 */

export type Unit =
  | '1'
  | '%'
  | 'degC'
  | 'kPa'
  | 'Pa'
  | 'rpm'
  | 'km/h'
  | 'g/s'
  | 'deg'
  | 'V'
  | 'mA'
  | 's'
  | 'min'
  | 'km'
  | 'Nm'
  | 'L/h'
  | 'mg/stroke'
  | 'ppm'
  | 'kg/h'
  | 'g'
  | 'count';

export interface SignalDef {
  readonly unit: Unit;
  /** For people, sentence case, as the trade says it. */
  readonly label: string;
  /** Decimals worth showing: never more than the sensor gives. */
  readonly digits: number;
  /** Outside this the sensor or the link is at fault, not the engine. In `unit`. */
  readonly plausible: readonly [low: number, high: number];
  /** Faster than this (units per second) is the sensor or the link. */
  readonly maxRatePerS?: number;
  /** Encoded end stops that mean "open or short circuit" rather than a measurement. */
  readonly endStops?: readonly number[];
}

const temperature = (label: string, low: number, high: number, maxRatePerS?: number): SignalDef => ({
  unit: 'degC',
  label,
  digits: 0,
  plausible: [low, high],
  endStops: [-40, 215],
  ...(maxRatePerS === undefined ? {} : { maxRatePerS }),
});
const percent = (label: string, low = 0, high = 100): SignalDef => ({
  unit: '%',
  label,
  digits: 0,
  plausible: [low, high],
});

export const SIGNALS = {
  ect_c: temperature('Coolant temperature', -39, 140, 3),
  map_kpa: {
    unit: 'kPa',
    label: 'Manifold absolute pressure',
    digits: 0,
    plausible: [8, 400],
    endStops: [0],
  },
  baro_kpa: {
    unit: 'kPa',
    label: 'Barometric pressure',
    digits: 0,
    plausible: [50, 110],
    endStops: [0, 255],
  },
  rpm: { unit: 'rpm', label: 'Engine speed', digits: 0, plausible: [0, 9000] },
  speed_kmh: { unit: 'km/h', label: 'Vehicle speed', digits: 0, plausible: [0, 254] },
  load_pct: percent('Calculated load'),
  abs_load_pct: percent('Absolute load', 0, 400),
  iat_c: temperature('Intake air temperature', -39, 160),
  maf_gps: { unit: 'g/s', label: 'Air mass flow', digits: 1, plausible: [0, 655] },
  throttle_pct: percent('Throttle position'),
  rel_throttle_pct: percent('Relative throttle position'),
  cmd_throttle_pct: percent('Commanded throttle'),
  pedal_d_pct: percent('Accelerator pedal D'),
  pedal_e_pct: percent('Accelerator pedal E'),
  ambient_c: temperature('Ambient temperature', -39, 60),
  oil_c: temperature('Oil temperature', -39, 180),
  voltage_v: { unit: 'V', label: 'Supply voltage', digits: 1, plausible: [5, 18] },
  boost_cmd_kpa: { unit: 'kPa', label: 'Commanded boost pressure', digits: 0, plausible: [8, 500] },
  boost_act_kpa: { unit: 'kPa', label: 'Measured boost pressure', digits: 0, plausible: [8, 500] },
  comp_inlet_kpa: { unit: 'kPa', label: 'Compressor inlet pressure', digits: 0, plausible: [20, 255] },
  timing_deg: { unit: 'deg', label: 'Ignition timing', digits: 1, plausible: [-64, 64] },
  stft1_pct: percent('Short term fuel trim, bank 1', -100, 100),
  ltft1_pct: percent('Long term fuel trim, bank 1', -100, 100),
  lambda_cmd: { unit: '1', label: 'Commanded lambda', digits: 3, plausible: [0, 2] },
  torque_pct: percent('Engine torque', -125, 130),
  torque_ref_nm: { unit: 'Nm', label: 'Reference torque', digits: 0, plausible: [0, 65535] },
  run_time_s: { unit: 's', label: 'Time since engine start', digits: 0, plausible: [0, 65535] },
} as const satisfies Record<string, SignalDef>;

export type SignalName = keyof typeof SIGNALS;

/** The definition of a signal by name; an unknown name is kept and shown, with no plausible range to offend. */
export function signalDef(name: string): SignalDef {
  return (
    (SIGNALS as Record<string, SignalDef>)[name] ?? {
      unit: '1',
      label: name,
      digits: 2,
      plausible: [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY],
    }
  );
}

/** One value of one signal at one time. */
export interface Sample {
  readonly signal: string;
  /** Arrival of the response's last byte, whole microseconds since the run began. */
  readonly tUs: number;
  /** When the request left, same clock; equal to `tUs` for runs imported from a table. */
  readonly sentUs: number;
  readonly value: number;
}
