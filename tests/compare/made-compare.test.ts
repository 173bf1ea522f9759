/** What a comparison makes of runs made by hand: whose they are, their days, their air, and what a receiver adds. */
import { describe, expect, it } from 'vitest';
import { type AirDoubt, compareBoost } from '../../src/compare/boost.ts';
import { type CompareOptions, compareGathered, profileFor } from '../../src/compare/compare.ts';
import type { Gathered, GatheredPull } from '../../src/compare/gather.ts';
import type { ComparedRun, GatheredRun } from '../../src/compare/runs.ts';
import type { Profile } from '../../src/core/profile.ts';
import type { Says } from '../../src/core/says.ts';

const DIESEL: Profile = { induction: 'turbocharger', fuel: 'diesel' };

interface Made {
  readonly wkg?: number;
  readonly pct?: number;
  readonly sdPct?: number;
  /** Where the pull lies, in lengths of the one way; null without a receiver. */
  readonly at?: number;
}
const pull = (mapKpa: number, { wkg, pct = 4, sdPct = 0.4, at }: Made = {}): GatheredPull => ({
  ...{ fromUs: 0, toUs: 1e6, airKpa: null, ratio: 40, grade: wkg === undefined ? null : { pct, sdPct } },
  way:
    at === undefined
      ? null
      : [0, 1, 2].map((k) => ({ tUs: k * 1e6, latDeg: 46 + at / 10 + k * 5e-4, lonDeg: -30 })),
  points: [{ tUs: 0, rpm: 2625, demand: 92, mapKpa, power: wkg === undefined ? null : { wkg, sdWkg: 0.5 } }],
});
const BEFORE = [150, 152, 148].map((kpa) => pull(kpa));
const AFTER = [165, 168, 162].map((kpa) => pull(kpa));

const baro = (kpa: number, source = 'barometric sensor', sdKpa = 9) => ({ kpa, sdKpa, source });
const gathered = (more: Partial<Gathered> = {}): Gathered => ({
  ...{ endUs: 6e7, mapCount: 300, signals: new Set(['map_kpa', 'rpm', 'ect_c']), demandName: 'pedal_d_pct' },
  ...{ baro: baro(100), air: null, pulls: [], tips: [], heatSource: null, warmUp: { heat: [], ectC: [] } },
  ...{ heatPerC: null, plateauC: null, settledS: new Map(), unreadPulls: 0 },
  ...more,
});
let n = 0;
const run = (
  role: ComparedRun['role'],
  more: Partial<ComparedRun> = {},
  of: Partial<Gathered> = {},
): GatheredRun => ({
  run: {
    ...{ id: `run ${n++}`, label: `file ${role}`, role, startedAt: null, vin: null, profile: DIESEL },
    ...more,
  },
  gathered: gathered({ pulls: role === 'before' ? BEFORE : AFTER, ...of }),
});
const at = (hours: number) => ({
  startedAt: new Date(Date.UTC(2026, 2, 2) + hours * 3_600_000).toISOString(),
});
const ids = (says: readonly Says[]) => says.map((s) => s.id);
const all = (c: ReturnType<typeof compareGathered>) => c.overall.at(-1)!;

const ALIKE = { lnBaro: 0, baroKpa: 100, before: [15, 0], after: [15, 0] } as const;

describe('the days of two sides', () => {
  it.each([
    ['within twelve hours', [at(0), at(12)], {}, 'same day', 'compare.day.shared'],
    ['further apart', [at(0), at(12.001)], {}, 'other day', 'compare.day.other'],
    ['the earlier one after', [at(13), at(0)], {}, 'other day', 'compare.day.other'],
    ['one without a date', [at(0), {}], {}, 'not known', 'compare.day.unknown'],
    ['said to be one', [at(0), at(40)], { sameDay: true }, 'same day', 'compare.day.said'],
  ] as const)('%s', (_, [before, after], options, relation, sentence) => {
    const c = compareGathered([run('before', before), run('after', after)], options);
    expect(c.days).toMatchObject({ relation, sdPct: 1, sentence: { id: sentence } });
  });
  it('begin with their first run, and do not go on from one to the next', () => {
    const of = (...hours: number[]) =>
      compareGathered(hours.map((h, k) => run(k + 1 < hours.length ? 'before' : 'after', at(h)))).days
        .relation;
    expect([of(0, 8, 11), of(0, 8, 16), of(8, 0, 11)]).toEqual(['same day', 'other day', 'same day']);
    expect(of(0, 13, 24)).toBe('same day');
  });
  it('without a date are each run’s own: two runs of one side are two days', () => {
    const air = { c: 15, source: 'intake' };
    const [one, two] = [BEFORE.slice(0, 2), BEFORE.slice(2)].map((pulls) =>
      run('before', {}, { pulls, air }),
    );
    const c = compareGathered([one!, two!, run('after', {}, { air })]);
    const days = [one!, two!, run('after')].map(({ gathered: g, run: r }, k) => ({
      ...{ role: k < 2 ? ('before' as const) : ('after' as const), day: r.id, airFactor: 1, gathered: g },
    }));
    const doubt = { ...ALIKE, baroSd: 0.41 / 100 };
    expect(all(c).interval).toEqual(compareBoost(days, DIESEL, 5, doubt).overall.at(-1)!.interval);
  });
});

