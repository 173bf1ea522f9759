/**
 * How boost and air index move with the temperature of the air, and how sure that is: a car's own slope, told by how its
 * healthy drives differ on days of different warmth, beside what physics allows any car. What is expected is the less sure the
 * further a day lies from those that taught. By quantity x (a share of boost or index), cells c and drives j, each with a
 * weight: b = Σ w (T − T̄c) x / Σ w (T − T̄c)², within cells, so that who drove where tells nothing.
 */
import { Z95 } from '../spread.ts';
import type { Noise } from './noise.ts';

/** A share per °C. */
export interface PerDegree {
  readonly perC: number;
  /** Standard error. */
  readonly sd: number;
}

/** Temperature of the air, °C, and its variance, °C²: 0 where it was read. */
export type AirTemp = readonly [meanC: number, variance: number];

/** By definition of an ideal gas at 15 °C: so much lighter is warmer air. */
const GAS_LAW_PER_C = 1 / 288;
/** What any car may do. */
export interface AnyCar extends PerDegree {
  /** So far no car goes, either way; infinite where no bound is known. */
  readonly most: number;
}
const atMost = (perC: number, most = perC): AnyCar => ({ perC: 0, sd: perC / Z95, most });
/**
 * Before its own drives say, what physics allows lies at the edge of the rule's interval, either way. An engine may take air as
 * dense as its charge is cold, or repeat to the percent from −12 to 24 °C (KIT); hot charge is given up to 0.3 % less boost
 * a degree (common practice, no source). A turbocharger on its way up feeds on the engine's own air: less air, less
 * exhaust, less boost again, twice the law (simulated turbo-diesels, even seeds: 0.4 to 0.65 % a degree below 2,000 rpm), and
 * what it comes to at most nobody knows.
 */
export const ANY_CAR = {
  slow: atMost(2 * GAS_LAW_PER_C, Number.POSITIVE_INFINITY),
  fast: atMost(GAS_LAW_PER_C),
  air: atMost(GAS_LAW_PER_C),
} as const;
/** Where none was read: any day of the year (45 KIT trips: 7 °C, standard deviation 12 °C). */
export const ANY_DAY: AirTemp = [7, 144];

/** From so many drives on they tell themselves how much they differ beside the temperature: a line takes two. By definition. */
const TELLING_DRIVES = 3;

/** What drives gave at one cell. */
export interface CellDrives {
  readonly noise: Pick<Noise, 'run' | 'pull'>;
  readonly drives: readonly {
    readonly drive: number;
    readonly weight: number;
    readonly airC: number;
    /** Boost or index, as a share of any one value of the cell. */
    readonly x: number;
  }[];
}

/**
 * Errors are those of a drive and of its pulls, alike in all its cells: many cells make no drive surer.
 * @param pulls of each drive
 */
export function learnSlope(
  cells: readonly CellDrives[],
  pulls: readonly number[],
  anyCar: PerDegree,
): PerDegree {
  const runs = new Float64Array(pulls.length);
  const spans = new Float64Array(pulls.length);
  const centred = cells.flatMap(({ noise, drives }) => {
    const weight = drives.reduce((a, d) => a + d.weight, 0);
    const airC = drives.reduce((a, d) => a + d.weight * d.airC, 0) / weight;
    const x = drives.reduce((a, d) => a + d.weight * d.x, 0) / weight;
    return drives.map((d) => ({
      ...{ drive: d.drive, noise, w: d.weight / noise.pull ** 2, byC: d.airC - airC, x: d.x - x },
    }));
  });
  let [sxx, sxy] = [0, 0];
  for (const { drive, noise, w, byC, x } of centred) {
    sxx += w * byC * byC;
    sxy += w * byC * x;
    runs[drive]! += w * byC * noise.run;
    spans[drive]! += w * byC * noise.pull;
  }
  if (sxx === 0) return anyCar;
  const told = sxy / sxx;
  const squares = pulls.reduce((a, n, j) => a + runs[j]! ** 2 + spans[j]! ** 2 / (n || 1), 0);
  const variance = (scatter(centred, told, pulls) * squares) / sxx ** 2;
  const share = anyCar.sd ** 2 / (anyCar.sd ** 2 + variance);
  return { perC: share * told, sd: anyCar.sd * Math.sqrt(1 - share) };
}

