/** What the charts of a comparison draw: each number as it is printed, and no more points than show. */
import { describe, expect, it } from 'vitest';
import type { Gathered } from '../../src/compare/gather.ts';
import { tracesOf } from '../../src/compare/traces.ts';

const traced = (more: Partial<Gathered> = {}) =>
  tracesOf({ id: 'a', label: 'A', startedAt: null }, 'before', {
    ...{ endUs: 120.06e6, mapCount: 600, signals: new Set(), demandName: null, pulls: [], tips: [] },
    ...{ baro: { kpa: 97.04, sdKpa: 0.6, source: 'barometric sensor' }, air: null, heatSource: null },
    ...{ warmUp: { heat: [], ectC: [] }, heatPerC: null, plateauC: null, settledS: new Map() },
    ...more,
  } as Gathered);
const pull = {
  ...{ fromUs: 10.04e6, toUs: 15.06e6, airKpa: null, ratio: 40, way: null, grade: null },
  points: [{ tUs: 11e6, rpm: 2000.6, demand: 89.5, mapKpa: 180.09, power: null }],
};

it('holds length, air and pace to a tenth', () => {
  expect(traced()).toMatchObject({
    ...{ id: 'a', label: 'A', role: 'before', startedAt: null, seconds: 120.1, baroKpa: 97 },
    ...{ baroSource: 'barometric sensor', airC: null, airSource: null, samplesPerS: 5, settled: null },
  });
  expect(traced({ mapCount: 0, endUs: 0 }).samplesPerS).toBe(0);
  expect(traced({ endUs: 1000, mapCount: 1 }).samplesPerS).toBe(1000);
  expect(traced({ air: { c: 14.96, source: 'ambient temperature' } })).toMatchObject({
    ...{ airC: 15, airSource: 'ambient temperature' },
  });
});

describe('boost', () => {
  const tip = {
    ...{ atUs: 20.04e6, airKpa: null, rpm: 1800.4 },
    points: [0, 0.9, 1.1, 2].map((s) => ({ tUs: (20.04 + s) * 1e6, mapKpa: 97.04 + 30 * s })),
  };
  it('is gauge pressure by time, engine speed and demand', () => {
    expect(traced({ pulls: [pull] }).pulls).toEqual([
      { fromS: 10, toS: 15.1, rpm: [2001], demandPct: [90], boostKpa: [83.1] },
    ]);
    expect(traced({ tips: [tip] }).tipIns).toEqual([
      { atS: 20, rpm: 1800, t: [0, 0.9, 1.1, 2], boostKpa: [0, 27, 33, 60], afterOneSecondKpa: 30 },
    ]);
    expect(traced({ tips: [{ ...tip, points: tip.points.slice(0, 2) }] }).tipIns[0]!.afterOneSecondKpa).toBe(
      null,
    );
  });
  it('is not drawn where barometric pressure is not known', () => {
    const none = traced({ baro: null, pulls: [pull], tips: [tip] });
    expect([none.baroKpa, none.baroSource, none.pulls, none.tipIns]).toEqual([null, null, [], []]);
  });
  it('is of 120 pulls and 60 tip-ins at the most', () => {
    const many = <T>(n: number, x: T) => Array.from({ length: n }, () => x);
    const of = traced({ pulls: many(130, pull), tips: many(70, tip) });
    expect([of.pulls.length, of.tipIns.length]).toEqual([120, 60]);
  });
});

describe('the warm-up', () => {
  const warm = (n: number, heatSource: Gathered['heatSource'] = 'maf_gps') =>
    traced({
      heatSource,
      warmUp: {
        heat: Array.from({ length: n }, (_, k) => 100.04 * k),
        ectC: Array.from({ length: n }, (_, k) => 20.04 + k),
      },
      heatPerC: 199.96,
    }).warmUp;
  it('is coolant over heat, to a tenth, from two steps on', () => {
    expect(warm(1)).toBeNull();
    expect(warm(2)).toEqual({
      ...{ source: 'maf_gps', unit: 'g', heat: [0, 100], ectC: [20, 21], heatPerC: 200 },
    });
    expect(warm(2, 'map_kpa')!.unit).toBe('relative');
    expect(warm(2, null)).toBeNull();
    expect(traced({ heatSource: 'maf_gps', warmUp: { heat: [1, 2], ectC: [1, 2] } }).warmUp!.heatPerC).toBe(
      null,
    );
  });
  it('is thinned to 400 points and the last', () => {
    expect([400, 401, 402, 801].map((n) => warm(n)!.heat.length)).toEqual([400, 201, 202, 268]);
    expect(warm(402)!.ectC.slice(-3)).toEqual([418, 420, 421].map((c) => expect.closeTo(c, 0)));
  });
});

it('where the coolant settled is its share of the time by whole degrees', () => {
  const settledS = new Map([
    [91, 60],
    [89, 120],
    [92, 90],
  ]);
  expect(traced({ plateauC: 90.5, settledS }).settled).toEqual({
    ...{ plateauC: 90.5, minutes: 4.5, fromC: 89 },
    share: [0.4444, 0, 0.2222, 0.3333],
  });
  expect(traced({ plateauC: null, settledS }).settled).toBeNull();
  expect(traced({ plateauC: 90 }).settled).toBeNull();
});
