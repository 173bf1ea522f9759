/** Boost before against after: matched operating points, regions stated beforehand, and the difference over engine speed. */
import { SLOW_RPM } from '../analysis/boost/noise.ts';
import { type Region, type RegionKey, regionsOf } from '../analysis/boost/regions.ts';
import { FULL_DEMAND_PCT } from '../analysis/boost/scan.ts';
import { type AirTemp, ANY_CAR, daysApart } from '../analysis/boost/warmth.ts';
import type { Profile } from '../core/profile.ts';
import { listed, type Says } from '../core/says.ts';
import {
  type ComparedPoint,
  type Contrast,
  contrastOf,
  type Interval,
  intervalOf,
  pairedContrast,
} from './contrast.ts';
import { LEAST_PULLS, needsOf } from './needs.ts';
import {
  BIN_RPM,
  type BoostRun,
  type CellValue,
  cellValues,
  DEMAND_BINS,
  type Matching,
  observationsOf,
} from './points.ts';
import { say } from './says.ts';
import type {
  DifferenceCurve,
  PointComparison,
  PowerEffect,
  RegionComparison,
  RoadPowerShown,
  Role,
  SameRoad,
  SameRoadEffect,
  Side,
} from './types.ts';
import { CHANGE_CONFIDENCE, effectVerdict, holmVerdicts } from './verdict.ts';

/**
 * Spread of healthy pressure between days as a share of it, after correction: KIT, 14 trips, 0.6 to 1.0 % by pairs
 * of trips with three pulls and more, gears alike or not; ten degrees of freedom for want of more trips.
 */
export const DAY_SD = 0.01;
const DAY_DF = 10;
/** Another gear reaches the same engine speed another way: KIT shows no more scatter across gears; an allowance, by hand. */
const GEAR_SD = 0.01;
/** MAP goes with the air's pressure to the power 1 (a pressure ratio); KIT: 0.8 ± 0.4. Standard uncertainty: */
const BARO_POWER_SD = 0.3;
/** Degrees of freedom of what the air adds: as good as known, and not endless. Not known how chosen. */
const AIR_DF = 50;

export interface BoostComparison {
  readonly points: readonly PointComparison[];
  readonly overall: readonly RegionComparison[];
  readonly difference: DifferenceCurve | null;
  readonly sameRoad: SameRoad | null;
  readonly power: RoadPowerShown | null;
  /** What was allowed for in matching. */
  readonly notes: readonly Says[];
}

/** What the air of both sides adds to every effect. */
export interface AirDoubt {
  /** Difference between the sides, mean of the runs, as a logarithm. */
  readonly lnBaro: number;
  /** Standard uncertainty of the barometric ratio itself. */
  readonly baroSd: number;
  /** Barometric pressure that all pressures are brought to, kPa. */
  readonly baroKpa: number;
  readonly before: AirTemp;
  readonly after: AirTemp;
}

/** Engine speeds that "all" takes in, rpm. Every engine: a bound, chosen by hand. */
export const ALL_RPM = [900, 9000] as const;

type Extra = readonly (readonly [variance: number, degreesOfFreedom: number])[];

