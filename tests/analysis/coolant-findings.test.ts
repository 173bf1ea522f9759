/** Verdicts on the coolant from facts made by hand: each rule from both sides. */
import { describe, expect, it } from 'vitest';
import type { Climb } from '../../src/analysis/coolant/climb.ts';
import { climbFinding, climbSentence } from '../../src/analysis/coolant/climb-finding.ts';
import type { CoolantFacts } from '../../src/analysis/coolant/facts.ts';
import { fanFinding } from '../../src/analysis/coolant/fan-finding.ts';
import { settledGiven } from '../../src/analysis/coolant/given.ts';
import { jumpsFinding } from '../../src/analysis/coolant/jumps-finding.ts';
import { TooColdWatch } from '../../src/analysis/coolant/too-cold.ts';
import { tooColdFinding } from '../../src/analysis/coolant/too-cold-finding.ts';
import { warmUpFinding } from '../../src/analysis/coolant/warm-up-finding.ts';
import type { Finding } from '../../src/analysis/types.ts';
import { asIs } from '../../src/core/says.ts';
import { step } from './steps.ts';

const SOURCE = asIs('by hand');
/** Shares of the asking, °C, from the lowest. */
const asked = (...c: readonly [q: number, atC: number][]) => ({
  quantile: (q: number) => (c.find(([upTo]) => q <= upTo) ?? c.at(-1)!)[1],
});
const SETTLED = {
  ...{
    settledS: 480,
    watchedS: 180,
    movingS: 180,
    fromS: 600,
    toS: 1080,
    restless: 0,
    range: [88, 92],
    movingRange: [88, 92],
  },
  ...{ askedS: 120, endC: -0.51, moved: { ectC: 92, lessC: 89.2 }, ...asked([1, 90]) },
};
const PLATEAU = { learnedC: 90, proved: true, settled: true, settledFromS: 900 };
const CLIMB = { climbs: [], suspicion: 0, watch: null };

type Part<T> = { readonly [K in keyof T]?: unknown };
/** A drive that shows everything good; `more` of each part. */
function facts(
  more: { readonly [K in keyof CoolantFacts]?: Part<CoolantFacts[K]> | null | number } = {},
): CoolantFacts {
  const { settled, plateau, climb, jumps, fan, cold, ...rest } = more as Record<string, object>;
  return {
    ...{ limit: { value: 105, source: SOURCE }, known: null, kind: null, baseline: null, warmUp: null },
    warmUpFurther: null,
    ...{
      heatSource: 'maf_gps',
      firstC: 20,
      last: step(200, 90),
      signals: ['ect_c'],
      leftOut: { n: 0, of: 99 },
    },
    settled: { ...SETTLED, ...settled },
    plateau: { ...PLATEAU, ...plateau },
    climb: { ...CLIMB, ...climb },
    cold: Object.assign(new TooColdWatch(null), cold),
    jumps: { found: null, everyS: 1, ...jumps },
    fan: {
      seenAtS: null,
      askedAtS: null,
      missing: null,
      unanswered: false,
      dueC: null,
      dueBack: false,
      ...fan,
    },
    ...rest,
  } as unknown as CoolantFacts;
}
const needsOf = (f: { readonly needs: { readonly id: string } | null; readonly verdict: string }) =>
  f.needs === null ? f.verdict : f.needs.id;
const KIND = { cars: 5, valueC: 90, withinC: 3, farC: 6 };

