/** All pulls of a run by region: what is said before a pull ends, and what regions show only together. */
import { describe, expect, it } from 'vitest';
import { type BoostBaseline, CELLS, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { RunEvidence } from '../../src/analysis/boost/run-evidence.ts';
import type { StretchPoint } from '../../src/analysis/boost/stretches.ts';
import type { Profile } from '../../src/core/profile.ts';
import { BARO, pull, taught } from './pulls.ts';

const DIESEL: Profile = { induction: 'turbocharger', fuel: 'diesel' };
/** The edge of its regions lies where both repeat alike. */
const LATE: Profile = { ...DIESEL, handOverRpm: { value: 3000, source: 'entered' } };
const TWIN: Profile = { induction: 'twin-charged', fuel: 'petrol' };
/** Points every 0.6 s without boost. */
const none = (n: number, more: (k: number) => Partial<StretchPoint> = () => ({})) =>
  pull(n, (k) => ({ tUs: k * 0.6e6, map: 100, rpm: 2600 + 60 * k, ...more(k) }));

describe('a pull that is still driven', () => {
  const ahead = (n: number, more: (k: number) => Partial<StretchPoint> = () => ({}), profile = DIESEL) => {
    const run = new RunEvidence(profile, null);
    const missing = run.lookAhead(none(n, more), BARO);
    return [missing, run.regions.map((r) => r.ahead !== null)];
  };
  it('plainly brings nothing after 1.8 s without boost, in its own region alone', () => {
    expect(ahead(3)).toEqual([false, [false, false]]);
    expect(ahead(4)).toEqual([true, [false, true]]);
    expect(ahead(4, (k) => ({ tUs: k * 0.59e6 }))).toEqual([false, [false, false]]);
  });
  it('is not said of where boost came, nor of a reading that stood still since the engine idled', () => {
    expect(ahead(6, () => ({ map: 220 }))).toEqual([false, [false, false]]);
    expect(ahead(6, () => ({ frozen: true, restS: 100, idled: true }))).toEqual([false, [false, false]]);
  });
  it('is forgotten when it ended', () => {
    const run = new RunEvidence(DIESEL, null);
    run.lookAhead(none(6), BARO);
    run.take(none(6), BARO);
    expect(run.regions[1]!.ahead).toBeNull();
    expect(run.regions[1]!.witnesses).toHaveLength(1);
    run.lookAhead(none(6), BARO);
    // Nothing is said of a pull elsewhere: what it looked like before is gone all the same.
    expect(
      run.take(
        none(6, () => ({ rpm: 1500 })),
        BARO,
      ),
    ).toEqual([]);
    expect(run.regions[1]!.ahead).toBeNull();
  });
});

describe('a pull that ended', () => {
  it('is a witness in each region that it went through', () => {
    const run = new RunEvidence(DIESEL, null);
    const through = run.take(
      none(8, (k) => ({ rpm: 1800 + 60 * k })),
      BARO,
    );
    expect(through.map((w) => w.region.key)).toEqual(['low', 'high']);
    expect(run.regions.map((r) => r.witnesses.length)).toEqual([1, 1]);
    // Without a baseline nothing says how much was due there.
    expect(run.regions.map((r) => r.unknown?.why ?? null)).toEqual(['untaught', 'untaught']);
  });

  /** Every cell 100 kPa. */
  const baseline = {
    ...mergeLessons([]),
    ...{ runs: 6, pulls: 30, reference: 'gauge' as const, baroKpa: 100, airC: [20, 0] as const },
    kpa: Array.from({ length: CELLS }, () => 100),
    runsAt: Array.from({ length: CELLS }, () => 6),
    pullsAt: Array.from({ length: CELLS }, () => 30),
  };
  /** Which regions say it themselves, and which only together, of a pull that crosses the edge with `n` samples on either side. */
  const crossing = (n: number, below: number, above: number, profile: Profile) => {
    const run = new RunEvidence(profile, baseline);
    const edge = run.regions[0]!.region.toRpm;
    run.take(
      pull(2 * n, (k) => {
        const rpm = edge + 50 * (k - n + 0.5);
        return { rpm, map: 200 - (rpm < edge ? below : above) + 0.1 * k };
      }),
      BARO,
    );
    return run.regions.map((r) => [r.scan.strongest !== null, r.shared !== null]);
  };
  const [nothing, own, together] = [
    [false, false],
    [true, false],
    [false, true],
  ];
  it('together with another region’s shows what neither shows alone, in each that lies below its limit', () => {
    // Three samples are too few in either, six are enough; the limit is 6 %.
    expect(crossing(3, 0, 0, LATE)).toEqual([nothing, nothing]);
    expect(crossing(3, 16, 16, LATE)).toEqual([together, together]);
    expect(crossing(3, 22, 8, LATE)).toEqual([together, together]);
    // Samples that contradict each other more than those of a pull do tell nothing together.
    expect(crossing(3, 30, 5, LATE)).toEqual([nothing, nothing]);
    // Four samples of 1.5 s show it in one region alone: nothing is shared then.
    expect(crossing(4, 16, 16, LATE)).toEqual([own, own]);
    expect(crossing(4, 16, 0, LATE)).toEqual([own, nothing]);
  });
  it('tells nothing of other regions where a clutch makes them of two machines', () => {
    const twin: Profile = { ...TWIN, handOverRpm: LATE.handOverRpm };
    expect(crossing(3, 16, 16, twin)).toEqual([nothing, nothing, nothing]);
    expect(crossing(3, 16, 16, { ...twin, clutch: false })).toEqual([together, together, nothing]);
  });
});

describe('on a colder day than those that taught', () => {
  const AIR = { mean: 15, sd: 0.012, airC: [20, 0] as const };
  const base: BoostBaseline = { ...taught(() => 100), air: mergeLessons([]).air.map(() => AIR) };
  /** Below 2000 rpm, 20 % short, in air of 0 °C; so much more air than the pressure accounts for. */
  const run = (excess: number | null, baseline = base) => {
    const r = new RunEvidence(DIESEL, baseline);
    for (let k = 0; k < 4; k++)
      r.take(
        pull(6, (i) => {
          const [rpm, map] = [1600 + 60 * i, 180 + 0.2 * i];
          return { rpm, map, maf: excess === null ? null : (15 * (1 + excess) * rpm * map) / 1e5, airC: 0 };
        }),
        BARO,
      );
    return r.regions[0]!;
  };
  it('a loss is found where the air says that the charge is as warm as then', () => {
    expect(run(0).short).toBe(true);
    expect(run(0).estimate!.warmVariance).toBeLessThan(0.5 * run(null).estimate!.warmVariance);
    // No air mass, none taught, or a charge that has moved as the gas law has it.
    const open = [
      run(null),
      run(
        0,
        taught(() => 100),
      ),
      run(20 / 288),
    ];
    expect(open.map((r) => r.short)).toEqual([false, false, false]);
  });
  it('so is one that regions show only together', () => {
    const together = (excess: number | null) => {
      const r = new RunEvidence({ ...DIESEL, handOverRpm: { value: 1750, source: 'entered' } }, base);
      const edge = r.regions[0]!.region.toRpm;
      for (let k = 0; k < 2; k++)
        r.take(
          pull(6, (i) => {
            const [rpm, map] = [edge + 50 * (i - 2.5), 180 + 0.2 * i];
            return { rpm, map, maf: excess === null ? null : (15 * (1 + excess) * rpm * map) / 1e5, airC: 0 };
          }),
          BARO,
        );
      expect(r.regions.map((x) => x.scan.strongest)).toEqual([null, null]);
      return r.regions.map((x) => x.shared !== null);
    };
    expect([0, null, 20 / 288].map(together)).toEqual([
      [true, true],
      [false, false],
      [false, false],
    ]);
  });
});
