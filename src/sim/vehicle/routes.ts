/** Routes as lists of legs, each with its time: what the driver is told to do, not what the engine then does. */

export type RouteLeg =
  /** Ignition on, engine off. */
  | { readonly do: 'key-on'; readonly s: number }
  /** Ignition off, engine off, parked: no control unit answers. */
  | { readonly do: 'key-off'; readonly s: number }
  /** Crank and let it idle. */
  | { readonly do: 'start'; readonly s: number }
  /** Brake to a stand and idle. */
  | { readonly do: 'idle'; readonly s: number }
  /** Standing, out of gear, held at an engine speed. */
  | { readonly do: 'rev'; readonly rpm: number; readonly s: number }
  /** Follow a speed; in `gear` if given, else as the driver likes. */
  | {
      readonly do: 'drive';
      readonly kmh: number;
      readonly s: number;
      readonly gear?: number;
      readonly gradePct?: number;
    }
  /** Settle at `fromRpm` in `gear`, then press the pedal to `pedalPct` until `toRpm`, lift, carry on. */
  | {
      readonly do: 'pull';
      readonly gear: number;
      readonly fromRpm: number;
      readonly toRpm: number;
      readonly pedalPct: number;
      readonly s: number;
      readonly gradePct?: number;
    };

export interface Route {
  readonly name: string;
  readonly description: string;
  /** Coolant at the start, °C. */
  readonly startC: number;
  /** Height of the start above the sea, m. */
  readonly altitudeM: number;
  readonly legs: readonly RouteLeg[];
}

const pull = (gear: number, fromRpm: number, toRpm: number, pedalPct: number, s: number, gradePct = 0) =>
  ({ do: 'pull', gear, fromRpm, toRpm, pedalPct, s, gradePct }) as const;
const drive = (kmh: number, s: number, gear?: number, gradePct?: number): RouteLeg => ({
  do: 'drive',
  kmh,
  s,
  ...(gear === undefined ? {} : { gear }),
  ...(gradePct === undefined ? {} : { gradePct }),
});
const idle = (s: number) => ({ do: 'idle', s }) as const;

const TOWN: readonly RouteLeg[] = [
  drive(50, 35),
  idle(18),
  drive(48, 40),
  drive(30, 18),
  drive(52, 30),
  idle(12),
  drive(40, 25),
];

/** Pulls through and above the clutch band, with light demand in the band between them. */
const PULLS: readonly RouteLeg[] = [
  pull(3, 1250, 2300, 90, 22),
  drive(38, 16, 4),
  pull(4, 1300, 2400, 95, 24),
  drive(52, 18, 5),
  pull(4, 1800, 2700, 90, 22),
  pull(3, 2150, 3400, 95, 20),
  drive(55, 20, 4),
  pull(5, 1400, 2200, 85, 26),
  pull(3, 3550, 5200, 95, 24),
  drive(60, 16, 4),
];