describe('circulation', () => {
  const climb = (more: Parameters<typeof facts>[0]) => needsOf(climbFinding(facts(more)));
  it('is good after eight minutes settled, three of them watched and three on the move', () => {
    expect(climb({})).toBe('shown good');
    expect(climb({ settled: { settledS: 475 } })).toBe('coolant.needs.more');
    expect(climb({ settled: { watchedS: 175 } })).toBe('coolant.needs.more');
    expect(climb({ settled: { movingS: 175 } })).toBe('coolant.needs.moving');
    expect(climbFinding(facts({ settled: { settledS: 470, watchedS: 175 } })).needs?.args).toEqual({
      moreS: 10,
    });
  });
  it('tells what it came to at a stand apart from what it held on the move', () => {
    const seen = (range: number[], movingRange: number[]) =>
      climbFinding(facts({ settled: { range, movingRange } })).evidence[0]!.text;
    expect(seen([85, 99], [86, 91])).toEqual({
      id: 'coolant.seen.settled-stood',
      args: { overS: 480, movingS: 180, lowC: 86, highC: 91, stoodC: 99 },
    });
    const all = { overS: 480, movingS: 180, lowC: 85, highC: 91.4 };
    expect(seen([85, 91.4], [86, 90.6])).toEqual({ id: 'coolant.seen.settled', args: all });
    const never = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
    expect(seen([85, 91.4], never).id).toBe('coolant.seen.settled');
  });
  it('is not, by a reading that leapt three times, or stood still for a quarter of an hour', () => {
    expect([2, 3].map((restless) => climb({ settled: { restless } }))).toEqual([
      ...['shown good', 'coolant.needs.restless'],
    ]);
    expect([895, 900].map((settledS) => climb({ settled: { settledS, range: [90, 90] } }))).toEqual([
      ...['shown good', 'coolant.needs.frozen'],
    ]);
  });
  it('is not, within a reading of the limit, 4 °C above a known plateau or above the kind', () => {
    expect([103.9, 104].map((c) => climb({ settled: { range: [88, c] } }))).toEqual([
      ...['shown good', 'coolant.needs.near-limit'],
    ]);
    const known = (value: number) => climb({ known: { value, source: SOURCE } });
    expect([86, 85.9].map(known)).toEqual(['shown good', 'coolant.needs.high-plateau']);
    const kind = (valueC: number, withinC: number) => climb({ kind: { ...KIND, valueC, withinC } });
    expect([kind(86, 3), kind(85.9, 3)]).toEqual(['shown good', 'coolant.needs.above-kind']);
    expect([kind(85, 5), kind(84.9, 5)]).toEqual(['shown good', 'coolant.needs.above-kind']);
  });
  it('is not above 92 °C, its reading included, where nothing says where the engine settles', () => {
    const at = (learnedC: number, more = {}) => climb({ plateau: { learnedC }, ...more });
    expect([93, 93.1].map((c) => at(c))).toEqual(['shown good', 'coolant.needs.above-usual']);
    expect(at(94, { known: { value: 90, source: SOURCE } })).toBe('shown good');
    const kind = (withinC: number) => at(94, { kind: { ...KIND, withinC } });
    expect([4, 4.1].map(kind)).toEqual(['shown good', 'coolant.needs.above-usual']);
  });
  it('is not, where it stood above 92 °C on the move by more than driving explains and its plateau is not proved', () => {
    const at = (lessC: number, learnedC: number, more = {}) =>
      climb({
        plateau: { learnedC, proved: false },
        settled: { moved: { ectC: lessC + 3, lessC } },
        ...more,
      });
    expect([93, 93.1].map((c) => at(c, 90))).toEqual(['shown good', 'coolant.needs.unproved']);
    expect([93.5, 93.6].map((c) => at(c, 92.5))).toEqual(['shown good', 'coolant.needs.unproved']);
    expect(at(95, 90, { plateau: { learnedC: 90, proved: true } })).toBe('shown good');
    expect(at(95, 90, { known: { value: 90, source: SOURCE } })).toBe('shown good');
    const { needs } = climbFinding(
      facts({ plateau: { proved: false }, settled: { moved: { ectC: 98, lessC: 95 } } }),
    );
    expect(needs?.args).toEqual({ highC: 98, plateauC: 90, overS: 120, kmh: 50 });
  });
  it('is not, where a stand asked for the fan and nothing brought the coolant back', () => {
    expect(climb({ fan: { unanswered: true } })).toBe('coolant.needs.fan-unanswered');
    const back = climbFinding(facts({ fan: { unanswered: true, dueC: 101.5, dueBack: true } })).needs;
    expect(back).toEqual({ id: 'coolant.needs.fan-hot-back', args: { highC: 101.5 } });
  });
  it('is not, where the drive ended on a question', () => {
    expect([-0.5, -0.49].map((endC) => climb({ settled: { endC } }))).toEqual([
      ...['shown good', 'coolant.needs.high-at-end'],
    ]);
    expect(climb({ climb: { suspicion: 0.1 } })).toBe('coolant.needs.high-at-end');
    const ended = (c: number, rises: boolean) => climb({ climb: { rises }, last: step(200, c) });
    expect([ended(95, true), ended(95.1, false)]).toEqual(['shown good', 'shown good']);
    expect(ended(95.1, true)).toBe('coolant.needs.high-at-end');
    expect(climb({ climb: { watch: { saidAtS: 1 } } })).toBe('coolant.needs.high-at-end');
  });
  it('without a plateau asks for one; from 97 °C on says that there was none', () => {
    const at = (ect: number) => climb({ plateau: { learnedC: null }, last: step(200, ect) });
    expect([96.9, 97].map(at)).toEqual(['coolant.needs.settle', 'coolant.needs.no-plateau']);
    expect(climb({ firstC: null })).toBe('coolant.needs.signal');
  });
  it('tells minutes to the limit as whole ones, one at least', () => {
    const said = (nowC: number, minutes: [number, number] | null) => climbSentence(nowC, minutes, 105, true);
    expect(said(105, null).id).toBe('coolant.spoken.limit');
    expect(said(104.4, null).id).toBe('coolant.spoken.climb');
    // It would read "climbs, 105 °C. At this rate 105 °C within 1 min".
    expect(said(104.6, [0.2, 0.9])).toEqual({ id: 'coolant.spoken.limit', args: { nowC: 104.6 } });
    expect(said(99, [2.9, 3.1]).args).toMatchObject({ fromMin: 2, toMin: 4 });
    const soon = { id: 'coolant.spoken.climb-within', args: { nowC: 99, limitC: 105, toMin: 1 } };
    expect(said(99, [0.4, 0.6])).toEqual(soon);
    expect(said(99, [0.9, 1])).toEqual(soon);
    expect(said(99, [1, 1.1]).args).toMatchObject({ fromMin: 1, toMin: 2 });
    expect(said(99, [3, 3]).args).toEqual({ nowC: 99, limitC: 105, toMin: 3 });
  });
  it('is said to climb only while it surely rises', () => {
    expect([false, true].map((rises) => climbSentence(99, null, 105, rises).id)).toEqual([
      ...['coolant.spoken.limit', 'coolant.spoken.climb'],
    ]);
  });
  it('is not told settled beside "did not settle"', () => {
    const settling = { plateau: { learnedC: null }, settled: { settledS: 240, fromS: 100 } };
    for (const make of [climbFinding, tooColdFinding]) {
      const { evidence, measured, fromS, toS, needs } = make(facts(settling));
      expect([needs?.id, evidence, measured, fromS, toS]).toEqual([
        'coolant.needs.settle',
        [],
        null,
        null,
        null,
      ]);
    }
  });
});