export function compareBoost(
  runs: readonly BoostRun[],
  profile: Profile,
  marginPct: number,
  air: AirDoubt,
): BoostComparison {
  const values = cellValues(runs);
  const baroVariance = (BARO_POWER_SD * air.lnBaro) ** 2 + air.baroSd ** 2;
  const part = (keep: (v: CellValue) => boolean, onRoad = false): Part => {
    const kept = values.filter(keep);
    const { observations, contrast, acrossGears } = matched(kept, onRoad);
    const extra: Extra = [
      [(contrast?.dayFactor ?? 2) * DAY_SD ** 2, DAY_DF],
      [baroVariance + warmthSd(kept, air) ** 2, AIR_DF],
      ...(acrossGears ? [[GEAR_SD ** 2, DAY_DF] as const] : []),
    ];
    const intervalAt = (confidence: number): Interval | null =>
      contrast === null ? null : intervalOf(contrast, extra, confidence);
    return { observations, contrast, acrossGears, extra, intervalAt };
  };
  const powers = cellValues(runs, (q) => q.power?.wkg ?? null);
  const gradeErrors = cellValues(runs, (q) => q.power?.sdWkg ?? null);
  const otherGears: Says[] = [];
  const regions = regionsFor(profile).map(({ name, key, rpm }): RegionComparison => {
    const inside = (v: CellValue): boolean => within(v, rpm);
    const { observations, contrast, acrossGears, extra, intervalAt } = part(inside);
    if (acrossGears && contrast !== null) otherGears.push(name);
    const interval = intervalAt(CHANGE_CONFIDENCE);
    const effect = contrast === null ? null : effectOf(contrast, interval);
    const verdict = effect?.interval == null ? 'not shown' : effectVerdict(...effect.interval, marginPct);
    return {
      region: name,
      rpm,
      comparedRpm: sharedRpm(values.filter(inside), rpm, acrossGears),
      ...sidesOf(observations, contrast),
      effectPct: effect?.effectPct ?? null,
      interval: effect?.interval ?? null,
      effectKpa: effect?.effectKpa ?? null,
      intervalKpa: effect?.intervalKpa ?? null,
      degreesOfFreedom: interval === null ? null : interval.degreesOfFreedom,
      sameRoad: sameRoadEffect(values.filter(inside), part(inside, true)),
      power: powerEffect(runs, powers.filter(inside), gradeErrors.filter(inside)),
      verdict,
      needs:
        verdict === 'not shown'
          ? needsOf({
              runs,
              rpm,
              key,
              contrast,
              extra,
              marginPct,
            })
          : null,
    };
  });
  return {
    points: pointsOf(values, part, marginPct),
    overall: regions,
    difference: curveOf(values, part),
    sameRoad: sameRoadOf(values),
    power: powerShown(runs, powers),
    notes:
      otherGears.length > 0 ? [say('compare.gears', { regions: listed(otherGears), allowed: GEAR_SD })] : [],
  };
}

/**
 * A turbocharger on its way up feeds on the engine's own air, and what that comes to at most nobody knows: so many times what
 * the judging, which several days taught, allows. Chosen on simulated turbo-diesels (docs/compare.md), since no open set has such a car.
 */
const SLOW_TIMES = 2;

/**
 * What warmer or colder air may do to these pressures, a share: to their boost what it does to any car's, alike in all
 * pulls. Two days know too little to tell a car's own.
 */
function warmthSd(values: readonly CellValue[], air: AirDoubt): number {
  if (values.length === 0) return 0;
  return mean(
    values.map(({ rpmBin, value }) => {
      const slow = (rpmBin + 0.5) * BIN_RPM < SLOW_RPM;
      const boostShare = Math.max(0, 1 - air.baroKpa / Math.exp(value));
      const apart = daysApart(slow ? ANY_CAR.slow : ANY_CAR.fast, air.before, air.after);
      return boostShare * apart * (slow ? SLOW_TIMES : 1);
    }),
  );
}

interface Part {
  readonly observations: readonly ComparedPoint[];
  readonly contrast: Contrast | null;
  readonly acrossGears: boolean;
  readonly extra: Extra;
  readonly intervalAt: (confidence: number) => Interval | null;
}
type PartOf = (keep: (v: CellValue) => boolean) => Part;

/** How many pulls have their counterpart on the same stretch; null where the places of one side are not known. */
function sameRoadOf(values: readonly CellValue[]): SameRoad | null {
  const stretches = (role: 'before' | 'after') =>
    new Set(values.flatMap((v) => (v.role === role && v.stretch !== null ? [v.stretch] : [])));
  const [before, after] = [stretches('before'), stretches('after')];
  if (before.size === 0 || after.size === 0) return null;
  const shared = new Set([...before].filter((s) => after.has(s)));
  const of = (role: 'before' | 'after') => {
    const own = values.filter((v) => v.role === role);
    const count = (list: readonly CellValue[]): number => new Set(list.map((v) => v.pull)).size;
    return {
      pulls: count(own),
      matched: count(own.filter((v) => v.stretch !== null && shared.has(v.stretch))),
    };
  };
  return { stretches: shared.size, before: of('before'), after: of('after') };
}

/**
 * The verdict rests on all pulls, as it was said beforehand; this stands beside it. Where pulls of one stretch do not tell
 * how they scatter, the stretches are pairs.
 */
function sameRoadEffect(values: readonly CellValue[], onRoad: Part): SameRoadEffect | null {
  const { contrast: within, acrossGears, extra } = onRoad;
  if (within === null) return null;
  const stretches = new Map(values.map((v) => [v.pull, v.stretch]));
  const pairs =
    within.variance === null
      ? pairedContrast(observationsOf(values, { acrossGears, onRoad: false }), (o) => stretches.get(o.pull)!)
      : null;
  const { difference, before, after } = pairs ?? within;
  const interval = intervalOf(pairs ?? within, extra, CHANGE_CONFIDENCE);
  return {
    before: before.pulls,
    after: after.pulls,
    pairs: pairs !== null,
    effectPct: percent(difference),
    interval: interval === null ? null : [percent(interval.low), percent(interval.high)],
  };
}

