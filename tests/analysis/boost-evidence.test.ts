/** What the pulls of one region say together: each rule from both sides. */
import { describe, expect, it } from 'vitest';
import type { PullAir } from '../../src/analysis/boost/air.ts';
import { RegionEvidence } from '../../src/analysis/boost/evidence.ts';
import { isIntermittent } from '../../src/analysis/boost/intermittent.ts';
import { type Region, regionsOf } from '../../src/analysis/boost/regions.ts';
import { isShort, PAID_LOOKS, pullsUntil } from '../../src/analysis/boost/scan.ts';
import { type KnownS, NOT_DRIVEN, type Witness } from '../../src/analysis/boost/witness.ts';
import { HIGH, madePatch, madeWitness as pull } from './witness.ts';

const [CLUTCH, MIDDLE] = regionsOf({ induction: 'twin-charged', fuel: 'petrol' });

const gone = (more: Partial<Witness> = {}): Witness =>
  pull({ deviation: null, absent: true, held: false, boostKpa: 0, ...more });
function evidence(pulls: readonly Witness[], region: Region = HIGH): RegionEvidence {
  const e = new RegionEvidence(region);
  for (const p of pulls) e.add(p);
  return e;
}

describe('boost that never came', () => {
  it('is absent, unless it came where as much was asked, within 250 rpm and a quarter', () => {
    const beside = (more: Partial<Witness>) => evidence([gone(), pull(more)]).absent;
    expect(evidence([gone()]).absent).toBe(true);
    expect(evidence([pull()]).absent).toBe(false);
    expect(beside({})).toBe(false);
    // The middle of the one that brought nothing is 2600 rpm.
    expect(beside({ rpm: [2849, 3000] })).toBe(false);
    expect(beside({ rpm: [2850, 3000] })).toBe(true);
    expect(beside({ rpm: [2300, 2351] })).toBe(false);
    expect(beside({ rpm: [2300, 2350] })).toBe(true);
    expect(beside({ expectedKpa: 96 })).toBe(false);
    expect(beside({ expectedKpa: 95.9 })).toBe(true);
    expect(beside({ held: null })).toBe(true);
  });
  it('in doubt counts when it comes again after a minute', () => {
    const twice = (toS: number) =>
      evidence([gone({ doubtful: true }), gone({ doubtful: true, fromUs: (toS - 3) * 1e6, toUs: toS * 1e6 })])
        .absent;
    expect(evidence([gone({ doubtful: true })]).absent).toBe(false);
    expect([59.9, 60].map(twice)).toEqual([false, true]);
  });
  it('while the pull is still driven counts as well', () => {
    const e = evidence([]);
    e.ahead = gone();
    expect(e.absent).toBe(true);
    expect(e.all).toHaveLength(1);
    e.add(pull());
    expect(e.absent).toBe(false);
  });
});

