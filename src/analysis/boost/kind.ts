/**
 * What healthy drives of other cars of the same kind teach: gauge boost over engine speed and demand, the air index over
 * engine speed, and what a car that was never seen may differ by. Its own healthy drives narrow it to what they say themselves.
 */
import { median } from 'simple-statistics';
import { type Another, type CarGives, type Differ, learnBetween, type OfKind } from '../between-cars.ts';
import { GOOD_FROM_PCT } from './cells.ts';
import {
  type BoostBaseline,
  type BoostKind,
  CELLS,
  centreOf,
  interpolate,
  type KindCell,
  LEAST_AIR_PULLS,
  mergeLessons,
} from './lesson.ts';
import { AIR_RUN_SD, noiseAt, SLOW_RPM } from './noise.ts';
import { meanAir } from './warmth.ts';

/**
 * Until they tell themselves how much they differ in boost, cars are taken to differ by three times what the simulated
 * fleet does; no set of open drives holds several cars of a kind; common practice, no source. Two MAP sensors alone differ
 * by so much of an ordinary boost (1 kPa or so; common practice, no source).
 */
export const DIFFER_BOOST: Differ = { unknown: 0.12, least: 0.01 };
/**
 * In the air index likewise (meters, pressure sensors and filling within 2 % or so; common practice, no source), at the
 * least by what one meter wanders from day to day.
 */
const DIFFER_AIR: Differ = { unknown: 0.06, least: AIR_RUN_SD };

interface BoostOfKind extends Another {
  readonly kpa: number;
  readonly cars: number;
}

/** From what each car's own healthy drives taught; null where no car taught anything. */
export function learnKind(all: readonly BoostBaseline[]): BoostKind | null {
  const cars = all.filter((c) => c.runs > 0);
  if (cars.length === 0) return null;
  const absolute = cars.filter((c) => c.reference === 'absolute').length;
  const reference = 2 * absolute >= cars.length ? 'absolute' : 'gauge';
  const baroKpa = median(cars.map((c) => c.baroKpa));
  const cells: (KindCell | null)[] = Array.from({ length: CELLS }, () => null);
  for (const band of bandsOf(cars, reference, baroKpa))
    for (const [c, { value, ...other }] of learnBetween(band, DIFFER_BOOST))
      cells[c] = cellOf({ ...other, value: value + (reference === 'absolute' ? baroKpa : 0) });
  return {
    schema: 'handback.boost-kind/1',
    cars: cars.length,
    baroKpa,
    airC: meanAir(cars.map((c) => ({ weight: 1, air: c.airC }))),
    reference,
    turboLag: median(cars.map((c) => c.turboLag)),
    cells,
    air: airOf(cars),
    noiseScale: {
      slow: median(cars.map((c) => c.noiseScale.slow)),
      fast: median(cars.map((c) => c.noiseScale.fast)),
    },
  };
}

/** Kept to so many parts of a kPa, and of a share: less than anything printed. By definition. */
const KPA_PARTS = 100;
const SHARE_PARTS = 1e5;

const cellOf = ({ value, cars, sd, far }: OfKind): KindCell => [
  rounded(value, KPA_PARTS),
  cars,
  rounded(sd, SHARE_PARTS),
  rounded(far, SHARE_PARTS),
];

/** Cells that repeat alike: a turbocharger on its way up and beyond, part load and high demand. Gauge kPa. */
function bandsOf(
  cars: readonly BoostBaseline[],
  reference: BoostKind['reference'],
  baroKpa: number,
): Iterable<readonly CarGives[]> {
  const bands = new Map<string, CarGives[]>();
  for (let cell = 0; cell < CELLS; cell++) {
    const { rpm, demand } = centreOf(cell);
    const { pull } = noiseAt(rpm, demand);
    const key = `${rpm < SLOW_RPM}/${demand < GOOD_FROM_PCT}`;
    for (const [car, of] of cars.entries()) {
      const at = of.kpa[cell];
      if (at === null || at === undefined) continue;
      // An engine that regulates the absolute pressure gives more gauge pressure where the air is thinner.
      const airKpa = reference === 'absolute' ? baroKpa : of.baroKpa;
      const value = at - (of.reference === 'absolute' ? airKpa : 0);
      if (value <= 0) continue;
      const own = pull * (rpm < SLOW_RPM ? of.noiseScale.slow : of.noiseScale.fast);
      const given = { car, cell, value, variance: own ** 2 / Math.max(1, of.pullsAt[cell] ?? 1) };
      const band = bands.get(key);
      if (band) band.push(given);
      else bands.set(key, [given]);
    }
  }
  return bands.values();
}

/** A meter that reads high does so at every engine speed: one band. */
function airOf(cars: readonly BoostBaseline[]): BoostKind['air'] {
  const given = cars.flatMap((of, car) =>
    of.air.flatMap((at, cell) =>
      at === null ? [] : [{ car, cell, value: at.mean, variance: at.sd ** 2 / LEAST_AIR_PULLS }],
    ),
  );
  const learned = given.length === 0 ? null : learnBetween(given, DIFFER_AIR);
  return cars[0]!.air.map((_, bin) => {
    const at = learned?.get(bin);
    return at ? cellOf(at) : null;
  });
}

/** Null where none of the kind drove. */
export function lookUpKind(kind: BoostKind, rpm: number, demand: number): BoostOfKind | null {
  const at = interpolate((c) => kind.cells[c] ?? null, rpm, demand);
  return at === null ? null : { kpa: at[0]!, cars: at[1]!, sd: at[2]!, far: at[3]! };
}

const rounded = (x: number, by: number): number => Math.round(x * by) / by;

/** With what other cars of the kind teach, beside its own drives or in place of them. */
export function withKind(own: BoostBaseline | null, kind: BoostKind | null): BoostBaseline | null {
  return kind === null ? own : { ...(own ?? mergeLessons([])), kind };
}

/** By own drives, else by other cars' (`TURBO_LAGS`). */
export const turboLagOf = (b: BoostBaseline | null): number | undefined =>
  b !== null && ofKindAlone(b) ? b.kind?.turboLag : b?.turboLag;

/** None of its own drives taught, only other cars did. */
export const ofKindAlone = (baseline: BoostBaseline): boolean =>
  baseline.kind !== undefined && baseline.runs === 0;
