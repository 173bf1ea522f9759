/** Pulls that were driven while no manifold pressure came that is believed: by demand and engine speed alone. */
import type { Profile } from '../../core/profile.ts';
import type { CleanSample } from '../types.ts';
import { type OperatingPoint, PointAligner } from './points.ts';
import { isPull, PULL_HOLE_US, type Stretch, Stretcher } from './stretches.ts';

/** What stands in for the pressure, kPa. By definition nothing: it is looked at by none. */
const NO_MAP_KPA = 0;
const USED: ReadonlySet<string> = new Set(['rpm', 'speed_kmh']);

export class UnreadPulls {
  readonly #aligner: PointAligner;
  readonly #stretcher: Stretcher;
  /** The newest pressure that is believed. */
  #readUs = Number.NEGATIVE_INFINITY;

  constructor(profile: Profile) {
    this.#aligner = new PointAligner(profile);
    this.#stretcher = new Stretcher(profile);
  }

  /** @param s a pressure that is not believed is flagged; returns pulls that have ended */
  step(s: CleanSample): readonly Stretch[] {
    if (s.signal === 'map_kpa') {
      if (s.flag === null) this.#readUs = s.tUs;
      return [];
    }
    if (!USED.has(s.signal) && !/pedal|throttle/.test(s.signal)) return [];
    const points = [...this.#aligner.step(s)];
    // Each engine speed stands where a pressure would.
    if (s.signal === 'rpm' && s.flag === null && s.tUs - this.#readUs > PULL_HOLE_US)
      points.push(...this.#aligner.step({ ...s, signal: 'map_kpa', value: NO_MAP_KPA }));
    return this.#of(points);
  }

  finish(endUs: number): readonly Stretch[] {
    return [...this.#of(this.#aligner.finish()), ...this.#stretcher.finish(endUs).filter(isPull)];
  }

  #of(points: readonly OperatingPoint[]): Stretch[] {
    return points.flatMap((p) => this.#stretcher.step(p)).filter(isPull);
  }
}

/** What goes on, its tip-in not seen, where the pressure of a pull was lost is that pull. @param toUs ends of those that were read */
export const goesOn = ({ tip, fromUs }: Pick<Stretch, 'tip' | 'fromUs'>, toUs: readonly number[]): boolean =>
  tip === null && toUs.some((us) => fromUs > us && fromUs - us < 2 * PULL_HOLE_US);