/**
 * In the same gears only: what turns faster takes more of it in a lower gear. A receiver's height wanders so slowly that its
 * error may be common to the pulls of a run: that of one pull's grade is allowed for once a run.
 */
function powerEffect(
  runs: readonly BoostRun[],
  values: readonly CellValue[],
  gradeErrors: readonly CellValue[],
): PowerEffect | null {
  const contrast = contrastOf(observationsOf(values, { acrossGears: false, onRoad: false }));
  if (contrast === null) return null;
  const { before, after, difference } = contrast;
  const gradeVariance = (role: Role): number =>
    mean(gradeErrors.flatMap((v) => (v.role === role ? [v.value] : []))) ** 2 /
    runs.filter((r) => r.role === role).length;
  const extra: Extra = [[gradeVariance('before') + gradeVariance('after'), DAY_DF]];
  const interval = intervalOf(contrast, extra, CHANGE_CONFIDENCE);
  return {
    before: { pulls: before.pulls, wkg: before.mean },
    after: { pulls: after.pulls, wkg: after.mean },
    differenceWkg: difference,
    interval: interval === null ? null : [interval.low, interval.high],
  };
}

/** The grades that it was corrected for; null where one side was not measured. */
function powerShown(runs: readonly BoostRun[], powers: readonly CellValue[]): RoadPowerShown | null {
  const of = (role: Role) => {
    const grades = runs.flatMap((r) =>
      r.role === role
        ? r.gathered.pulls.flatMap((p) => (p.points.some((q) => q.power !== null) ? p.grade! : []))
        : [],
    );
    return { pct: mean(grades.map((g) => g.pct)), sdPct: mean(grades.map((g) => g.sdPct)) };
  };
  const known = (role: Role): boolean => powers.some((v) => v.role === role);
  return known('before') && known('after') ? { before: of('before'), after: of('after') } : null;
}

/** Gears are kept apart where that leaves pulls enough to tell their scatter. */
function matched(
  values: readonly CellValue[],
  onRoad: boolean,
): Pick<Part, 'observations' | 'contrast' | 'acrossGears'> {
  const of = (acrossGears: Matching['acrossGears']) => {
    const observations = observationsOf(values, { acrossGears, onRoad });
    const contrast = contrastOf(observations);
    const known = contrast !== null && contrast.variance !== null;
    const pulls = known ? Math.min(contrast.before.pulls, contrast.after.pulls) : 0;
    return { observations, contrast, acrossGears, pulls };
  };
  const apart = of(false);
  if (apart.pulls >= LEAST_PULLS) return apart;
  const across = of(true);
  return across.pulls > apart.pulls || apart.contrast === null ? across : apart;
}

function regionsFor(
  profile: Profile,
): readonly { name: Says; key: RegionKey | 'all'; rpm: readonly [number, number] }[] {
  const regions = regionsOf(profile).map((r) => ({
    name: nameOf(profile, r),
    key: r.key,
    rpm: [r.fromRpm, r.toRpm] as const,
  }));
  return [...regions, { name: say('compare.region.all'), key: 'all', rpm: ALL_RPM }];
}

function nameOf(profile: Profile, r: Region): Says {
  if (profile.induction === 'supercharger') return say('compare.region.supercharger');
  if (profile.induction === 'twin-charged')
    return r.key === 'low'
      ? say('compare.region.clutch-band')
      : say(r.key === 'middle' ? 'compare.region.changeover' : 'compare.region.above-changeover');
  return r.key === 'low'
    ? say('compare.region.turbocharger-low', { rpm: r.toRpm })
    : say('compare.region.turbocharger-high', { rpm: r.fromRpm });
}

/** Engine speeds of the points that both sides have, as far as they lie in the region; null where there are none. */
function sharedRpm(
  values: readonly CellValue[],
  [from, to]: readonly [number, number],
  acrossGears: boolean,
): [number, number] | null {
  const points = observationsOf(values, { acrossGears, onRoad: false }).map((o) => o.point);
  const of = (role: Role) => new Set(points.filter((_, i) => values[i]!.role === role));
  const [before, after] = [of('before'), of('after')];
  const bins = values.flatMap((v, i) => (before.has(points[i]!) && after.has(points[i]!) ? [v.rpmBin] : []));
  if (bins.length === 0) return null;
  const [low, high] = [Math.min(...bins), Math.max(...bins) + 1];
  return [Math.max(from, low * BIN_RPM), Math.min(to, high * BIN_RPM)];
}