describe('boost that comes and goes', () => {
  const of = (held: number, missing: readonly Witness[], region = HIGH) =>
    evidence([...Array.from({ length: held }, () => pull()), ...missing], region).intermittent;
  it('is intermittent, and nowhere so at the changeover or where none held', () => {
    const twice = [gone(), gone()];
    expect(of(3, twice)).toBe(true);
    expect(of(3, twice, MIDDLE)).toBe(false);
    expect(of(0, twice)).toBe(false);
  });
  it('must explain the pulls thirty times better than spoilt readings do', () => {
    const cameAlike = () => true;
    const sound = (n: number) => Array.from({ length: n }, () => pull());
    // One of one sample, spoilt in 1 of 10: q (1 − q)^n / 0.1; of two samples 1 of 100; of three and more 1 of 5000.
    expect(isIntermittent([...sound(2), gone({ n: 1 })], cameAlike)).toBe(false);
    expect(isIntermittent([gone({ n: 2 })], cameAlike)).toBe(true);
    expect(isIntermittent([...sound(1), gone({ n: 2 })], cameAlike)).toBe(false);
    expect(isIntermittent([...sound(1), gone({ n: 3 })], cameAlike)).toBe(true);
    expect(isIntermittent([...sound(40), gone({ n: 3 })], cameAlike)).toBe(true);
    expect(isIntermittent([...sound(80), gone({ n: 3 })], cameAlike)).toBe(false);
    expect(isIntermittent([...sound(1), gone({ n: 3, frozen: true })], cameAlike)).toBe(false);
    expect(isIntermittent([...sound(1), gone({ n: 3, doubtful: true })], cameAlike)).toBe(false);
    expect(isIntermittent([...sound(1), gone({ n: 3 })], () => false)).toBe(false);
  });
  it('is gone where it is short by half, and by a fifth with its whole interval', () => {
    const short = (deviation: number, sd = 0.05) =>
      isIntermittent([pull(), pull({ deviation, sd, runVariance: 0, held: false })], () => true);
    expect([-0.5, -0.51].map((d) => short(d))).toEqual([false, true]);
    expect([0.158, 0.156].map((sd) => short(-0.507, sd))).toEqual([false, true]);
  });
});

describe('a pull that brought next to nothing, beside one that brought boost', () => {
  /** From 2,000 to 2,900 rpm; short by so much below 2,250 rpm. */
  const came = (below: number) =>
    pull({
      rpm: [2010, 2900],
      deviation: 0,
      patches: [madePatch(below, 2100, { n: 3 }), madePatch(0, 2600, { n: 9 })],
    });
  const short = (more: Partial<Witness> = {}) =>
    pull({ rpm: [2006, 2180], n: 4, deviation: -0.55, sd: 0.06, held: null, spanS: 2, ...more });
  const of = (below: number, more: Partial<Witness> = {}) => {
    const e = evidence([came(below), came(below), short(more), short(more)]);
    return [e.contradicted, e.intermittent];
  };
  it('is boost that comes and goes where it came at the very same speeds, to a fifth', () => {
    expect(of(0)).toEqual([true, true]);
    expect(of(-0.19)).toEqual([true, true]);
    // Still on its way up there, and at its full height only from 2,250 rpm on.
    expect(of(-0.21)).toEqual([false, false]);
    expect(of(0, { doubtful: true })).toEqual([false, false]);
    // 120 kPa are expected in the mean: a light foot's pull is none against it.
    expect([61, 59].map((expectedKpa) => of(0, { expectedKpa })[0])).toEqual([true, false]);
  });
  it('is none beside a pull that began further up and was still on its way there', () => {
    const above = (first: number) =>
      pull({
        rpm: [2290, 2900],
        deviation: 0,
        patches: [madePatch(first, 2300, { n: 3 }), madePatch(0, 2600, { n: 9 })],
      });
    const beside = (first: number) => evidence([above(first), short(), short()]).contradicted;
    expect([0, -0.19, -0.21].map(beside)).toEqual([true, true, false]);
  });
  it('says nothing where a clutch may close late, but for a pull of three seconds', () => {
    const clutch = (spanS: number, mayComeLate: boolean) => {
      const at = { rpm: [2006, 2180] as const, region: CLUTCH! };
      const gone = pull({ ...at, deviation: -0.8, sd: 0.06, held: null, spanS });
      const e = evidence([pull(at), gone, gone], CLUTCH);
      e.mayComeLate = mayComeLate;
      return [e.contradicted, e.intermittent, e.goneForLong];
    };
    expect(clutch(2.9, false)).toEqual([true, true, false]);
    expect(clutch(2.9, true)).toEqual([false, false, false]);
    expect(clutch(3, true)).toEqual([true, true, true]);
  });
});

