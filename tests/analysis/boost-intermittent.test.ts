/** Boost that comes and goes: how many gone pulls among how many sound ones, and what a bad link may explain. */
import { describe, expect, it } from 'vitest';
import type { BoostCase } from '../../src/analysis/boost/case.ts';
import { isIntermittent } from '../../src/analysis/boost/intermittent.ts';
import { intermittentFinding } from '../../src/analysis/boost/intermittent-finding.ts';
import { needs } from '../../src/analysis/boost/needs.ts';
import type { Witness } from '../../src/analysis/boost/witness.ts';
import { madeWitness } from './witness.ts';

const witness = (more: Partial<Witness>): Witness =>
  madeWitness({ n: 8, spanS: 7, sd: 0, runSd: 0, patches: [], ...more });
/** Short by everything in so many samples. */
const gone = (short: number, more: Partial<Witness> = {}): Witness =>
  witness({ held: false, deviation: -1, patches: [{ short }] as unknown as Witness['patches'], ...more });
const among = (sound: number, ...others: Witness[]) =>
  isIntermittent([...Array.from({ length: sound }, () => witness({})), ...others], () => true);
/** The most sound pulls among which it is still called intermittent; -1 for never. */
const mostSound = (...others: Witness[]): number => {
  let n = -1;
  while (n < 300 && among(n + 1, ...others)) n++;
  return n;
};
/** By the rule as written: with a share q failing, thirty times likelier than all sound with readings spoilt at `s` each. */
const expected = (...spoilt: number[]): number => {
  let n = -1;
  const times = (k: number, q: number) => spoilt.reduce((a, s) => (a * q) / s, 1) * (1 - q) ** k;
  while (n < 300 && [0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 0.7].some((q) => times(n + 1, q) >= 30)) n++;
  return n;
};

it('one gone pull is believed by how many of its samples would have to be spoilt: one 0.1, two 0.01, three 0.0002', () => {
  expect([1, 2, 3, 4].map((short) => mostSound(gone(short)))).toEqual([
    ...[expected(0.1), expected(0.01), expected(0.0002), expected(0.0002)],
  ]);
  expect([expected(0.1), expected(0.01), expected(0.0002)]).toEqual([-1, 0, 41]);
});

it('samples closer than 0.6 s are one: three within half a second may be boost on its way up', () => {
  const short = [0.5, 0.6, 1.1, 1.2, 7].map((spanS) => mostSound(gone(3, { spanS })));
  expect(short).toEqual([0.1, 0.01, 0.01, 0.0002, 0.0002].map((s) => expected(s)));
});

it('several together say more: whichever share explains them best', () => {
  const wrong: number[][] = [];
  for (let one = 0; one < 8; one++)
    for (let two = 0; two < 4; two++)
      for (let three = 0; three < 2; three++) {
        const each = <T>(n: number, x: T): T[] => Array.from({ length: n }, () => x);
        const pulls = [...each(one, gone(1)), ...each(two, gone(2)), ...each(three, gone(3))];
        const spoilt = [...each(one, 0.1), ...each(two, 0.01), ...each(three, 0.0002)];
        const most = expected(...spoilt);
        if ((most >= 0 && !among(most, ...pulls)) || among(most + 1, ...pulls)) wrong.push([one, two, three]);
      }
  expect(wrong).toEqual([]);
});

it('a pull is gone that is short by more than half, and by more than a fifth with its whole interval', () => {
  const is = (deviation: number, variance = 0, runVariance = 0) =>
    among(5, gone(3, { held: null, deviation, variance, runVariance }));
  expect([-0.5, -0.51].map((d) => is(d))).toEqual([false, true]);
  // 1.96 standard deviations of the two together reach from 0.6 to 0.2 short.
  const sd = 0.4 / 1.96;
  expect([0.99, 1.01].map((f) => is(-0.6, (f * sd) ** 2))).toEqual([true, false]);
  expect([0.99, 1.01].map((f) => is(-0.6, (0.6 * f * sd) ** 2, (0.8 * f * sd) ** 2))).toEqual([true, false]);
  // To the bit a fifth short with the whole interval: not more.
  expect(is(-0.51556, 0.161 ** 2)).toBe(false);
  expect(among(5, gone(3, { held: null, deviation: null }))).toBe(false);
});

