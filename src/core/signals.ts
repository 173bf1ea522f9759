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
  | 'm'
  | 'Nm'
  | 'L/h'
  | 'mg/stroke'
  | 'ppm'
  | 'mg/m3'
  | 'L'
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
  /** What the numbers stand for, where they are codes rather than a quantity. */
  readonly names?: Readonly<Record<number, string>>;
}

const temperature = (label: string, low: number, high: number, maxRatePerS?: number): SignalDef => ({
  unit: 'degC',
  label,
  digits: 0,
  plausible: [low, high],
  endStops: [-40, 215],
  ...(maxRatePerS === undefined ? {} : { maxRatePerS }),
});
/** Catalyst, exhaust and turbine: 16-bit scale of the standard, -40 to 6513.5 °C. */
const hotGas = (label: string): SignalDef => ({
  unit: 'degC',
  label,
  digits: 0,
  plausible: [-39, 1300],
  endStops: [-40],
});
const pressure = (label: string, low: number, high: number, digits = 0): SignalDef => ({
  unit: 'kPa',
  label,
  digits,
  plausible: [low, high],
});
const seconds = (label: string, high: number): SignalDef => ({
  unit: 's',
  label,
  digits: 0,
  plausible: [0, high],
});
const plain = (unit: Unit, label: string, low: number, high: number, digits = 0): SignalDef => ({
  unit,
  label,
  digits,
  plausible: [low, high],
});
const named = (label: string, names: Readonly<Record<number, string>>, high = 255): SignalDef => ({
  unit: '1',
  label,
  digits: 0,
  plausible: [0, high],
  names,
});
const OFF_ON = { 0: 'off', 1: 'on' } as const;
const GNSS_QUALITY = {
  0: 'none',
  1: 'autonomous',
  2: 'differential',
  3: 'precise',
  4: 'carrier phase, fixed',
  5: 'carrier phase, float',
  6: 'estimated',
  7: 'typed in',
  8: 'simulated',
} as const;
const percent = (label: string, low = 0, high = 100): SignalDef => ({
  unit: '%',
  label,
  digits: 0,
  plausible: [low, high],
});