it('good, and what is ruled out, end where pulls ended', () => {
  const full = (rpm: readonly [number, number]) =>
    pull({ rpm, patches: [2100, 2300, 2600, 2800, 3200].map((at) => madePatch(0, at, { n: 6 })) });
  const e = evidence([1, 2, 3, 4].map(() => full([2040.4, 3302.2])));
  expect(e.judged).toMatchObject({ fromRpm: 2040, toRpm: 3303 });
  expect(e.good).toMatchObject({ fromRpm: 2040, toRpm: 3303 });
  expect(evidence([full([1900, 9500])]).judged).toMatchObject({ fromRpm: 2000, toRpm: 9000 });
  // A pull with nothing to hold it against judges no speeds.
  expect(evidence([full([2100, 3000]), gone({ rpm: [2000, 4000] })]).judged).toMatchObject({ toRpm: 3000 });
});

describe('pressure and air', () => {
  const air = (deviation: number, sd = 0.02): PullAir => ({
    ...{ excess: -deviation, variance: sd ** 2, deviation, gain: 1, n: 6 },
    known: { warm: 0, more: 0, law: 0, taught: 0, far: 0, cars: 0 },
  });
  const joined = (deviation: number, airDeviation: number) =>
    evidence([1, 2].map(() => pull({ deviation, air: air(airDeviation) }))).joined;
  it('are joined where both say short and agree', () => {
    const both = joined(-0.1, -0.1)!;
    const alone = evidence([1, 2].map(() => pull({ deviation: -0.1 }))).estimate!;
    expect(both.deviation).toBeCloseTo(-0.1, 6);
    // The air carries its own day: none of it is left to a warmer charge.
    expect(both).toMatchObject({ warmVariance: 0, warmBelow: 0 });
    const airSe = Math.hypot(0.02 / Math.SQRT2, 0.01);
    expect(both.se).toBeCloseTo(1 / Math.sqrt(1 / alone.se ** 2 + 1 / airSe ** 2), 9);
    expect(joined(-0.1, -0.12)!.deviation).toBeLessThan(-0.1);
    // 2.5 standard errors apart, and each 1.5 from none.
    const se = Math.hypot(alone.se, airSe);
    expect(joined(-0.1, -0.1 - 2.45 * se)).not.toBeNull();
    expect(joined(-0.1, -0.1 - 2.55 * se)).toBeNull();
    expect(joined(-0.07, -1.55 * airSe)).not.toBeNull();
    expect(joined(-0.07, -1.45 * airSe)).toBeNull();
    expect(evidence([pull({ deviation: -0.1 })]).joined).toBeNull();
  });
  it('of three samples show a shortfall together, where own drives taught the air: other cars tell it too coarsely', () => {
    const three = (taught: number) => {
      const told = { ...air(0), n: 3 };
      const by = { ...told, known: { ...told.known, taught } };
      return evidence([pull({ deviation: -0.2, n: 3, air: by })]).short;
    };
    expect([0, 0.01].map(three)).toEqual([true, false]);
  });
  it('lost air is a leak, where the pressure does not lie above the expected', () => {
    const leaks = (deviation: number, excess: number, pulls = 2) =>
      evidence(Array.from({ length: pulls }, () => pull({ deviation, air: { ...air(-excess), excess } })))
        .leaks;
    expect(leaks(-0.02, 0.1)).toBe(true);
    expect(leaks(0.02, 0.1)).toBe(false);
    expect(leaks(0, 0.1)).toBe(false);
    expect(leaks(-0.02, 0.1, 1)).toBe(false);
    expect(leaks(-0.02, 0.04)).toBe(false);
  });
});

