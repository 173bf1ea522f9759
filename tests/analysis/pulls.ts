/** Pulls made by hand: points half a second apart, from half a second after the tip-in on. */
import type { Baro } from '../../src/analysis/boost/barometer.ts';
import { type BoostBaseline, CELLS, centreOf, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import type { Stretch, StretchPoint } from '../../src/analysis/boost/stretches.ts';
import type { Profile } from '../../src/core/profile.ts';

export const BARO: Baro = { kpa: 100, sdKpa: 0.5, source: 'barometric sensor' };

/** A pull of so many points a half second apart. */
export function pull(
  n: number,
  more: (k: number) => Partial<StretchPoint>,
  tip: Stretch['tip'] = { atUs: 0, errS: 0.1 },
): Stretch {
  const points = Array.from({ length: n }, (_, k) => ({
    ...{ tUs: (k + 1) * 0.5e6, map: 150, rpm: 2600, speed: 60, demand: 90, demandLow: 90, ect: 85, airC: 20 },
    ...{ cmd: null, act: null, maf: null, ageS: 0, lagged: 90, settled: true, frozen: false },
    ...{ still: false, echo: false, restS: 0, idled: false, ...more(k) },
  }));
  return {
    ...{ points, ratio: 40, sudden: true, tip, held: false },
    ...{ fromUs: points[0]!.tUs, toUs: points.at(-1)!.tUs },
  };
}

export const DIESEL: Profile = { induction: 'turbocharger', fuel: 'diesel' };

/** Gauge 100 kPa wherever a car went, of so many runs and pulls, in air of 100 kPa. */
export const taught = (
  kpa: (rpm: number, demand: number) => number | null = () => 100,
  { runs = 4, pulls = 16, ...more }: Partial<BoostBaseline> = {},
): BoostBaseline => ({
  ...mergeLessons([]),
  ...{ runs, pulls, reference: 'gauge', baroKpa: 100, airC: [20, 0], noiseScale: { slow: 1, fast: 1 } },
  kpa: Array.from({ length: CELLS }, (_, c) => kpa(centreOf(c).rpm, centreOf(c).demand)),
  runsAt: Array.from({ length: CELLS }, () => runs),
  pullsAt: Array.from({ length: CELLS }, () => pulls),
  ...more,
});
