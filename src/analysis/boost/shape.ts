/**
 * Boost high up against boost a little below it, in the same drive: what a drive without a healthy one beside it tells of
 * a loss at high engine speed. An observation and never a verdict: how level an engine holds its boost is its own.
 */

import { Z95 } from '../spread.ts';
import type { Evidence } from '../types.ts';
import { atRestKpa } from './absence.ts';
import type { Baro } from './barometer.ts';
import { say } from './says.ts';
import type { Stretch, StretchPoint } from './stretches.ts';

/** From here on demand is as good as full: the boost is all that the engine gives. Chosen by hand, not measured. */
const SHAPE_FROM_PCT = 85;
/** Compared bands, rpm. KIT, the 9 of 45 diesel trips that have both by this rule: 1.01 with a standard deviation of 0.01. */
const BELOW = { fromRpm: 2000, toRpm: 2500 } as const;
const ABOVE = { fromRpm: 2600, toRpm: 3500 } as const;
const USUAL = { share: 1.01, sd: 0.01 } as const;
/**
 * Pulls that each band asks for, and the scatter between them that is allowed for at the least, as a share. Chosen
 * by hand, not measured.
 */
const EACH_PULLS = 2;
const PULL_SD = 0.02;
/** Less boost than this makes no share worth saying, gauge kPa (common practice, no source). */
const LEAST_BOOST_KPA = 30;
const KEEP_RATIOS = 100;

interface Level {
  readonly kpa: number;
  readonly fromUs: number;
  readonly toUs: number;
}

export class ShapeWatch {
  readonly #below: Level[] = [];
  readonly #above: Level[] = [];

  stretch(stretch: Stretch, baro: Baro): void {
    for (const [band, list] of [
      [BELOW, this.#below],
      [ABOVE, this.#above],
    ] as const) {
      const points = stretch.points.filter(
        (p) => p.rpm >= band.fromRpm && p.rpm < band.toRpm && told(p, baro),
      );
      const first = points[0];
      if (first === undefined || list.length >= KEEP_RATIOS) continue;
      const kpa = points.reduce((a, p) => a + p.map - baro.kpa, 0) / points.length;
      list.push({ kpa, fromUs: first.tUs, toUs: points.at(-1)!.tUs });
    }
  }

  /** Null until both bands were driven at full demand in two pulls. */
  evidence(): Evidence | null {
    const below = meanOf(this.#below);
    const above = meanOf(this.#above);
    if (below === null || above === null || below.kpa < LEAST_BOOST_KPA) return null;
    const share = above.kpa / below.kpa;
    const se = Math.hypot(above.se / below.kpa, (share * below.se) / below.kpa);
    const all = [...this.#below, ...this.#above];
    return {
      fromS: Math.min(...all.map((l) => l.fromUs)) / 1e6,
      toS: Math.max(...all.map((l) => l.toUs)) / 1e6,
      text: say('boost.seen.shape', {
        fromRpm: ABOVE.fromRpm,
        toRpm: ABOVE.toRpm,
        belowRpm: BELOW.fromRpm,
        belowToRpm: BELOW.toRpm,
        share,
        low: share - Z95 * se,
        high: share + Z95 * se,
        usual: USUAL.share,
        usualSd: USUAL.sd,
      }),
    };
  }
}

function told(p: StretchPoint, baro: Baro): boolean {
  const stands = (p.frozen || p.still) && Math.abs(p.map - baro.kpa) > atRestKpa(baro);
  return p.settled && p.lagged >= SHAPE_FROM_PCT && !stands && !p.echo;
}

/** Standard error from the scatter between pulls; null for too few. */
function meanOf(levels: readonly Level[]): { readonly kpa: number; readonly se: number } | null {
  const n = levels.length;
  if (n < EACH_PULLS) return null;
  const kpa = levels.reduce((a, l) => a + l.kpa, 0) / n;
  const sd = Math.sqrt(levels.reduce((a, l) => a + (l.kpa - kpa) ** 2, 0) / (n - 1));
  return { kpa, se: Math.max(sd, PULL_SD * kpa) / Math.sqrt(n) };
}
