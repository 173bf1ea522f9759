/** What a comparison of runs says: effects with their intervals, what cannot be compared and why, and what charts need. */
import type { HeatSource } from '../analysis/coolant/bins.ts';
import type { Says } from '../core/says.ts';
import type { CodeChange } from '../core/snapshot.ts';

export type Role = 'before' | 'after';

/** By where the 95 % interval of the effect lies; the rule says it in words. */
export type EffectVerdict = 'better' | 'no worse' | 'worse' | 'not shown';

/** One side of one point or region. */
export interface Side {
  readonly pulls: number;
  /** Mean manifold absolute pressure at reference air, kPa; null without pulls. */
  readonly mean: number | null;
  /** Scatter between pulls, % of the pressure; null with fewer than two. */
  readonly scatterPct: number | null;
}

/** One operating point: engine speed × demand, the same gears on both sides where both drove them. */
export interface PointComparison {
  readonly rpm: readonly [number, number];
  readonly demandPct: readonly [number, number];
  readonly signal: 'map_kpa';
  readonly before: Side;
  readonly after: Side;
  /** After over before, less one, %; null when one side is missing. */
  readonly effectPct: number | null;
  /** 95 %, of this point alone. */
  readonly interval: readonly [number, number] | null;
  /** Allows for there being many points (Holm), so it may be more careful than `interval` alone. */
  readonly verdict: EffectVerdict;
}

export interface RegionComparison {
  readonly region: Says;
  readonly rpm: readonly [number, number];
  /** Of these the engine speeds at which the sides were compared, in steps of 250; null where they share none. */
  readonly comparedRpm: readonly [number, number] | null;
  readonly before: Side;
  readonly after: Side;
  /** Change of the absolute pressure, %; null when it cannot be told. */
  readonly effectPct: number | null;
  readonly interval: readonly [number, number] | null;
  /** The same as a change of boost at reference air, kPa. */
  readonly effectKpa: number | null;
  readonly intervalKpa: readonly [number, number] | null;
  /** Degrees of freedom behind the interval (Welch and Satterthwaite). */
  readonly degreesOfFreedom: number | null;
  /** Null without a receiver on both sides, or where no pull has its counterpart. */
  readonly sameRoad: SameRoadEffect | null;
  /** Null without a receiver on both sides, or without a common gear, engine speed and demand. */
  readonly power: PowerEffect | null;
  readonly verdict: EffectVerdict;
  /** What to drive so that it can be told; null when it was told. */
  readonly needs: Says | null;
}

/** The same from pulls alone that were driven on the same stretch of road in the same direction. No verdict rests on it. */
export interface SameRoadEffect {
  /** Pulls of each side. */
  readonly before: number;
  readonly after: number;
  /** Each stretch is one pair; else pulls of the same stretch tell their scatter. */
  readonly pairs: boolean;
  /** As in `RegionComparison`. */
  readonly effectPct: number;
  /** 95 %; null where the pulls are too few for their scatter to be told. */
  readonly interval: readonly [number, number] | null;
}

/** How many pulls have a counterpart on the same stretch, of how many. Never where the stretches are. */
export interface SameRoad {
  readonly stretches: number;
  readonly before: { readonly pulls: number; readonly matched: number };
  readonly after: { readonly pulls: number; readonly matched: number };
}

/**
 * What pulls in the same gears leave for accelerating and climbing, W a kilogram, by ground speed and grade of a satellite
 * receiver. The interval knows the scatter between pulls and the error of the grade: not wind, load, air or days. No verdict.
 */
export interface PowerEffect {
  readonly before: { readonly pulls: number; readonly wkg: number };
  readonly after: { readonly pulls: number; readonly wkg: number };
  readonly differenceWkg: number;
  /** 95 %; null where the pulls are too few for their scatter to be told. */
  readonly interval: readonly [number, number] | null;
}

/** Mean grade of the pulls of each side, %, and its standard deviation for one pull. */
export interface RoadPowerShown {
  readonly before: { readonly pct: number; readonly sdPct: number };
  readonly after: { readonly pct: number; readonly sdPct: number };
}

/** Quantities for which more is neither better nor worse. */
export type ShiftVerdict = 'higher' | 'unchanged' | 'lower' | 'not shown';

