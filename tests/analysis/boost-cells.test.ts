/** What a map of engine speed × demand rules out, and what a region is shown good for. */
import { describe, expect, it } from 'vitest';
import {
  cellOf,
  EVIDENCE_CELLS,
  excludedBy,
  excludedLossPct,
  goodRange,
  goodToGo,
} from '../../src/analysis/boost/cells.ts';
import { type Region, regionsOf } from '../../src/analysis/boost/regions.ts';
import { type Estimate, type Patch, ShortfallScan } from '../../src/analysis/boost/scan.ts';
import { madePatch } from './witness.ts';

const REGION: Region = { ...regionsOf({ induction: 'turbocharger', fuel: 'diesel' })[1]!, fromRpm: 2200 };

/** One pull's say on one smallest window. */
const patch = (rpm: number, demandPct: number, deviation: number, pull = 0.018): Patch =>
  madePatch(deviation, rpm, { demandPct, pull, short: 0 });
function scanOf(pulls: readonly (readonly Patch[])[]): ShortfallScan {
  const scan = new ShortfallScan();
  for (const p of pulls) scan.add(p);
  return scan;
}
/** So many sound pulls through all speeds of a 500 rpm column. */
const columns = (rpms: readonly number[], deviation: number, demandPct = 95) =>
  [0, 1, 2].map(() =>
    rpms.flatMap((rpm) =>
      (rpm < 3000 ? [rpm, rpm + 250] : [rpm]).map((at) => patch(at, demandPct, deviation)),
    ),
  );

it('a cell has its lower edges, and full demand belongs to the last', () => {
  const at = (rpm: number, lagged: number, demand = lagged, demandLow = demand) => {
    const cell = EVIDENCE_CELLS[cellOf({ rpm, lagged, demand, demandLow })];
    return cell ? [...cell.rpm, ...cell.demandPct] : null;
  };
  expect(at(2000, 60)).toEqual([2000, 2500, 60, 80]);
  expect(at(2499, 79.9)).toEqual([2000, 2500, 60, 80]);
  expect(at(2500, 80)).toEqual([2500, 3000, 80, 100]);
  expect(at(2500, 100)).toEqual([2500, 3000, 80, 100]);
  expect([at(999, 90), at(5000, 90), at(2000, 44.9)]).toEqual([null, null, null]);
  expect([at(1000, 45), at(4999, 59.9)]).toEqual([
    [1000, 1500, 45, 60],
    [4500, 5000, 45, 60],
  ]);
  // A pedal on the floor whose demand is still to be seen through the lag, and one that passes by between two readings.
  expect([at(2000, 76, 95), at(2000, 62, 79, 45)]).toEqual([null, null]);
  expect(at(2000, 82, 84)).toEqual([2000, 2500, 80, 100]);
});

it('a cell in which the pedal never was rules nothing out, and speaks against good all the same', () => {
  const elsewhere = (pulls: Patch[][], there: number) =>
    pulls.map((p) => p.map((q, i) => (i === 0 ? { ...q, there } : { ...q, there: 0 })));
  const full = columns([2500], 0.01);
  const passing = (deviation: number, there: number) =>
    scanOf(elsewhere([...columns([2500], deviation, 70)], there).map((p, i) => [...p, ...full[i]!]));
  const demands = (scan: ShortfallScan) => excludedBy(scan, REGION).map((x) => x.fromDemandPct);
  expect(demands(passing(0, 0))).toEqual([80]);
  expect(demands(passing(0, 1))).toEqual([60, 80]);
  expect(goodRange(passing(0, 0), REGION)).toMatchObject({ fromDemandPct: 80, toDemandPct: 100 });
  expect(goodRange(passing(0, 1), REGION)).toMatchObject({ fromDemandPct: 60, toDemandPct: 100 });
  expect(goodRange(passing(-0.2, 0), REGION)).toBeNull();
});

it('the loss that is ruled out is a whole percent, rounded up, one at least', () => {
  const of = (deviation: number, se: number) => excludedLossPct({ deviation, se, limit: 0.06 } as Estimate);
  expect(of(-0.05, 0.02)).toBe(9);
  expect(of(0.05, 0.02)).toBe(1);
  expect(of(-0.01, 0)).toBe(1);
  expect(of(-0.0101, 0)).toBe(2);
});

it('what lies above the expected by more than the limit, wholly, rules nothing out: what taught was weaker', () => {
  const of = (deviation: number) => excludedLossPct({ deviation, se: 0.02, limit: 0.06 } as Estimate);
  expect([0.092, 0.093].map(of)).toEqual([1, Number.POSITIVE_INFINITY]);
  // Only the cells concerned: of what lies beside them good is said, and they speak against nothing.
  const scan = scanOf([...columns([2000, 3000], 0), ...columns([2500], 0.2)]);
  expect(goodRange(scan, REGION)).toMatchObject({ fromRpm: 3000, toRpm: 3500 });
  expect(goodToGo(scan, REGION)).toEqual({ fromRpm: 2500, toRpm: 3000, pulls: null, lifted: true });
  expect(excludedBy(scan, REGION).map((e) => e.fromRpm)).toEqual([2200, 3000]);
  expect(goodRange(scanOf(columns([2500], 0.2)), REGION)).toBeNull();
});