describe('the air of two sides', () => {
  const of = (before: Partial<Gathered>, after: Partial<Gathered>, more: readonly GatheredRun[] = []) =>
    compareGathered([run('before', {}, before), run('after', {}, after), ...more], { sameDay: true });
  /** What the same pulls give under this air. */
  const under = (air: Partial<AirDoubt> & { baroSd: number }, factors: readonly [number, number] = [1, 1]) =>
    compareBoost(
      [
        { role: 'before', day: 'd', airFactor: factors[0], gathered: gathered({ pulls: BEFORE }) },
        { role: 'after', day: 'd', airFactor: factors[1], gathered: gathered({ pulls: AFTER }) },
      ],
      DIESEL,
      5,
      { ...ALIKE, ...air },
    ).overall.at(-1)!;

  it('is brought to that of the runs before, and the doubt of the correction is allowed for', () => {
    const c = of({ baro: baro(100) }, { baro: baro(90) });
    const expected = under({ lnBaro: Math.log(0.9), baroSd: 0.41 / 100 }, [1, 0.9]);
    expect(all(c).effectPct).toBeCloseTo(expected.effectPct!, 9);
    expect(all(c).interval).toEqual(expected.interval!.map((x) => expect.closeTo(x, 9)));
    expect(c.corrections[0]).toMatchObject({
      ...{ id: 'compare.baro.brought', args: { fromKpa: 90, toKpa: 100, change: 100 / 90 - 1 } },
    });
  });
  it('is the mean of a side’s runs', () => {
    const more = [
      run('before', {}, { pulls: [], baro: baro(96) }),
      run('after', {}, { pulls: [], baro: baro(91) }),
    ];
    const c = of({ baro: baro(100) }, { baro: baro(95) }, more);
    expect(c.corrections[0]!.args).toMatchObject({ fromKpa: 93, toKpa: 98 });
  });
  it('is called the same within a twentieth of a kilopascal', () => {
    expect(of({}, { baro: baro(100.04) }).corrections[0]).toMatchObject({
      ...{ id: 'compare.baro.same', args: { kpa: 100 } },
    });
    expect(ids(of({}, { baro: baro(100.06) }).corrections)).toEqual(['compare.baro.brought']);
    expect(ids(of({}, { baro: baro(99.94) }).corrections)).toEqual(['compare.baro.brought']);
  });
  it.each([
    ['barometric sensor', 9, 0.41],
    ['MAP with the engine stopped', 9, 0.41],
    ['MAP at full load', 1.5, 1.5],
    ['MAP at full load', 0.2, 0.41],
  ])('told by %s, known to %d kPa, is in doubt by %d kPa', (source, sdKpa, doubtKpa) => {
    const c = of({ baro: baro(100, source, sdKpa) }, {});
    expect(all(c).interval).toEqual(
      under({ baroSd: doubtKpa / 100 }).interval!.map((x) => expect.closeTo(x, 9)),
    );
  });
  it('not known of one run corrects none, is said of it, and is in doubt by 2.5 kPa', () => {
    const c = of({ baro: baro(98) }, { baro: null });
    const expected = under({ baroSd: 2.5 / 98 });
    expect(all(c).effectPct).toBeCloseTo(expected.effectPct!, 9);
    expect(all(c).interval).toEqual(expected.interval!.map((x) => expect.closeTo(x, 9)));
    expect(c.corrections).toEqual([]);
    expect(c.problems).toMatchObject([{ id: 'compare.no-baro', args: { allowedKpa: 2.5 } }]);
    expect(of({ baro: null }, { baro: baro(98) }).problems).toHaveLength(1);
    expect(ids(of({ baro: null }, { baro: null }).problems)).toEqual(['compare.no-baro', 'compare.no-baro']);
  });
  it('of other warmth is told as density, and doubted', () => {
    const warm = (c: number) => ({ air: { c, source: 'intake' } });
    const c = of(warm(20), warm(5));
    expect(c.corrections.at(-1)).toMatchObject({ id: 'compare.air' });
    const { beforeC, afterC, density } = c.corrections.at(-1)!.args as Record<string, number>;
    expect([beforeC, afterC]).toEqual([expect.closeTo(20, 9), expect.closeTo(5, 9)]);
    expect(density).toBeCloseTo(293.15 / 278.15 - 1, 9);
    expect(all(c).interval).toEqual(
      under({ before: [20, 0], after: [5, 0], baroSd: 0.0041 }).interval!.map((x) => expect.closeTo(x, 9)),
    );
  });
  it('of a warmth that was not read is any day’s, and that is said; of one day it was alike', () => {
    const [before, after] = [run('before', {}, { air: { c: 40, source: 'intake' } }), run('after')];
    const apart = compareGathered([before, after]);
    expect(ids(apart.corrections)).toEqual(['compare.baro.same', 'compare.air-unread']);
    const days = (['before', 'after'] as const).map((role) => ({
      ...{ role, day: role, airFactor: 1, gathered: gathered({ pulls: role === 'before' ? BEFORE : AFTER }) },
    }));
    const doubt = { ...ALIKE, baroSd: 0.0041, before: [40, 0], after: [7, 144] } as const;
    expect(all(apart).interval).toEqual(
      compareBoost(days, DIESEL, 5, doubt)
        .overall.at(-1)!
        .interval!.map((x) => expect.closeTo(x, 9)),
    );
    const oneDay = compareGathered([before, after], { sameDay: true });
    expect(ids(oneDay.corrections)).toEqual(['compare.baro.same']);
    expect(all(oneDay).interval).toEqual(
      under({ baroSd: 0.0041 }).interval!.map((x) => expect.closeTo(x, 9)),
    );
  });
  it('of no runs needs no correction', () => {
    expect(compareGathered([]).corrections).toEqual([]);
  });
});