describe('a climb points to', () => {
  const slope = { perMin: 1, interval: [0.5, 1.5] as const };
  const found: Climb = {
    ...{ saidAtS: 1000, by: 'test', plateauC: 90, limitC: 93, fromS: 800, toS: 1000, peakC: 98, saidC: 96 },
    ...{ slope, cameBack: false, assumed: false, byRegime: new Map() },
  };
  /** Seconds and °C a minute by regime. */
  const to = (
    by: Partial<Record<string, readonly [s: number, perMin: number]>>,
    movingS = 180,
    more: Partial<Climb> = {},
  ) => {
    const byRegime = new Map(
      Object.entries(by).map(([name, v]) => [name, { s: v![0], riseC: (v![0] * v![1]) / 60 }]),
    );
    const f = facts({ climb: { climbs: [{ ...found, byRegime, ...more }] }, settled: { movingS } });
    return climbFinding(f).pointsTo?.id.replace('coolant.points.', '');
  };
  it('what it was held against: the limit, what driving explains, or 14 °C above the plateau', () => {
    const by = (by: Climb['by'], assumed = false) => {
      const { evidence, limit } = climbFinding(facts({ climb: { climbs: [{ ...found, by, assumed }] } }));
      return [evidence[0]!.text.id, limit!.source.id];
    };
    expect(by('test')).toEqual(['coolant.seen.climb', 'coolant.source.envelope']);
    expect(by('far above plateau')).toEqual(['coolant.seen.far', 'coolant.source.above']);
    expect(by('limit')).toEqual(['coolant.seen.limit', SOURCE.id]);
    // A plateau that nobody saw is not called one.
    expect(by('test', true)).toEqual(['coolant.seen.climb-assumed', 'coolant.source.envelope-assumed']);
    expect(by('far above plateau', true)).toEqual([
      'coolant.seen.far-assumed',
      'coolant.source.above-assumed',
    ]);
    expect(by('limit', true)).toEqual(['coolant.seen.limit', SOURCE.id]);
  });
  it('a limit by readings none of which lies below it, and what explains adds up as it is printed', () => {
    const by = (more: Partial<Climb>) => climbFinding(facts({ climb: { climbs: [{ ...found, ...more }] } }));
    const held = by({ by: 'limit', limitC: 105, peakC: 105.8 });
    expect([held.measured!.interval, held.limit!.value]).toEqual([[105, 106.8], 105]);
    const far = by({ by: 'far above plateau', limitC: 104, peakC: 108 });
    expect([far.measured!.interval, far.limit!.value]).toEqual([[107, 109], 104]);
    expect(by({ limitC: 93 }).measured!.interval).toEqual([97, 99]);
    const summed = by({ plateauC: 92.04, limitC: 94.86 });
    expect(summed.limit!.value).toBe(94.9);
    expect(summed.evidence[0]!.text.args).toMatchObject({ plateauC: 92.04, allowC: 2.9 });
    expect(summed.limit!.source.args).toMatchObject({ plateauC: 92.04, allowC: 2.9 });
  });
  it('fan or flow, where the car hardly moved', () => {
    expect(to({ standing: [20, 0.5], town: [19, 0] }, 59)).toBe('fan-or-flow');
    expect(to({ standing: [20, 0.5], town: [19, 0] }, 60)).toBe('flow-or-none');
    expect(to({ standing: [20, 0.5], town: [20, 0] }, 59)).toBe('flow-or-none');
    expect(to({ standing: [19, 0.5] }, 59)).toBe('flow-or-none');
  });
  it('the fan, where it rose by 1 °C/min at a stand and fell by half as much on the move', () => {
    expect(to({ standing: [20, 1] })).toBe('fan');
    expect(to({ standing: [20, 0.9] })).toBe('flow-or-none');
    expect(to({ standing: [60, 2], town: [30, -0.5] })).toBe('fan');
    expect(to({ standing: [60, 2], town: [30, -0.4] })).toBe('flow-or-none');
    expect(to({ standing: [60, 2], town: [19, 1] })).toBe('fan');
  });
  it('the flow, where it rose under load and not without', () => {
    expect(to({ 'load at speed': [20, 1], 'light at speed': [30, 0] })).toBe('flow');
    expect(to({ 'load at speed': [20, 0.9], 'light at speed': [30, 0] })).toBe('flow-or-none');
    expect(to({ 'load at speed': [19, 2], 'light at speed': [30, 0] })).toBe('flow-or-none');
    expect(to({ 'load at speed': [20, 1], 'light at speed': [29, 0] })).toBe('flow-or-none');
    expect(to({ 'load at speed': [20, 1], 'light at speed': [30, 0.1] })).toBe('flow-or-none');
  });
  it('the flow, where half of it was carried off again; without a plateau no circulation, unless load tells', () => {
    expect(to({}, 180, { cameBack: true })).toBe('flow');
    expect(to({}, 180, { cameBack: false })).toBe('flow-or-none');
    expect(to({}, 180, { plateauC: null })).toBe('no-circulation');
    expect(to({}, 180, { plateauC: null, cameBack: true })).toBe('no-circulation');
    const loaded = { 'load at speed': [20, 1], 'light at speed': [30, 0] } as const;
    expect([null, 97.1, 97].map((plateauC) => to(loaded, 180, { plateauC }))).toEqual([
      ...['flow-or-none', 'flow-or-none', 'flow'],
    ]);
    expect(to({}, 180, { plateauC: 97.1, cameBack: true })).toBe('flow');
  });
});

