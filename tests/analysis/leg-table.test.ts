/** Which legs a car has, by how it is charged; which finding each serves, and the numbers that it says. */
import { describe, expect, it } from 'vitest';
import { regionsOf } from '../../src/analysis/boost/regions.ts';
import { legsOf } from '../../src/analysis/leg-table.ts';
import type { Profile } from '../../src/core/profile.ts';

const legs = (profile: Profile) => legsOf(profile).map((s) => s.leg);
const of = (profile: Profile, leg: string) => legsOf(profile).find((s) => s.leg === leg)!;
const told = (leg: string, profile: Profile = { induction: 'twin-charged' }) => {
  const { kind, by, optional, how, counts } = of(profile, leg);
  return [kind, by, optional ?? false, how.args, counts.args];
};
const around = (...middle: string[]) => [
  ...['key-on-check', 'warm-up', 'hot-idle', 'heater-check'],
  ...middle,
  ...['steady-load', 'idle-after-load', 'hot-restart'],
];
const TWIN = ['clutch-band', 'changeover', 'above-hand-over'];

describe('which legs there are', () => {
  it('without a charger, or with none known, only those of the coolant', () => {
    for (const profile of [{}, { induction: 'naturally aspirated' }, { clutch: true }] as Profile[])
      expect(legs(profile)).toEqual(around());
  });
  it('with a charger one for each range of engine speed that has a finding, and light demand with a clutch', () => {
    expect(legs({ induction: 'turbocharger', clutch: true })).toEqual(around('pull-low', 'pull-high'));
    expect(legs({ induction: 'twin-charged' })).toEqual(around(...TWIN, 'light-demand'));
    expect(legs({ induction: 'twin-charged', clutch: false })).toEqual(
      around('pull-low', 'changeover', 'above-hand-over'),
    );
    expect(legs({ induction: 'supercharger', clutch: true })).toEqual(around('clutch-band', 'light-demand'));
    expect(legs({ induction: 'supercharger' })).toEqual(around('pull'));
  });
  it('each pull serves the finding of its range', () => {
    for (const induction of ['turbocharger', 'twin-charged', 'supercharger'] as const) {
      const pulls = legsOf({ induction }).filter((s) => s.kind === 'pull');
      expect(pulls.map((s) => s.by)).toEqual(regionsOf({ induction }).map((r) => r.id));
    }
  });
  it('says why by what there is', () => {
    const titles = (profile: Profile) =>
      legsOf(profile).flatMap((s) => (s.kind === 'pull' ? [[s.title.id, s.why.id]] : []));
    expect(titles({ induction: 'twin-charged' })).toEqual(
      TWIN.map((leg) => [`leg.${leg}`, `leg.${leg}.why`]),
    );
    expect(titles({ induction: 'turbocharger' })[1]).toEqual(['leg.pull-high', 'leg.pull.why']);
    expect(titles({ induction: 'supercharger' })).toEqual([['leg.pull', 'leg.pull.why']]);
  });
});

it('every leg says what it serves and how much counts', () => {
  expect(told('key-on-check')).toEqual([
    ...['key-on', 'sensor.map_kpa', false],
    { stopS: 10 },
    { readings: 5, afterS: 4 },
  ]);
  expect(told('warm-up')).toEqual(['cold', 'coolant.warm-up', false, {}, { fromC: 35, toC: 70 }]);
  expect(told('hot-idle')).toEqual([
    ...['standing', 'coolant.fan', false, {}],
    { aboveC: 4, backC: 2, unaskedS: 120 },
  ]);
  expect(told('heater-check')).toEqual([
    ...['standing', 1, false],
    { raisedRpm: 2000 },
    { idleS: 15, raisedS: 8, fromRpm: 1700, toRpm: 2500 },
  ]);
  expect(told('steady-load')).toEqual([
    ...['moving', 'coolant.climb', false],
    { kmh: 30 },
    { enoughS: 480, movingS: 180, kmh: 30, askedS: 120 },
  ]);
  expect(told('idle-after-load')).toEqual(['standing', 90, false, {}, { enoughS: 90, withinS: 300 }]);
  expect(told('hot-restart')).toEqual(['standing', 60, true, { stopS: 60 }, { enoughS: 60, stopS: 60 }]);
  expect(told('light-demand')).toEqual([
    ...['moving', 'boost.clutch-open', false],
    { fromRpm: 1500, toRpm: 3000 },
    { enoughS: 20, fromDemandPct: 3, toDemandPct: 32, fromRpm: 1500, toRpm: 4000 },
  ]);
  expect(told('clutch-band')).toEqual([
    ...['pull', 'boost.clutch-band', false],
    { fromRpm: 1200, toRpm: 2400 },
    { pulls: 3, warmC: 70 },
  ]);
  const enough = { pulls: 2, lastingS: expect.any(Number), taught: 3, warmC: 70 };
  const range = (fromRpm: number, toRpm: number) => ({ fromRpm, toRpm });
  expect(told('changeover')).toEqual(['pull', 'boost.hand-over-dip', true, range(2400, 3500), enough]);
  expect(told('above-hand-over')).toEqual([
    'pull',
    'boost.above-hand-over',
    false,
    range(3500, 5000),
    enough,
  ]);
  expect(told('pull-low', { induction: 'turbocharger' })[3]).toEqual(range(1200, 2000));
});
