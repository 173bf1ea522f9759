/** What is said beside the rows: pulls on the same stretch of road, and power at the wheels. */
import type { Says } from '../core/says.ts';
import type { BoostComparison } from './boost.ts';
import { say } from './says.ts';

/** What came of the pulls on the same stretch, beside what came of all. */
export function roadSays({ sameRoad, overall }: BoostComparison): Says[] {
  if (sameRoad === null) return [];
  const { stretches, before, after } = sameRoad;
  if (stretches === 0) return [say('compare.road.none', { before: before.pulls, after: after.pulls })];
  const told = overall.flatMap(({ region, interval, sameRoad: own }) => {
    if (own?.interval == null) return [];
    const args = {
      region,
      effect: own.effectPct / 100,
      low: own.interval[0] / 100,
      high: own.interval[1] / 100,
    };
    return interval === null
      ? [say('compare.road.effect-alone', args)]
      : [say('compare.road.effect', { ...args, allLow: interval[0] / 100, allHigh: interval[1] / 100 })];
  });
  return [
    say('compare.road.matched', {
      stretches,
      before: before.matched,
      ofBefore: before.pulls,
      after: after.matched,
      ofAfter: after.pulls,
    }),
    ...(told.length > 0 ? told : [say('compare.road.few')]),
  ];
}

/** What was left for accelerating and climbing, and what it rests on. */
export function powerSays({ power, overall }: BoostComparison): Says[] {
  const told = overall.flatMap(({ region, power: own }) =>
    own?.interval == null
      ? []
      : say('compare.power.effect', {
          region,
          before: own.before.wkg,
          after: own.after.wkg,
          difference: own.differenceWkg,
          low: own.interval[0],
          high: own.interval[1],
          pullsBefore: own.before.pulls,
          pullsAfter: own.after.pulls,
        }),
  );
  if (power === null || told.length === 0) return [];
  const { before, after } = power;
  const sd = Math.hypot(before.sdPct, after.sdPct) / Math.SQRT2 / 100;
  return [...told, say('compare.power.rests', { before: before.pct / 100, after: after.pct / 100, sd })];
}