export const ROUTE_LIST: readonly Route[] = [
  {
    name: 'road-test',
    description: 'half-cold start, warm-up, town, pulls, motorway, hill, idle, hot restart',
    startC: 38,
    altitudeM: 120,
    legs: [
      { do: 'key-on', s: 8 },
      { do: 'start', s: 22 },
      drive(45, 40),
      drive(68, 60),
      idle(10),
      drive(72, 75),
      drive(85, 60),
      ...TOWN.slice(0, 4),
      ...PULLS,
      drive(110, 60),
      drive(125, 55),
      pull(5, 3550, 4300, 90, 25),
      drive(70, 25),
      drive(62, 60, 3, 7),
      drive(55, 30, 4, -4),
      idle(35),
      { do: 'rev', rpm: 2000, s: 150 }, // to the fan and back
      idle(60),
      { do: 'key-off', s: 45 },
      { do: 'key-on', s: 4 },
      { do: 'start', s: 15 },
      drive(45, 25),
      pull(3, 1350, 2600, 90, 22),
      pull(4, 1500, 2400, 90, 24),
      drive(50, 25),
      idle(20),
      { do: 'key-on', s: 10 },
    ],
  },
  {
    name: 'warm-road-test',
    description: 'starts at 70 °C: first pull after half a minute, then load, hill and idle',
    startC: 70,
    altitudeM: 120,
    legs: [
      { do: 'key-on', s: 4 },
      { do: 'start', s: 8 },
      drive(42, 14),
      ...PULLS,
      drive(100, 50),
      pull(5, 3550, 4200, 90, 25),
      drive(60, 45, 3, 7),
      drive(50, 25),
      pull(4, 1350, 2400, 90, 24),
      idle(30),
      { do: 'rev', rpm: 2000, s: 15 },
      idle(15),
      { do: 'key-on', s: 10 },
    ],
  },
  {
    name: 'town',
    description: 'town traffic, never high demand',
    startC: 30,
    altitudeM: 120,
    legs: [
      { do: 'key-on', s: 5 },
      { do: 'start', s: 15 },
      ...TOWN,
      idle(25),
      ...TOWN,
      drive(35, 30),
      idle(40),
      ...TOWN,
      idle(30),
      { do: 'key-on', s: 10 },
    ],
  },
  {
    name: 'hill',
    description: 'warm start, long climb with load, descent',
    startC: 75,
    altitudeM: 300,
    legs: [
      { do: 'key-on', s: 5 },
      { do: 'start', s: 10 },
      drive(60, 90),
      drive(62, 150, undefined, 6),
      pull(3, 1500, 3300, 90, 24, 6),
      drive(55, 120, undefined, 8),
      pull(3, 1800, 3000, 90, 24, 7),
      drive(60, 60, undefined, 5),
      idle(40),
      drive(50, 150, undefined, -6),
      drive(60, 60),
      idle(30),
      { do: 'key-on', s: 10 },
    ],
  },
  {
    name: 'motorway',
    description: 'start at 60 °C, slip road pull, steady 110 to 140 km/h with climbs',
    startC: 60,
    altitudeM: 200,
    legs: [
      { do: 'key-on', s: 5 },
      { do: 'start', s: 10 },
      ...TOWN.slice(0, 3),
      pull(3, 1800, 4500, 95, 24),
      drive(112, 180),
      drive(128, 180),
      drive(120, 90, undefined, 3.5),
      drive(140, 90),
      drive(110, 180),
      drive(60, 60),
      idle(45),
      { do: 'key-on', s: 10 },
    ],
  },
  {
    name: 'static-check',
    description: 'standing in the yard from 55 °C: idle and 2000 rpm until the fan has cut in',
    startC: 55,
    altitudeM: 120,
    legs: [
      { do: 'key-on', s: 6 },
      { do: 'start', s: 120 },
      { do: 'rev', rpm: 2000, s: 300 },
      idle(120),
      { do: 'rev', rpm: 2500, s: 180 },
      idle(480),
      { do: 'key-on', s: 10 },
    ],
  },
  {
    name: 'proving-drive',
    description:
      'cold start and all that coolant verdicts ask for: town, load, motorway, hill, fan at a stand, restart',
    startC: 20,
    altitudeM: 120,
    legs: [
      { do: 'key-on', s: 8 },
      { do: 'start', s: 30 },
      ...TOWN,
      drive(70, 150),
      drive(90, 150),
      ...TOWN,
      ...PULLS,
      drive(80, 180),
      drive(115, 150),
      drive(62, 150, undefined, 6),
      drive(60, 60, undefined, -3),
      ...TOWN,
      idle(60),
      { do: 'rev', rpm: 2000, s: 240 },
      idle(240),
      { do: 'key-off', s: 120 },
      { do: 'key-on', s: 4 },
      { do: 'start', s: 20 },
      drive(50, 60),
      drive(85, 180),
      idle(40),
      { do: 'key-on', s: 10 },
    ],
  },
  {
    name: 'short',
    description: 'around the block: too little evidence for any verdict',
    startC: 55,
    altitudeM: 120,
    legs: [
      { do: 'key-on', s: 4 },
      { do: 'start', s: 10 },
      ...TOWN.slice(0, 3),
      drive(35, 20),
      idle(15),
      { do: 'key-on', s: 10 },
    ],
  },
];
