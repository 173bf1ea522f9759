/**
 * What several cars of a kind tell of one that was never seen: a car is a level of its own on one shape, and what is left,
 * `value = shape(cell) · (1 + level(car)) · (1 + rest)`. Robust: one faulty car of ten only widens it.
 */
import { robust, studentT, Z_BOTH, Z_FAULT, Z95 } from './spread.ts';

/** From so many cars on they tell themselves how much they differ. Chosen by hand, not measured. */
const TELLING_CARS = 3;
/** In its far tails the clipped mean of few cars is heavier than Student's t: so much fewer degrees of freedom. Chosen on drawn cars, 3 to 30. */
const FAR_DF = 0.8;

/**
 * What is left beside the level is told anew at so many places of each car: with n − 1 degrees of freedom for the two
 * together three cars covered 99 to 100 of 100 drawn ones. F. E. Satterthwaite, *An approximate distribution of estimates of
 * variance components* (1946). Neighbouring cells are alike, so few; chosen by hand, held against drawn cars.
 */
const REST_PLACES = 4;

/** How much cars of a kind are taken to differ in a quantity: standard deviations as shares of it. */
export interface Differ {
  /** Until they tell it themselves. */
  readonly unknown: number;
  /** At least, however alike a few happen to be. */
  readonly least: number;
}

/** What a further car's mean may be: shares of the expected. */
export interface Another {
  /** Standard uncertainty. */
  readonly sd: number;
  /** By how much more than 1.645 of it a healthy one may lie to one side, at the odds of a fault shown. */
  readonly far: number;
}

/** What is expected of a car of the kind. */
export interface OfKind extends Another {
  /** In the unit of the quantity. */
  readonly value: number;
  readonly cars: number;
}

/** What one car gave at one cell, and the variance of it for the few pulls or drives that it rests on, share². */
export interface CarGives {
  readonly car: number;
  readonly cell: number;
  readonly value: number;
  readonly variance: number;
}

/** A bound, chosen by hand. */
const ROUNDS = 4;

/** By cell, of what repeats alike. Levels and shape by turns. */
export function learnBetween(given: readonly CarGives[], differ: Differ): Map<number, OfKind> {
  const byCell = grouped(given, (g) => g.cell);
  const byCar = grouped(given, (g) => g.car);
  const level = new Map([...byCar.keys()].map((car) => [car, 0]));
  const shape: Shape = new Map();
  let spread = 0;
  for (let round = 0; round < ROUNDS; round++) {
    for (const [cell, list] of byCell)
      shape.set(cell, {
        value: robust(list.map((g) => g.value / (1 + level.get(g.car)!))).mean,
        n: list.length,
      });
    for (const [car, list] of byCar) level.set(car, levelOf(list, shape));
    const levels = robust([...level.values()]);
    spread = levels.sd;
    // The shape is that of the middle car.
    for (const [car, x] of level) level.set(car, (1 + x) / (1 + levels.mean) - 1);
    for (const [cell, { value, n }] of shape) shape.set(cell, { value: value * (1 + levels.mean), n });
  }
  const left = given.flatMap((g) => {
    const { value, n } = shape.get(g.cell)!;
    return n < 2 ? [] : [(g.value / (value * (1 + level.get(g.car)!)) - 1) * Math.sqrt(n / (n - 1))];
  });
  const rest = left.length === 0 ? 0 : robust(left).sd;
  const few = given.reduce((a, g) => a + g.variance, 0) / given.length;
  const own = Math.sqrt(Math.max(0, rest ** 2 - few));
  const cars = byCar.size;
  return new Map(
    [...shape].map(([cell, { value, n }]) => {
      const level2 = spread ** 2 * (1 + 1 / cars);
      const rest2 = rest ** 2 / n + own ** 2;
      const df = ((cars - 1) * (level2 + rest2) ** 2) / (level2 ** 2 + rest2 ** 2 / REST_PLACES);
      return [cell, { value, cars: n, ...another(cars, Math.sqrt(level2 + rest2), differ, df) }];
    }),
  );
}

type Shape = Map<number, { readonly value: number; readonly n: number }>;

/** How far a car lies from the shape in the mean, each cell weighed by the pulls behind it. */
function levelOf(list: readonly CarGives[], shape: Shape): number {
  let [w, wx] = [0, 0];
  for (const g of list) {
    w += 1 / g.variance;
    wx += (g.value / shape.get(g.cell)!.value - 1) / g.variance;
  }
  return wx / w;
}

function grouped(given: readonly CarGives[], key: (g: CarGives) => number): Map<number, CarGives[]> {
  const out = new Map<number, CarGives[]>();
  for (const g of given) {
    const list = out.get(key(g));
    if (list) list.push(g);
    else out.set(key(g), [g]);
  }
  return out;
}

/**
 * What another car may lie from the mean of `n` cars that say it themselves by `seen`: shares.
 * @param df degrees of freedom of `seen` for the interval; the far reach goes by n − 1 all the same
 */
export function another(n: number, seen: number, differ: Differ, df = n - 1): Another {
  const bound = Z_FAULT * differ.unknown * Math.sqrt(1 + 1 / n);
  if (n < TELLING_CARS) return { sd: bound / Z_FAULT, far: (bound / Z_FAULT) * (Z_FAULT - Z95) };
  const spread = Math.max(differ.least, seen);
  const sd = (studentT(Z_BOTH, Number.isFinite(df) ? df : n - 1) / Z_BOTH) * spread;
  const tail = studentT(Z_FAULT, FAR_DF * (n - 1)) * spread;
  // Few cars that happen to be alike say little of the tails; no kind is taken to differ by more than the bound, unless it is seen to.
  const far = Z_FAULT * spread <= bound ? Math.min(tail, bound) : tail;
  return { sd, far: Math.max(0, far - Z95 * sd) };
}

/** Of a quantity that is one number a car. @throws RangeError without any */
export function learnOne(values: readonly number[], differ: Differ): OfKind {
  // At one place how surely each is known weighs nothing: a car's level takes all of it.
  return learnBetween(
    values.map((value, car) => ({ car, cell: 0, value, variance: 1 })),
    differ,
  ).get(0)!;
}

/**
 * How much of the way from what a car's own drives say to what its kind says lies what is expected: each weighed by its
 * variance. Where the two contradict each other the car is simply unlike its kind, so the kind is then believed no more
 * than they differ: own drives are never drawn away. All are shares of what the own drives say.
 */
export function shareOfKind(ownVariance: number, kindVariance: number, apart: number): number {
  return ownVariance / (ownVariance + Math.max(kindVariance, apart ** 2));
}
