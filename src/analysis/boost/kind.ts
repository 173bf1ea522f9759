/**
 * What healthy drives of other cars of the same kind teach: gauge boost over engine speed and demand, and what a car that
 * was never seen may differ by. Its own healthy drives narrow it to what they say themselves.
 */
import { median } from 'simple-statistics';
import { robust, studentT } from '../spread.ts';
import { GOOD_FROM_PCT } from './cells.ts';
import {
  type BoostBaseline,
  type BoostKind,
  CELLS,
  centreOf,
  interpolate,
  type KindCell,
  mergeLessons,
} from './lesson.ts';
import { noiseAt, SLOW_RPM } from './noise.ts';
import { Z_FAULT, Z95 } from './scan.ts';

/** From so many cars on they tell themselves how much they differ. Chosen by hand, not measured. */
const TELLING_CARS = 3;
/**
 * Until then they are taken to differ by this, a standard deviation as a share of the boost: three times that of the
 * simulated fleet. No set of open drives holds several cars of a kind; common practice, no source.
 */
export const UNKNOWN_SPREAD = 0.12;
/** Two MAP sensors alone differ by so much of an ordinary boost (1 kPa or so; common practice, no source). */
const LEAST_SPREAD = 0.01;
/** Both sides, 95 %. Normal distribution, by definition. */
const Z_BOTH = 1.96;
/** In its far tails the clipped mean of few cars is heavier than Student's t: so much fewer degrees of freedom. Chosen on drawn cars, 3 to 30. */
const FAR_DF = 0.8;

export interface OfKind {
  readonly kpa: number;
  readonly cars: number;
  /** Standard uncertainty of what another healthy car of the kind gives in the mean, as a share of its boost. */
  readonly sd: number;
  /** By how much more than 1.645 of it a healthy one may lie below, at the odds of a fault shown. */
  readonly far: number;
}

/**
 * From what each car's own healthy drives taught; null where no car taught anything. A car is a level of its own on one
 * shape, and what is left: `gauge = shape(cell) · (1 + level(car, band)) · (1 + rest)`. One faulty car of ten only widens it.
 */
export function learnKind(all: readonly BoostBaseline[]): BoostKind | null {
  const cars = all.filter((c) => c.runs > 0);
  if (cars.length === 0) return null;
  const absolute = cars.filter((c) => c.reference === 'absolute').length;
  const reference = 2 * absolute >= cars.length ? 'absolute' : 'gauge';
  const baroKpa = median(cars.map((c) => c.baroKpa));
  const cells: (KindCell | null)[] = Array.from({ length: CELLS }, () => null);
  for (const band of bandsOf(cars, reference, baroKpa)) {
    const { shape, spread, rest, own } = fitted(band);
    for (const [c, { kpa, n }] of shape) {
      const other = another(
        band.cars,
        Math.hypot(spread * Math.sqrt(1 + 1 / band.cars), rest / Math.sqrt(n), own),
      );
      const at = kpa + (reference === 'absolute' ? baroKpa : 0);
      cells[c] = [rounded(at, 100), n, rounded(other.sd, 1e5), rounded(other.far, 1e5)];
    }
  }
  return {
    schema: 'handback.boost-kind/1',
    cars: cars.length,
    baroKpa,
    reference,
    cells,
    noiseScale: {
      slow: median(cars.map((c) => c.noiseScale.slow)),
      fast: median(cars.map((c) => c.noiseScale.fast)),
    },
  };
}

/** What one car gave at one cell, gauge kPa, and the variance of it for the few pulls that it rests on, share². */
interface Given {
  readonly car: number;
  readonly cell: number;
  readonly kpa: number;
  readonly variance: number;
}

/** Cells that repeat alike: a turbocharger on its way up and beyond, part load and high demand. */
interface Band {
  readonly cars: number;
  readonly given: readonly Given[];
}

function bandsOf(cars: readonly BoostBaseline[], reference: BoostKind['reference'], baroKpa: number): Band[] {
  const bands = new Map<string, Given[]>();
  for (let cell = 0; cell < CELLS; cell++) {
    const { rpm, demand } = centreOf(cell);
    const { pull } = noiseAt(rpm, demand);
    const key = `${rpm < SLOW_RPM}/${demand < GOOD_FROM_PCT}`;
    for (const [car, of] of cars.entries()) {
      const at = of.kpa[cell];
      if (at === null || at === undefined) continue;
      // An engine that regulates the absolute pressure gives more gauge pressure where the air is thinner.
      const airKpa = reference === 'absolute' ? baroKpa : of.baroKpa;
      const kpa = at - (of.reference === 'absolute' ? airKpa : 0);
      if (kpa <= 0) continue;
      const own = pull * (rpm < SLOW_RPM ? of.noiseScale.slow : of.noiseScale.fast);
      const given = { car, cell, kpa, variance: own ** 2 / Math.max(1, of.pullsAt[cell] ?? 1) };
      const band = bands.get(key);
      if (band) band.push(given);
      else bands.set(key, [given]);
    }
  }
  return [...bands.values()].map((given) => ({ cars: new Set(given.map((g) => g.car)).size, given }));
}

