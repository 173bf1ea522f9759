/**
 * The road under the car, where a satellite receiver measures it: grade as height over distance, and the power that
 * climbing takes of each kilogram. Null where it is not measured.
 *
 * The height of a receiver wanders by metres, but slowly: over a few hundred metres of driving the change of height is far
 * better than the height. Slopes of all pairs of points are taken and their median is the grade (Theil 1950, Sen 1968):
 * up to 29 % of the points may be anything. Barometric pressure (PID 33) is read to 1 kPa, 84 m of height: over such a
 * stretch it would say 11 % of grade give or take, the receiver 0.5 to 1 %, so its weight would be below 1 % and it is left out.
 */
import { median } from 'simple-statistics';
import { SD_PER_MAD } from '../spread.ts';
import type { CleanSample } from '../types.ts';

/** The stretch that a grade is taken over, m, and the time that it may take, s. Chosen by hand, not measured. */
const GRADE_M = 300;
const GRADE_S = 90;
/** Shorter, or from fewer points, there is no grade. Chosen by hand, not measured. */
const LEAST_M = 80;
const LEAST_POINTS = 6;
/** One point each so many metres is enough. Not known how chosen. */
const EVERY_M = 10;
/**
 * Without a height for so long the road is not measured; and after that the receiver's height needs a while to
 * settle. Chosen by hand, not measured.
 */
const LOST_S = 5;
const HEIGHT_SETTLES_S = 20;
/**
 * A receiver's height wanders by about this share of the error that it states, and forgets within so long (common
 * practice, no source); where it states none, of this error, m.
 */
const WANDER_SHARE = 0.6;
const WANDER_S = 150;
export const USUAL_ERROR_M = 8;
/** Heights that scatter so far about their line are no road, m. Chosen by hand, not measured. */
export const MOST_SCATTER_M = 6;
/** Slower than this the car hardly climbs, whatever the road, m/s. Not known how chosen. */
const CREEPING_MPS = 2;
/** What its climbing may be off by, W/kg, and the grade where there is none, %. Not known how chosen. */
const CREEPING_SD_WKG = 0.5;
const UNKNOWN_SD_PCT = 100;
/**
 * Variance of the slope of a line through n points spread evenly over a length: 12/(n·length²) of theirs. By
 * definition.
 */
const SLOPE_VARIANCE = 12;
/** Standard acceleration of gravity, m/s²; ISO 80000-3, by definition. */
export const G = 9.80665;

export interface RoadPoint {
  readonly tS: number;
  readonly distanceM: number;
  readonly heightM: number;
}

interface Fitted {
  readonly gradePct: number;
  readonly sdPct: number;
  readonly scatterM: number;
}

export interface Road {
  /** Rise over distance, %; positive is uphill. Of the last stretch that was driven. */
  readonly gradePct: number;
  /** Its standard deviation, %. */
  readonly sdPct: number;
  /** Power that the climb takes now, W a kilogram of the vehicle; negative downhill. */
  readonly climbWkg: number;
  readonly sdWkg: number;
}

export class RoadMeter {
  readonly #points: RoadPoint[] = [];
  #distanceM = 0;
  #mps = 0;
  #speedS = Number.NaN;
  #heightS = Number.NEGATIVE_INFINITY;
  #settledS = Number.NEGATIVE_INFINITY;
  #errorM = USUAL_ERROR_M;
  #grade: (Fitted & { readonly upTo: RoadPoint }) | null = null;

  /** Samples of car and receiver in order of time. */
  step(s: CleanSample): void {
    if (s.flag !== null) return;
    const tS = s.tUs / 1e6;
    if (s.signal === 'gnss_speed_kmh') this.#moved(tS, s.value / 3.6);
    else if (s.signal === 'gnss_height_error_m') this.#errorM = s.value;
    else if (s.signal === 'gnss_height_m') this.#height(tS, s.value);
  }

  /** The newest, at run time `tS`; null where it is not measured. */
  at(tS: number): Road | null {
    if (tS - this.#heightS > LOST_S || !(tS - this.#speedS <= LOST_S) || tS < this.#settledS) return null;
    const grade = this.#slope();
    if (this.#mps < CREEPING_MPS)
      return {
        gradePct: grade?.gradePct ?? 0,
        sdPct: grade?.sdPct ?? UNKNOWN_SD_PCT,
        climbWkg: 0,
        sdWkg: CREEPING_SD_WKG,
      };
    if (!grade) return null;
    const perPct = (G * this.#mps) / 100;
    const { gradePct, sdPct } = grade;
    return { gradePct, sdPct, climbWkg: perPct * gradePct, sdWkg: perPct * sdPct };
  }

  #moved(tS: number, mps: number): void {
    const dtS = tS - this.#speedS;
    // Over a hole nothing is known of the way: the points before it are of another stretch.
    if (dtS > LOST_S) this.#points.length = 0;
    else if (dtS > 0) this.#distanceM += ((mps + this.#mps) / 2) * dtS;
    this.#mps = mps;
    this.#speedS = tS;
  }

  #height(tS: number, heightM: number): void {
    if (tS - this.#heightS > LOST_S) {
      this.#points.length = 0;
      // The first height of all is as good as any.
      this.#settledS = this.#heightS === Number.NEGATIVE_INFINITY ? tS : tS + HEIGHT_SETTLES_S;
    }
    this.#heightS = tS;
    if (tS < this.#settledS || Number.isNaN(this.#speedS)) return;
    const last = this.#points.at(-1);
    if (last && this.#distanceM - last.distanceM < EVERY_M) return;
    this.#points.push({ tS, distanceM: this.#distanceM, heightM });
    while (this.#distanceM - this.#points[0]!.distanceM > GRADE_M || tS - this.#points[0]!.tS > GRADE_S)
      this.#points.shift();
  }

  #slope(): Fitted | null {
    const points = this.#points;
    const first = points[0];
    const last = points.at(-1);
    if (!first || !last || points.length < LEAST_POINTS || last.distanceM - first.distanceM < LEAST_M)
      return null;
    if (this.#grade?.upTo !== last) this.#grade = { upTo: last, ...slopeOf(points, this.#errorM) };
    return this.#grade.scatterM > MOST_SCATTER_M ? null : this.#grade;
  }
}

/**
 * Median of the slopes of all pairs, and its error: scatter about the line, and the wander over the stretch's time.
 * @param errorM one standard deviation of the height as the receiver states it
 */
export function slopeOf(points: readonly RoadPoint[], errorM: number): Fitted {
  const slopes: number[] = [];
  for (let i = 0; i < points.length; i++)
    for (let j = i + 1; j < points.length; j++)
      slopes.push((points[j]!.heightM - points[i]!.heightM) / (points[j]!.distanceM - points[i]!.distanceM));
  const slope = median(slopes);
  const off = points.map((p) => p.heightM - slope * p.distanceM);
  const middle = median(off);
  const scatterM = SD_PER_MAD * median(off.map((h) => Math.abs(h - middle)));
  const first = points[0]!;
  const last = points.at(-1)!;
  const lengthM = last.distanceM - first.distanceM;
  const wanderM = WANDER_SHARE * errorM * Math.sqrt(2 * (1 - Math.exp(-(last.tS - first.tS) / WANDER_S)));
  const sd = Math.hypot(wanderM, scatterM * Math.sqrt(SLOPE_VARIANCE / points.length)) / lengthM;
  return { gradePct: 100 * slope, sdPct: 100 * sd, scatterM };
}
