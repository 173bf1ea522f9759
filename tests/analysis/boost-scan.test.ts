import { describe, expect, it } from 'vitest';
import type { PullAir } from '../../src/analysis/boost/air.ts';
import { PAID_LOOKS, type Patch, ShortfallScan } from '../../src/analysis/boost/scan.ts';
import { seededRandom } from '../../src/core/random.ts';
import { madePatch } from './witness.ts';

/** What one pull says of the window at `rpm`, 85 % demand: `n` samples over `seconds`, each off by `deviation`. */
const patch = (
  deviation: number,
  rpm: number,
  {
    n = 5,
    seconds = 2,
    ...more
  }: { n?: number; seconds?: number; short?: number; pull?: number; point?: number; square?: number } = {},
): Patch => madePatch(deviation, rpm, { n, demandPct: 85, toUs: seconds * 1e6, there: 0, ...more });

const found = (pulls: readonly (readonly Patch[])[]) => {
  const scan = new ShortfallScan();
  for (const p of pulls) scan.add(p);
  return scan.strongest;
};

/** A sound pull through so many windows away from 2,600 and 1,800 rpm. */
const sound = (windows: number): Patch[] =>
  [50, 65, 75]
    .flatMap((demandPct) =>
      [1050, 1300, 3100, 3600, 4100, 4600, 5100, 5600].map((rpm) => ({ rpm, demandPct })),
    )
    .slice(0, windows)
    .map(({ rpm, demandPct }) => madePatch(0, rpm, { demandPct }));
const AMONG_MANY = sound(PAID_LOOKS);

describe('how far from none a shortfall must lie', () => {
  it('hangs on among how many driven windows it is sought: Φ(−3.477) is 0.000253, Φ(−3.5) · 16 so much over 14.7', () => {
    // 16 % short, one pull: sd 4.5 %, its samples 0.4 and 0.34 %, the run 0.8 %: 3.477 standard errors.
    const short = patch(-0.16, 2600, { n: 6, pull: 0.045 });
    expect(found([[short]])).not.toBeNull();
    expect(found([[short], sound(13)])).not.toBeNull();
    expect(found([[short], sound(14)])).toBeNull();
    expect(found([[short], AMONG_MANY])).toBeNull();
  });
  it('and no further however many: 17 % short are 3.7', () => {
    expect(found([[patch(-0.17, 2600, { n: 6, pull: 0.045 })], sound(24)])).not.toBeNull();
  });
});

describe('what carries a shortfall', () => {
  it('one lasting pull of four samples; not three samples, not less than 1.2 s', () => {
    expect(found([[patch(-0.2, 2600, { n: 4, seconds: 1.2 })]])).not.toBeNull();
    expect(found([[patch(-0.2, 2600, { n: 3, seconds: 2 })]])).toBeNull();
    expect(found([[patch(-0.2, 2600, { n: 4, seconds: 1.1 })]])).toBeNull();
  });

  it('three of a pull that lasts, each short, where its air rules out by itself that all boost was there', () => {
    // 20 % short by the pressure, the air as taught: 0.8 · (1 + 1.645 · √(0.01² + 0.02²) · 2) = 0.859 of the boost at most.
    const air = (excess: number, more: Partial<PullAir> = {}): PullAir => ({
      ...{ excess, variance: 0.02 ** 2, deviation: (-excess * 2) / (1 + 2 * excess), n: 3 },
      ...{ gain: (2 * (1 + excess)) / (1 + 2 * excess), ...more },
      known: { warm: 0, law: 0, more: 0, taught: 0, far: 0, cars: 0 },
    });
    const by = (told: PullAir | null, p = patch(-0.2, 2600, { n: 3 })) => {
      const scan = new ShortfallScan();
      scan.add([p], told);
      return scan.strongest;
    };
    expect(by(air(0))).not.toBeNull();
    expect(by(null)).toBeNull();
    // More air than the pressure accounts for: the pressure's sensor may lie. 0.8 · (1 + 2 x) + 0.8 · 2 · 1.645 · 2.24 % is 1 at 8.8 %.
    expect([0.087, 0.089].map((x) => by(air(x)) !== null)).toEqual([true, false]);
    // One sample is not short; two samples; over less than 1.2 s; the air of a sample that lies elsewhere; of two samples.
    expect(by(air(0), patch(-0.2, 2600, { n: 3, short: 2 }))).toBeNull();
    expect(by(air(0), patch(-0.2, 2600, { n: 2 }))).toBeNull();
    expect(by(air(0), patch(-0.2, 2600, { n: 3, seconds: 1.1 }))).toBeNull();
    expect(by(air(0, { n: 4 }))).toBeNull();
    expect(by(air(0, { n: 2 }))).toBeNull();
    // On its way up a turbocharger owes two such pulls.
    expect(by(air(0), patch(-0.4, 1300, { n: 3 }))).toBeNull();
  });

  it('samples alone from three pulls on, four of them', () => {
    const lone = (n: number) => [patch(-0.3, 2600, { n, seconds: 0.5 })];
    expect(found([lone(2), lone(1), lone(1)])).not.toBeNull();
    expect(found([lone(2), lone(2)])).toBeNull();
    expect(found([lone(1), lone(1), lone(1)])).toBeNull();
  });

  it('not one pull beside two whose pressure was still to come', () => {
    const coming = (deviation: number) => ({
      ...patch(deviation, 2600, { n: 2, seconds: 0.5 }),
      point: 2 * 0.5 ** 2,
    });
    const short = patch(-0.3, 2600, { n: 3, seconds: 0.6 });
    expect(found([[short], [coming(-0.3)], [coming(-0.3)]])).toBeNull();
    expect(found([[short], [short], [coming(-0.3)]])).not.toBeNull();
    // But where one of them is short with its whole interval, whatever was still to come: −0.7 + 1.645 · 0.36 < −0.06.
    expect(found([[short], [coming(-0.7)], [coming(-0.3)]])).not.toBeNull();
    expect(found([[short], [coming(-0.6)], [coming(-0.3)]])).toBeNull();
  });

  it('half of the samples short on their own: a spike is not', () => {
    expect(found([[patch(-0.2, 2600, { n: 6, short: 3 })]])).not.toBeNull();
    expect(found([[patch(-0.2, 2600, { n: 6, short: 2 })]])).toBeNull();
  });

  it('and samples that agree as those of a pull do: spikes contradict each other', () => {
    // Of four samples three at −0.5 and one at 0: a mean of −0.375, off by 0.217, which is 0.25 with n − 1.
    const spikes = (off: number) =>
      found([AMONG_MANY, [patch(-0.375, 2600, { n: 4, point: 0.03, square: 4 * (0.375 ** 2 + off ** 2) })]]);
    expect(spikes(0)).not.toBeNull();
    expect(spikes(0.217)).toBeNull();
    // Four standard deviations of a sample, 0.12: off² · 4/3 lies on either side of 0.12².
    const small = (off: number) =>
      found([AMONG_MANY, [patch(-0.16, 2600, { n: 4, point: 0.03, square: 4 * (0.16 ** 2 + off ** 2) })]]);
    expect([0.1038, 0.104].map((off) => small(off) !== null)).toEqual([true, false]);
  });

  it('two lasting pulls while a turbocharger is still on its way up', () => {
    expect(found([[patch(-0.27, 1300)]])).toBeNull();
    expect(found([[patch(-0.27, 1300)], [patch(-0.27, 1300)]])).not.toBeNull();
    expect(found([[patch(-0.27, 1600)]])).not.toBeNull();
  });

  it('the whole interval beyond the limit', () => {
    // One pull: se² = 0.018² + 0.01²/5 + (0.05/5^1.5)² + 0.008² = 0.0206², so 6 % + 1.645 · 2.06 % = 9.4 %.
    expect(found([[patch(-0.099, 2600)]])).not.toBeNull();
    expect(found([[patch(-0.089, 2600)]])).toBeNull();
  });
});

