import { expect, it } from 'vitest';
import { isStuckAgainstAir } from '../../src/analysis/boost/air.ts';
import { airBin, type BoostBaseline } from '../../src/analysis/boost/lesson.ts';
import type { StretchPoint } from '../../src/analysis/boost/stretches.ts';

const RPM = 2500;
/** A = 10⁵ · air / (engine speed · MAP) of the sound engine (docs/analysis.md). */
const INDEX = 14.72;
const air = Array.from({ length: 12 }, (_, bin) => (bin === airBin(RPM) ? { mean: INDEX, sd: 0.012 } : null));
const baseline = { air } as Partial<BoostBaseline> as BoostBaseline;

/** Pulls at full demand; `excess` more air than the pressure accounts for. */
const points = (mapKpa: readonly number[], excess: number): StretchPoint[] =>
  mapKpa.map(
    (map, i) =>
      ({
        ...{ tUs: i * 1e6, rpm: RPM, map, demand: 90, lagged: 90, ect: 85 },
        maf: (INDEX * (1 + excess) * RPM * map) / 1e5,
      }) as StretchPoint,
  );

it('a pressure that stands still to the bit against its air is stuck', () => {
  // 100 kPa on the reading, 210 kPa in the manifold: 110 % more air than it accounts for.
  expect(isStuckAgainstAir(points([100, 100, 100], 1.1), baseline)).toBe(true);
  expect(isStuckAgainstAir(points([100, 100], 0.31), baseline)).toBe(true);
});

it('is not stuck: it moves (a pipe that came off), the air agrees, one sample alone, nothing known of the air', () => {
  expect(isStuckAgainstAir(points([100, 101, 100], 1.1), baseline)).toBe(false);
  expect(isStuckAgainstAir(points([100, 100, 100], 0.29), baseline)).toBe(false);
  expect(isStuckAgainstAir(points([100], 1.1), baseline)).toBe(false);
  expect(isStuckAgainstAir(points([100, 100, 100], 1.1), null)).toBe(false);
});
