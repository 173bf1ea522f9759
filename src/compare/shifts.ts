/** Quantities of which more is neither better nor worse: the rise at tip-in, the coolant's plateau, the warm-up. */
import { contrastOf, intervalOf, studentT } from './contrast.ts';
import type { Gathered, GatheredTip } from './gather.ts';
import type { Role, Shift } from './types.ts';
import { CONFIDENCE, shiftVerdict } from './verdict.ts';

/** Spread of a healthy plateau between drives, °C: KIT, 11 trips that settled, 0.6 °C; rounded up. */
const PLATEAU_SD_C = 0.7;
const PLATEAU_MARGIN_C = 3;
/** Spread of the heat that a degree takes between drives: KIT, 13 cold starts, 20 % at like temperatures. */
const WARM_UP_SD = 0.2;
const WARM_UP_MARGIN_PCT = 30;
/** Colder air takes more heat: KIT 120 to 160 g/°C from 13 °C up, 150 to 280 below. */
const WARM_UP_LIKE_C = 8;
const RUNS_DF = 10;

export interface ShiftRun {
  readonly role: Role;
  readonly day: string;
  readonly gathered: Gathered;
}

const NOTHING = { before: null, after: null, difference: null, interval: null } as const;

// ---- tip-in -------------------------------------------------------------------------------------------------

const TIP_MARGIN_KPA = 10;
const TIP_DAY_KPA = 2;
/** Tip-ins from like engine speeds are compared: below, within, and above the usual band of the first charger. */
const TIP_EDGES_RPM = [1600, 2400];
/** A reading this near to one second after demand rose stands for it, s. */
const TIP_NEAR_S = 0.5;

/** Gauge pressure one second after demand rose, between the readings around it; null when they are too far apart. */
export function afterOneSecond(tip: GatheredTip, baroKpa: number): number | null {
  const atUs = tip.atUs + 1e6;
  const next = tip.points.findIndex((p) => p.tUs >= atUs);
  const b = tip.points[next];
  const a = tip.points[next - 1];
  if (!b || !a) return null;
  if (Math.max(b.tUs - atUs, atUs - a.tUs) > TIP_NEAR_S * 1e6 + 1e5) return null;
  const w = b.tUs === a.tUs ? 0 : (atUs - a.tUs) / (b.tUs - a.tUs);
  return a.mapKpa + w * (b.mapKpa - a.mapKpa) - baroKpa;
}

/** Tip-ins are matched by engine speed; gears do not matter in the first second. */
export function tipInShift(runs: readonly (ShiftRun & { readonly baroKpa: number })[]): Shift {
  let pull = 0;
  const all = runs.flatMap(({ role, day, gathered, baroKpa }) =>
    gathered.tips.flatMap((tip) => {
      pull++;
      const value = afterOneSecond(tip, baroKpa);
      return value === null
        ? []
        : [
            {
              side: role,
              pull,
              day,
              point: `${TIP_EDGES_RPM.filter((rpm) => tip.rpm >= rpm).length}`,
              value,
            },
          ];
    }),
  );
  const base = { ...NOTHING, margin: TIP_MARGIN_KPA, unit: 'kPa' } as const;
  const c = contrastOf(all);
  const needs =
    'Three sudden full-pedal tip-ins on each side, each held for 3 s, from the same engine speed (about 1500 rpm).';
  if (c === null) return { ...base, verdict: 'not shown', needs };
  const at = intervalOf(c, [[c.dayFactor * TIP_DAY_KPA ** 2, RUNS_DF]], CONFIDENCE);
  const verdict = at === null ? 'not shown' : shiftVerdict(at.low, at.high, TIP_MARGIN_KPA);
  return {
    ...base,
    before: tenth(c.before.mean),
    after: tenth(c.after.mean),
    difference: tenth(c.difference),
    interval: at === null ? null : [tenth(at.low), tenth(at.high)],
    verdict,
    needs: verdict === 'not shown' ? needs : null,
  };
}

// ---- coolant ------------------------------------------------------------------------------------------------