describe('the thermostat', () => {
  const cold = (more: Parameters<typeof facts>[0]) => needsOf(tooColdFinding(facts(more)));
  it('is good where it was asked for two minutes and one reading in twenty lay 4 °C below at most', () => {
    expect(cold({})).toBe('shown good');
    expect(cold({ settled: { askedS: 115 } })).toBe('coolant.needs.asked');
    const low = (at5: number, at25: number) => cold({ settled: asked([0.025, at25], [0.05, at5], [1, 90]) });
    expect(low(86, 81)).toBe('shown good');
    // At 86 °C and above it has not sagged, however high it settled; where the car or its kind is known to, 4 °C below that.
    const under = (learnedC: number, at5: number, more = {}) =>
      cold({ plateau: { learnedC }, settled: asked([0.025, 81], [0.05, at5], [1, learnedC]), ...more });
    const bothOf = (fromC: number, learnedC: number, more = {}) =>
      [fromC, fromC - 0.1].map((c) => under(learnedC, c, more));
    const both = ['shown good', 'coolant.needs.sagged'];
    expect([bothOf(82, 86), bothOf(86, 92)]).toEqual([both, both]);
    for (const valueC of [88, 91]) {
      const fromC = Math.max(86, valueC - 4);
      expect(bothOf(fromC, 92, { known: { value: valueC, source: SOURCE } })).toEqual(both);
      expect(bothOf(fromC, 92, { kind: { ...KIND, valueC } })).toEqual(both);
    }
    expect(bothOf(86, 92, { kind: { ...KIND, valueC: 91, withinC: 5.1 } })).toEqual(both);
    expect(low(85.9, 81)).toBe('coolant.needs.sagged');
    expect(low(86, 80)).toBe('coolant.needs.sagged');
    expect(cold({ plateau: { learnedC: null } })).toBe('coolant.needs.settle');
  });
  it('below 84 °C asks for what is known of the car, or of its kind within 5 °C', () => {
    const settled = { settled: asked([1, 83]) };
    const at = (c: number, more: object = {}) => cold({ ...settled, plateau: { learnedC: c }, ...more });
    expect([83.9, 84].map((c) => at(c))).toEqual(['coolant.needs.low-plateau', 'shown good']);
    expect(at(83.9, { kind: { ...KIND, valueC: 84, withinC: 5 } })).toBe('shown good');
    expect(at(83.9, { kind: { ...KIND, valueC: 84, withinC: 5.1 } })).toBe('coolant.needs.low-plateau');
    const known = (value: number) => at(83, { known: { value, source: SOURCE } });
    expect([88, 88.1].map(known)).toEqual(['shown good', 'coolant.needs.below-known']);
  });
  it('is not praised where the coolant climbed: told is what two minutes and more held before, if it settled before', () => {
    const before = { askedS: 120, middleC: 90, rangeC: [89, 91] as const };
    const at = (saidAtS: number, more: object = {}, plateau: object = {}) => {
      const climbs = [{ saidAtS, fromS: saidAtS - 100, toS: saidAtS + 60 }];
      const settled = { ...asked([0.5, 100], [1, 110]), askedS: 600, before, ...more };
      return tooColdFinding(facts({ climb: { climbs }, settled, plateau }));
    };
    expect(at(1000)).toMatchObject({
      ...{ verdict: 'not shown', needs: { id: 'coolant.needs.climb-first' }, fromS: 600, toS: 900 },
      measured: { value: 90, interval: [89, 91] },
      evidence: [{ fromS: 600, toS: 900, text: { id: 'coolant.seen.plateau-left', args: { plateauC: 90 } } }],
    });
    expect(at(1000, { before: { ...before, askedS: 115 } }).measured).toBeNull();
    expect(at(1000, { before: null }).measured).toBeNull();
    // Nor where what it held while it was asked comes to the limit.
    const high = (c: number) => cold({ settled: asked([0.5, 90], [1, c]) });
    expect([103, 104].map(high)).toEqual(['shown good', 'coolant.needs.near-limit']);
    // It climbed first, and settled after.
    expect(at(800).evidence.map((e) => e.text.id)).toEqual(['coolant.seen.plateau']);
    expect(at(1000, {}, { learnedC: null })).toMatchObject({
      verdict: 'not shown',
      measured: null,
      evidence: [],
    });
  });
  it('is said to have settled where the middle printed beside lies, unless that is the same reading', () => {
    const settledAt = (middleC: number, learnedC: number) => {
      const f = tooColdFinding(facts({ settled: asked([0.5, middleC]), plateau: { learnedC } }));
      return [f.measured!.value, f.evidence[0]!.text.args.plateauC];
    };
    expect([91, 91.1, 88.9].map((c) => settledAt(90, c))).toEqual([
      [90, 91],
      [90, 90],
      [90, 90],
    ]);
    expect(settledAt(92, 88)).toEqual([92, 92]);
    const nothing = tooColdFinding(
      facts({ settled: { askedS: 0, ...asked([1, 92]) }, plateau: { learnedC: 88 } }),
    );
    expect([nothing.measured, nothing.evidence[0]!.text.args.plateauC]).toEqual([null, 88]);
    const before = { askedS: 120, middleC: 92, rangeC: [89, 93] as const };
    const left = (askedS: number) => {
      const climbs = [{ saidAtS: 1000, fromS: 900, toS: 1060 }];
      const held = { before: { ...before, askedS } };
      const f = tooColdFinding(facts({ climb: { climbs }, settled: held, plateau: { learnedC: 88 } }));
      return f.evidence[0]!.text.args.plateauC;
    };
    expect([120, 115].map(left)).toEqual([92, 88]);
  });
  it('that stays open is held against the number of its rule, by readings none of which lies above it', () => {
    const by = (ectC: number, limitC: number, how = 'never warm') => {
      const found = {
        activeS: 400,
        ectC,
        overS: 240,
        riseC: 1,
        limitC,
        by: how,
        saidAtS: 500,
        fromS: 260,
        toS: 500,
      };
      return tooColdFinding(facts({ cold: { found } }));
    };
    for (const [ectC, interval] of [
      [78, [77, 78]],
      [77.5, [76.5, 78]],
      [70, [69, 71]],
    ] as const)
      expect(by(ectC, 78)).toMatchObject({
        ...{ verdict: 'fault shown', limit: { value: 78 }, measured: { value: ectC, interval } },
        rule: { args: { earlyC: 78, lateC: 80 } },
      });
    expect(by(80, 80).limit!.value).toBe(80);
    expect(by(82, 84.249, 'sag').limit!.value).toBe(84.2);
  });
  it('is a fault where nearly all of the asking lay where no car of the kind settles, 5 °C below at least', () => {
    const at = (c: number, more: object = {}, farC = 6) =>
      cold({
        ...{ kind: { ...KIND, farC }, plateau: { learnedC: c, proved: true } },
        settled: { ...asked([1, c]), askedS: 120, ...more },
      });
    expect([82.9, 83].map((c) => at(c))).toEqual(['fault shown', 'coolant.needs.below-kind']);
    expect(at(83.9, {}, 4)).toBe('fault shown');
    expect(at(84, {}, 4)).not.toBe('fault shown');
    expect(at(80, { askedS: 115 })).not.toBe('fault shown');
    expect(at(80, asked([0.5, 80], [1, 83]))).not.toBe('fault shown');
    const unproved = { kind: KIND, plateau: { learnedC: 80, proved: false }, settled: asked([1, 80]) };
    expect(cold(unproved)).not.toBe('fault shown');
  });
});