describe('whose runs they are', () => {
  const vin = (x: string | null) => ({ vin: x });
  it.each([
    ['one vehicle', [vin('A'), vin('A')], []],
    ['one of them unknown', [vin('A'), vin(null)], []],
    ['two vehicles', [vin('A'), vin('B')], ['compare.vehicles']],
  ] as const)('%s', (_, [before, after], problems) => {
    const c = compareGathered([run('before', before), run('after', after)]);
    expect(ids(c.problems)).toEqual(problems);
    expect(c.overall.length > 1).toBe(problems.length === 0);
    expect(c.runs).toHaveLength(2);
  });
  it('of two vehicles nothing is compared: no tip-in, no coolant, no codes, no air', () => {
    const one = { plateauC: 90 };
    const c = compareGathered([run('before', vin('A'), one), run('after', vin('B'), one)], { codes: [] });
    expect([c.codes, c.difference, c.corrections, c.observations, c.points]).toEqual([
      null,
      null,
      [],
      [],
      [],
    ]);
    expect(c.coolant.plateau.interval).toBeNull();
    expect(c.overall[0]).toMatchObject({ verdict: 'not shown', needs: { id: 'compare.vehicles' } });
    const same = compareGathered([run('before', {}, one), run('after', {}, one)], { codes: [] });
    expect(same.codes).toEqual([]);
    expect(same.coolant.plateau.interval).not.toBeNull();
    expect(compareGathered([run('before'), run('after')], { codes: null }).codes).toBeNull();
    expect(compareGathered([run('before'), run('after')]).codes).toBeNull();
  });
  it('of two kinds of engine boost is not compared, unless a person says which it is', () => {
    const other = { profile: { induction: 'supercharger' } as Profile };
    const two = [run('before', other), run('after')];
    const c = compareGathered(two);
    expect(ids(c.problems)).toEqual(['compare.inductions']);
    expect(c.overall).toMatchObject([
      { verdict: 'not shown', rpm: [900, 9000], needs: { id: 'compare.inductions' } },
    ]);
    expect(ids(compareGathered(two, { profile: DIESEL }).problems)).toEqual([]);
  });
  it('of an engine without a charger that is said', () => {
    const none = { induction: 'naturally aspirated' } as Profile;
    const said = ['compare.no-charger'];
    expect(compareGathered([run('before'), run('after')], { profile: none }).charged).toBe(false);
    expect(compareGathered([run('before'), run('after')]).charged).toBe(true);
    expect(
      ids(compareGathered([run('before', { profile: none }), run('after', { profile: {} })]).problems),
    ).toEqual(said);
    expect(ids(compareGathered([run('before'), run('after')], { profile: none }).problems)).toEqual(said);
    expect(
      ids(compareGathered([run('before', { profile: {} }), run('after', { profile: {} })]).problems),
    ).toEqual([]);
  });
  it('and which signals they lack, by run', () => {
    const c = compareGathered([
      run('before', at(0), { signals: new Set(['rpm']), demandName: null }),
      run('after', {}),
    ]);
    expect(c.problems.map((p) => [p.id, p.args.signal])).toEqual(
      ['map_kpa', 'ect_c', 'demand'].map((s) => ['compare.missing', s]),
    );
    expect(c.problems[0]!.args.run).toEqual({
      id: 'compare.run',
      args: { role: 'before', at: at(0).startedAt },
    });
    const unread = { unreadPulls: 15 };
    const [told, ...others] = compareGathered([run('before', at(0), unread), run('after')]).problems;
    expect([told!.id, told!.args.pulls, others]).toEqual(['compare.unread', 15, []]);
    const never = { ...unread, signals: new Set(['rpm', 'ect_c']) };
    expect(ids(compareGathered([run('before', at(0), never), run('after')]).problems)).toEqual([
      'compare.missing',
    ]);
    const file = compareGathered([run('before', {}, { demandName: null }), run('after')]).problems;
    expect(file[0]!.args.run).toEqual({ id: 'text', args: { text: 'file before' } });
  });
  it('a side without a run is said', () => {
    expect(compareGathered([run('after')]).problems).toMatchObject([
      { id: 'compare.no-run', args: { role: 'before' } },
    ]);
    expect(compareGathered([run('before')]).problems).toMatchObject([
      { id: 'compare.no-run', args: { role: 'after' } },
    ]);
  });
  it('the profile is that given, else of a run after that knows its charger, else of any that does, else of any', () => {
    const of =
      (...profiles: readonly (readonly [ComparedRun['role'], Profile | null])[]) =>
      (options: CompareOptions) =>
        profileFor(
          profiles.map(([role, profile]) => run(role, { profile }).run),
          options,
        );
    const [turbo, twin]: Profile[] = [{ induction: 'turbocharger' }, { induction: 'twin-charged' }];
    const fuel: Profile = { fuel: 'petrol' };
    expect(of(['before', turbo!], ['after', twin!])({})).toBe(twin);
    expect(of(['before', turbo!], ['after', twin!])({ profile: fuel })).toBe(fuel);
    expect(of(['before', turbo!], ['after', fuel])({})).toBe(turbo);
    expect(of(['before', null], ['after', fuel])({})).toBe(fuel);
    expect(of(['before', null], ['after', null])({})).toEqual({});
  });
});

