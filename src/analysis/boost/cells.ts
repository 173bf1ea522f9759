/** The map of engine speed × demand: where pulls were, and which loss of boost they rule out there. */
import { Z95 } from '../spread.ts';
import type { Excluded } from '../types.ts';
import type { Region } from './regions.ts';
import {
  type Estimate,
  FULL_DEMAND_PCT,
  isShort,
  pullsUntil,
  type ShortfallScan,
  SPOOLING_PULLS,
  SPOOLING_TO_RPM,
} from './scan.ts';
import type { StretchPoint } from './stretches.ts';

/**
 * Size of a cell that a claim covers, rpm and demand, %, and from where to where they go, rpm. Chosen by hand, not
 * measured.
 */
export const CELL_RPM = 500;
const DEMANDS = [
  [45, 60],
  [60, 80],
  [80, 100],
] as const;
/** Demand of a pedal on its floor may be counted so far beyond 100 %. Chosen by hand, not measured. */
const OVER_FULL_PCT = 10;
const CELLS_FROM_RPM = 1000;
const CELLS_TO_RPM = 5000;
const CELL_RPMS: readonly number[] = Array.from(
  { length: (CELLS_TO_RPM - CELLS_FROM_RPM) / CELL_RPM },
  (_, i) => CELLS_FROM_RPM + i * CELL_RPM,
);

export const EVIDENCE_CELLS: readonly {
  readonly rpm: readonly [number, number];
  readonly demandPct: readonly [number, number];
}[] = CELL_RPMS.flatMap((rpm) =>
  DEMANDS.map((demandPct) => ({ rpm: [rpm, rpm + CELL_RPM] as const, demandPct })),
);

/**
 * −1 outside of all, and where the demand only passes through a cell, seen through the lag, while the pedal itself is elsewhere.
 */
export function cellOf(p: Pick<StretchPoint, 'rpm' | 'demand' | 'demandLow' | 'lagged'>): number {
  return EVIDENCE_CELLS.findIndex(
    ({ rpm, demandPct: [from, to] }) =>
      p.rpm >= rpm[0] &&
      p.rpm < rpm[1] &&
      [p.lagged, p.demand, p.demandLow ?? p.demand].every(
        (d) => d >= from && d < to + (to === FULL_DEMAND_PCT ? OVER_FULL_PCT : 0),
      ),
  );
}

/** So many samples with the pedal there make a cell driven. Chosen by hand, not measured. */
const THERE_SAMPLES = 2;
const isDriven = (e: Estimate | null): e is Estimate => e !== null && e.there >= THERE_SAMPLES;

/**
 * A cell that cannot rule out half of the boost missing says nothing worth printing. Chosen by hand, not measured.
 */
const LOSS_WORTH_SAYING = 0.5;

/** Above the expected by more than the limit with its whole interval, the mirror of a loss: what it is held against is too low. */
const isLifted = (e: Estimate): boolean => e.deviation - Z95 * e.se > e.limit;

/**
 * The smallest loss that lies beyond the interval, a whole percent, rounded to the safe side; one at least. Infinite where it lies
 * above what it is held against: that this drive gave more than a weak one says nothing of what a sound one gives.
 */
export function excludedLossPct(e: Estimate): number {
  if (isLifted(e)) return Number.POSITIVE_INFINITY;
  return Math.max(1, Math.ceil(100 * (Z95 * e.se - e.deviation)));
}

/** What each driven cell of a region rules out. */
export function excludedBy(scan: ShortfallScan, region: Region): Excluded[] {
  return EVIDENCE_CELLS.flatMap(({ rpm, demandPct }) => {
    const e = scan.over({
      fromRpm: rpm[0],
      toRpm: rpm[1],
      fromDemandPct: demandPct[0],
      toDemandPct: demandPct[1],
    });
    if (!isDriven(e)) return [];
    const lossPct = excludedLossPct(e);
    if (lossPct > 100 * LOSS_WORTH_SAYING) return [];
    return [
      {
        fromRpm: Math.max(rpm[0], region.fromRpm),
        toRpm: Math.min(rpm[1], region.toRpm),
        fromDemandPct: demandPct[0],
        toDemandPct: demandPct[1],
        lossPct,
      },
    ];
  });
}

/** Good is said of high demand only; below it boost scatters more than any fault takes (KIT: 7 % between pulls from 50 % on, see `noise.ts`). */
export const GOOD_FROM_PCT = 60;
/**
 * A region is shown good where a loss of this much, %, is ruled out at every speed that the claim covers: 10 % must
 * never be called good (docs/analysis.md); no source.
 */
export const GOOD_LOSS_PCT = 10;
/**
 * A driven cell that does not rule that out, and lies so many standard errors down, speaks against the whole region.
 * Chosen by hand, not measured.
 */
const LEANS_SE = 1.5;

/** What a region is shown good for: speeds, demand, and the loss that is ruled out in each cell of it. */
export interface GoodRange {
  readonly fromRpm: number;
  readonly toRpm: number;
  readonly fromDemandPct: number;
  readonly toDemandPct: number;
  readonly lossPct: number;
  /** Of its cells the one that rules out least. */
  readonly weakest: Estimate;
}

const HIGH_DEMANDS = DEMANDS.filter(([from]) => from >= GOOD_FROM_PCT);
/** The demands that one claim may cover, the widest first: nothing is said of what was not driven. */
const CLAIMS = [HIGH_DEMANDS, ...HIGH_DEMANDS.toReversed().map((d) => [d])];

