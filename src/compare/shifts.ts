/** Quantities of which more is neither better nor worse: the rise at tip-in, the coolant's plateau, the warm-up. */

import type { Says } from '../core/says.ts';
import { contrastOf, intervalOf, studentT } from './contrast.ts';
import type { Gathered, GatheredTip } from './gather.ts';
import { say } from './says.ts';
import type { Role, Shift } from './types.ts';
import { CHANGE_CONFIDENCE, shiftVerdict } from './verdict.ts';

/** Spread of a healthy plateau between drives, °C: KIT, 11 trips that settled, 0.6 °C; rounded up. */
const RUN_PLATEAU_SD_C = 0.7;
const PLATEAU_MARGIN_C = 3;
const SETTLE_MINUTES = 10;
/** Spread of the heat that a degree takes between drives: KIT, 13 cold starts, 20 % at like temperatures. */
const WARM_UP_SD = 0.2;
const WARM_UP_MARGIN_PCT = 30;
/** Colder air takes more heat (KIT: 120 to 160 g/°C from 13 °C up, 150 to 280 below), and boost rises in it otherwise (KIT, healthy: by up to 29 kPa at tip-in between 23 and −7 °C). */
const LIKE_AIR_C = 8;
/** What the warm-up is measured over, as it is asked for. Chosen by hand, not measured. */
const COLD_START = { belowC: 35, untilC: 70 } as const;
const RUNS_DF = 10;

export interface ShiftRun {
  readonly role: Role;
  readonly day: string;
  readonly gathered: Gathered;
}

const NOTHING = { before: null, after: null, difference: null, interval: null } as const;

// ---- tip-in -------------------------------------------------------------------------------------------------

/** What counts as no worse, and what a day adds, kPa. Chosen by hand, not measured. */
const TIP_MARGIN_KPA = 10;
const TIP_DAY_KPA = 2;
/** What is asked for where tip-ins are missing. Chosen by hand, not measured. */
const TIP_HOLD_S = 3;
const TIP_FROM_RPM = 1500;
/**
 * Tip-ins from like engine speeds are compared: below, within, and above the usual band of the first charger.
 * Chosen by hand, not measured.
 */
const TIP_EDGES_RPM = [1600, 2400];
/** A reading this near to one second after demand rose stands for it, s. Chosen by hand, not measured. */
const TIP_NEAR_S = 0.5;
/** One second, by definition; and what a reading's time may be off by beside that. Not known how chosen. */
const AFTER_TIP_US = 1e6;
const NEAR_SLACK_US = 1e5;

/** Gauge pressure one second after demand rose, between the readings around it; null when they are too far apart. */
export function afterOneSecond(tip: GatheredTip, baroKpa: number): number | null {
  const atUs = tip.atUs + AFTER_TIP_US;
  const next = tip.points.findIndex((p) => p.tUs >= atUs);
  const b = tip.points[next];
  const a = tip.points[next - 1];
  if (!b || !a) return null;
  if (Math.max(b.tUs - atUs, atUs - a.tUs) > TIP_NEAR_S * 1e6 + NEAR_SLACK_US) return null;
  const w = (atUs - a.tUs) / (b.tUs - a.tUs);
  return a.mapKpa + w * (b.mapKpa - a.mapKpa) - baroKpa;
}

