/**
 * Service 01 (and 02) PIDs as a table, keyed as the standard prints them. Adding a PID is one literal here, its
 * signals in core/signals.ts, and an outside check. From memory of SAE J1979 / J1979-DA (ISO 15031-5).
 */
import {
  BYTE,
  bits,
  type Field,
  f,
  HOT,
  HUNDREDTHS,
  LAMBDA,
  LONG,
  type Maximum,
  PER32,
  PERCENT,
  TEMP,
  TENS,
  TORQUE,
  TRIM,
  WORD,
} from './fields.ts';

export interface PidDef {
  readonly name: string;
  /**
   * Numbers of data bytes that editions of the standard give, the usual one first; none = not recalled for
   * certain, any number is taken and shown raw.
   */
  readonly lengths: readonly number[];
  readonly fields: readonly Field[];
  /** Data that are not quantities: support bitmaps, monitor status, a trouble code. */
  readonly kind?: 'bitmap' | 'monitors' | 'code';
}

const pid = (name: string, lengths: number | readonly number[], ...fields: readonly Field[]): PidDef => ({
  name,
  lengths: typeof lengths === 'number' ? [lengths] : lengths,
  fields,
});
const bitmap = (from: string, to: string): PidDef => ({
  name: `Supported PIDs ${from}-${to}`,
  lengths: [4],
  fields: [],
  kind: 'bitmap',
});
const rawOnly = (name: string): PidDef => ({ name, lengths: [], fields: [] });

const maximum = (pid: 0x4f | 0x50, byte: number, step: number, full: number): { max: Maximum } => ({
  max: { pid, byte, step, full },
});
const MAX_LAMBDA = maximum(0x4f, 0, 1, 65535);
const MAX_VOLT = maximum(0x4f, 1, 1, 65535);
const MAX_MA = maximum(0x4f, 2, 1, 32768);
const MAX_MAP = maximum(0x4f, 3, 10, 255);
const MAX_MAF = maximum(0x50, 0, 10, 65535);

type Place = 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8;
const narrowO2 = (n: Place): PidDef =>
  pid(
    `Oxygen sensor ${n}`,
    2,
    f(`o2_${n}_v`, 0, { size: 1, div: 200 }),
    f(`o2_${n}_trim_pct`, 1, { ...TRIM, notUsed: 0xff }),
  );
const wideO2Volt = (n: Place): PidDef =>
  pid(
    `Oxygen sensor ${n}, wide range`,
    4,
    { ...f(`o2_${n}_lambda`, 0, LAMBDA), ...MAX_LAMBDA },
    { ...f(`o2_${n}_wide_v`, 2, { size: 2, div: 8192 }), ...MAX_VOLT },
  );
const wideO2Current = (n: Place): PidDef =>
  pid(
    `Oxygen sensor ${n}, wide range, current`,
    4,
    { ...f(`o2_${n}_lambda`, 0, LAMBDA), ...MAX_LAMBDA },
    { ...f(`o2_${n}_ma`, 2, { size: 2, zero: 32768, div: 256 }), ...MAX_MA },
  );
const exhaustTemps = (bank: 1 | 2, first: 1 | 5): PidDef => {
  const name = `Exhaust gas temperature, bank ${bank}, sensors ${first}-${first + 3}`;
  return first === 1
    ? pid(
        name,
        9,
        f(`egt${bank}1_c`, 1, HOT, 0),
        f(`egt${bank}2_c`, 3, HOT, 1),
        f(`egt${bank}3_c`, 5, HOT, 2),
        f(`egt${bank}4_c`, 7, HOT, 3),
      )
    : pid(
        name,
        9,
        f(`egt${bank}5_c`, 1, HOT, 0),
        f(`egt${bank}6_c`, 3, HOT, 1),
        f(`egt${bank}7_c`, 5, HOT, 2),
        f(`egt${bank}8_c`, 7, HOT, 3),
      );
};
const turboTemps = (turbo: 'turbo' | 'turbo2', letter: 'A' | 'B'): PidDef =>
  pid(
    `Turbocharger ${letter} temperatures`,
    7,
    f(`${turbo}_comp_in_c`, 1, TEMP, 0),
    f(`${turbo}_comp_out_c`, 2, TEMP, 1),
    f(`${turbo}_turb_in_c`, 3, HOT, 2),
    f(`${turbo}_turb_out_c`, 5, HOT, 3),
  );
