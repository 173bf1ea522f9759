/** The map of engine speed × demand: where pulls were, and which loss of boost they rule out there. */
import { Z95 } from '../spread.ts';
import type { Excluded } from '../types.ts';
import type { Region } from './regions.ts';
import { type Estimate, type ShortfallScan, SPOOLING_PULLS, SPOOLING_TO_RPM } from './scan.ts';

/** Size of a cell that a claim covers, rpm and demand, %. Chosen by hand, not measured. */
export const CELL_RPM = 500;
const DEMANDS = [
  [45, 60],
  [60, 80],
  [80, 100],
] as const;

export const EVIDENCE_CELLS: readonly {
  readonly rpm: readonly [number, number];
  readonly demandPct: readonly [number, number];
}[] = [1000, 1500, 2000, 2500, 3000, 3500, 4000, 4500].flatMap((rpm) =>
  DEMANDS.map((demandPct) => ({ rpm: [rpm, rpm + CELL_RPM] as const, demandPct })),
);

export function cellOf(p: { readonly rpm: number; readonly lagged: number }): number {
  return EVIDENCE_CELLS.findIndex(
    ({ rpm, demandPct }) =>
      p.rpm >= rpm[0] &&
      p.rpm < rpm[1] &&
      p.lagged >= demandPct[0] &&
      p.lagged < demandPct[1] + (demandPct[1] === 100 ? 10 : 0),
  );
}

/**
 * A cell that cannot rule out half of the boost missing says nothing worth printing. Chosen by hand, not measured.
 */
const LOSS_WORTH_SAYING = 0.5;

/** The smallest loss that lies beyond the interval, a whole percent, rounded to the safe side; one at least. */
export function excludedLossPct(e: Estimate): number {
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
    if (e === null) return [];
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

/** Good is said of high demand only; below it boost scatters more than any fault takes. */
export const GOOD_FROM_PCT = 60;
/** A region is shown good where a loss of this much is ruled out at every speed that the claim covers. */
export const GOOD_LOSS_PCT = 10;
/**
 * A driven cell that does not rule that out, and lies so many standard errors down, speaks against the whole region.
 * Chosen by hand, not measured.
 */
const LEANS_SE = 1.5;

/** What a region is shown good for: speeds, demand, and the loss that is ruled out. */
export interface GoodRange {
  readonly fromRpm: number;
  readonly toRpm: number;
  readonly fromDemandPct: number;
  readonly lossPct: number;
  /** Of its speeds the ones that rule out least. */
  readonly weakest: Estimate;
}

/** The widest run of speeds, a cell each, that rule the loss out; null when there is none or a driven cell leans down. */
export function goodRange(scan: ShortfallScan, region: Region): GoodRange | null {
  let best = null as GoodRange | null;
  let run = null as GoodRange | null;
  for (let rpm = 1000; rpm < 5000; rpm += CELL_RPM) {
    const at = { fromRpm: rpm, toRpm: rpm + CELL_RPM };
    const column = scan.over({ ...at, fromDemandPct: GOOD_FROM_PCT, toDemandPct: 100 });
    const lossPct = column === null ? null : excludedLossPct(column);
    const speaksAgainst = DEMANDS.slice(1).some((d) => {
      const e = scan.over({ ...at, fromDemandPct: d[0], toDemandPct: d[1] });
      if (e === null || excludedLossPct(e) <= GOOD_LOSS_PCT) return false;
      // What one pull misses while the turbocharger spools up is no loss; nor is it said to be good there.
      if (at.toRpm <= SPOOLING_TO_RPM && e.pulls < SPOOLING_PULLS) return false;
      return e.deviation < -LEANS_SE * e.se;
    });
    if (speaksAgainst) return null;
    if (column === null || lossPct === null || lossPct > GOOD_LOSS_PCT) {
      run = null;
      continue;
    }
    run = {
      fromRpm: run?.fromRpm ?? Math.max(rpm, region.fromRpm),
      toRpm: Math.min(rpm + CELL_RPM, region.toRpm),
      fromDemandPct: GOOD_FROM_PCT,
      lossPct: Math.max(run?.lossPct ?? 0, lossPct),
      weakest: run !== null && run.lossPct >= lossPct ? run.weakest : column,
    };
    if (best === null || run.toRpm - run.fromRpm > best.toRpm - best.fromRpm) best = run;
  }
  return best;
}

/** The lowest driven speeds at which the loss is not ruled out; null when there are none. */
export function openCell(scan: ShortfallScan, region: Region): { fromRpm: number; toRpm: number } | null {
  for (let rpm = 1000; rpm < 5000; rpm += CELL_RPM) {
    const at = { fromRpm: rpm, toRpm: rpm + CELL_RPM };
    const e = scan.over({ ...at, fromDemandPct: GOOD_FROM_PCT, toDemandPct: 100 });
    if (e !== null && excludedLossPct(e) > GOOD_LOSS_PCT)
      return { fromRpm: Math.max(rpm, region.fromRpm), toRpm: Math.min(rpm + CELL_RPM, region.toRpm) };
  }
  return null;
}