describe('air in the circuit', () => {
  const jumps = (more: Parameters<typeof facts>[0]) => needsOf(jumpsFinding(facts(more)));
  it('is excluded by eight settled minutes of a reading each 2.5 s', () => {
    expect([2.5, 2.6].map((everyS) => jumps({ jumps: { everyS } }))).toEqual([
      ...['shown good', 'coolant.needs.quicker'],
    ]);
    expect(jumps({ settled: { settledS: 475 } })).toBe('coolant.needs.more');
    expect(jumps({ plateau: { settled: false } })).toBe('coolant.needs.more');
  });
  it('is shown by the swings that were found, held against the swing that its rule names', () => {
    const by = (largestC: number) => {
      const found = { saidAtS: 900, fromS: 600, toS: 950, swings: 6, largestC };
      return jumpsFinding(facts({ jumps: { found } }));
    };
    expect(by(7.25)).toMatchObject({
      ...{ verdict: 'fault shown', limit: { value: 5 }, measured: { value: 7.3, interval: [6.3, 8.3] } },
      rule: { args: { swingC: 5 } },
    });
    expect(by(5).measured).toMatchObject({ value: 5, interval: [5, 6] });
  });
});

it('the fan is good where it was seen, missing where it was missed, else asked for', () => {
  expect(needsOf(fanFinding(facts({ fan: { seenAtS: 700 } })))).toBe('shown good');
  const climbed = (fromS: number, toS: number) =>
    needsOf(
      fanFinding(facts({ fan: { seenFromS: 650, seenAtS: 700 }, climb: { climbs: [{ fromS, toS }] } })),
    );
  expect([climbed(700, 800), climbed(600, 650)]).toEqual(Array(2).fill('coolant.needs.climb-first'));
  expect([climbed(701, 800), climbed(600, 649)]).toEqual(Array(2).fill('shown good'));
  expect(needsOf(fanFinding(facts({ fan: { askedAtS: 700 } })))).toBe('coolant.needs.fan-asked');
  expect(needsOf(fanFinding(facts()))).toBe('coolant.needs.fan');
  // Where a fan is due it was asked, and the temperature is said.
  const above = (askedC: number | null, more: object = {}) =>
    fanFinding(facts({ fan: { askedAtS: 700, askedC, ...more }, baseline: { fansC: [96, 97] } as object }))
      .needs!;
  expect([null, 99].map((c) => above(c).id)).toEqual([
    ...['coolant.needs.fan-asked', 'coolant.needs.fan-asked'],
  ]);
  expect(above(99.1)).toEqual({ id: 'coolant.needs.fan-above-own', args: { highC: 99.1, ownC: 97 } });
  expect(above(101.5, { dueC: 101.5 }).id).toBe('coolant.needs.fan-above-own');
  expect(above(101.5, { dueC: 101.5, dueBack: true }).id).toBe('coolant.needs.fan-hot-back');
  expect(
    fanFinding(facts({ fan: { askedAtS: 700, askedC: 99 }, baseline: { fansC: [] } as object })).needs!.id,
  ).toBe('coolant.needs.fan-asked');
  const due = (dueBack: boolean) => fanFinding(facts({ fan: { askedAtS: 700, dueC: 101.5, dueBack } })).needs;
  expect(due(false)).toEqual({ id: 'coolant.needs.fan-hot', args: { highC: 101.5 } });
  expect(due(true)).toEqual({ id: 'coolant.needs.fan-hot-back', args: { highC: 101.5 } });
  const missing = { saidAtS: 800, fromS: 700, ectC: 103, on: { value: 97, source: SOURCE } };
  // 6 °C above where it cuts in, as its rule says, and no reading of that time lay below.
  expect(fanFinding(facts({ fan: { seenAtS: 600, missing } }))).toMatchObject({
    ...{ verdict: 'fault shown', limit: { value: 103 }, measured: { value: 103, interval: [103, 104] } },
    rule: { args: { beyondC: 6 } },
  });
});

