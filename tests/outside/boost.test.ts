/** Boost statistics against `simple-statistics` and ISO 2533, and the detector on open drives with faults put in (invented). */
import {
  linearRegression,
  linearRegressionLine,
  mean,
  probit,
  sampleStandardDeviation,
} from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import { UNKNOWN_BARO } from '../../src/analysis/boost/barometer.ts';
import { RegionEvidence } from '../../src/analysis/boost/evidence.ts';
import { learnBoost, lookUp, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { Z_FAULT, Z95 } from '../../src/analysis/spread.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { seededRandom } from '../../src/core/random.ts';
import { HIGH, sureWitness } from '../analysis/witness.ts';
import { clean, judgeBoost } from '../evaluate/boost.ts';
import { readDrive } from '../evaluate/coolant-drives.ts';
import { scaleBoost, stuckMap } from '../evaluate/inject-boost.ts';
import { hasShared, needs } from '../require.ts';

const DIESEL = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });
describe('statistics', () => {
  it('mean and standard error of scattered pulls are those of simple-statistics', () => {
    const random = seededRandom('birge');
    for (const n of [3, 5, 12]) {
      const list = Array.from({ length: n }, () => -0.08 + 0.05 * random.normal());
      const r = new RegionEvidence(HIGH);
      // Pulls that scatter more than healthy ones: the scatter seen takes the place of the one assumed.
      for (const d of list) r.add(sureWitness(d, 0.001, 0));
      expect(r.estimate!.deviation).toBeCloseTo(mean(list), 12);
      expect(r.estimate!.se).toBeCloseTo(sampleStandardDeviation(list) / Math.sqrt(n), 12);
    }
  });

  it('bounds are the quantiles that the rule names', () => {
    expect(Z95).toBeCloseTo(probit(0.95), 2);
    // One-sided: two or three in ten thousand looks, if errors are normal.
    expect(Z_FAULT).toBeGreaterThan(probit(1 - 2.4e-4));
  });

  it('the expectation between the pulls of a baseline follows the regression line', () => {
    const demand = [60, 65, 70, 75, 80, 85, 90];
    const random = seededRandom('line');
    const map = demand.map((d) => 100 + 1.3 * d + 0.3 * random.normal());
    const lesson = {
      schema: 'handback.boost-lesson/2' as const,
      slower: [],
      baroKpa: 100,
      baroKnown: true,
      airC: 20,
      pulls: demand.map((d, i) => ({
        rpm: [2500, 2500],
        demand: [d, d],
        map: [map[i]!, map[i]!],
        air: [null, null],
      })),
    };
    const line = linearRegressionLine(linearRegression(demand.map((d, i) => [d, map[i]!])));
    const learned = mergeLessons([lesson, lesson]);
    for (const d of [68, 75, 83]) expect(Math.abs(lookUp(learned, 2500, d)!.kpa - line(d))).toBeLessThan(0.6);
  });

  it('unknown air covers the standard atmosphere of ISO 2533 from the sea to 600 m', () => {
    // ISO 2533:1975, from memory: 101.325 kPa at 0 m, 95.461 kPa at 500 m, 94.322 kPa at 600 m.
    for (const kpa of [101.325, 95.461, 94.322])
      expect(Math.abs(kpa - UNKNOWN_BARO.kpa)).toBeLessThanOrEqual(UNKNOWN_BARO.sdKpa);
  });
});

describe('open drives of one healthy turbo-diesel', () => {
  const check = needs(hasShared('drives'), 'the open drives in ../shared/drives');

  check('taught by three drives: a fifth less boost found in two others, nothing in them as they are', () => {
    const baseline = mergeLessons(
      ['trip-05', 'trip-33', 'trip-76'].map((n) => learnBoost(clean(readDrive(n)), DIESEL)),
    );
    for (const name of ['trip-20', 'trip-60']) {
      const drive = readDrive(name);
      expect(judgeBoost(clean(drive), DIESEL, baseline).faults).toEqual([]);
      expect(judgeBoost(clean(stuckMap(drive, 10, 12, name, true)), DIESEL, baseline).faults).toEqual([]);
      const weak = judgeBoost(clean(scaleBoost(drive, 0.8, 'everywhere')), DIESEL, baseline);
      expect(weak.faults.filter((id) => id.startsWith('boost.'))).not.toEqual([]);
      expect(weak.systemGood).toBe(false);
      const low = judgeBoost(clean(scaleBoost(drive, 0.8, 'below 2000')), DIESEL, baseline);
      expect(low.faults).toContain('boost.low-speed');
      expect(low.faults).not.toContain('boost.above-hand-over');
    }
  });

  check('without a baseline: no boost in the pulls is found, and where it went missing', () => {
    for (const name of ['trip-20', 'trip-60']) {
      const drive = readDrive(name);
      expect(judgeBoost(clean(drive), DIESEL, null).faults).toEqual([]);
      expect(judgeBoost(clean(scaleBoost(drive, 0, 'pulls')), DIESEL, null).faults).not.toEqual([]);
    }
  });
});