describe('good', () => {
  const good = (pulls: readonly Witness[], region = HIGH) => evidence(pulls, region).good;
  const lasting = (more: Partial<Witness> = {}) =>
    pull({ patches: [2500, 2750].map((rpm) => madePatch(0, rpm, { n: 6 })), n: 12, ...more });
  it('takes one pull that lasts, two that do not, and a warm engine', () => {
    expect(good([lasting()])).toMatchObject({ fromRpm: 2500, toRpm: 2700 });
    expect(evidence([lasting({ spanS: 1.1 })]).lacks.pulls).toBe(1);
    expect(evidence([lasting({ spanS: 1.2 })]).lacks.pulls).toBe(0);
    expect(evidence([lasting({ n: 3 })]).lacks.pulls).toBe(1);
    expect(evidence([lasting({ n: 1 }), lasting({ n: 1 })]).lacks.pulls).toBe(2);
    expect(evidence([lasting({ n: 2 }), lasting({ n: 2 })]).lacks.pulls).toBe(0);
    expect(good([lasting({ warm: false })])).toBeNull();
  });
  it('is not said beside a miss, were it a doubtful one', () => {
    expect(good([lasting(), lasting()])).not.toBeNull();
    expect(good([lasting(), lasting({ held: false })])).toBeNull();
    expect(good([lasting(), lasting({ maybeMissed: true })])).toBeNull();
  });
  it('is not said of what lies short on the whole by as much as a fault begins with', () => {
    const sound = [2500, 2750].map((rpm) => madePatch(0, rpm, { n: 6 }));
    // At light demand, and not sure: no fault, and no cell that good is said of.
    const light = (deviation: number) =>
      good([
        lasting({
          patches: [...sound, madePatch(deviation, 2600, { n: 12, demandPct: 50, run: 0.1 })],
        }),
      ]);
    expect(light(-0.118)).not.toBeNull();
    expect(light(-0.122)).toBeNull();
  });
  it('of a clutch takes three pulls, low, middle and high in its band', () => {
    const at = (from: number, to: number) => lasting({ rpm: [from, to] });
    const { lacks } = evidence([at(1100, 1500), at(1650, 1900), at(2000, 2400)], CLUTCH);
    expect(lacks).toEqual({ pulls: 0, warm: true, through: [] });
    expect(evidence([at(1100, 1500), at(1150, 1500)], CLUTCH).lacks).toEqual({
      ...{ pulls: 1, warm: true },
      through: [
        { fromRpm: 1550, toRpm: 2000 },
        { fromRpm: 2000, toRpm: 2400 },
      ],
    });
  });
  it('is not said where it went for 1.5 s at speeds of which less is known', () => {
    const unknown = (s: Partial<KnownS>) => {
      const e = evidence([lasting()]);
      const half = Object.entries({ ...NOT_DRIVEN, ...s }).map(([key, value]) => [key, value / 2]);
      const known = new Map([[6, Object.fromEntries(half) as unknown as KnownS]]);
      e.drove({ known, driven: null });
      e.drove({ known, driven: null });
      return [e.unknown, e.good === null];
    };
    const at = { fromRpm: 3000, toRpm: 3500 };
    expect(unknown({ untaughtS: 1.5 })).toEqual([{ ...at, why: 'untaught' }, true]);
    expect(unknown({ untaughtS: 1.4 })).toEqual([null, false]);
    expect(unknown({ untaughtS: 1.5, withS: 1.4 })).toEqual([{ ...at, why: 'untaught' }, true]);
    expect(unknown({ untaughtS: 1.5, withS: 1.5 })).toEqual([null, false]);
    expect(unknown({ untaughtS: 1, leftOutS: 0.5 })).toEqual([{ ...at, why: 'untaught' }, true]);
    expect(unknown({ untaughtS: 0.5, leftOutS: 1 })).toEqual([{ ...at, why: 'left-out' }, true]);
    // Readings left out that say short count beside others as well.
    expect(unknown({ leftOutS: 5, leftOutShortS: 0.9, withS: 9 })).toEqual([null, false]);
    expect(unknown({ leftOutS: 5, leftOutShortS: 1, withS: 9 })).toEqual([
      { ...at, why: 'left-out-short' },
      true,
    ]);
    expect(unknown({ untaughtS: 3, leftOutS: 1, leftOutShortS: 1 })).toEqual([
      { ...at, why: 'left-out-short' },
      true,
    ]);
  });
  it('is not said beside a pull that plainly brought 35 % too little, however short', () => {
    const beside = (deviation: number) => {
      const e = evidence([
        lasting(),
        lasting(),
        lasting(),
        lasting(),
        pull({ deviation, held: null, n: 1, spanS: 0 }),
      ]);
      return [e.odd?.deviation ?? null, e.good === null];
    };
    const { variance, runVariance } = pull();
    const reach = 1.96 * Math.sqrt(variance + runVariance);
    expect(beside(-0.36 - reach)).toEqual([-0.36 - reach, true]);
    expect(beside(-0.34 - reach)[0]).toBeNull();
  });
});