it('the fan is held against its own drives or its kind, and that is said', () => {
  const kind = { fan: { value: 98, cars: 5, sd: 0.01, far: 0.02 } };
  const asked = (more: object) => fanFinding(facts({ fan: { askedAtS: 700 }, ...more })).evidence;
  expect(asked({})).toEqual([]);
  expect(asked({ baseline: { kind } })).toMatchObject([
    { fromS: 700, toS: 700, text: { id: 'coolant.seen.fan-kind', args: { cars: 5 } } },
  ]);
  expect(fanFinding(facts({ baseline: { kind } as object })).evidence).toEqual([]);
  const missing = (cars?: number) => {
    const on = { value: 97, source: SOURCE, ...(cars === undefined ? {} : { cars }) };
    return fanFinding(facts({ fan: { missing: { saidAtS: 800, fromS: 700, ectC: 103, on } } })).evidence[0]!
      .text;
  };
  expect(missing()).toEqual({ id: 'coolant.seen.no-fan', args: { ectC: 103, onC: 97 } });
  expect(missing(5)).toEqual({ id: 'coolant.seen.no-fan-kind', args: { ectC: 103, cars: 5, highC: 97 } });
});

describe('what a drive has given of driving with the coolant settled', () => {
  const given = (more: Parameters<typeof facts>[0]) => {
    const { share, left, fromS, toS } = settledGiven(facts(more));
    return { share, left: left && { id: left.id, ...left.args }, over: [fromS, toS] };
  };
  const unsettled = (settledS: number) =>
    given({ plateau: { learnedC: null }, settled: { settledS, fromS: settledS > 0 ? 600 : null } });

  it('nothing while the plateau is not known: told only where it settles already', () => {
    expect(unsettled(0)).toEqual({ share: 0, left: null, over: [null, null] });
    expect(unsettled(1)).toEqual({ share: 0, left: { id: 'leg.left.settling' }, over: [600, 1080] });
  });
  it('all of it once eight minutes settled, three watched, three on the move and two asked for are there', () => {
    expect(given({})).toEqual({ share: 1, left: null, over: [600, 1080] });
  });
  it.each([
    ['settled', { settledS: 475 }],
    ['watched', { watchedS: 175 }],
    ['on the move', { movingS: 175 }],
    ['asked for', { askedS: 115 }],
  ])('five seconds short of it where so much is missing of what is %s', (_, settled) => {
    const left = { id: 'leg.left.more', moreS: 5 };
    expect(given({ settled })).toEqual({ share: 475 / 480, left, over: [600, 1080] });
  });
});