export interface Shift {
  readonly before: number | null;
  readonly after: number | null;
  /** After less before; null when one is missing. */
  readonly difference: number | null;
  /** 95 %. */
  readonly interval: readonly [number, number] | null;
  /** Differences smaller than this do not matter. */
  readonly margin: number;
  readonly unit: 'degC' | '%' | 's' | 'kPa';
  readonly verdict: ShiftVerdict;
  readonly needs: Says | null;
}

/** Samples of one pull at which boost had settled, and the rise before. For charts; thinned to at most four a second. */
export interface PullTrace {
  readonly fromS: number;
  readonly toS: number;
  readonly rpm: readonly number[];
  /** Demand as the charger sees it after its lag, %. */
  readonly demandPct: readonly number[];
  /** Gauge, kPa, as measured. */
  readonly boostKpa: readonly number[];
}

/** Boost from the moment at which demand rose. */
export interface TipIn {
  readonly atS: number;
  readonly rpm: number;
  /** Seconds since demand rose; begins before zero. */
  readonly t: readonly number[];
  /** Gauge, kPa. */
  readonly boostKpa: readonly number[];
  /** Gauge pressure one second after demand rose, kPa; null when not measured near enough. */
  readonly afterOneSecondKpa: number | null;
}

export interface RunTraces {
  readonly id: string;
  readonly label: string;
  readonly role: Role;
  /** ISO 8601; null for tables. */
  readonly startedAt: string | null;
  readonly seconds: number;
  /** Barometric pressure, kPa; null when unknown. */
  readonly baroKpa: number | null;
  readonly baroSource: string | null;
  /** Air drawn in, °C; null when unknown. */
  readonly airC: number | null;
  readonly airSource: string | null;
  /** Samples a second of the manifold pressure. */
  readonly samplesPerS: number;
  readonly pulls: readonly PullTrace[];
  readonly tipIns: readonly TipIn[];
  /** Coolant over heat put in since the start of the run; `unit` is grams of air, or relative. */
  readonly warmUp: {
    readonly source: HeatSource;
    readonly unit: 'g' | 'relative';
    readonly heat: readonly number[];
    readonly ectC: readonly number[];
    /** Heat per °C between 40 and 70 °C; null when that was not driven from cold. */
    readonly heatPerC: number | null;
  } | null;
  /** Share of the settled time at each whole °C; null when the coolant never settled. */
  readonly settled: {
    readonly plateauC: number;
    readonly minutes: number;
    readonly fromC: number;
    readonly share: readonly number[];
  } | null;
}

/** The difference over engine speed with its band, for drawing; full demand, all gears that both drove. */
export interface DifferenceCurve {
  readonly rpm: readonly number[];
  /** Change of the absolute pressure, kPa at reference air. */
  readonly kpa: readonly number[];
  readonly lowKpa: readonly number[];
  readonly highKpa: readonly number[];
  readonly beforeKpa: readonly number[];
  readonly afterKpa: readonly number[];
}

export interface Comparison {
  readonly schema: 'handback.comparison/1';
  /** Margin of "no worse", %. */
  readonly marginPct: number;
  /** False where the profile says that the engine has no charger: what follows on boost is of its manifold pressure, and no face shows it. */
  readonly charged: boolean;
  readonly points: readonly PointComparison[];
  /** Stated beforehand: each charger's region, and all together. */
  readonly overall: readonly RegionComparison[];
  readonly tipIn: Shift;
  readonly coolant: { readonly plateau: Shift; readonly warmUp: Shift };
  /** From the snapshot before to the one after; null without two snapshots. */
  readonly codes: readonly CodeChange[] | null;
  readonly difference: DifferenceCurve | null;
  /** Null where the places of one side's pulls are not known. */
  readonly sameRoad: SameRoad | null;
  /** The grades that `power` of the regions was corrected for; null without a receiver on both sides. */
  readonly power: RoadPowerShown | null;
  /** What a satellite receiver adds, as statements: no verdict rests on it. Empty without one. */
  readonly observations: readonly Says[];
  readonly runs: readonly RunTraces[];
  /** How the days of the two sides stand to each other, and the spread between days that was allowed for. */
  readonly days: {
    readonly relation: 'same day' | 'other day' | 'not known';
    readonly sdPct: number;
    readonly sentence: Says;
  };
  /** What was brought to reference air and by how much, as statements. */
  readonly corrections: readonly Says[];
  /** Why something could not be compared, as statements. */
  readonly problems: readonly Says[];
  /** The decision rule, printed on the sheet. */
  readonly rule: Says;
  /** The runs of the car's return against those after the repair. */
  readonly comeBack: Comparison | null;
}