interface Fitted {
  readonly shape: ReadonlyMap<number, { readonly kpa: number; readonly n: number }>;
  /** Standard deviations as shares: between cars' levels; what is left at a cell; what of that is not for want of pulls. */
  readonly spread: number;
  readonly rest: number;
  readonly own: number;
}

/** A bound, chosen by hand. */
const ROUNDS = 4;

/** Levels and shape by turns. */
function fitted({ given }: Band): Fitted {
  const byCell = grouped(given, (g) => g.cell);
  const byCar = grouped(given, (g) => g.car);
  const level = new Map([...byCar.keys()].map((car) => [car, 0]));
  const shape = new Map<number, { kpa: number; n: number }>();
  let spread = 0;
  for (let round = 0; round < ROUNDS; round++) {
    for (const [cell, list] of byCell)
      shape.set(cell, {
        kpa: robust(list.map((g) => g.kpa / (1 + level.get(g.car)!))).mean,
        n: list.length,
      });
    for (const [car, list] of byCar) level.set(car, levelOf(list, shape));
    const levels = robust([...level.values()]);
    spread = levels.sd;
    // The shape is that of the middle car.
    for (const [car, x] of level) level.set(car, (1 + x) / (1 + levels.mean) - 1);
    for (const [cell, { kpa, n }] of shape) shape.set(cell, { kpa: kpa * (1 + levels.mean), n });
  }
  const left = given.flatMap((g) => {
    const { kpa, n } = shape.get(g.cell)!;
    return n < 2 ? [] : [(g.kpa / (kpa * (1 + level.get(g.car)!)) - 1) * Math.sqrt(n / (n - 1))];
  });
  const rest = left.length === 0 ? 0 : robust(left).sd;
  const few = given.reduce((a, g) => a + g.variance, 0) / given.length;
  return { shape, spread, rest, own: Math.sqrt(Math.max(0, rest ** 2 - few)) };
}

/** How far a car lies from the shape in the mean, each cell weighed by the pulls behind it. */
function levelOf(list: readonly Given[], shape: Fitted['shape']): number {
  let [w, wx] = [0, 0];
  for (const g of list) {
    w += 1 / g.variance;
    wx += (g.kpa / shape.get(g.cell)!.kpa - 1) / g.variance;
  }
  return wx / w;
}

function grouped(given: readonly Given[], key: (g: Given) => number): Map<number, Given[]> {
  const out = new Map<number, Given[]>();
  for (const g of given) {
    const list = out.get(key(g));
    if (list) list.push(g);
    else out.set(key(g), [g]);
  }
  return out;
}

/** What another car may lie from the mean of `n` cars that say it themselves by `seen`: shares of the boost. */
export function another(n: number, seen: number): { readonly sd: number; readonly far: number } {
  const bound = Z_FAULT * UNKNOWN_SPREAD * Math.sqrt(1 + 1 / n);
  if (n < TELLING_CARS) return { sd: bound / Z_FAULT, far: (bound / Z_FAULT) * (Z_FAULT - Z95) };
  const spread = Math.max(LEAST_SPREAD, seen);
  const sd = (studentT(Z_BOTH, n - 1) / Z_BOTH) * spread;
  const tail = studentT(Z_FAULT, FAR_DF * (n - 1)) * spread;
  // Few cars that happen to be alike say little of the tails; no kind is taken to differ by more than the bound, unless it is seen to.
  const far = Z_FAULT * spread <= bound ? Math.min(tail, bound) : tail;
  return { sd, far: Math.max(0, far - Z95 * sd) };
}

/** Null where none of the kind drove. */
export function lookUpKind(kind: BoostKind, rpm: number, demand: number): OfKind | null {
  const at = interpolate((c) => kind.cells[c] ?? null, rpm, demand);
  return at === null ? null : { kpa: at[0]!, cars: at[1]!, sd: at[2]!, far: at[3]! };
}

const rounded = (x: number, by: number): number => Math.round(x * by) / by;

/** With what other cars of the kind teach, beside its own drives or in place of them. */
export function withKind(own: BoostBaseline | null, kind: BoostKind | null): BoostBaseline | null {
  return kind === null ? own : { ...(own ?? mergeLessons([])), kind };
}

/** None of its own drives taught, only other cars did. */
export const ofKindAlone = (baseline: BoostBaseline): boolean =>
  baseline.kind !== undefined && baseline.runs === 0;