describe('the warm-up', () => {
  /** `times` the heat that forty healthy drives in the same air took, each a little apart. */
  const took = (times: number, drives = 40) => {
    const warmUps = Array.from({ length: drives }, (_, k) => ({
      ...{ source: 'maf_gps', airC: 15 + (k % 3), heatPerC: 100 * (k % 2 === 0 ? 1.02 : 0.98) },
    }));
    const warmUp = { heatPerC: 100 * times, startC: 15, airC: 16, fromS: 60, toS: 400 };
    return warmUpFinding(facts({ warmUp, baseline: { warmUps, kind: null } as object }));
  };
  it('is a fault where its whole interval lies above 1.3 times the expected, good where it excludes 1.7 times', () => {
    const wholeAbove = (times: number) => took(times).measured!.interval![0] > 130;
    for (const times of [1, 1.2, 1.4, 1.5, 1.6, 1.7, 1.8, 2, 2.4]) {
      const f = took(times);
      const [low, high] = f.measured!.interval!;
      expect(f.verdict).toBe(low > 130 ? 'fault shown' : high < 170 ? 'shown good' : 'not shown');
      expect(f.aside).toBe(f.measured!.value < 100 * Math.SQRT2);
    }
    expect([1.3, 2].map(wholeAbove)).toEqual([false, true]);
    expect([1, 1.6].map((times) => took(times).verdict)).toEqual(['shown good', 'fault shown']);
  });
  it('asks for more healthy drives only where they would have shown it good', () => {
    expect([1.1, 1.25, 1.28, 1.29, 1.4].map((times) => needsOf(took(times, 1)))).toEqual([
      ...['shown good', 'coolant.needs.warm-up-more', 'coolant.needs.warm-up-more'],
      ...['coolant.needs.warm-up-again', 'coolant.needs.warm-up-again'],
    ]);
    expect(needsOf(took(1.25))).toBe('shown good');
  });
  describe('held against the drives of the car once more to 78 °C', () => {
    const drives = Array.from({ length: 6 }, (_, k) => {
      const heatPerC = 100 * (k % 2 === 0 ? 1.02 : 0.98);
      return { source: 'maf_gps', airC: 15 + (k % 3), heatPerC, furtherPerC: 1.1 * heatPerC };
    });
    const end = (perC: number, toC: number) => ({
      ...{ heatPerC: perC, startC: 15, airC: 16, fromC: 40, toC, fromS: 60, toS: 6 * toC },
    });
    /** Heat to 70 and to 78 °C, as times of what the drives took. */
    const of = (near: number, further: number | null, baseline: object = {}) =>
      warmUpFinding(
        facts({
          ...{ warmUp: end(100 * near, 70), warmUpFurther: further && end(110 * further, 78) },
          baseline: { warmUps: drives, kind: null, lowestPlateauC: 88, ...baseline } as object,
        }),
      );
    const told = (f: Finding) => [f.verdict, Math.round(f.measured!.value), f.toS];
    it('is told by the further end, good or not, unless the first shows a fault', () => {
      expect(told(of(1.4, 2))).toEqual(['fault shown', 200, 468]);
      expect(of(1.4, 2).saidAtS).toBe(468);
      expect(told(of(1.4, 1))).toEqual(['shown good', 100, 468]);
      expect(told(of(1, 1.4))).toEqual(['not shown', 140, 468]);
      expect(told(of(2, 1))).toEqual(['fault shown', 200, 420]);
      expect(told(of(1.4, null))).toEqual(['not shown', 140, 420]);
    });
    it('only where no drive settled below 88 °C, no other car tells, and a drive came so far', () => {
      const near = ['not shown', 140, 420];
      expect(told(of(1.4, 2, { lowestPlateauC: 87.9 }))).toEqual(near);
      expect(told(of(1.4, 2, { lowestPlateauC: null }))).toEqual(near);
      const short = drives.map((d) => ({ ...d, furtherPerC: null }));
      expect(told(of(1.4, 2, { warmUps: short }))).toEqual(near);
      expect(told(of(1.4, 2, { warmUps: [...short, drives[0]!] }))[2]).toBe(468);
      const kind = { warmUp: { maf_gps: { value: 100, airC: 16, sd: 0.2, far: 0.5, cars: 9 } } };
      expect(of(1.4, 2, { kind }).toS).toBe(420);
      const another = { warmUp: { map_kpa: kind.warmUp.maf_gps } };
      expect(of(1.4, 2, { kind: another }).toS).toBe(468);
    });
  });
  it('by other cars alone holds the verdict back only from what one healthy car in twenty takes', () => {
    const warmUp = { heatPerC: 145, startC: 15, airC: 16, fromS: 60, toS: 400 };
    const kind = { warmUp: { maf_gps: { value: 100, airC: 16, sd: 0.2, far: 0.5, cars: 9 } } };
    const own = { source: 'maf_gps', airC: 16, heatPerC: 100 };
    const of = (warmUps: object[]) => warmUpFinding(facts({ warmUp, baseline: { warmUps, kind } as object }));
    expect([of([]), of([own])].map(({ aside, limit }) => [aside, limit?.source.id])).toEqual([
      [true, 'coolant.source.kind'],
      [false, 'coolant.source.baseline-and-kind'],
    ]);
  });
  it('without drives to hold it against asks for them; without a warm-up for one from cold', () => {
    expect(needsOf(took(1, 0))).toBe('coolant.needs.warm-up-baseline');
    expect([35, 35.1].map((firstC) => needsOf(warmUpFinding(facts({ firstC }))))).toEqual([
      ...['coolant.needs.warm-up', 'coolant.needs.cold-start'],
    ]);
  });
});