describe('where', () => {
  it('a loss at 3,000 rpm is not averaged away by sound pulls at 2,100', () => {
    const w = found([[patch(0, 2100)], [patch(0.01, 2100)], [patch(-0.25, 3200)], [patch(-0.24, 3200)]]);
    // Nothing was driven between 2,250 and 3,000 rpm: the window may begin anywhere there.
    expect(w!.fromRpm).toBeGreaterThanOrEqual(2250);
    expect(w!.toRpm).toBeGreaterThanOrEqual(3500);
    expect(w!.deviation).toBeCloseTo(-0.245, 2);
  });

  it('pulls that contradict each other make it less sure', () => {
    const alike = found([[patch(-0.15, 2600)], [patch(-0.15, 2600)], [patch(-0.15, 2600)]])!;
    const torn = found([[patch(-0.3, 2600)], [patch(-0.15, 2600)], [patch(0.0, 2600)]]);
    expect(alike.pulls).toBe(3);
    expect(torn).toBeNull();
  });
});

it('pays for the looking: sound cars that scatter as assumed are accused in less than one drive of 500', () => {
  const random = seededRandom(7);
  const drives = 1500;
  let accused = 0;
  for (let i = 0; i < drives; i++) {
    const run = 0.008 * random.normal();
    const pulls = Array.from({ length: 6 }, () => {
      const pull = 0.018 * random.normal();
      return [1600, 1900, 2200, 2600, 2900].map((rpm) =>
        patch(run + pull + (0.01 / Math.sqrt(2)) * random.normal(), rpm, { n: 2, seconds: 1 }),
      );
    });
    if (found(pulls)) accused++;
  }
  expect(accused).toBeLessThan(drives / 500);
});

describe('on a day unlike those that taught', () => {
  /** 20 % short give or take 8 % for the air, all of it any car's. */
  const day = (colder: boolean, moved?: number) => {
    const scan = new ShortfallScan();
    const warm = 5 * 0.08 ** 2;
    const more = {
      warm,
      warmBelow: Number.POSITIVE_INFINITY,
      warmCharge: warm,
      warmColder: colder ? warm : 0,
    };
    const p = patch(-0.2, 1800);
    scan.add([{ ...p, ...more, run: p.run + warm }]);
    if (moved !== undefined) scan.moved = moved;
    return scan;
  };
  const variance = 0.008 ** 2;
  it('a charge as warm as then takes half of the doubt, and on a colder day, for a shortfall, all of it', () => {
    expect(day(false).strongest).toBeNull();
    expect(day(false).whole!.runVariance).toBeCloseTo(variance + 0.08 ** 2, 12);
    expect(day(false, 0).strongest!.runVariance).toBeCloseTo(variance + 0.04 ** 2, 12);
    expect(day(true, 0).strongest!.runVariance).toBeCloseTo(variance, 12);
    expect(day(true, 0).strongest!.warmVariance).toBeCloseTo(0, 12);
    // That boost may have been lifted is left: what is ruled out must hold it.
    expect(day(true, 0).whole!.runVariance).toBeCloseTo(variance + 0.04 ** 2, 12);
  });
  it('is sought anew when the charge is known better', () => {
    const scan = day(true);
    expect(scan.strongest).toBeNull();
    scan.moved = 0;
    expect(scan.strongest).not.toBeNull();
    scan.moved = 1;
    expect(scan.strongest).toBeNull();
  });
});
