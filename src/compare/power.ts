/**
 * What a pull leaves for accelerating and climbing, W a kilogram, where a satellite receiver measures ground speed and
 * height: v · (a + g · sin(slope)). An observation: the car's mass, its load, wind and what rolling and air take are not known.
 */
import { G, MOST_SCATTER_M, slopeOf, USUAL_ERROR_M } from '../analysis/road/road-meter.ts';
import type { CleanSample } from '../analysis/types.ts';

/** Acceleration is the slope of the ground speed over this to either side, s: three fixes at one a second. Chosen by hand. */
const AROUND_S = 1.2;
const LEAST_FIXES = 3;
/** Fixes nearer than this add nothing, further apart than this are no run of speeds, s. Chosen by hand, not measured. */
const EVERY_S = 0.15;
const FIX_HOLE_S = 2.5;
/**
 * The grade of a pull is that of its own way, and where it is shorter than this of as much before and after it, m; from
 * fewer heights or with more scatter there is none. Chosen by hand, not measured.
 */
const LEAST_WAY_M = 200;
/** Nothing is known of the way across a hole: it is made too long, m, for one pull to reach across. Chosen by hand. */
const WAY_OF_HOLE_M = 10 * LEAST_WAY_M;
const LEAST_HEIGHTS = 6;
const HEIGHT_EVERY_M = 10;
/** A day's drive at five fixes a second. A bound, chosen by hand. */
const MOST_FIXES = 400_000;

interface Speed {
  readonly tS: number;
  readonly mps: number;
  readonly distanceM: number;
}

interface Height {
  readonly tS: number;
  readonly distanceM: number;
  readonly heightM: number;
  readonly errorM: number;
}

export interface PullGrade {
  /** Rise over distance, %; positive is uphill. */
  readonly pct: number;
  readonly sdPct: number;
}

export interface PointPower {
  /** W a kilogram of what drove. */
  readonly wkg: number;
  /** What of it the error of the grade may be, one standard deviation. */
  readonly sdWkg: number;
}

/** Takes the samples of a run in order of time, then tells of its pulls. */
export class RoadPower {
  readonly #speeds: Speed[] = [];
  readonly #heights: Height[] = [];
  #errorM = USUAL_ERROR_M;

  step(s: CleanSample): void {
    if (s.flag !== null) return;
    const tS = s.tUs / 1e6;
    if (s.signal === 'gnss_speed_kmh') this.#speed(tS, s.value / 3.6);
    else if (s.signal === 'gnss_height_error_m') this.#errorM = s.value;
    else if (s.signal === 'gnss_height_m') this.#height(tS, s.value);
  }

  /** Of the way of a pull; null where it is not measured. */
  gradeOf(fromS: number, toS: number): PullGrade | null {
    const [first, last] = [lowest(this.#speeds, fromS), lowest(this.#speeds, toS)];
    const way = this.#speeds.slice(first, last + 1);
    const [from, to] = [way[0], this.#speeds[last]];
    if (from === undefined || to === undefined || to.tS > toS + FIX_HOLE_S) return null;
    if (way.some((s, i) => i > 0 && s.tS - way[i - 1]!.tS > FIX_HOLE_S)) return null;
    const more = Math.max(0, LEAST_WAY_M - (to.distanceM - from.distanceM)) / 2;
    const own = this.#heights.filter(
      (h) => h.distanceM >= from.distanceM - more && h.distanceM <= to.distanceM + more,
    );
    if (own.length < LEAST_HEIGHTS || own.some((h, i) => i > 0 && h.tS - own[i - 1]!.tS > 2 * FIX_HOLE_S))
      return null;
    const { gradePct, sdPct, scatterM } = slopeOf(own, Math.max(...own.map((h) => h.errorM)));
    return scatterM > MOST_SCATTER_M ? null : { pct: gradePct, sdPct };
  }

  /** At a moment of a pull of this grade; null where speed is not measured around it. */
  at(tS: number, grade: PullGrade): PointPower | null {
    const first = lowest(this.#speeds, tS - AROUND_S);
    let [n, st, sv, stt, stv] = [0, 0, 0, 0, 0];
    for (let i = first; i < this.#speeds.length; i++) {
      const { tS: at, mps } = this.#speeds[i]!;
      if (at > tS + AROUND_S) break;
      const x = at - tS;
      n++;
      st += x;
      sv += mps;
      stt += x * x;
      stv += x * mps;
    }
    const spread = stt - (st * st) / n;
    if (n < LEAST_FIXES || !(spread > 0)) return null;
    const accel = (stv - (st * sv) / n) / spread;
    const mps = (sv - accel * st) / n;
    return {
      wkg: mps * (accel + G * Math.sin(Math.atan(grade.pct / 100))),
      sdWkg: (mps * G * grade.sdPct) / 100,
    };
  }

  #speed(tS: number, mps: number): void {
    const last = this.#speeds.at(-1);
    const dtS = last ? tS - last.tS : Number.POSITIVE_INFINITY;
    if (dtS < EVERY_S || this.#speeds.length >= MOST_FIXES) return;
    const wayM = !last ? 0 : dtS > FIX_HOLE_S ? WAY_OF_HOLE_M : ((mps + last.mps) / 2) * dtS;
    this.#speeds.push({ tS, mps, distanceM: (last?.distanceM ?? 0) + wayM });
  }

  #height(tS: number, heightM: number): void {
    const now = this.#speeds.at(-1);
    if (now === undefined || tS - now.tS > FIX_HOLE_S || this.#heights.length >= MOST_FIXES) return;
    const distanceM = now.distanceM + now.mps * (tS - now.tS);
    if (distanceM - (this.#heights.at(-1)?.distanceM ?? Number.NEGATIVE_INFINITY) < HEIGHT_EVERY_M) return;
    this.#heights.push({ tS, distanceM, heightM, errorM: this.#errorM });
  }
}

/** The first that is not before the time. */
function lowest(list: readonly { readonly tS: number }[], tS: number): number {
  let low = 0;
  let high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (list[middle]!.tS < tS) low = middle + 1;
    else high = middle;
  }
  return low;
}
