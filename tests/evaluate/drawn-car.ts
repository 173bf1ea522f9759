/**
 * Cars, days and roads of the simulated fleets, each drawn from its seed. The widths are those of the open drives where
 * these can tell (`npx tsx tests/evaluate/widths.ts` measures both alike), else invented, and named as such.
 */
import { type Random, seededRandom } from '../../src/core/random.ts';
import { CARS, type Car, type Curve } from '../../src/sim/vehicle/cars.ts';
import type { Route, RouteLeg } from '../../src/sim/vehicle/routes.ts';
import type { BoostScatter, VehicleOptions } from '../../src/sim/vehicle/vehicle.ts';

/** Measured on the open diesel drives: what boost at like demand scatters by between drives (halves: 1.0 and 0.0 %) and pulls (1.6 and 2.0 %). */
export const BOOST_SCATTER: BoostScatter = { run: 0.01, pull: 0.018 };
/** Standard deviation of the logarithm of the turbocharger's inertia: the fleet's lag then spreads by 0.4, the open diesel's from pull to pull by 0.4 and 0.7. */
const LAG = 0.3;
/** Of a drive's air mass meter, a share: between the open diesel's drives. Of a car's (invented; common practice, no source). */
const METER_DAY = 0.007;
const METER_CAR = 0.02;
/** Between cars of a kind, shares (invented; common practice, no source): boost asked for, its slope over engine speed, heat and flow. */
const LEVEL = 0.04;
const SLOPE = 0.02;
const HEAT = 0.06;
/** Where the thermostat opens, °C: between drives of one car as the open drives' coolant settles; between cars invented (common practice, no source). */
const THERMOSTAT_DAY_C = 0.6;
const THERMOSTAT_CAR_C = 1.2;

/** A car of the class, as this seed would have built it. */
export function drawnCar(vehicle: string, seed: number | string): Car {
  const r = seededRandom(`car/${vehicle}/${seed}`);
  const normal = (): number => Math.max(-2.5, Math.min(2.5, r.normal()));
  const car = CARS[vehicle]!;
  const [level, slope, opensC] = [LEVEL * normal(), SLOPE * normal(), THERMOSTAT_CAR_C * normal()];
  const fullBoostPa: Curve = car.fullBoostPa.map(([rpm, pa]) => {
    const high = Math.max(-1, Math.min(1, (rpm - 2500) / 1500));
    return [rpm, pa * (1 + level + slope * high)];
  });
  const heat = Math.exp(HEAT * normal());
  return {
    ...car,
    fullBoostPa,
    turbo: car.turbo && { ...car.turbo, inertia: car.turbo.inertia * Math.exp(LAG * normal()) },
    thermostatC: [car.thermostatC[0] + opensC, car.thermostatC[1] + opensC],
    heatCapacity: { ...car.heatCapacity, metal: car.heatCapacity.metal * heat },
    pumpKgps: car.pumpKgps * Math.exp(HEAT * normal()),
    radiatorWpK: car.radiatorWpK * Math.exp(HEAT * normal()),
    massKg: car.massKg * (1 + 0.05 * normal()),
  };
}

/** The day of one drive: weather, what boost scatters by, where the thermostat opens, what the air mass meter is off by. */
export interface Day {
  readonly car: Car;
  readonly options: Pick<VehicleOptions, 'ambientC' | 'baroKpa' | 'boostScatter'>;
  readonly meter: number;
}

/** Height of the start by the standard atmosphere (ISO 2533: 11.3 kPa less for the first thousand metres), m, and what the weather adds, kPa. */
const HEIGHT_M = 700;
const WEATHER_KPA = 1;

export function drawnDay(car: Car, carSeed: number | string, seed: number | string, cold = -10): Day {
  const r = seededRandom(`day/${car.name}/${carSeed}/${seed}`);
  const meterOfCar = seededRandom(`meter/${car.name}/${carSeed}`).normal();
  const opensC = THERMOSTAT_DAY_C * Math.max(-2.5, Math.min(2.5, r.normal()));
  const [low, full] = car.thermostatC;
  const heightM = seededRandom(`height/${car.name}/${carSeed}`).between(0, HEIGHT_M);
  return {
    car: { ...car, thermostatC: [low + opensC, full + opensC] },
    options: {
      ambientC: Math.round(r.between(cold, 35)),
      baroKpa: 101.3 * (1 - 2.2558e-5 * heightM) ** 5.2559 + WEATHER_KPA * r.normal(),
      boostScatter: BOOST_SCATTER,
    },
    meter: (1 + METER_CAR * meterOfCar) * (1 + METER_DAY * r.normal()),
  };
}

