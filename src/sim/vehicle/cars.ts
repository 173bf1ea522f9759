/** The invented cars: one set of parts, different parameters. Figures are ordinary ones for the class, no car's own. */

/** Values over engine speed, linearly interpolated: [rpm, value] in rising order. */
export type Curve = readonly (readonly [rpm: number, value: number])[];

export function along(curve: Curve, x: number): number {
  // By index: taking pairs apart costs more than the sum, which is asked for half a million times a minute.
  let before = curve[0]!;
  if (x <= before[0]) return before[1];
  for (let i = 1; i < curve.length; i++) {
    const after = curve[i]!;
    if (x <= after[0]) return before[1] + ((after[1] - before[1]) * (x - before[0])) / (after[0] - before[0]);
    before = after;
  }
  return before[1];
}

export interface Supercharger {
  /** Swept volume a turn of its own shaft, m³, and belt ratio to the crankshaft. */
  readonly volumeM3: number;
  readonly ratio: number;
  /** Filling at no pressure rise; gap loss, kg/(s Pa). */
  readonly filling: number;
  readonly gapKgpsPerPa: number;
  readonly efficiency: number;
  /** Area of the control flap wide open, m². */
  readonly flapM2: number;
  /** Closes at any high demand up to `bandTopRpm`, on a sudden demand up to `handOverRpm` (common practice, no source). */
  readonly bandTopRpm: number;
  readonly handOverRpm: number;
}

export interface Turbo {
  /** Rotor inertia kg m² and compressor wheel radius m. */
  readonly inertia: number;
  readonly radiusM: number;
  readonly compressorEfficiency: number;
  readonly turbineEfficiency: number;
  /** Swallowing capacity in Stodola's ellipse, kg √K / (s Pa): vanes closed and open (equal: fixed vanes). */
  readonly capacityClosed: number;
  readonly capacityOpen: number;
  /** Share of the exhaust that the waste gate lets past when open; 0 with moving vanes. */
  readonly wasteShare: number;
}

export interface Car {
  readonly name: string;
  readonly description: string;
  readonly vin: string;
  readonly induction: 'twin-charged' | 'turbocharger' | 'naturally aspirated';
  readonly fuel: 'petrol' | 'diesel';
  readonly displacementM3: number;
  readonly cylinders: number;
  readonly idleRpm: number;
  readonly maxRpm: number;
  /** Share of the swept volume filled, at the manifold's density. */
  readonly filling: Curve;
  /** Gauge pressure the control unit asks at full demand, Pa, at sea level. */
  readonly fullBoostPa: Curve;
  readonly supercharger: Supercharger | null;
  readonly turbo: Turbo | null;
  /** Volumes between the chargers, before the throttle, and of the manifold, m³. */
  readonly volumesM3: readonly [number, number, number];
  readonly throttleM2: number;
  readonly intakeM2: number;
  /** Share of the fuel's heat that becomes work in the cylinder, before friction. */
  readonly indicatedEfficiency: number;
  /** Share of the fuel's heat that goes into the walls at middling load. */
  readonly wallShare: number;
  readonly inertia: number;
  /** Driver's rough idea of the torque at hand, Nm. */
  readonly torqueNm: number;
  readonly gears: readonly number[];
  readonly finalDrive: number;
  readonly wheelM: number;
  readonly massKg: number;
  readonly dragM2: number;
  readonly rolling: number;
  /** Engine speed at which this driver changes up at light demand, rpm. */
  readonly changeUpRpm: number;
  /** Heat capacities J/K: metal, coolant in the engine, coolant in the radiator, oil. */
  readonly heatCapacity: {
    readonly metal: number;
    readonly coolant: number;
    readonly radiator: number;
    readonly oil: number;
  };
  readonly thermostatC: readonly [opens: number, full: number];
  readonly fanC: readonly [on: number, off: number];
  /** Coolant flow of the pump, kg/s at 1000 rpm (proportional to engine speed). */
  readonly pumpKgps: number;
  /** Radiator conductance at plenty of air and coolant, W/K. */
  readonly radiatorWpK: number;
  readonly supported: readonly string[];
}

const PETROL_SIGNALS = [
  'load_pct',
  'ect_c',
  'stft1_pct',
  'ltft1_pct',
  'map_kpa',
  'rpm',
  'speed_kmh',
  'timing_deg',
  'iat_c',
  'throttle_pct',
  'run_time_s',
  'baro_kpa',
  'voltage_v',
  'abs_load_pct',
  'lambda_cmd',
  'rel_throttle_pct',
  'ambient_c',
  'pedal_d_pct',
  'pedal_e_pct',
  'cmd_throttle_pct',
];

