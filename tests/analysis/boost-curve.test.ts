/** The curve of full-demand boost that a person sees and corrects: where it was driven, with the most pedal there. */
import { expect, it } from 'vitest';
import { fullDemandCurve } from '../../src/analysis/boost/curve.ts';
import { type BoostBaseline, CELLS, centreOf, mergeLessons } from '../../src/analysis/boost/lesson.ts';

const taught = (
  kpa: (rpm: number, demand: number) => number | null,
  reference: BoostBaseline['reference'] = 'gauge',
): BoostBaseline => ({
  ...mergeLessons([]),
  ...{ reference, baroKpa: 97 },
  kpa: Array.from({ length: CELLS }, (_, c) => kpa(centreOf(c).rpm, centreOf(c).demand)),
  runsAt: Array.from({ length: CELLS }, () => 1),
  pullsAt: Array.from({ length: CELLS }, () => 1),
});

it('has a point every 250 rpm from 1000 to 6750, to a tenth of a kPa', () => {
  const curve = fullDemandCurve(taught((rpm) => rpm / 100 + 0.06));
  expect(curve.map((p) => p.rpm)).toEqual(Array.from({ length: 24 }, (_, k) => 1000 + 250 * k));
  expect(curve[0]!.kpa).toBe(10.1);
  expect(curve.at(-1)!.kpa).toBe(67.6);
});

it('takes 100, 95, 90 and 85 % in this order, and nothing from less pedal', () => {
  const upTo = (most: number) => fullDemandCurve(taught((_, demand) => (demand > most ? null : demand)))[0];
  expect([105, 97.5, 92.5, 87.5, 84].map((most) => upTo(most)?.kpa)).toEqual([100, 95, 90, 85, undefined]);
});

it('is gauge pressure also of an engine that regulates the absolute one', () => {
  expect(fullDemandCurve(taught(() => 150, 'absolute'))[0]!.kpa).toBe(53);
  expect(fullDemandCurve(taught(() => 150))[0]!.kpa).toBe(150);
  expect(fullDemandCurve(taught(() => null))).toEqual([]);
});