/** Six in ten legs lie on a slope of their own, up to `steepPct` uphill, seven tenths of it downhill; all on the road's trend. */
function slopeOf(r: Random, steepPct: number, trendPct = 0): number {
  const own = r.next() < 0.6 ? r.between(-0.7 * steepPct, steepPct) : 0;
  return Math.round(10 * (own + trendPct)) / 10;
}

function shuffled<T>(r: Random, list: readonly T[]): T[] {
  return list
    .map((x) => ({ x, at: r.next() }))
    .sort((a, b) => a.at - b.at)
    .map(({ x }) => x);
}

/** Gear, engine speeds, longest time: through the clutch band, across its end, above it, near the top. */
const PULLS: readonly (readonly [gear: number, fromRpm: number, toRpm: number, s: number])[] = [
  [3, 1250, 2300, 22],
  [4, 1300, 2400, 24],
  [5, 1400, 2200, 26],
  [4, 1500, 2500, 24],
  [4, 1800, 2800, 22],
  [3, 2150, 3400, 20],
  [4, 2200, 3300, 24],
  [3, 2600, 4200, 20],
  [3, 3500, 5000, 22],
];

/** Eleven minutes with twelve pulls on a road with hills, the engine warm from the start. */
export function drawnPulls(seed: number | string): Route {
  const r = seededRandom(`pulls/${seed}`);
  // Up or down as a whole: the outside pressure drifts as in the open drives, by 3 kPa in one of ten.
  const trendPct = r.between(-2, 2);
  const pulls = shuffled(r, [...PULLS, ...shuffled(r, PULLS).slice(0, 3)]);
  const legs: RouteLeg[] = [
    { do: 'key-on', s: 4 },
    { do: 'start', s: 8 },
    { do: 'drive', kmh: 55, s: 50 },
    ...pulls.flatMap(([gear, fromRpm, toRpm, s]): RouteLeg[] => [
      {
        ...({ do: 'pull', gear, s } as const),
        fromRpm: Math.round(fromRpm + r.between(-80, 80)),
        toRpm: Math.round(toRpm + r.between(-150, 150)),
        pedalPct: Math.round(r.between(75, 100)),
        gradePct: slopeOf(r, 5, trendPct),
      },
      {
        ...({ do: 'drive', gear: 4 } as const),
        kmh: Math.round(r.between(36, 62)),
        s: Math.round(r.between(14, 22)),
        gradePct: slopeOf(r, 6, trendPct),
      },
    ]),
    { do: 'drive', kmh: 100, s: 45, gradePct: slopeOf(r, 4, trendPct) },
    { do: 'idle', s: 25 },
    { do: 'key-on', s: 8 },
  ];
  return { name: 'drawn pulls', description: '', startC: 74, altitudeM: 120, legs };
}

/** Cold start, hills of minutes up to 9 %, town, a stand with the engine turning until the fan has cut in, a restart. */
export function drawnProvingDrive(seed: number | string): Route {
  const r = seededRandom(`proving/${seed}`);
  const road = (): RouteLeg => {
    const gradePct = slopeOf(r, 9);
    const kmh = Math.round(r.between(45, 120));
    const s = Math.round(r.between(80, 200));
    return { do: 'drive', kmh: gradePct > 5 ? Math.min(kmh, 80) : kmh, s, gradePct };
  };
  const town = (): RouteLeg[] => [
    { do: 'drive', kmh: Math.round(r.between(28, 55)), s: Math.round(r.between(25, 60)) },
    { do: 'idle', s: Math.round(r.between(8, 40)) },
    { do: 'drive', kmh: Math.round(r.between(15, 50)), s: Math.round(r.between(25, 60)) },
  ];
  const legs: RouteLeg[] = [
    { do: 'key-on', s: 6 },
    { do: 'start', s: 25 },
    ...town(),
    ...Array.from({ length: 5 }, road),
    ...town(),
    ...Array.from({ length: 4 }, road),
    ...town(),
    { do: 'idle', s: 50 },
    { do: 'rev', rpm: 2000, s: 240 },
    { do: 'idle', s: 200 },
    { do: 'key-off', s: 120 },
    { do: 'key-on', s: 4 },
    { do: 'start', s: 15 },
    { do: 'drive', kmh: 50, s: 60 },
    { do: 'drive', kmh: 85, s: 150 },
    { do: 'idle', s: 30 },
    { do: 'key-on', s: 8 },
  ];
  return { name: 'drawn proving drive', description: '', startC: r.between(5, 40), altitudeM: 120, legs };
}