it('a pull that brought nothing is gone by all its samples, unless it held; one missed on two samples, or stuck, by two', () => {
  expect(mostSound(witness({ held: false, absent: true, deviation: null, n: 2 }))).toBe(0);
  expect(mostSound(witness({ held: false, absent: true, deviation: null, n: 3 }))).toBe(41);
  expect(among(5, witness({ held: null, absent: true, deviation: null }))).toBe(false);
  expect(mostSound(witness({ maybeMissed: true, held: null, deviation: null }))).toBe(0);
  expect(mostSound(gone(5, { frozen: true }))).toBe(0);
  // Short without a sample that says so alone: all of them.
  expect(mostSound(gone(0, { n: 3 }))).toBe(41);
  expect(mostSound(gone(1, { absent: true, n: 3 }))).toBe(41);
  expect(mostSound(gone(0, { patches: [{ short: 1 }, { short: 1 }] as unknown as Witness['patches'] }))).toBe(
    0,
  );
});

it('asks for another that held alike, and hears no doubtful pull', () => {
  const one = gone(3);
  expect(isIntermittent([witness({}), one], (w) => w !== one)).toBe(false);
  expect(among(5, gone(3, { doubtful: true }))).toBe(false);
  const doubted = Array.from({ length: 60 }, () => witness({ doubtful: true }));
  expect(isIntermittent([...doubted, gone(3)], () => true)).toBe(true);
  const open = Array.from({ length: 60 }, () => witness({ held: null }));
  expect(isIntermittent([...open, gone(3)], () => true)).toBe(true);
});

describe('in words', () => {
  const at = (k: number, more: Partial<Witness>) =>
    witness({
      fromUs: k * 60e6,
      toUs: k * 60e6 + 7e6,
      rpm: [2000, 3000],
      expectedKpa: 100,
      ratio: null,
      ...more,
    });
  /** Twenty pulls at which boost came, and one that brought nothing and was not called missed. */
  const all = [
    at(0, { held: null, boostKpa: 10, deviation: -0.9 }),
    ...Array.from({ length: 20 }, (_, k) => at(k + 1, { boostKpa: 100 })),
  ];
  const high = {
    ...{
      region: { id: 'boost.above-hand-over', key: 'high', fromRpm: 2000, toRpm: 5000 },
      all,
      witnesses: all,
    },
    ...{
      intermittent: true,
      short: false,
      absent: false,
      missed: 0,
      held: 20,
      unknown: null,
      estimate: null,
    },
  };
  const of = (more: object = {}) =>
    ({
      ...{
        profile: { induction: 'turbocharger' },
        baseline: null,
        clutch: null,
        induction: null,
        shape: null,
      },
      ...{ signals: new Set(['map_kpa', 'rpm', 'pedal_d_pct']), demandName: 'pedal_d_pct', saidAtS: () => 1 },
      ...{ regions: [high], ...more },
    }) as unknown as BoostCase;

  it('its evidence holds the pulls at which boost was gone, also where none was called missed', () => {
    const { verdict, evidence, fromS } = intermittentFinding(of());
    expect([verdict, evidence.length, fromS]).toEqual(['fault shown', 12, 0]);
    expect(evidence[0]!.text.args).toMatchObject({ boostKpa: 10 });
  });
  it('boost that comes late is not said to come at some pulls only', () => {
    const region = of().regions[0]!;
    expect(needs(of(), region).id).toBe('boost.need.repair-first');
    expect(needs(of({ clutch: { late: true } }), region).id).toBe('boost.need.elsewhere');
  });
  it('a pedal that was read too seldom is not said to be missing', () => {
    const unseen = (signals: string[]) => {
      const c = of({ demandName: null, signals: new Set(['map_kpa', 'rpm', ...signals]) });
      const silent = { ...c, regions: [{ ...high, intermittent: false }] } as unknown as BoostCase;
      return [needs(silent, silent.regions[0]!), intermittentFinding(silent).needs];
    };
    const none = { id: 'boost.need.demand', args: {} };
    expect(unseen([])).toEqual([none, none]);
    const seldom = { id: 'boost.need.demand-quicker', args: { everyS: 1.6 } };
    expect(unseen(['pedal_d_pct'])).toEqual([seldom, seldom]);
  });
});