/** Tip-ins are matched by engine speed; gears do not matter in the first second. */
export function tipInShift(runs: readonly (ShiftRun & { readonly baroKpa: number })[]): Shift {
  let pull = 0;
  const all = runs.flatMap(({ role, day, gathered, baroKpa }) =>
    gathered.tips.flatMap((tip) => {
      pull++;
      const value = afterOneSecond(tip, tip.airKpa ?? baroKpa);
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
  const needs = say('compare.need.tip-ins', { holdS: TIP_HOLD_S, rpm: TIP_FROM_RPM });
  if (c === null) return { ...base, verdict: 'not shown', needs };
  const at = intervalOf(c, [[c.dayFactor * TIP_DAY_KPA ** 2, RUNS_DF]], CHANGE_CONFIDENCE);
  // Where nothing tells of the air a day is allowed for and no more.
  const apartC = airApartC(runs);
  const like = apartC === null || apartC <= LIKE_AIR_C;
  const verdict = at === null || !like ? 'not shown' : shiftVerdict(at.low, at.high, TIP_MARGIN_KPA);
  return {
    ...base,
    before: c.before.mean,
    after: c.after.mean,
    difference: c.difference,
    interval: at === null ? null : [at.low, at.high],
    verdict,
    needs: verdict !== 'not shown' ? null : like ? needs : say('compare.need.tip-air-apart', { byC: apartC }),
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
    const role = after.length === 0 ? 'after' : 'before';
    return {
      ...base,
      before: before.length === 0 ? null : mean(before),
      after: after.length === 0 ? null : mean(after),
      verdict: 'not shown',
      needs: say('compare.need.settle', { role, minutes: SETTLE_MINUTES }),
    };
  }
  const half = halfWidth(RUN_PLATEAU_SD_C, before.length, after.length);
  const difference = mean(after) - mean(before);
  const verdict = shiftVerdict(difference - half, difference + half, PLATEAU_MARGIN_C);
  return {
    ...base,
    before: mean(before),
    after: mean(after),
    difference: difference,
    interval: [difference - half, difference + half],
    verdict,
    needs: verdict === 'not shown' ? say('compare.need.another-run') : null,
  };
}

/** Heat that a degree takes between 40 and 70 °C, of runs from cold in like air with the same source of heat. */
export function warmUpShift(runs: readonly ShiftRun[]): Shift {
  const base = { ...NOTHING, margin: WARM_UP_MARGIN_PCT, unit: '%' } as const;
  const of = (role: Role) => runs.filter((r) => r.role === role && r.gathered.heatPerC !== null);
  const before = of('before');
  const after = of('after');
  const not = (needs: Says): Shift => ({ ...base, verdict: 'not shown', needs });
  if (before.length === 0 || after.length === 0)
    return not(
      say('compare.need.cold', {
        role: after.length === 0 ? 'after' : 'before',
        fromC: COLD_START.belowC,
        toC: COLD_START.untilC,
      }),
    );
  const sources = new Set([...before, ...after].map((r) => r.gathered.heatSource));
  if (sources.size > 1) return not(say('compare.need.heat-signals'));
  const airs = airApartC([...before, ...after]);
  if (airs === null) return not(say('compare.need.air-unknown'));
  if (airs > LIKE_AIR_C) return not(say('compare.need.air-apart', { byC: airs }));
  const lnOf = (list: readonly ShiftRun[]) => mean(list.map((r) => Math.log(r.gathered.heatPerC!)));
  const ln = lnOf(after) - lnOf(before);
  const half = halfWidth(WARM_UP_SD, before.length, after.length);
  const percent = (x: number): number => 100 * Math.expm1(x);
  const verdict = shiftVerdict(percent(ln - half), percent(ln + half), WARM_UP_MARGIN_PCT);
  return {
    ...base,
    before: Math.exp(lnOf(before)),
    after: Math.exp(lnOf(after)),
    difference: percent(ln),
    interval: [percent(ln - half), percent(ln + half)],
    verdict,
    needs: verdict === 'not shown' ? say('compare.need.cold-starts', { sd: WARM_UP_SD }) : null,
  };
}

/** How far apart the air of both sides was, °C; null where nothing tells of one. */
function airApartC(runs: readonly ShiftRun[]): number | null {
  const of = (role: Role) => runs.flatMap((r) => (r.role === role ? (r.gathered.air?.c ?? []) : []));
  const [before, after] = [of('before'), of('after')];
  return before.length === 0 || after.length === 0 ? null : Math.abs(mean(after) - mean(before));
}

/** Runs of a side are few, so the spread between them is taken from KIT. */
function halfWidth(sd: number, before: number, after: number): number {
  return studentT((1 + CHANGE_CONFIDENCE) / 2, RUNS_DF) * sd * Math.sqrt(1 / before + 1 / after);
}

const mean = (list: readonly number[]): number => list.reduce((a, b) => a + b, 0) / list.length;