const particleFilter = (bank: 1 | 2): PidDef =>
  pid(
    `Particle filter pressures, bank ${bank}`,
    7,
    f(`dpf${bank}_delta_kpa`, 1, { ...HUNDREDTHS, signed: true }, 0),
    f(`dpf${bank}_in_kpa`, 3, HUNDREDTHS, 1),
    f(`dpf${bank}_out_kpa`, 5, HUNDREDTHS, 2),
  );

const TABLE: Readonly<Record<string, PidDef>> = {
  '00': bitmap('01', '20'),
  '01': {
    ...pid('Monitor status since codes cleared', 4, bits('mil', 0, 7), bits('dtc_count', 0, 0, 7)),
    kind: 'monitors',
  },
  '02': { name: 'Code that stored the freeze frame', lengths: [2], fields: [], kind: 'code' },
  '03': pid('Fuel system status', 2, f('fuel_system1', 0, BYTE), f('fuel_system2', 1, BYTE)),
  '04': pid('Calculated load', 1, f('load_pct', 0, PERCENT)),
  '05': pid('Coolant temperature', 1, f('ect_c', 0, TEMP)),
  // Byte B of the four trims is there only where bank 3 or 4 is fitted.
  '06': pid('Short term fuel trim, bank 1', [1, 2], f('stft1_pct', 0, TRIM), f('stft3_pct', 1, TRIM)),
  '07': pid('Long term fuel trim, bank 1', [1, 2], f('ltft1_pct', 0, TRIM), f('ltft3_pct', 1, TRIM)),
  '08': pid('Short term fuel trim, bank 2', [1, 2], f('stft2_pct', 0, TRIM), f('stft4_pct', 1, TRIM)),
  '09': pid('Long term fuel trim, bank 2', [1, 2], f('ltft2_pct', 0, TRIM), f('ltft4_pct', 1, TRIM)),
  '0A': pid('Fuel pressure', 1, f('fuel_kpa', 0, { size: 1, mul: 3 })),
  '0B': pid('Manifold absolute pressure', 1, { ...f('map_kpa', 0, BYTE), ...MAX_MAP }),
  '0C': pid('Engine speed', 2, f('rpm', 0, { size: 2, div: 4 })),
  '0D': pid('Vehicle speed', 1, f('speed_kmh', 0, BYTE)),
  '0E': pid('Ignition timing', 1, f('timing_deg', 0, { size: 1, zero: 128, div: 2 })),
  '0F': pid('Intake air temperature', 1, f('iat_c', 0, TEMP)),
  '10': pid('Air mass flow', 2, { ...f('maf_gps', 0, HUNDREDTHS), ...MAX_MAF }),
  '11': pid('Throttle position', 1, f('throttle_pct', 0, PERCENT)),
  '12': pid('Commanded secondary air', 1, f('secondary_air', 0, BYTE)),
  '13': pid('Oxygen sensors fitted, two banks', 1, f('o2_places', 0, BYTE)),
  '14': narrowO2(1),
  '15': narrowO2(2),
  '16': narrowO2(3),
  '17': narrowO2(4),
  '18': narrowO2(5),
  '19': narrowO2(6),
  '1A': narrowO2(7),
  '1B': narrowO2(8),
  '1C': pid('Diagnostic requirements met', 1, f('obd_standard', 0, BYTE)),
  '1D': pid('Oxygen sensors fitted, four banks', 1, f('o2_places4', 0, BYTE)),
  '1E': pid('Auxiliary input', 1, bits('pto', 0, 0)),
  '1F': pid('Time since engine start', 2, f('run_time_s', 0, WORD)),
  '20': bitmap('21', '40'),
  '21': pid('Distance with the lamp on', 2, f('mil_km', 0, WORD)),
  '22': pid(
    'Fuel rail pressure relative to manifold',
    2,
    f('fuel_rail_rel_kpa', 0, { size: 2, mul: 79, div: 1000 }),
  ),
  '23': pid('Fuel rail pressure (gauge)', 2, f('fuel_rail_kpa', 0, TENS)),
  '24': wideO2Volt(1),
  '25': wideO2Volt(2),
  '26': wideO2Volt(3),
  '27': wideO2Volt(4),
  '28': wideO2Volt(5),
  '29': wideO2Volt(6),
  '2A': wideO2Volt(7),
  '2B': wideO2Volt(8),
  '2C': pid('Commanded exhaust gas recirculation', 1, f('egr_cmd_pct', 0, PERCENT)),
  '2D': pid('Exhaust gas recirculation error', 1, f('egr_error_pct', 0, TRIM)),
  '2E': pid('Commanded evaporative purge', 1, f('evap_purge_pct', 0, PERCENT)),
  '2F': pid('Fuel level', 1, f('fuel_level_pct', 0, PERCENT)),
  '30': pid('Warm-ups since codes cleared', 1, f('clear_warmups', 0, BYTE)),
  '31': pid('Distance since codes cleared', 2, f('clear_km', 0, WORD)),
  '32': pid('Evaporative system vapour pressure', 2, f('evap_pa', 0, { size: 2, signed: true, div: 4 })),
  '33': pid('Barometric pressure', 1, f('baro_kpa', 0, BYTE)),
  '34': wideO2Current(1),
  '35': wideO2Current(2),
  '36': wideO2Current(3),
  '37': wideO2Current(4),
  '38': wideO2Current(5),
  '39': wideO2Current(6),
  '3A': wideO2Current(7),
  '3B': wideO2Current(8),
  '3C': pid('Catalyst temperature, bank 1 sensor 1', 2, f('cat11_c', 0, HOT)),
  '3D': pid('Catalyst temperature, bank 2 sensor 1', 2, f('cat21_c', 0, HOT)),
  '3E': pid('Catalyst temperature, bank 1 sensor 2', 2, f('cat12_c', 0, HOT)),
  '3F': pid('Catalyst temperature, bank 2 sensor 2', 2, f('cat22_c', 0, HOT)),
  '40': bitmap('41', '60'),
  '41': { name: 'Monitor status this drive', lengths: [4], fields: [], kind: 'monitors' },
  '42': pid('Control unit voltage', 2, f('voltage_v', 0, { size: 2, div: 1000 })),
  '43': pid('Absolute load', 2, f('abs_load_pct', 0, { size: 2, mul: 100, div: 255 })),
  '44': pid('Commanded lambda', 2, f('lambda_cmd', 0, LAMBDA)),
  '45': pid('Relative throttle position', 1, f('rel_throttle_pct', 0, PERCENT)),
  '46': pid('Ambient temperature', 1, f('ambient_c', 0, TEMP)),
  '47': pid('Throttle position B', 1, f('throttle_b_pct', 0, PERCENT)),
  '48': pid('Throttle position C', 1, f('throttle_c_pct', 0, PERCENT)),
  '49': pid('Accelerator pedal D', 1, f('pedal_d_pct', 0, PERCENT)),
  '4A': pid('Accelerator pedal E', 1, f('pedal_e_pct', 0, PERCENT)),
  '4B': pid('Accelerator pedal F', 1, f('pedal_f_pct', 0, PERCENT)),
  '4C': pid('Commanded throttle', 1, f('cmd_throttle_pct', 0, PERCENT)),
  '4D': pid('Time with the lamp on', 2, f('mil_min', 0, WORD)),
  '4E': pid('Time since codes cleared', 2, f('clear_min', 0, WORD)),
  '4F': pid(
    'Largest values of lambda, oxygen sensor voltage and current, manifold pressure',
    4,
    f('max_lambda', 0, BYTE),
    f('max_o2_v', 1, BYTE),
    f('max_o2_ma', 2, BYTE),
    f('max_map_kpa', 3, { size: 1, mul: 10 }),
  ),
  '50': pid('Largest value of air mass flow', 4, f('max_maf_gps', 0, { size: 1, mul: 10 })),
  '51': pid('Fuel type', 1, f('fuel_type', 0, BYTE)),
  '52': pid('Ethanol share', 1, f('ethanol_pct', 0, PERCENT)),
  '53': pid('Evaporative system absolute vapour pressure', 2, f('evap_abs_kpa', 0, { size: 2, div: 200 })),
  '54': pid(
    'Evaporative system vapour pressure, wide range',
    2,
    f('evap_wide_pa', 0, { size: 2, signed: true }),
  ),
  '55': pid(
    'Short term secondary oxygen sensor trim, banks 1 and 3',
    [1, 2],
    f('stft_rear1_pct', 0, TRIM),
    f('stft_rear3_pct', 1, TRIM),
  ),
  '56': pid(
    'Long term secondary oxygen sensor trim, banks 1 and 3',
    [1, 2],
    f('ltft_rear1_pct', 0, TRIM),
    f('ltft_rear3_pct', 1, TRIM),
  ),
  '57': pid(
    'Short term secondary oxygen sensor trim, banks 2 and 4',
    [1, 2],
    f('stft_rear2_pct', 0, TRIM),
    f('stft_rear4_pct', 1, TRIM),
  ),
  '58': pid(
    'Long term secondary oxygen sensor trim, banks 2 and 4',
    [1, 2],
    f('ltft_rear2_pct', 0, TRIM),
    f('ltft_rear4_pct', 1, TRIM),
  ),
  '59': pid('Fuel rail pressure (absolute)', 2, f('fuel_rail_abs_kpa', 0, TENS)),
  '5A': pid('Relative accelerator pedal', 1, f('rel_pedal_pct', 0, PERCENT)),
  '5B': pid('Hybrid battery charge', 1, f('hybrid_battery_pct', 0, PERCENT)),
  '5C': pid('Oil temperature', 1, f('oil_c', 0, TEMP)),
  '5D': pid('Fuel injection timing', 2, f('injection_deg', 0, { size: 2, zero: 26880, div: 128 })),
  '5E': pid('Fuel rate', 2, f('fuel_lph', 0, { size: 2, div: 20 })),
  '5F': pid('Emission requirements', 1, f('emission_class', 0, BYTE)),
  '60': bitmap('61', '80'),
  '61': pid("Driver's demand torque", 1, f('torque_demand_pct', 0, TORQUE)),
  '62': pid('Engine torque', 1, f('torque_pct', 0, TORQUE)),
  '63': pid('Reference torque', 2, f('torque_ref_nm', 0, WORD)),
  '64': pid(
    'Torque at idle and at four points',
    5,
    f('torque_idle_pct', 0, TORQUE),
    f('torque_point1_pct', 1, TORQUE),
    f('torque_point2_pct', 2, TORQUE),
    f('torque_point3_pct', 3, TORQUE),
    f('torque_point4_pct', 4, TORQUE),
  ),
  '65': pid(
    'Auxiliary inputs and outputs',
    2,
    bits('pto', 1, 0, 1, 0),
    bits('auto_in_drive', 1, 1, 1, 1),
    bits('manual_in_gear', 1, 2, 1, 2),
    bits('glow_lamp', 1, 3, 1, 3),
  ),
  '66': pid('Air mass flow sensors', 5, f('maf_gps', 1, PER32, 0), f('maf2_gps', 3, PER32, 1)),
  '67': pid('Coolant temperature sensors', 3, f('ect_c', 1, TEMP, 0), f('ect2_c', 2, TEMP, 1)),
  '68': pid(
    'Intake air temperature sensors',
    [7, 3],
    f('iat_c', 1, TEMP, 0),
    f('iat2_c', 2, TEMP, 1),
    f('iat3_c', 3, TEMP, 2),
    f('iat4_c', 4, TEMP, 3),
    f('iat5_c', 5, TEMP, 4),
    f('iat6_c', 6, TEMP, 5),
  ),
  '69': pid(
    'Exhaust gas recirculation, commanded, measured, error',
    7,
    f('egr_cmd_pct', 1, PERCENT, 0),
    f('egr_act_pct', 2, PERCENT, 1),
    f('egr_error_pct', 3, TRIM, 2),
    f('egr2_cmd_pct', 4, PERCENT, 3),
    f('egr2_act_pct', 5, PERCENT, 4),
    f('egr2_error_pct', 6, TRIM, 5),
  ),
  '6A': pid(
    'Diesel intake flap, commanded and relative position',
    5,
    f('intake_flap_cmd_pct', 1, PERCENT, 0),
    f('intake_flap_act_pct', 2, PERCENT, 1),
    f('intake_flap2_cmd_pct', 3, PERCENT, 2),
    f('intake_flap2_act_pct', 4, PERCENT, 3),
  ),
  '6B': pid(
    'Recirculated gas temperature',
    5,
    f('egr1_c', 1, TEMP, 0),
    f('egr2_c', 2, TEMP, 1),
    f('egr3_c', 3, TEMP, 2),
    f('egr4_c', 4, TEMP, 3),
  ),
  '6C': pid(
    'Throttle, commanded and relative position',
    5,
    f('cmd_throttle_pct', 1, PERCENT, 0),
    f('rel_throttle_pct', 2, PERCENT, 1),
    f('cmd_throttle_b_pct', 3, PERCENT, 2),
    f('rel_throttle_b_pct', 4, PERCENT, 3),
  ),
  '6D': pid(
    'Fuel pressure control',
    [11, 6],
    f('rail1_cmd_kpa', 1, TENS, 0),
    f('rail1_act_kpa', 3, TENS, 1),
    f('rail1_c', 5, TEMP, 2),
    f('rail2_cmd_kpa', 6, TENS, 3),
    f('rail2_act_kpa', 8, TENS, 4),
    f('rail2_c', 10, TEMP, 5),
  ),
  '6E': pid(
    'Injection pressure control',
    [9, 5],
    f('inject1_cmd_kpa', 1, TENS, 0),
    f('inject1_act_kpa', 3, TENS, 1),
    f('inject2_cmd_kpa', 5, TENS, 2),
    f('inject2_act_kpa', 7, TENS, 3),
  ),
  '6F': pid(
    'Compressor inlet pressure',
    3,
    f('comp_inlet_kpa', 1, BYTE, 0),
    f('comp_inlet2_kpa', 2, BYTE, 1),
  ),
  // Pressures are absolute, 1/32 kPa a count. The last byte, control status, is missing in the first edition.
  '70': pid(
    'Boost pressure control',
    [10, 9],
    f('boost_cmd_kpa', 1, PER32, 0),
    f('boost_act_kpa', 3, PER32, 1),
    f('boost2_cmd_kpa', 5, PER32, 3),
    f('boost2_act_kpa', 7, PER32, 4),
    bits('boost_control', 9, 0, 2, 2),
    bits('boost2_control', 9, 2, 2, 5),
  ),
  '71': pid(
    'Turbine geometry control',
    [6, 5],
    f('vgt_cmd_pct', 1, PERCENT, 0),
    f('vgt_act_pct', 2, PERCENT, 1),
    f('vgt2_cmd_pct', 3, PERCENT, 3),
    f('vgt2_act_pct', 4, PERCENT, 4),
    bits('vgt_control', 5, 0, 2, 2),
    bits('vgt2_control', 5, 2, 2, 5),
  ),
  '72': pid(
    'Wastegate control',
    5,
    f('wastegate_cmd_pct', 1, PERCENT, 0),
    f('wastegate_act_pct', 2, PERCENT, 1),
    f('wastegate2_cmd_pct', 3, PERCENT, 2),
    f('wastegate2_act_pct', 4, PERCENT, 3),
  ),
  '73': pid('Exhaust pressure', 5, f('exhaust1_kpa', 1, HUNDREDTHS, 0), f('exhaust2_kpa', 3, HUNDREDTHS, 1)),
  '74': pid('Turbocharger speed', 5, f('turbo_rpm', 1, TENS, 0), f('turbo2_rpm', 3, TENS, 1)),
  '75': turboTemps('turbo', 'A'),
  '76': turboTemps('turbo2', 'B'),
  '77': pid(
    'Charge air cooler temperature',
    5,
    f('cac1_c', 1, TEMP, 0),
    f('cac2_c', 2, TEMP, 1),
    f('cac3_c', 3, TEMP, 2),
    f('cac4_c', 4, TEMP, 3),
  ),
  '78': exhaustTemps(1, 1),
  '79': exhaustTemps(2, 1),
  '7A': particleFilter(1),
  '7B': particleFilter(2),
  '7C': pid(
    'Particle filter temperature',
    9,
    f('dpf1_in_c', 1, HOT, 0),
    f('dpf1_out_c', 3, HOT, 1),
    f('dpf2_in_c', 5, HOT, 2),
    f('dpf2_out_c', 7, HOT, 3),
  ),
  '7D': pid('NOx not-to-exceed area status', 1, f('nox_nte', 0, BYTE)),
  '7E': pid('Particulate not-to-exceed area status', 1, f('pm_nte', 0, BYTE)),
  '7F': pid(
    'Engine run time',
    13,
    f('total_run_s', 1, LONG, 0),
    f('total_idle_s', 5, LONG, 1),
    f('total_pto_s', 9, LONG, 2),
  ),
  '80': bitmap('81', 'A0'),
  '81': rawOnly('Run time of auxiliary emission devices 1-5'),
  '82': rawOnly('Run time of auxiliary emission devices 6-10'),
  '83': pid(
    'NOx sensors',
    [9, 5],
    f('nox1_ppm', 1, WORD, 0),
    f('nox2_ppm', 3, WORD, 1),
    f('nox3_ppm', 5, WORD, 2),
    f('nox4_ppm', 7, WORD, 3),
  ),
  '84': pid('Manifold surface temperature', 1, f('manifold_surface_c', 0, TEMP)),
  '85': pid(
    'NOx reagent system',
    10,
    f('reagent_lph', 1, { size: 2, div: 200 }, 0),
    f('reagent_demand_lph', 3, { size: 2, div: 200 }, 1),
    f('reagent_level_pct', 5, PERCENT, 2),
    f('nox_warning_s', 6, LONG, 3),
  ),
  '86': pid(
    'Particulate mass sensors',
    5,
    f('pm1_mgm3', 1, { size: 2, div: 80 }, 0),
    f('pm2_mgm3', 3, { size: 2, div: 80 }, 1),
  ),
  '87': pid('Manifold absolute pressure sensors', 5, f('map_kpa', 1, PER32, 0), f('map2_kpa', 3, PER32, 1)),
  '88': rawOnly('Reagent inducement system'),
  '89': rawOnly('Run time of auxiliary emission devices 11-15'),
  '8A': rawOnly('Run time of auxiliary emission devices 16-20'),
  '8B': pid(
    'Diesel exhaust aftertreatment',
    7,
    bits('dpf_regenerating', 1, 0, 1, 0),
    bits('dpf_regen_active', 1, 1, 1, 1),
    bits('nox_regenerating', 1, 2, 1, 2),
    bits('nox_desulphating', 1, 3, 1, 3),
    f('dpf_trigger_pct', 2, PERCENT, 4),
    f('dpf_regen_gap_min', 3, WORD, 5),
    f('dpf_regen_gap_km', 5, WORD, 6),
  ),
  '8C': pid(
    'Exhaust oxygen sensors, wide range',
    17,
    f('exhaust_o2_1_pct', 1, { size: 2, mul: 100, div: 65536 }, 0),
    f('exhaust_o2_2_pct', 3, { size: 2, mul: 100, div: 65536 }, 1),
    f('exhaust_o2_3_pct', 5, { size: 2, mul: 100, div: 65536 }, 2),
    f('exhaust_o2_4_pct', 7, { size: 2, mul: 100, div: 65536 }, 3),
    f('exhaust_o2_1_lambda', 9, { size: 2, div: 8192 }, 4),
    f('exhaust_o2_2_lambda', 11, { size: 2, div: 8192 }, 5),
    f('exhaust_o2_3_lambda', 13, { size: 2, div: 8192 }, 6),
    f('exhaust_o2_4_lambda', 15, { size: 2, div: 8192 }, 7),
  ),
  '8D': pid('Throttle position G', 1, f('throttle_g_pct', 0, PERCENT)),
  '8E': pid('Friction torque', 1, f('friction_pct', 0, TORQUE)),
  '8F': rawOnly('Particulate sensor output'),
  '90': rawOnly('Vehicle diagnostic status, harmonised'),
  '91': rawOnly('Control unit diagnostic status, harmonised'),
  '92': rawOnly('Fuel system control status'),
  '93': rawOnly('Vehicle diagnostic counters, harmonised'),
  '94': rawOnly('NOx warning and inducement'),
  '98': exhaustTemps(1, 5),
  '99': exhaustTemps(2, 5),
  '9A': rawOnly('Hybrid or electric vehicle system'),
  '9B': rawOnly('Reagent sensor'),
  '9C': rawOnly('Exhaust oxygen sensors 3 and 4, wide range'),
  '9D': pid(
    'Fuel rate by mass',
    4,
    f('fuel_gps', 0, { size: 2, div: 50 }),
    f('vehicle_fuel_gps', 2, { size: 2, div: 50 }),
  ),
  '9E': pid('Exhaust mass flow', 2, f('exhaust_kgph', 0, { size: 2, div: 5 })),
  '9F': rawOnly('Share of fuel systems'),
  A0: bitmap('A1', 'C0'),
  A1: rawOnly('NOx sensors, corrected'),
  A2: pid('Cylinder fuel rate', 2, f('cylinder_fuel_mg', 0, PER32)),
  A3: rawOnly('Evaporative system vapour pressure sensors'),
  A4: pid('Transmission ratio', 4, f('gear_ratio', 2, { size: 2, div: 1000 }, 1)),
  A5: rawOnly('Commanded reagent dosing'),
  A6: pid('Odometer', 4, f('odometer_km', 0, { size: 4, div: 10 })),
  A7: rawOnly('NOx sensors 3 and 4'),
  A8: rawOnly('NOx sensors 3 and 4, corrected'),
  C0: bitmap('C1', 'E0'),
  E0: bitmap('E1', 'FF'),
};

/** By number; undefined for PIDs that the table does not know. */
export const PIDS: readonly (PidDef | undefined)[] = Array.from({ length: 256 }, (_, n) => TABLE[pidText(n)]);

/** Two upper-case hex digits. */
export function pidText(n: number): string {
  return n.toString(16).toUpperCase().padStart(2, '0');
}