/** A cell belongs to the region that holds its middle. */
function within(v: CellValue, [from, to]: readonly [number, number]): boolean {
  const middle = (v.rpmBin + 0.5) * BIN_RPM;
  return middle >= from && middle < to;
}

function pointsOf(values: readonly CellValue[], part: PartOf, marginPct: number): PointComparison[] {
  const keys = [...new Set(values.map((v) => v.rpmBin * DEMAND_BINS.length + v.demandBin))].sort(
    (a, b) => a - b,
  );
  const cells = keys.map((key) => {
    const rpmBin = Math.floor(key / DEMAND_BINS.length);
    const demandBin = key % DEMAND_BINS.length;
    return { rpmBin, demandBin, ...part((v) => v.rpmBin === rpmBin && v.demandBin === demandBin) };
  });
  const verdicts = holmVerdicts(
    cells.map(({ intervalAt }) => (confidence) => {
      const at = intervalAt(confidence);
      return at === null ? null : { low: percent(at.low), high: percent(at.high) };
    }),
    marginPct,
  );
  return cells.map(({ rpmBin, demandBin, observations, contrast, intervalAt }, i) => {
    const effect = contrast === null ? null : effectOf(contrast, intervalAt(CHANGE_CONFIDENCE));
    const [low, high] = DEMAND_BINS[demandBin]!;
    return {
      rpm: [rpmBin * BIN_RPM, (rpmBin + 1) * BIN_RPM],
      demandPct: [low, Math.min(FULL_DEMAND_PCT, high)],
      signal: 'map_kpa',
      ...sidesOf(observations, contrast),
      effectPct: effect?.effectPct ?? null,
      interval: effect?.interval ?? null,
      verdict: verdicts[i]!,
    };
  });
}

function curveOf(values: readonly CellValue[], part: PartOf): DifferenceCurve | null {
  const curve = { rpm: [], kpa: [], lowKpa: [], highKpa: [], beforeKpa: [], afterKpa: [] } as {
    [K in keyof DifferenceCurve]: number[];
  };
  for (const rpmBin of [...new Set(values.map((v) => v.rpmBin))].sort((a, b) => a - b)) {
    const { contrast, intervalAt } = part((v) => v.rpmBin === rpmBin);
    const interval = intervalAt(CHANGE_CONFIDENCE);
    if (contrast === null || interval === null) continue;
    const { effectKpa, intervalKpa } = effectOf(contrast, interval);
    curve.rpm.push((rpmBin + 0.5) * BIN_RPM);
    curve.kpa.push(effectKpa);
    curve.lowKpa.push(intervalKpa![0]);
    curve.highKpa.push(intervalKpa![1]);
    curve.beforeKpa.push(Math.exp(contrast.before.mean));
    curve.afterKpa.push(Math.exp(contrast.after.mean));
  }
  return curve.rpm.length === 0 ? null : curve;
}

function effectOf(c: Contrast, interval: Interval | null) {
  const before = Math.exp(c.before.mean);
  const kpa = (ln: number): number => before * Math.expm1(ln);
  return {
    effectPct: percent(c.difference),
    interval: interval === null ? null : ([percent(interval.low), percent(interval.high)] as const),
    effectKpa: kpa(c.difference),
    intervalKpa: interval === null ? null : ([kpa(interval.low), kpa(interval.high)] as const),
  };
}

/** Pulls counted are those at points that both sides have; a side without a counterpart shows what it has. */
function sidesOf(
  observations: readonly ComparedPoint[],
  contrast: Contrast | null,
): { before: Side; after: Side } {
  const side = (role: 'before' | 'after'): Side => {
    if (contrast !== null) {
      const { pulls, mean, sd } = contrast[role];
      return {
        pulls,
        mean: Math.exp(mean),
        scatterPct: sd === null ? null : 100 * sd,
      };
    }
    const own = observations.filter((o) => o.side === role);
    const mean = own.reduce((a, o) => a + o.value, 0) / own.length;
    return {
      pulls: new Set(own.map((o) => o.pull)).size,
      mean: own.length === 0 ? null : Math.exp(mean),
      scatterPct: null,
    };
  };
  return { before: side('before'), after: side('after') };
}

const mean = (list: readonly number[]): number => list.reduce((a, b) => a + b, 0) / list.length;
const percent = (ln: number): number => 100 * Math.expm1(ln);
