/** Faults by name: each turns one or two knobs of the physics or of a sensor; nothing else knows that it is there. */

import { saying } from '../../core/error-says.ts';
import type { Says } from '../../core/says.ts';

export interface FaultRequest {
  readonly name: string;
  readonly value?: number;
}

interface FaultDef {
  readonly name: string;
  readonly description: string;
  /** Meaning, default and range of the value; null when it takes none. */
  readonly value: {
    readonly meaning: string;
    readonly byDefault: number;
    readonly range: readonly [number, number];
  } | null;
}

/** What `clutch` hardware does with a command. */
export interface Knobs {
  clutchNeverCloses: boolean;
  clutchNeverOpens: boolean;
  clutchCircuitOpen: boolean;
  clutchDelayS: number;
  clutchSlip: number;
  clutchMissProbability: number;
  leakM2: number;
  turboHealth: number;
  mapFrozenFromS: number;
  noCirculationFromS: number;
  /** Share of pump flow left at the end of the fade; 1 = no fade. */
  pumpLeft: number;
  stuckOpening: number | null;
  fanDead: boolean;
  airInSystem: boolean;
  spikesPerMin: number;
  charging: boolean;
}

const fraction = (meaning: string, byDefault: number) =>
  ({ meaning: `${meaning}, 0 to 1`, byDefault, range: [0, 1] }) as const;

const DEFS: readonly (FaultDef & { readonly turn: (k: Knobs, value: number) => void })[] = [
  {
    name: 'clutch-never-closes',
    description: 'magnetic clutch of the supercharger stays open (worn plate, seized)',
    value: null,
    turn: (k) => {
      k.clutchNeverCloses = true;
    },
  },
  {
    name: 'clutch-circuit-open',
    description:
      'wire or coil of the magnetic clutch broken: stays open, and the control unit sees the broken circuit',
    value: null,
    turn: (k) => {
      k.clutchNeverCloses = true;
      k.clutchCircuitOpen = true;
    },
  },
  {
    name: 'clutch-closes-late',
    description: 'magnetic clutch closes late',
    value: { meaning: 'delay in s, 0.1 to 10', byDefault: 1.2, range: [0.1, 10] },
    turn: (k, v) => {
      k.clutchDelayS = v;
    },
  },
  {
    name: 'clutch-slips',
    description: 'magnetic clutch slips under load, more as it heats up in the hold',
    value: fraction('share of the belt speed lost at full load', 0.4),
    turn: (k, v) => {
      k.clutchSlip = v;
    },
  },
  {
    name: 'clutch-sometimes',
    description: 'magnetic clutch fails to close at some engagements (contact)',
    value: fraction('probability that it fails', 0.3),
    turn: (k, v) => {
      k.clutchMissProbability = v;
    },
  },
  {
    name: 'clutch-never-opens',
    description: 'magnetic clutch stuck closed: supercharger always driven',
    value: null,
    turn: (k) => {
      k.clutchNeverOpens = true;
    },
  },
  {
    name: 'boost-leak',
    description: 'hole in the charge pipe after the turbocharger',
    value: { meaning: 'diameter in mm, 1 to 30', byDefault: 10, range: [1, 30] },
    turn: (k, v) => {
      k.leakM2 = 0.7 * Math.PI * (v / 2000) ** 2;
    },
  },
  {
    name: 'weak-turbo',
    description: 'turbocharger gives too little (worn, waste gate or vanes not closing)',
    value: fraction('share of its power lost', 0.45),
    turn: (k, v) => {
      k.turboHealth = 1 - v;
    },
  },
  {
    name: 'map-frozen',
    description: 'manifold pressure reading freezes',
    value: { meaning: 'from this second on', byDefault: 200, range: [0, 1e5] },
    turn: (k, v) => {
      k.mapFrozenFromS = v;
    },
  },
  {
    name: 'no-circulation',
    description: 'coolant pump turns nothing (impeller loose, belt off)',
    value: { meaning: 'from this second on', byDefault: 0, range: [0, 1e5] },
    turn: (k, v) => {
      k.noCirculationFromS = v;
    },
  },
  {
    name: 'pump-fading',
    description: 'coolant pump loses flow from minute 5 to minute 12',
    value: fraction('share of the flow left at the end', 0.05),
    turn: (k, v) => {
      k.pumpLeft = v;
    },
  },
  {
    name: 'thermostat-open',
    description: 'thermostat stuck open',
    value: fraction('opening', 0.7),
    turn: (k, v) => {
      k.stuckOpening = v;
    },
  },
  {
    name: 'thermostat-shut',
    description: 'thermostat stuck shut',
    value: fraction('opening', 0),
    turn: (k, v) => {
      k.stuckOpening = v;
    },
  },
  {
    name: 'fan-dead',
    description: 'radiator fan does not turn',
    value: null,
    turn: (k) => {
      k.fanDead = true;
    },
  },
  {
    name: 'air-in-system',
    description: 'air in the coolant: bubbles past the sensor, flow that comes and goes',
    value: null,
    turn: (k) => {
      k.airInSystem = true;
    },
  },
  {
    name: 'coolant-sensor-spikes',
    description: 'loose contact at the coolant temperature sensor',
    value: { meaning: 'spikes a minute, 0.1 to 60', byDefault: 3, range: [0.1, 60] },
    turn: (k, v) => {
      k.spikesPerMin = v;
    },
  },
  {
    name: 'no-charging',
    description: 'alternator does not charge',
    value: null,
    turn: (k) => {
      k.charging = false;
    },
  },
];

/** For `sim --help`: name and one line that says what the value means. */
export const FAULTS: readonly { readonly name: string; readonly description: string }[] = DEFS.map(
  ({ name, description, value }) => ({
    name,
    description: value ? `${description}; =${value.meaning}, default ${value.byDefault}` : description,
  }),
);

export function knobsFor(faults: readonly FaultRequest[]): Knobs {
  const knobs: Knobs = {
    clutchNeverCloses: false,
    clutchNeverOpens: false,
    clutchCircuitOpen: false,
    clutchDelayS: 0,
    clutchSlip: 0,
    clutchMissProbability: 0,
    leakM2: 0,
    turboHealth: 1,
    mapFrozenFromS: Number.POSITIVE_INFINITY,
    noCirculationFromS: Number.POSITIVE_INFINITY,
    pumpLeft: 1,
    stuckOpening: null,
    fanDead: false,
    airInSystem: false,
    spikesPerMin: 0,
    charging: true,
  };
  for (const { name, value } of faults) {
    const def = DEFS.find((d) => d.name === name)!;
    def.turn(knobs, value ?? def.value?.byDefault ?? 0);
  }
  return knobs;
}

/** Null when the request is good, else a sentence saying what is wrong and what was expected. */
export function faultProblem({ name, value }: FaultRequest): Says | null {
  const def = DEFS.find((d) => d.name === name);
  if (!def)
    return saying('error.sim-unknown', {
      what: 'fault',
      word: name,
      known: DEFS.map((d) => d.name).join(', '),
    });
  if (value === undefined) return null;
  if (!def.value) return saying('error.sim-no-value', { name: `fault ${name}` });
  const [low, high] = def.value.range;
  if (!(value >= low && value <= high))
    return saying('error.sim-number', { name: `fault ${name}`, value: String(value), low, high });
  return null;
}
