/** What the pulls of a region gave its leg, where no number of pulls settles its finding. */
import { expect, it } from 'vitest';
import type { RegionEvidence } from '../../src/analysis/boost/evidence.ts';
import { regionGiven } from '../../src/analysis/boost/given.ts';
import { say } from '../../src/analysis/boost/says.ts';
import type { Finding } from '../../src/analysis/types.ts';

const PULL = { fromUs: 10e6, toUs: 13e6 };
/** @param pulls asked for as the leg asks, beside ten at any demand */
const region = (pulls: number) =>
  ({
    driven: Array.from({ length: pulls }, () => PULL),
    useful: Array.from({ length: 10 }, () => PULL),
  }) as unknown as RegionEvidence;
const needs = say('boost.need.one-day', {
  ...{ pulls: 5, fromDemandPct: 70, holdS: 3, warmC: 70, fromRpm: 1200, toRpm: 1500 },
});
const finding = { verdict: 'not shown', needs } as unknown as Finding;

it('a leg is not left open for what hills told, before the pulls were driven that the finding names', () => {
  const given = [0, 2, 4, 5].map((n) => regionGiven(region(n), finding, true, false));
  expect(given.map(({ share, over, left }) => [share, over ?? false, left?.id ?? null, left?.args])).toEqual([
    [0, false, null, undefined],
    [0.4, false, 'leg.left.pulls', { n: 2, of: 5 }],
    [0.8, false, 'leg.left.pulls', { n: 4, of: 5 }],
    [0, true, 'leg.left.findings', {}],
  ]);
  expect(given[1]!.how).toMatchObject({ id: 'leg.pull.how', args: { fromRpm: 1200, toRpm: 1500 } });
});

it('one that had been ticked says that later pulls differ', () => {
  expect(regionGiven(region(2), finding, true, true)).toMatchObject({
    ...{ over: true, left: { id: 'leg.left.differ' } },
  });
});