describe('a comparison', () => {
  it('calls no worse what lost less than 5 %, unless another margin is chosen', () => {
    const pulls = [146, 148, 144].map((kpa) => pull(kpa));
    const of = (options: CompareOptions) =>
      compareGathered([run('before'), run('after', {}, { pulls })], { sameDay: true, ...options });
    expect(of({}).marginPct).toBe(5);
    expect(of({}).rule).toMatchObject({ args: { margin: 0.05 } });
    expect([all(of({})).verdict, all(of({ marginPct: 8 })).verdict]).toEqual(['not shown', 'no worse']);
    expect(of({ marginPct: 8 }).rule).toMatchObject({ args: { margin: 0.08 } });
  });
  it('holds a car that came back against after, and asks for no drive of the past', () => {
    const back = compareGathered([run('before'), run('after', {}, { pulls: [] }), run('come-back')]);
    expect(back.runs.map((r) => r.label)).toEqual(['file before', 'file after']);
    expect(back.comeBack!.runs.map((r) => [r.role, r.label])).toEqual([
      ['before', 'file after'],
      ['after', 'file come-back'],
    ]);
    const { overall, tipIn, coolant } = back.comeBack!;
    expect(all(back.comeBack!).needs!.id).toBe('compare.need.past');
    expect(overall.every((r) => r.needs!.id === 'compare.need.past')).toBe(true);
    expect([tipIn, coolant.plateau, coolant.warmUp].map((s) => s.needs!.id)).toEqual([
      ...['compare.need.tip-ins', 'compare.need.settle', 'compare.need.cold'],
    ]);
    expect(back.overall.at(-1)!.needs!.id).toBe('compare.need.after');
    expect(compareGathered([run('before'), run('after')]).comeBack).toBeNull();
    const good = compareGathered([run('after', {}, { pulls: BEFORE }), run('come-back')], { sameDay: true });
    expect(all(good.comeBack!)).toMatchObject({ verdict: 'better', needs: null });
  });
  it('compares the rise at tip-in of runs whose barometric pressure is known', () => {
    const tips = Array.from({ length: 4 }, (_, k) => ({
      ...{ atUs: 0, airKpa: null, rpm: 2000 },
      points: [900, 1100].map((ms) => ({ tUs: ms * 1000, mapKpa: 120 + k })),
    }));
    const of = (kpa: number | null) =>
      compareGathered([
        run('before', {}, { tips, baro: baro(100) }),
        run('after', {}, { tips, baro: kpa === null ? null : baro(kpa) }),
      ]).tipIn;
    expect([of(95).before, of(95).after, of(95).difference]).toEqual([21.5, 26.5, 5]);
    expect(of(null)).toMatchObject({ before: null, needs: { id: 'compare.need.tip-ins' } });
  });
});

