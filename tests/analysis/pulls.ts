/** Pulls made by hand: points half a second apart, from half a second after the tip-in on. */
import type { Baro } from '../../src/analysis/boost/barometer.ts';
import type { Stretch, StretchPoint } from '../../src/analysis/boost/stretches.ts';

export const BARO: Baro = { kpa: 100, sdKpa: 0.5, source: 'barometric sensor' };

/** A pull of so many points a half second apart. */
export function pull(
  n: number,
  more: (k: number) => Partial<StretchPoint>,
  tip: Stretch['tip'] = { atUs: 0, errS: 0.1 },
): Stretch {
  const points = Array.from({ length: n }, (_, k) => ({
    ...{ tUs: (k + 1) * 0.5e6, map: 150, rpm: 2600, speed: 60, demand: 90, demandLow: 90, ect: 85 },
    ...{ cmd: null, act: null, maf: null, ageS: 0, lagged: 90, settled: true, frozen: false },
    ...{ still: false, restS: 0, idled: false, ...more(k) },
  }));
  return { points, ratio: 40, sudden: true, tip, fromUs: points[0]!.tUs, toUs: points.at(-1)!.tUs };
}
