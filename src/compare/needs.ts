/** What to drive so that a region is settled, from the scatter measured so far. */
import { GEAR_AT_RPM } from '../analysis/boost/gears.ts';
import type { RegionKey } from '../analysis/boost/regions.ts';
import type { Says } from '../core/says.ts';
import { type Contrast, studentT } from './contrast.ts';
import { type BoostRun, DEMAND_BINS } from './points.ts';
import { say } from './says.ts';
import type { Role } from './types.ts';
import { CHANGE_CONFIDENCE } from './verdict.ts';

/** Fewer pulls than this tell too little about their own scatter. Chosen by hand, not measured. */
export const LEAST_PULLS = 3;
const MOST_ASKED_PULLS = 20;
/**
 * The estimate may move while more is driven: plan for less than the whole distance. Chosen by hand, not measured.
 */
const PLAN = 0.9;
/** Of sides that share their days nothing is left of these but the rounding of sums: a bound, chosen by hand. */
const ROUNDING = 1e-9;
const LOWEST_RPM = 1200;
/**
 * Asked is a pull over so many rpm where no other drive says how far, and over so many at least; said in such steps.
 * Not known how chosen.
 */
const PULL_OVER_RPM = 1500;
const LEAST_OVER_RPM = 500;
const SAID_RPM = 50;

/** What asks for drives of before: they can be had only while the car is as it was. */
const BEFORE: ReadonlySet<string> = new Set([
  'compare.need.no-pull-before',
  'compare.need.few-before',
  'compare.need.too-few',
  'compare.need.too-few-both',
]);

export const asksForBefore = ({ id, args }: Says): boolean =>
  BEFORE.has(id) || (id.startsWith('compare.need.') && args.role === 'before');

export interface Wanted {
  readonly runs: readonly BoostRun[];
  readonly rpm: readonly [number, number];
  readonly key: RegionKey | 'all';
  readonly contrast: Contrast | null;
  readonly extra: readonly (readonly [variance: number, degreesOfFreedom: number])[];
  readonly marginPct: number;
}

export function needsOf(w: Wanted): Says {
  const before = pullsIn(w, 'before');
  const after = pullsIn(w, 'after');
  const how = howToDrive(w, before.length > 0 ? before : after);
  const least = { pulls: LEAST_PULLS, how };
  if (before.length === 0) return say('compare.need.no-pull-before', least);
  if (w.contrast === null)
    return after.length === 0 ? say('compare.need.after', least) : say('compare.need.no-common', least);
  const { contrast } = w;
  const [sdBefore, sdAfter] = [contrast.before.sd, contrast.after.sd];
  if (sdBefore === null) return say('compare.need.few-before', least);
  if (sdAfter === null) return moreAfter(LEAST_PULLS - contrast.after.pulls, how);
  return plan(w, contrast, sdBefore, sdAfter, how);
}

/** The smallest number of pulls after the repair whose interval would probably settle it. */
function plan(w: Wanted, c: Contrast, sdBefore: number, sdAfter: number, how: Says): Says {
  const margin = w.marginPct / 100;
  const goal = PLAN * Math.max(c.difference + margin, -c.difference, margin / 2);
  const extra = w.extra.reduce((a, [v]) => a + v, 0);
  const halfWith = (nBefore: number, nAfter: number): number => {
    const vBefore = sdBefore ** 2 / nBefore;
    const vAfter = sdAfter ** 2 / nAfter;
    const v = vBefore + vAfter + extra;
    const df =
      v ** 2 /
      (vBefore ** 2 / (nBefore - 1) +
        vAfter ** 2 / (nAfter - 1) +
        w.extra.reduce((a, [x, d]) => a + x ** 2 / d, 0));
    return studentT((1 + CHANGE_CONFIDENCE) / 2, df) * Math.sqrt(v);
  };
  for (let n = Math.max(LEAST_PULLS, c.after.pulls + 1); n <= MOST_ASKED_PULLS; n++)
    if (halfWith(c.before.pulls, n) <= goal) return moreAfter(n - c.after.pulls, how);
  if (halfWith(MOST_ASKED_PULLS, MOST_ASKED_PULLS) > goal)
    return say('compare.need.hidden', { by: hiddenBy(c, sdBefore, sdAfter, extra), pulls: LEAST_PULLS, how });
  for (let n = c.before.pulls + 1; n <= MOST_ASKED_PULLS; n++)
    if (halfWith(n, Math.max(n, c.after.pulls)) <= goal) {
      const pulls = n - c.before.pulls;
      return n > c.after.pulls
        ? say('compare.need.too-few-both', { pulls, after: n - c.after.pulls, how })
        : say('compare.need.too-few', { pulls, how });
    }
  return moreAfter(LEAST_PULLS, how);
}

/** What most of the interval comes from, at as many pulls as may be asked for. */
function hiddenBy(c: Contrast, sdBefore: number, sdAfter: number, extra: number): 'pulls' | 'days' | 'air' {
  if ((sdBefore ** 2 + sdAfter ** 2) / MOST_ASKED_PULLS > extra) return 'pulls';
  return c.dayFactor > ROUNDING ? 'days' : 'air';
}

interface Driven {
  readonly ratio: number | null;
  readonly rpm: readonly [number, number];
}

function pullsIn(w: Wanted, role: Role): Driven[] {
  return w.runs
    .filter((r) => r.role === role)
    .flatMap((r) => r.gathered.pulls)
    .flatMap((p) => {
      const inside = p.points.filter(
        (q) => q.rpm >= w.rpm[0] && q.rpm < w.rpm[1] && q.demand >= DEMAND_BINS[0]![0],
      );
      if (inside.length === 0) return [];
      const rpm = inside.map((q) => q.rpm);
      return [{ ratio: p.ratio, rpm: [Math.min(...rpm), Math.max(...rpm)] as const }];
    });
}

/** As the other side drove it: its gear, and the engine speeds that most of its pulls passed. */
function howToDrive(w: Wanted, pulls: readonly Driven[]): Says {
  const from = Math.max(LOWEST_RPM, w.rpm[0], fifty(middle(pulls.map((p) => p.rpm[0])) ?? w.rpm[0]));
  const top = fifty(middle(pulls.map((p) => p.rpm[1])) ?? from + PULL_OVER_RPM);
  const high = Math.min(w.rpm[1], Math.max(from + LEAST_OVER_RPM, top));
  const low = Math.max(LOWEST_RPM, w.rpm[0], Math.min(from, high - LEAST_OVER_RPM));
  const ratio = middle(pulls.flatMap((p) => (p.ratio === null ? [] : [p.ratio])));
  const span = { fromRpm: low, toRpm: high };
  return ratio === null
    ? say('compare.how', span)
    : say('compare.how-gear', { ...span, kmh: GEAR_AT_RPM / ratio, atRpm: GEAR_AT_RPM });
}

const moreAfter = (n: number, how: Says): Says => say('compare.need.after', { pulls: Math.max(1, n), how });

const fifty = (rpm: number): number => Math.round(rpm / SAID_RPM) * SAID_RPM;

function middle(list: readonly number[]): number | null {
  return [...list].sort((a, b) => a - b)[list.length >> 1] ?? null;
}