describe('what is to be driven', () => {
  const of = (deviation: number, n = 1) => evidence(Array.from({ length: n }, () => pull({ deviation })));
  it('where boost lies short by more than the limit are as many pulls as show it, were their mean to stay', () => {
    for (const [deviation, n] of [
      [-0.08, 1],
      [-0.078, 2],
      [-0.09, 1],
    ] as const) {
      const { pulls } = of(deviation, n).toGo!;
      expect(of(deviation, n).short).toBe(false);
      expect(of(deviation, n + pulls!).short).toBe(true);
      // Sooner only where one more was asked for all the same.
      if (pulls! > 1) expect(of(deviation, n + pulls! - 1).short).toBe(false);
    }
  });
  it('are what few windows need: less than among many', () => {
    const wide = pull({ deviation: -0.185, patches: [madePatch(-0.185, 2600, { pull: 0.08 })] });
    const few = evidence([wide]);
    const e = few.estimate!;
    expect(e.looks).toBeLessThan(PAID_LOOKS);
    const among = (looks: number) => pullsUntil({ ...e, looks }, isShort)!;
    expect(few.toGo!.pulls).toBe(among(e.looks));
    expect(among(e.looks)).toBeLessThan(among(PAID_LOOKS));
    expect(evidence(Array.from({ length: 1 + among(e.looks) }, () => wide)).short).toBe(true);
  });
  it('are no number where the day alone scatters as far, and nothing before the first pull', () => {
    expect(of(-0.066).toGo!.pulls).toBeNull();
    expect(evidence([]).toGo).toBeNull();
    // Where the loss is ruled out already it is one, anywhere.
    expect(of(0, 3).toGo).toEqual({
      fromRpm: HIGH.fromRpm,
      toRpm: expect.any(Number),
      pulls: 1,
      lifted: false,
    });
  });
});

describe('too much boost', () => {
  const surplus = (deviation: number, n = 6, spanS = 2) => evidence([pull({ deviation, n, spanS })]).surplus;
  it('is beyond two limits with its whole interval, in four samples over 1.2 s', () => {
    const { se } = evidence([pull()]).estimate!;
    expect(surplus(0.12 + 1.7 * se)).toBe(true);
    expect(surplus(0.12 + 1.6 * se)).toBe(false);
    expect([3, 4].map((n) => surplus(0.3, n))).toEqual([false, true]);
    expect([1.1, 1.2].map((s) => surplus(0.3, 6, s))).toEqual([false, true]);
  });
  it('and most of the samples lie above on their own: a spike among few is none', () => {
    const of = (over: number) =>
      evidence([pull({ deviation: 0.3, patches: [madePatch(0.3, 2600, { over })] })]).surplus;
    expect([2, 3].map(of)).toEqual([false, true]);
  });
});

it('as many pulls are kept as an hour of pulling brings: 400', () => {
  const e = evidence(Array.from({ length: 402 }, (_, k) => pull({ fromUs: k })));
  expect(e.witnesses).toHaveLength(400);
  expect(e.witnesses[0]!.fromUs).toBe(2);
  expect(e.held).toBe(402);
});