export function plateauShift(runs: readonly ShiftRun[]): Shift {
  const of = (role: Role): readonly number[] =>
    runs.flatMap((r) => (r.role === role && r.gathered.plateauC !== null ? [r.gathered.plateauC] : []));
  const base = { ...NOTHING, margin: PLATEAU_MARGIN_C, unit: 'degC' } as const;
  const before = of('before');
  const after = of('after');
  if (before.length === 0 || after.length === 0) {
    const side = after.length === 0 ? 'after' : 'before';
    return {
      ...base,
      before: before.length === 0 ? null : tenth(mean(before)),
      after: after.length === 0 ? null : tenth(mean(after)),
      verdict: 'not shown',
      needs: `The coolant did not settle in the runs ${side}: drive warm for ten minutes more at steady speed${side === 'before' ? ' (only possible while the car is as it was)' : ''}.`,
    };
  }
  const half = halfWidth(PLATEAU_SD_C, before.length, after.length);
  const difference = mean(after) - mean(before);
  const verdict = shiftVerdict(difference - half, difference + half, PLATEAU_MARGIN_C);
  return {
    ...base,
    before: tenth(mean(before)),
    after: tenth(mean(after)),
    difference: tenth(difference),
    interval: [tenth(difference - half), tenth(difference + half)],
    verdict,
    needs: verdict === 'not shown' ? 'Another run after the repair, until the coolant has settled.' : null,
  };
}

/** Heat that a degree takes between 40 and 70 °C, of runs from cold in like air with the same source of heat. */
export function warmUpShift(runs: readonly ShiftRun[]): Shift {
  const base = { ...NOTHING, margin: WARM_UP_MARGIN_PCT, unit: '%' } as const;
  const of = (role: Role) => runs.filter((r) => r.role === role && r.gathered.heatPerC !== null);
  const before = of('before');
  const after = of('after');
  const not = (needs: string): Shift => ({ ...base, verdict: 'not shown', needs });
  if (before.length === 0 || after.length === 0)
    return not(
      `The runs ${after.length === 0 ? 'after' : 'before'} do not warm up from cold: start with the engine below 35 °C and drive until 70 °C.`,
    );
  const sources = new Set([...before, ...after].map((r) => r.gathered.heatSource));
  if (sources.size > 1)
    return not('Heat was measured by different signals before and after: record air mass on both sides.');
  const airOf = (list: readonly ShiftRun[]) => list.flatMap((r) => r.gathered.air?.c ?? []);
  const airBefore = airOf(before);
  const airAfter = airOf(after);
  if (airBefore.length === 0 || airAfter.length === 0)
    return not('The temperature of the air is not known on both sides: record ambient temperature as well.');
  const airs = Math.abs(mean(airAfter) - mean(airBefore));
  if (airs > WARM_UP_LIKE_C)
    return not(
      `The air was ${Math.round(airs)} °C apart, and cold air takes more heat: warm up on a day like the first.`,
    );
  const lnOf = (list: readonly ShiftRun[]) => mean(list.map((r) => Math.log(r.gathered.heatPerC!)));
  const ln = lnOf(after) - lnOf(before);
  const half = halfWidth(WARM_UP_SD, before.length, after.length);
  const percent = (x: number): number => tenth(100 * Math.expm1(x));
  const verdict = shiftVerdict(percent(ln - half), percent(ln + half), WARM_UP_MARGIN_PCT);
  return {
    ...base,
    before: tenth(Math.exp(lnOf(before))),
    after: tenth(Math.exp(lnOf(after))),
    difference: percent(ln),
    interval: [percent(ln - half), percent(ln + half)],
    verdict,
    needs:
      verdict === 'not shown'
        ? 'Cold starts differ by 20 % of themselves: several on each side, in like air, would tell.'
        : null,
  };
}

/** Runs of a side are few, so the spread between them is taken from KIT. */
function halfWidth(sd: number, before: number, after: number): number {
  return studentT((1 + CONFIDENCE) / 2, RUNS_DF) * sd * Math.sqrt(1 / before + 1 / after);
}

const mean = (list: readonly number[]): number => list.reduce((a, b) => a + b, 0) / list.length;
const tenth = (x: number): number => Math.round(x * 10) / 10 + 0;