const TWIN: Car = {
  name: 'Tarnwick 1.8 twin-charged',
  description: 'petrol, clutch-driven supercharger and turbocharger (invented)',
  vin: '00HBTRNW18T000017',
  induction: 'twin-charged',
  fuel: 'petrol',
  displacementM3: 1.8e-3,
  cylinders: 4,
  idleRpm: 780,
  maxRpm: 6400,
  filling: [
    [600, 0.78],
    [1500, 0.86],
    [3000, 0.92],
    [4500, 0.93],
    [6000, 0.87],
    [7000, 0.8],
  ],
  fullBoostPa: [
    [800, 22e3],
    [1000, 42e3],
    [1250, 68e3],
    [1500, 88e3],
    [1750, 100e3],
    [2000, 106e3],
    [2300, 108e3],
    [4600, 108e3],
    [5400, 94e3],
    [6300, 78e3],
  ],
  supercharger: {
    volumeM3: 0.44e-3,
    ratio: 4.6,
    filling: 0.93,
    gapKgpsPerPa: 2.8e-8,
    efficiency: 0.58,
    flapM2: 5.9e-4,
    bandTopRpm: 2300,
    handOverRpm: 3300,
  },
  turbo: {
    inertia: 2.1e-5,
    radiusM: 0.0245,
    compressorEfficiency: 0.71,
    turbineEfficiency: 0.64,
    capacityClosed: 2.35e-5,
    capacityOpen: 2.35e-5,
    wasteShare: 0.75,
  },
  volumesM3: [1.4e-3, 4.2e-3, 2.0e-3],
  throttleM2: 17e-4,
  intakeM2: 15e-4,
  indicatedEfficiency: 0.37,
  wallShare: 0.25,
  inertia: 0.17,
  torqueNm: 280,
  gears: [3.62, 2.02, 1.34, 0.98, 0.78, 0.65],
  finalDrive: 3.8,
  wheelM: 0.321,
  massKg: 1430,
  dragM2: 0.7,
  rolling: 0.0115,
  changeUpRpm: 2300,
  heatCapacity: { metal: 44e3, coolant: 13.5e3, radiator: 9e3, oil: 8.5e3 },
  thermostatC: [88, 102],
  fanC: [99, 94],
  pumpKgps: 0.44,
  radiatorWpK: 2850,
  supported: [...PETROL_SIGNALS, 'boost_cmd_kpa', 'boost_act_kpa'],
};

const DIESEL: Car = {
  name: 'Norrby 2.0 TD',
  description: 'diesel, turbocharger with moving vanes (invented)',
  vin: '00HBNRBY20D000023',
  induction: 'turbocharger',
  fuel: 'diesel',
  displacementM3: 1.98e-3,
  cylinders: 4,
  idleRpm: 820,
  maxRpm: 4800,
  filling: [
    [600, 0.84],
    [1500, 0.88],
    [3000, 0.9],
    [4000, 0.86],
    [5000, 0.8],
  ],
  fullBoostPa: [
    [800, 15e3],
    [1000, 35e3],
    [1250, 70e3],
    [1500, 100e3],
    [1750, 122e3],
    [2000, 132e3],
    [3500, 130e3],
    [4500, 105e3],
  ],
  supercharger: null,
  turbo: {
    inertia: 2.6e-5,
    radiusM: 0.0245,
    compressorEfficiency: 0.7,
    turbineEfficiency: 0.62,
    capacityClosed: 1.05e-5,
    capacityOpen: 3.6e-5,
    wasteShare: 0,
  },
  volumesM3: [1.0e-3, 5.5e-3, 2.2e-3],
  throttleM2: 18e-4,
  intakeM2: 16e-4,
  indicatedEfficiency: 0.43,
  wallShare: 0.24,
  inertia: 0.22,
  torqueNm: 320,
  gears: [3.77, 2.04, 1.32, 0.95, 0.76, 0.63],
  finalDrive: 3.45,
  wheelM: 0.316,
  massKg: 1560,
  dragM2: 0.68,
  rolling: 0.0115,
  changeUpRpm: 1900,
  heatCapacity: { metal: 58e3, coolant: 16e3, radiator: 10e3, oil: 10e3 },
  thermostatC: [87, 100],
  fanC: [97, 92],
  pumpKgps: 0.42,
  radiatorWpK: 1600,
  supported: [
    'load_pct',
    'ect_c',
    'map_kpa',
    'rpm',
    'speed_kmh',
    'iat_c',
    'maf_gps',
    'throttle_pct',
    'run_time_s',
    'baro_kpa',
    'voltage_v',
    'ambient_c',
    'pedal_d_pct',
    'pedal_e_pct',
    'oil_c',
    'torque_pct',
    'torque_ref_nm',
    'boost_cmd_kpa',
    'boost_act_kpa',
  ],
};

const PLAIN: Car = {
  name: 'Pellowe 1.6',
  description: 'petrol, naturally aspirated (invented)',
  vin: '00HBPLLW16N000031',
  induction: 'naturally aspirated',
  fuel: 'petrol',
  displacementM3: 1.6e-3,
  cylinders: 4,
  idleRpm: 740,
  maxRpm: 6400,
  filling: [
    [600, 0.76],
    [1500, 0.84],
    [3000, 0.9],
    [4500, 0.94],
    [5500, 0.9],
    [6500, 0.82],
  ],
  fullBoostPa: [
    [800, 0],
    [6500, 0],
  ],
  supercharger: null,
  turbo: null,
  volumesM3: [1.0e-3, 1.5e-3, 2.6e-3],
  throttleM2: 14e-4,
  intakeM2: 16e-4,
  indicatedEfficiency: 0.375,
  wallShare: 0.3,
  inertia: 0.15,
  torqueNm: 145,
  gears: [3.62, 1.95, 1.36, 1.03, 0.84, 0.7],
  finalDrive: 4.2,
  wheelM: 0.305,
  massKg: 1220,
  dragM2: 0.65,
  rolling: 0.0115,
  changeUpRpm: 2600,
  heatCapacity: { metal: 44e3, coolant: 14e3, radiator: 9e3, oil: 8e3 },
  thermostatC: [87, 101],
  fanC: [98, 93],
  pumpKgps: 0.38,
  radiatorWpK: 1400,
  supported: [...PETROL_SIGNALS, 'maf_gps'],
};

/** What `vehicle` may name; the first is the default. */
export const CARS: Readonly<Record<string, Car>> = {
  'twin-charged': TWIN,
  'turbo-diesel': DIESEL,
  petrol: PLAIN,
};