describe('a region', () => {
  it('is shown good for the widest run of speeds that rule out 10 %', () => {
    const scan = scanOf(columns([2000, 2500, 3000], 0));
    expect(goodRange(scan, REGION)).toMatchObject({ fromRpm: 2200, toRpm: 3500 });
    const gap = scanOf(columns([2000, 3000, 3500], 0));
    expect(goodRange(gap, REGION)).toMatchObject({ fromRpm: 3000, toRpm: 4000 });
    expect(goodRange(scanOf([]), REGION)).toBeNull();
  });
  it('is good at the demands that were driven, and of cells that rule the loss out', () => {
    const claim = (...pulls: readonly (readonly Patch[])[]) => {
      const g = goodRange(scanOf(pulls), REGION)!;
      return [g.fromRpm, g.toRpm, g.fromDemandPct, g.toDemandPct, g.lossPct];
    };
    const losses = (...pulls: readonly (readonly Patch[])[]) =>
      excludedBy(scanOf(pulls), REGION).map((e) => e.lossPct);
    const full = columns([2000, 2500], 0);
    const part = columns([2000, 2500], 0, 65);
    expect(claim(...full).slice(0, 4)).toEqual([2200, 3000, 80, 100]);
    expect(claim(...part).slice(0, 4)).toEqual([2200, 3000, 60, 80]);
    expect(claim(...full, ...part).slice(0, 4)).toEqual([2200, 3000, 60, 100]);
    // Of a weak cell nothing is said, though all demands together rule more out than it does alone.
    const weak = [patch(2000, 65, 0, 0.08)];
    expect(Math.max(...losses(...full, weak))).toBeGreaterThan(10);
    expect(claim(...full, weak).slice(0, 4)).toEqual([2200, 3000, 80, 100]);
    // The loss of a claim is that of its weakest cell.
    const scattered = columns([2000], -0.01, 65);
    const both = [...columns([2000], 0), ...scattered];
    expect(claim(...both)).toEqual([2200, 2500, 60, 100, Math.max(...losses(...both))]);
  });
  it('is not, where a driven cell lies 1.5 standard errors down and rules nothing out', () => {
    const against = (deviation: number, pull: number) => {
      const scan = scanOf([
        ...columns([2000, 2500], 0),
        [patch(3000, 95, deviation, pull)],
        [patch(3000, 95, deviation, pull)],
      ]);
      return [goodRange(scan, REGION) === null, goodToGo(scan, REGION)?.fromRpm];
    };
    expect(against(-0.06, 0.05)).toEqual([true, 3000]);
    expect(against(-0.06, 0.06)).toEqual([false, 3000]);
    expect(against(-0.05, 0.04)).toEqual([false, undefined]);
  });
  it('says what each driven cell rules out, unless it is more than half', () => {
    const excluded = excludedBy(scanOf(columns([2000], 0)), REGION);
    expect(excluded).toEqual([
      { fromRpm: 2200, toRpm: 2500, fromDemandPct: 80, toDemandPct: 100, lossPct: excluded[0]!.lossPct },
    ]);
    const wide = (pull: number) =>
      excludedBy(scanOf([[patch(3000, 95, 0, pull)]]), REGION).map((e) => e.lossPct);
    expect(wide(0.29)).toEqual([48]);
    expect(wide(0.32)).toEqual([]);
  });
});

describe('what is to be driven until a region is good', () => {
  /** So many pulls of a column, each with a scatter of its own. */
  const many = (n: number, rpm: number, deviation: number, pull: number, demandPct = 95) =>
    Array.from({ length: n }, () => [patch(rpm, demandPct, deviation, pull)]);
  it('are as many pulls, like those there, as rule the loss out, were their mean to stay: they do so then and no sooner', () => {
    for (const [deviation, pull] of [
      [0, 0.08],
      [-0.02, 0.06],
      [-0.04, 0.06],
    ] as const) {
      const go = goodToGo(scanOf(many(1, 3000, deviation, pull)), REGION)!;
      expect(go).toMatchObject({ fromRpm: 3000, toRpm: 3500 });
      const good = (n: number) => goodRange(scanOf(many(n, 3000, deviation, pull)), REGION) !== null;
      expect(go.pulls).toBeGreaterThanOrEqual(1);
      expect([good(go.pulls!), good(1 + go.pulls!)]).toEqual([false, true]);
    }
    // Nobody drives so many.
    expect(goodToGo(scanOf(many(1, 3000, -0.075, 0.08)), REGION)!.pulls).toBeNull();
    expect(goodToGo(scanOf([]), REGION)).toBeNull();
    expect(goodToGo(scanOf(columns([3000], 0)), REGION)).toBeNull();
  });
  it('are at the speeds where the fewest do', () => {
    const scan = scanOf([...many(1, 3000, 0, 0.15), ...many(1, 3500, 0, 0.09)]);
    expect(goodToGo(scan, REGION)!.fromRpm).toBe(3500);
  });
});