/** Named values, from memory of SAE J1979-DA; codes left out are shown by number. */
const LOOP = { 0: 'reserved', 1: 'open loop', 2: 'closed loop', 3: 'fault present' } as const;
const FUEL_SYSTEM = {
  0: 'off or not fitted',
  1: 'open loop, not yet warm enough',
  2: 'closed loop',
  4: 'open loop, driving conditions',
  8: 'open loop, system fault',
  16: 'closed loop, oxygen sensor fault',
} as const;
const SECONDARY_AIR = {
  1: 'upstream of the first catalyst',
  2: 'downstream of the first catalyst inlet',
  4: 'atmosphere or off',
  8: 'pump on for diagnosis',
} as const;
const FUEL_TYPE = {
  0: 'not available',
  1: 'petrol',
  2: 'methanol',
  3: 'ethanol',
  4: 'diesel',
  5: 'LPG',
  6: 'CNG',
  7: 'propane',
  8: 'electric',
  9: 'bi-fuel on petrol',
  10: 'bi-fuel on methanol',
  11: 'bi-fuel on ethanol',
  12: 'bi-fuel on LPG',
  13: 'bi-fuel on CNG',
  14: 'bi-fuel on propane',
  15: 'bi-fuel on electricity',
  16: 'bi-fuel, electric and combustion engine',
  17: 'hybrid, petrol',
  18: 'hybrid, ethanol',
  19: 'hybrid, diesel',
  20: 'hybrid, electric',
  21: 'hybrid, electric and combustion engine',
  22: 'hybrid, regenerative',
  23: 'bi-fuel on diesel',
} as const;
const OBD_STANDARD = {
  1: 'OBD II (CARB)',
  2: 'OBD (EPA)',
  3: 'OBD and OBD II',
  4: 'OBD I',
  5: 'none',
  6: 'EOBD',
  7: 'EOBD and OBD II',
  8: 'EOBD and OBD',
  9: 'EOBD, OBD and OBD II',
  10: 'JOBD',
  11: 'JOBD and OBD II',
  12: 'JOBD and EOBD',
  13: 'JOBD, EOBD and OBD II',
  17: 'EMD',
  18: 'EMD+',
  19: 'HD OBD-C',
  20: 'HD OBD',
  21: 'WWH OBD',
  23: 'HD EOBD-I',
  24: 'HD EOBD-I N',
  25: 'HD EOBD-II',
  26: 'HD EOBD-II N',
  28: 'OBDBr-1',
  29: 'OBDBr-2',
  30: 'KOBD',
  31: 'IOBD I',
  32: 'IOBD II',
  33: 'HD EOBD-VI',
} as const;
const EMISSION_CLASS = { 14: 'EURO IV B1', 15: 'EURO V B2', 16: 'EURO C EEV' } as const;

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
  // More trims, throttles, pedals
  stft2_pct: percent('Short term fuel trim, bank 2', -100, 100),
  ltft2_pct: percent('Long term fuel trim, bank 2', -100, 100),
  stft3_pct: percent('Short term fuel trim, bank 3', -100, 100),
  ltft3_pct: percent('Long term fuel trim, bank 3', -100, 100),
  stft4_pct: percent('Short term fuel trim, bank 4', -100, 100),
  ltft4_pct: percent('Long term fuel trim, bank 4', -100, 100),
  stft_rear1_pct: percent('Short term secondary oxygen sensor trim, bank 1', -100, 100),
  ltft_rear1_pct: percent('Long term secondary oxygen sensor trim, bank 1', -100, 100),
  stft_rear2_pct: percent('Short term secondary oxygen sensor trim, bank 2', -100, 100),
  ltft_rear2_pct: percent('Long term secondary oxygen sensor trim, bank 2', -100, 100),
  stft_rear3_pct: percent('Short term secondary oxygen sensor trim, bank 3', -100, 100),
  ltft_rear3_pct: percent('Long term secondary oxygen sensor trim, bank 3', -100, 100),
  stft_rear4_pct: percent('Short term secondary oxygen sensor trim, bank 4', -100, 100),
  ltft_rear4_pct: percent('Long term secondary oxygen sensor trim, bank 4', -100, 100),
  throttle_b_pct: percent('Throttle position B'),
  throttle_c_pct: percent('Throttle position C'),
  throttle_g_pct: percent('Throttle position G'),
  rel_throttle_b_pct: percent('Relative throttle position B'),
  cmd_throttle_b_pct: percent('Commanded throttle B'),
  pedal_f_pct: percent('Accelerator pedal F'),
  rel_pedal_pct: percent('Relative accelerator pedal'),
  // Air and charging: second sensors and actuators
  ect2_c: temperature('Coolant temperature, sensor 2', -39, 140, 3),
  iat2_c: temperature('Intake air temperature, bank 1 sensor 2', -39, 160),
  iat3_c: temperature('Intake air temperature, bank 1 sensor 3', -39, 160),
  iat4_c: temperature('Intake air temperature, bank 2 sensor 1', -39, 160),
  iat5_c: temperature('Intake air temperature, bank 2 sensor 2', -39, 160),
  iat6_c: temperature('Intake air temperature, bank 2 sensor 3', -39, 160),
  maf2_gps: plain('g/s', 'Air mass flow, sensor B', 0, 2047.97, 1),
  map2_kpa: { ...pressure('Manifold absolute pressure, sensor B', 8, 400), endStops: [0] },
  boost2_cmd_kpa: pressure('Commanded boost pressure B', 8, 500),
  boost2_act_kpa: pressure('Measured boost pressure B', 8, 500),
  boost_control: named('Boost pressure control A', LOOP, 3),
  boost2_control: named('Boost pressure control B', LOOP, 3),
  comp_inlet2_kpa: pressure('Compressor inlet pressure B', 20, 255),
  vgt_cmd_pct: percent('Commanded turbine geometry A'),
  vgt_act_pct: percent('Measured turbine geometry A'),
  vgt_control: named('Turbine geometry control A', LOOP, 3),
  wastegate_cmd_pct: percent('Commanded wastegate A'),
  wastegate_act_pct: percent('Measured wastegate A'),
  turbo_rpm: plain('rpm', 'Turbocharger A speed', 0, 400000),
  turbo_comp_in_c: temperature('Compressor A inlet temperature', -39, 214),
  turbo_comp_out_c: temperature('Compressor A outlet temperature', -39, 214),
  turbo_turb_in_c: hotGas('Turbine A inlet temperature'),
  turbo_turb_out_c: hotGas('Turbine A outlet temperature'),
  intake_flap_cmd_pct: percent('Commanded diesel intake flap A'),
  intake_flap_act_pct: percent('Relative diesel intake flap position A'),
  vgt2_cmd_pct: percent('Commanded turbine geometry B'),
  vgt2_act_pct: percent('Measured turbine geometry B'),
  vgt2_control: named('Turbine geometry control B', LOOP, 3),
  wastegate2_cmd_pct: percent('Commanded wastegate B'),
  wastegate2_act_pct: percent('Measured wastegate B'),
  turbo2_rpm: plain('rpm', 'Turbocharger B speed', 0, 400000),
  turbo2_comp_in_c: temperature('Compressor B inlet temperature', -39, 214),
  turbo2_comp_out_c: temperature('Compressor B outlet temperature', -39, 214),
  turbo2_turb_in_c: hotGas('Turbine B inlet temperature'),
  turbo2_turb_out_c: hotGas('Turbine B outlet temperature'),
  intake_flap2_cmd_pct: percent('Commanded diesel intake flap B'),
  intake_flap2_act_pct: percent('Relative diesel intake flap position B'),
  cac1_c: temperature('Charge air cooler temperature, bank 1 sensor 1', -39, 214),
  cac2_c: temperature('Charge air cooler temperature, bank 1 sensor 2', -39, 214),
  cac3_c: temperature('Charge air cooler temperature, bank 2 sensor 1', -39, 214),
  cac4_c: temperature('Charge air cooler temperature, bank 2 sensor 2', -39, 214),
  manifold_surface_c: temperature('Manifold surface temperature', -39, 214),
  // Exhaust gas recirculation
  egr_cmd_pct: percent('Commanded exhaust gas recirculation A'),
  egr_act_pct: percent('Measured exhaust gas recirculation A'),
  egr_error_pct: percent('Exhaust gas recirculation error A', -100, 100),
  egr2_cmd_pct: percent('Commanded exhaust gas recirculation B'),
  egr2_act_pct: percent('Measured exhaust gas recirculation B'),
  egr2_error_pct: percent('Exhaust gas recirculation error B', -100, 100),
  egr1_c: temperature('Recirculated gas temperature, bank 1 sensor 1', -39, 214),
  egr2_c: temperature('Recirculated gas temperature, bank 1 sensor 2', -39, 214),
  egr3_c: temperature('Recirculated gas temperature, bank 2 sensor 1', -39, 214),
  egr4_c: temperature('Recirculated gas temperature, bank 2 sensor 2', -39, 214),
  // Fuel
  fuel_kpa: pressure('Fuel pressure (gauge)', 0, 765),
  fuel_rail_rel_kpa: pressure('Fuel rail pressure relative to manifold', 0, 5178, 1),
  fuel_rail_kpa: pressure('Fuel rail pressure (gauge)', 0, 655350),
  fuel_rail_abs_kpa: pressure('Fuel rail pressure (absolute)', 0, 655350),
  rail1_cmd_kpa: pressure('Commanded fuel rail pressure A', 0, 655350),
  rail1_act_kpa: pressure('Measured fuel rail pressure A', 0, 655350),
  rail1_c: temperature('Fuel temperature A', -39, 160),
  inject1_cmd_kpa: pressure('Commanded injection control pressure A', 0, 655350),
  inject1_act_kpa: pressure('Measured injection control pressure A', 0, 655350),
  rail2_cmd_kpa: pressure('Commanded fuel rail pressure B', 0, 655350),
  rail2_act_kpa: pressure('Measured fuel rail pressure B', 0, 655350),
  rail2_c: temperature('Fuel temperature B', -39, 160),
  inject2_cmd_kpa: pressure('Commanded injection control pressure B', 0, 655350),
  inject2_act_kpa: pressure('Measured injection control pressure B', 0, 655350),
  fuel_level_pct: percent('Fuel level'),
  ethanol_pct: percent('Ethanol share'),
  fuel_lph: plain('L/h', 'Fuel rate', 0, 3212.75, 1),
  fuel_gps: plain('g/s', 'Engine fuel rate by mass', 0, 1310.7, 2),
  vehicle_fuel_gps: plain('g/s', 'Vehicle fuel rate by mass', 0, 1310.7, 2),
  cylinder_fuel_mg: plain('mg/stroke', 'Cylinder fuel rate', 0, 2047.97, 1),
  injection_deg: plain('deg', 'Fuel injection timing', -210, 301.992, 1),
  fuel_system1: named('Fuel system 1', FUEL_SYSTEM),
  fuel_system2: named('Fuel system 2', FUEL_SYSTEM),
  fuel_type: named('Fuel type', FUEL_TYPE),
  // Evaporative system, secondary air
  evap_purge_pct: percent('Commanded evaporative purge'),
  evap_pa: plain('Pa', 'Evaporative system vapour pressure', -8192, 8191.75, 1),
  evap_wide_pa: plain('Pa', 'Evaporative system vapour pressure, wide range', -32768, 32767),
  evap_abs_kpa: pressure('Evaporative system absolute vapour pressure', 0, 327.675, 2),
  secondary_air: named('Commanded secondary air', SECONDARY_AIR),
  // Oxygen sensors by place in their group; PID 13 or 1D says which bank and sensor each place is
  o2_1_v: plain('V', 'Oxygen sensor 1 voltage', 0, 1.275, 3),
  o2_1_trim_pct: percent('Oxygen sensor 1 short term trim', -100, 100),
  o2_1_lambda: plain('1', 'Oxygen sensor 1 lambda', 0, 2, 3),
  o2_1_wide_v: plain('V', 'Oxygen sensor 1 wide range voltage', 0, 8, 3),
  o2_1_ma: plain('mA', 'Oxygen sensor 1 pump current', -128, 128, 2),
  o2_2_v: plain('V', 'Oxygen sensor 2 voltage', 0, 1.275, 3),
  o2_2_trim_pct: percent('Oxygen sensor 2 short term trim', -100, 100),
  o2_2_lambda: plain('1', 'Oxygen sensor 2 lambda', 0, 2, 3),
  o2_2_wide_v: plain('V', 'Oxygen sensor 2 wide range voltage', 0, 8, 3),
  o2_2_ma: plain('mA', 'Oxygen sensor 2 pump current', -128, 128, 2),
  o2_3_v: plain('V', 'Oxygen sensor 3 voltage', 0, 1.275, 3),
  o2_3_trim_pct: percent('Oxygen sensor 3 short term trim', -100, 100),
  o2_3_lambda: plain('1', 'Oxygen sensor 3 lambda', 0, 2, 3),
  o2_3_wide_v: plain('V', 'Oxygen sensor 3 wide range voltage', 0, 8, 3),
  o2_3_ma: plain('mA', 'Oxygen sensor 3 pump current', -128, 128, 2),
  o2_4_v: plain('V', 'Oxygen sensor 4 voltage', 0, 1.275, 3),
  o2_4_trim_pct: percent('Oxygen sensor 4 short term trim', -100, 100),
  o2_4_lambda: plain('1', 'Oxygen sensor 4 lambda', 0, 2, 3),
  o2_4_wide_v: plain('V', 'Oxygen sensor 4 wide range voltage', 0, 8, 3),
  o2_4_ma: plain('mA', 'Oxygen sensor 4 pump current', -128, 128, 2),
  o2_5_v: plain('V', 'Oxygen sensor 5 voltage', 0, 1.275, 3),
  o2_5_trim_pct: percent('Oxygen sensor 5 short term trim', -100, 100),
  o2_5_lambda: plain('1', 'Oxygen sensor 5 lambda', 0, 2, 3),
  o2_5_wide_v: plain('V', 'Oxygen sensor 5 wide range voltage', 0, 8, 3),
  o2_5_ma: plain('mA', 'Oxygen sensor 5 pump current', -128, 128, 2),
  o2_6_v: plain('V', 'Oxygen sensor 6 voltage', 0, 1.275, 3),
  o2_6_trim_pct: percent('Oxygen sensor 6 short term trim', -100, 100),
  o2_6_lambda: plain('1', 'Oxygen sensor 6 lambda', 0, 2, 3),
  o2_6_wide_v: plain('V', 'Oxygen sensor 6 wide range voltage', 0, 8, 3),
  o2_6_ma: plain('mA', 'Oxygen sensor 6 pump current', -128, 128, 2),
  o2_7_v: plain('V', 'Oxygen sensor 7 voltage', 0, 1.275, 3),
  o2_7_trim_pct: percent('Oxygen sensor 7 short term trim', -100, 100),
  o2_7_lambda: plain('1', 'Oxygen sensor 7 lambda', 0, 2, 3),
  o2_7_wide_v: plain('V', 'Oxygen sensor 7 wide range voltage', 0, 8, 3),
  o2_7_ma: plain('mA', 'Oxygen sensor 7 pump current', -128, 128, 2),
  o2_8_v: plain('V', 'Oxygen sensor 8 voltage', 0, 1.275, 3),
  o2_8_trim_pct: percent('Oxygen sensor 8 short term trim', -100, 100),
  o2_8_lambda: plain('1', 'Oxygen sensor 8 lambda', 0, 2, 3),
  o2_8_wide_v: plain('V', 'Oxygen sensor 8 wide range voltage', 0, 8, 3),
  o2_8_ma: plain('mA', 'Oxygen sensor 8 pump current', -128, 128, 2),
  exhaust_o2_1_pct: percent('Exhaust oxygen, bank 1 sensor 1'),
  exhaust_o2_1_lambda: plain('1', 'Exhaust lambda, bank 1 sensor 1', 0, 8, 3),
  exhaust_o2_2_pct: percent('Exhaust oxygen, bank 1 sensor 2'),
  exhaust_o2_2_lambda: plain('1', 'Exhaust lambda, bank 1 sensor 2', 0, 8, 3),
  exhaust_o2_3_pct: percent('Exhaust oxygen, bank 2 sensor 1'),
  exhaust_o2_3_lambda: plain('1', 'Exhaust lambda, bank 2 sensor 1', 0, 8, 3),
  exhaust_o2_4_pct: percent('Exhaust oxygen, bank 2 sensor 2'),
  exhaust_o2_4_lambda: plain('1', 'Exhaust lambda, bank 2 sensor 2', 0, 8, 3),
  o2_places: plain('1', 'Oxygen sensors fitted, two banks (bits)', 0, 255),
  o2_places4: plain('1', 'Oxygen sensors fitted, four banks (bits)', 0, 255),
  // Exhaust
  cat11_c: hotGas('Catalyst temperature, bank 1 sensor 1'),
  cat12_c: hotGas('Catalyst temperature, bank 1 sensor 2'),
  cat21_c: hotGas('Catalyst temperature, bank 2 sensor 1'),
  cat22_c: hotGas('Catalyst temperature, bank 2 sensor 2'),
  egt11_c: hotGas('Exhaust gas temperature, bank 1 sensor 1'),
  egt12_c: hotGas('Exhaust gas temperature, bank 1 sensor 2'),
  egt13_c: hotGas('Exhaust gas temperature, bank 1 sensor 3'),
  egt14_c: hotGas('Exhaust gas temperature, bank 1 sensor 4'),
  egt15_c: hotGas('Exhaust gas temperature, bank 1 sensor 5'),
  egt16_c: hotGas('Exhaust gas temperature, bank 1 sensor 6'),
  egt17_c: hotGas('Exhaust gas temperature, bank 1 sensor 7'),
  egt18_c: hotGas('Exhaust gas temperature, bank 1 sensor 8'),
  egt21_c: hotGas('Exhaust gas temperature, bank 2 sensor 1'),
  egt22_c: hotGas('Exhaust gas temperature, bank 2 sensor 2'),
  egt23_c: hotGas('Exhaust gas temperature, bank 2 sensor 3'),
  egt24_c: hotGas('Exhaust gas temperature, bank 2 sensor 4'),
  egt25_c: hotGas('Exhaust gas temperature, bank 2 sensor 5'),
  egt26_c: hotGas('Exhaust gas temperature, bank 2 sensor 6'),
  egt27_c: hotGas('Exhaust gas temperature, bank 2 sensor 7'),
  egt28_c: hotGas('Exhaust gas temperature, bank 2 sensor 8'),
  exhaust1_kpa: pressure('Exhaust pressure, bank 1', 0, 655.35, 1),
  exhaust2_kpa: pressure('Exhaust pressure, bank 2', 0, 655.35, 1),
  exhaust_kgph: plain('kg/h', 'Exhaust mass flow', 0, 13107),
  dpf1_delta_kpa: pressure('Particle filter pressure drop, bank 1', -327.68, 327.67, 2),
  dpf1_in_kpa: pressure('Particle filter inlet pressure, bank 1', 0, 655.35, 1),
  dpf1_out_kpa: pressure('Particle filter outlet pressure, bank 1', 0, 655.35, 1),
  dpf1_in_c: hotGas('Particle filter inlet temperature, bank 1'),
  dpf1_out_c: hotGas('Particle filter outlet temperature, bank 1'),
  dpf2_delta_kpa: pressure('Particle filter pressure drop, bank 2', -327.68, 327.67, 2),
  dpf2_in_kpa: pressure('Particle filter inlet pressure, bank 2', 0, 655.35, 1),
  dpf2_out_kpa: pressure('Particle filter outlet pressure, bank 2', 0, 655.35, 1),
  dpf2_in_c: hotGas('Particle filter inlet temperature, bank 2'),
  dpf2_out_c: hotGas('Particle filter outlet temperature, bank 2'),
  dpf_regenerating: named('Particle filter regeneration', OFF_ON, 1),
  dpf_regen_active: named('Kind of particle filter regeneration', { 0: 'passive', 1: 'active' }, 1),
  nox_regenerating: named('NOx adsorber regeneration', OFF_ON, 1),
  nox_desulphating: named('NOx adsorber desulphation', OFF_ON, 1),
  dpf_trigger_pct: percent('Share of the particle filter regeneration trigger'),
  dpf_regen_gap_min: plain('min', 'Mean time between regenerations', 0, 65535),
  dpf_regen_gap_km: plain('km', 'Mean distance between regenerations', 0, 65535),
  nox1_ppm: plain('ppm', 'NOx, sensor 1', 0, 65535),
  nox2_ppm: plain('ppm', 'NOx, sensor 2', 0, 65535),
  nox3_ppm: plain('ppm', 'NOx, sensor 3', 0, 65535),
  nox4_ppm: plain('ppm', 'NOx, sensor 4', 0, 65535),
  pm1_mgm3: plain('mg/m3', 'Particulate mass, bank 1', 0, 819.1875, 2),
  pm2_mgm3: plain('mg/m3', 'Particulate mass, bank 2', 0, 819.1875, 2),
  reagent_lph: plain('L/h', 'Mean reagent consumption', 0, 327.675, 2),
  reagent_demand_lph: plain('L/h', 'Mean demanded reagent consumption', 0, 327.675, 2),
  reagent_level_pct: percent('Reagent level'),
  nox_warning_s: seconds('Run time with the NOx warning on', 4294967295),
  // Torque, transmission
  torque_demand_pct: percent("Driver's demand torque", -125, 130),
  torque_idle_pct: percent('Torque at idle', -125, 130),
  torque_point1_pct: percent('Torque, point 1', -125, 130),
  torque_point2_pct: percent('Torque, point 2', -125, 130),
  torque_point3_pct: percent('Torque, point 3', -125, 130),
  torque_point4_pct: percent('Torque, point 4', -125, 130),
  friction_pct: percent('Friction torque', -125, 130),
  gear_ratio: plain('1', 'Transmission ratio', 0, 65.535, 3),
  pto: named('Power take-off', OFF_ON, 1),
  auto_in_drive: named('Automatic transmission', { 0: 'park or neutral', 1: 'drive or reverse' }, 1),
  manual_in_gear: named('Manual transmission', { 0: 'neutral or clutch pressed', 1: 'in gear' }, 1),
  glow_lamp: named('Glow lamp', OFF_ON, 1),
  hybrid_battery_pct: percent('Hybrid battery charge'),
  // History and status
  mil: named('Malfunction indicator lamp', OFF_ON, 1),
  dtc_count: plain('count', 'Confirmed emission codes', 0, 127),
  mil_km: plain('km', 'Distance with the lamp on', 0, 65535),
  mil_min: plain('min', 'Time with the lamp on', 0, 65535),
  clear_warmups: plain('count', 'Warm-ups since codes cleared', 0, 255),
  clear_km: plain('km', 'Distance since codes cleared', 0, 65535),
  clear_min: plain('min', 'Time since codes cleared', 0, 65535),
  total_run_s: seconds('Total engine run time', 4294967295),
  total_idle_s: seconds('Total idle run time', 4294967295),
  total_pto_s: seconds('Total run time with power take-off', 4294967295),
  odometer_km: plain('km', 'Odometer', 0, 429496729.5, 1),
  obd_standard: named('Diagnostic requirements met', OBD_STANDARD),
  emission_class: named('Emission requirements', EMISSION_CLASS),
  nox_nte: plain('1', 'NOx not-to-exceed area status (bits)', 0, 255),
  pm_nte: plain('1', 'Particulate not-to-exceed area status (bits)', 0, 255),
  // Maxima that rescale other signals; 0 stands for the default scale
  max_lambda: plain('1', 'Largest lambda', 0, 255),
  max_o2_v: plain('V', 'Largest oxygen sensor voltage', 0, 255),
  max_o2_ma: plain('mA', 'Largest oxygen sensor current', 0, 255),
  max_map_kpa: plain('kPa', 'Largest manifold pressure', 0, 2550),
  max_maf_gps: plain('g/s', 'Largest air mass flow', 0, 2550),
  // Satellite receiver (NMEA 0183), a second link beside the car's
  gnss_speed_kmh: { ...plain('km/h', 'Ground speed', 0, 400, 1), maxRatePerS: 60 },
  gnss_height_m: { ...plain('m', 'Height above sea level', -450, 9000), maxRatePerS: 25 },
  gnss_course_deg: plain('deg', 'Course over ground', 0, 360),
  gnss_quality: named('Satellite fix', GNSS_QUALITY, 9),
  gnss_satellites: plain('count', 'Satellites in use', 0, 99),
  gnss_error_m: plain('m', 'Error of the position, from its dilution', 0, 500),
  gnss_height_error_m: plain('m', 'Error of the height, from its dilution', 0, 500),
} as const satisfies Record<string, SignalDef>;

export type SignalName = keyof typeof SIGNALS;

/** What a satellite receiver measures, not the car. */
export const isReceiverSignal = (name: string): boolean => name.startsWith('gnss_');

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