describe('what a receiver adds', () => {
  const compared = (before: readonly GatheredPull[], after: readonly GatheredPull[]) =>
    compareGathered([run('before', {}, { pulls: before }), run('after', {}, { pulls: after })], {
      sameDay: true,
    });
  const road = (kpa: number, on: readonly number[]) => on.map((where, k) => pull(kpa + k, { at: where }));

  it('is nothing without one', () => {
    expect(compared(BEFORE, AFTER).observations).toEqual([]);
  });
  it('is how many pulls lie on the same road, and what those alone give beside all', () => {
    const c = compared(road(150, [0, 0, 0, 7]), road(165, [0, 0, 0]));
    const [how, ...told] = c.observations;
    expect(how).toEqual({
      id: 'compare.road.matched',
      args: { stretches: 1, before: 3, ofBefore: 4, after: 3, ofAfter: 3 },
    });
    expect(ids(told)).toEqual(told.map(() => 'compare.road.effect'));
    const { sameRoad, interval } = all(c);
    expect(told.at(-1)!.args).toMatchObject({
      effect: sameRoad!.effectPct / 100,
      low: sameRoad!.interval![0] / 100,
      high: sameRoad!.interval![1] / 100,
      allLow: interval![0] / 100,
      allHigh: interval![1] / 100,
    });
  });
  it('is said to be none, or too few', () => {
    expect(compared(road(150, [0, 0, 0]), road(165, [5, 5, 5])).observations).toEqual([
      { id: 'compare.road.none', args: { before: 3, after: 3 } },
    ]);
    expect(ids(compared(road(150, [0]), road(165, [0])).observations)).toEqual([
      ...['compare.road.matched', 'compare.road.few'],
    ]);
  });
  it('is the power that is left, and the grades that it rests on', () => {
    const hill = (kpa: number, wkg: number, pct: number, sdPct: number) =>
      [0, 1, 2].map((k) => pull(kpa + k, { wkg: wkg + k / 10, pct, sdPct }));
    const c = compared(hill(150, 6, 4, 0.3), hill(165, 9, 1, 0.4));
    const { power } = all(c);
    expect(c.observations.at(-2)).toMatchObject({
      id: 'compare.power.effect',
      args: {
        ...{ before: power!.before.wkg, after: power!.after.wkg, difference: power!.differenceWkg },
        ...{ low: power!.interval![0], high: power!.interval![1], pullsBefore: 3, pullsAfter: 3 },
      },
    });
    const { before, after, sd } = c.observations.at(-1)!.args as Record<string, number>;
    expect(c.observations.at(-1)!.id).toBe('compare.power.rests');
    expect([before, after]).toEqual([expect.closeTo(0.04, 12), expect.closeTo(0.01, 12)]);
    expect(sd).toBeCloseTo(Math.sqrt((0.3 ** 2 + 0.4 ** 2) / 2) / 100, 12);
    expect(compared(hill(150, 6, 4, 0.3), AFTER).observations).toEqual([]);
    expect(compared(hill(150, 6, 4, 0.3).slice(1, 2), hill(165, 9, 1, 0.4)).observations).toEqual([]);
  });
});