/** The cells at and above `GOOD_FROM_PCT` of 500 rpm, and all of them as one. */
function columnAt(scan: ShortfallScan, fromRpm: number) {
  const at = { fromRpm, toRpm: fromRpm + CELL_RPM };
  const over = (fromDemandPct: number, toDemandPct: number): Estimate | null =>
    scan.over({ ...at, fromDemandPct, toDemandPct });
  const whole = over(GOOD_FROM_PCT, FULL_DEMAND_PCT);
  const cells = new Map(HIGH_DEMANDS.map((d) => [d, over(d[0], d[1])]));
  const rules = (e: Estimate): boolean => excludedLossPct(e) <= GOOD_LOSS_PCT;
  const leans = (e: Estimate): boolean => {
    // What one pull misses while the turbocharger spools up is no loss; nor is it said to be good there.
    if (rules(e) || (at.toRpm <= SPOOLING_TO_RPM && e.pulls < SPOOLING_PULLS)) return false;
    return e.deviation < -LEANS_SE * e.se;
  };
  return {
    ...at,
    driven: whole !== null,
    lifted: [whole, ...cells.values()].some((e) => e !== null && isLifted(e)),
    speaksAgainst: [...cells.values()].some((e) => e !== null && leans(e)),
    /** Pulls until the loss is ruled out in all cells of a claim, or those that lean down are shown short. */
    more: (): number | null => {
      const until = (list: readonly Estimate[], holds: (e: Estimate) => boolean): number | null => {
        const each = list.map((e) => pullsUntil(e, holds));
        return each.includes(null) ? null : Math.max(1, ...each.map(Number));
      };
      const known = [...cells.values()].filter((e) => e !== null);
      const leaning = known.filter(leans);
      if (leaning.length > 0) return until(leaning, (e) => rules(e) || isShort(e));
      const claims = CLAIMS.map((claim) => claim.map((d) => cells.get(d) ?? null))
        .filter((claim) => claim.every(isDriven))
        .map((claim) => until([whole!, ...claim.filter((e) => e !== null)], rules));
      const some = claims.filter((n) => n !== null);
      if (claims.length === 0) return until([whole!], rules);
      return some.length === 0 ? null : Math.min(...some);
    },
    /** What rules the loss out in every one of these cells; empty where one does not. */
    ruled: (claim: (typeof CLAIMS)[number]): Estimate[] => {
      const all = claim
        .map((d) => cells.get(d) ?? null)
        .filter(isDriven)
        .filter(rules);
      return whole !== null && rules(whole) && all.length === claim.length ? all : [];
    },
  };
}

/** The widest run of speeds, each with cells that rule the loss out; null when there is none or a driven cell leans down. */
export function goodRange(scan: ShortfallScan, region: Region): GoodRange | null {
  const columns = CELL_RPMS.map((rpm) => columnAt(scan, rpm));
  if (columns.some((c) => c.speaksAgainst)) return null;
  let best = null as GoodRange | null;
  for (const claim of CLAIMS) {
    let run = null as GoodRange | null;
    for (const { fromRpm, toRpm, ruled } of columns) {
      const [first, ...others] = ruled(claim);
      if (first === undefined) {
        run = null;
        continue;
      }
      const here = others.reduce((a, e) => (excludedLossPct(e) > excludedLossPct(a) ? e : a), first);
      const weakest = run !== null && run.lossPct >= excludedLossPct(here) ? run.weakest : here;
      run = {
        fromRpm: run?.fromRpm ?? Math.max(fromRpm, region.fromRpm),
        toRpm: Math.min(toRpm, region.toRpm),
        fromDemandPct: claim[0]![0],
        toDemandPct: claim.at(-1)![1],
        lossPct: excludedLossPct(weakest),
        weakest,
      };
      if (best === null || run.toRpm - run.fromRpm > best.toRpm - best.fromRpm) best = run;
    }
  }
  return best;
}

/** What is to be driven next: engine speeds, and how many pulls like those driven settle it; null where no number that anybody drives does. */
export interface ToGo {
  readonly fromRpm: number;
  readonly toRpm: number;
  readonly pulls: number | null;
  /** It lies above what it is held against, so that no pull rules a loss out. */
  readonly lifted: boolean;
}

/** Where the fewest more pulls rule the loss out; a driven cell that leans down is settled first. Null where it is ruled out at all driven speeds. */
export function goodToGo(scan: ShortfallScan, region: Region): ToGo | null {
  const driven = CELL_RPMS.map((rpm) => columnAt(scan, rpm)).filter((c) => c.driven);
  const against = driven.filter((c) => c.speaksAgainst);
  const open = driven.filter((c) => CLAIMS.every((claim) => c.ruled(claim).length === 0));
  const of = against.length > 0 ? against : open;
  const [best] = of
    .map(({ fromRpm, toRpm, lifted, more }) => ({ fromRpm, toRpm, lifted, pulls: more() }))
    .sort((a, b) => (a.pulls ?? Number.MAX_VALUE) - (b.pulls ?? Number.MAX_VALUE));
  if (best === undefined) return null;
  return {
    ...best,
    fromRpm: Math.max(best.fromRpm, region.fromRpm),
    toRpm: Math.min(best.toRpm, region.toRpm),
  };
}