/** Drives that differ by more than their errors beside the slope make it less sure (Birge ratio squared). */
function scatter(
  centred: readonly {
    readonly drive: number;
    readonly noise: CellDrives['noise'];
    readonly w: number;
    readonly byC: number;
    readonly x: number;
  }[],
  told: number,
  pulls: readonly number[],
): number {
  const sums = pulls.map(() => ({ w: 0, left: 0, run: 0, pull: 0 }));
  for (const { drive, noise, w, byC, x } of centred) {
    const s = sums[drive]!;
    s.w += w;
    s.left += w * (x - told * byC);
    s.run += w * noise.run;
    s.pull += w * noise.pull;
  }
  const squares = sums.flatMap(({ w, left, run, pull }, j) =>
    w === 0 ? [] : [left ** 2 / (run ** 2 + pull ** 2 / (pulls[j]! || 1))],
  );
  if (squares.length < TELLING_DRIVES) return 1;
  return Math.max(1, squares.reduce((a, s) => a + s, 0) / (squares.length - 2));
}

/** What one drive was driven in, °C; null where it was not read. */
export const airOf = (airC: number | null): AirTemp => (airC === null ? ANY_DAY : [airC, 0]);

/** Of drives or cars by weight. */
export function meanAir(all: readonly { readonly weight: number; readonly air: AirTemp }[]): AirTemp {
  const sum = all.reduce((a, d) => a + d.weight, 0);
  if (sum === 0) return ANY_DAY;
  let [mean, variance] = [0, 0];
  for (const { weight, air } of all) {
    mean += (weight / sum) * air[0];
    variance += (weight / sum) ** 2 * air[1];
  }
  return [Math.round(100 * mean) / 100, Math.round(100 * variance) / 100];
}

/** What a day in air of another temperature gives against the days that taught, shares of what is expected. */
export interface OnDay {
  readonly more: number;
  /** Standard error of it. */
  readonly sd: number;
  /** Of its square, for temperatures that were not read. */
  readonly unread: number;
  /** Of its square, what is any car's where a turbocharger feeds on its engine's own air, and that on a colder day (`chargeAlike`). */
  readonly charge: number;
  readonly colder: number;
  /** How far below it any healthy car may lie by physics; infinite where no bound is known. */
  readonly below: number;
}

export function onDay(slope: PerDegree, anyCar: AnyCar, taught: AirTemp, day: AirTemp): OnDay {
  const byC = day[0] - taught[0];
  const unread = (slope.perC ** 2 + slope.sd ** 2) * (taught[1] + day[1]);
  const sd = Math.hypot(slope.sd * byC, Math.sqrt(unread));
  // What any car does at most, downwards.
  const most = byC === 0 ? 0 : anyCar.most * Math.abs(byC) + slope.perC * byC;
  const below = unread > 0 ? Number.POSITIVE_INFINITY : Math.max(most, Z95 * sd);
  // What drives told of the slope has no part in it; of temperatures that were not read nobody knows which was the colder.
  const feeds = anyCar.most === Number.POSITIVE_INFINITY && unread === 0;
  const charge = feeds ? ((slope.sd ** 2 / anyCar.sd) * byC) ** 2 : 0;
  return { more: slope.perC * byC, sd, unread, charge, colder: byC < 0 ? charge : 0, below };
}

/** Of what any car's boost may move by below 2000 rpm, the share that is left however warm the charge is: the work of compressing warmer air. Chosen by hand, not measured. */
const INLET_SHARE = 0.5;

/**
 * What no longer counts, as shares of `OnDay.charge` and `OnDay.colder`, where the charge has moved by a share of what any car's does:
 * of what is left of any car's slope, half hangs on it; the other half, dearer compression of warmer air, takes no boost on a colder day.
 */
export function chargeAlike(moved: number): { readonly charge: number; readonly colder: number } {
  const left = INLET_SHARE + (1 - INLET_SHARE) * moved;
  return { charge: 1 - left ** 2, colder: left ** 2 - moved ** 2 };
}

/** Standard deviation of what two days differ by on any car, a share: of their mean difference, not of its far end. */
export const daysApart = (anyCar: AnyCar, a: AirTemp, b: AirTemp): number =>
  anyCar.sd * Math.sqrt((b[0] - a[0]) ** 2 + a[1] + b[1]);
