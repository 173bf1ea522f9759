/** The legs of a road test by induction type, with every number that the person is told. */
import { describe, expect, it } from 'vitest';
import * as table from '../../src/analysis/leg-table.ts';
import type { Profile } from '../../src/core/profile.ts';

const { legsOf } = table;
const legs = (profile: Profile) => legsOf(profile).specs.map((s) => s.leg);
const told = (leg: string, profile: Profile = { induction: 'twin-charged' }) => {
  const { how, counts, enough, kind, optional = false } = legsOf(profile).specs.find((s) => s.leg === leg)!;
  return [kind, enough, optional, how.args ?? {}, counts.args ?? {}];
};
const around = (...middle: string[]) => [
  ...['key-on-check', 'warm-up', 'hot-idle', 'heater-check'],
  ...middle,
  ...['steady-load', 'idle-after-load', 'hot-restart'],
];
const regions = (profile: Profile) => legsOf(profile).regions.map((r) => [r.leg, ...r.rpm, r.engaged]);
const handOver = (value: number) => ({ handOverRpm: { value, source: 'entered' } }) as const;

describe('which legs there are', () => {
  it('without a charger, or with none known, only those of the coolant', () => {
    for (const profile of [{}, { induction: 'naturally aspirated' }, { clutch: true }] as Profile[]) {
      expect(legs(profile)).toEqual(around());
      expect(legsOf(profile)).toMatchObject({ regions: [], band: null });
    }
  });
  it('with a turbocharger the thirds of 1250 to 4000 rpm, to 50 rpm', () => {
    const turbo: Profile = { induction: 'turbocharger', clutch: true };
    expect(legs(turbo)).toEqual(around('pull-low', 'pull-middle', 'pull-high'));
    expect(regions(turbo)).toEqual([
      ['pull-low', 1250, 2150, false],
      ['pull-middle', 2150, 3100, false],
      ['pull-high', 3100, 4000, false],
    ]);
    expect(legsOf(turbo).band).toBeNull();
  });
  it('with a clutch the thirds of its band, light demand, and above the changeover where a turbocharger takes over', () => {
    const band = ['clutch-band-low', 'clutch-band-middle', 'clutch-band-high'];
    const twin: Profile = { induction: 'twin-charged' };
    expect(legs(twin)).toEqual(around(...band, 'above-hand-over', 'light-demand'));
    expect(legs({ induction: 'supercharger' })).toEqual(around(...band, 'light-demand'));
    expect(legs({ ...twin, clutch: false })).toEqual(around('pull-low', 'pull-middle', 'pull-high'));
    expect(regions(twin)).toEqual([
      ['clutch-band-low', 1000, 1850, true],
      ['clutch-band-middle', 1850, 2650, true],
      ['clutch-band-high', 2650, 3500, true],
      ['above-hand-over', 3500, 5000, false],
    ]);
    expect(legsOf(twin).band).toEqual([1000, 3500]);
    expect(legsOf({ ...twin, ...handOver(3000) }).band).toEqual([1000, 3000]);
    expect(regions({ ...twin, ...handOver(3000) }).at(-1)).toEqual(['above-hand-over', 3000, 4500, false]);
  });
  it('names the changeover and says why by what there is', () => {
    const titles = (profile: Profile) =>
      legsOf(profile).specs.flatMap((s) => (s.kind === 'pull' ? [[s.title.id, s.why.id]] : []));
    expect(titles({ induction: 'twin-charged' })).toEqual([
      ['leg.clutch-band-low', 'leg.clutch-band.why'],
      ['leg.clutch-band-middle', 'leg.clutch-band.why'],
      ['leg.clutch-band-changeover', 'leg.clutch-band.why'],
      ['leg.above-changeover', 'leg.above-changeover.why'],
    ]);
    expect(titles({ induction: 'supercharger' })[2]).toEqual(['leg.clutch-band-high', 'leg.clutch-band.why']);
    expect(titles({ induction: 'turbocharger' })[2]).toEqual(['leg.pull-high', 'leg.pull.why']);
  });
});

it('every leg says how much counts', () => {
  expect(told('key-on-check')).toEqual(['key-on', 2, false, {}, { enoughS: 2 }]);
  expect(told('warm-up')).toEqual(['cold', 1, false, {}, { fromC: 50, toC: 78 }]);
  expect(told('hot-idle')).toEqual(['standing', 120, false, {}, { enoughS: 120 }]);
  expect(told('heater-check')).toEqual([
    ...['standing', 1, false],
    { raisedRpm: 2000 },
    { idleS: 15, raisedS: 8, fromRpm: 1700, toRpm: 2500 },
  ]);
  expect(told('steady-load')).toEqual([
    ...['moving', 480, false],
    { kmh: 40 },
    { enoughS: 480, kmh: 40, warmC: 78 },
  ]);
  expect(told('idle-after-load')).toEqual(['standing', 90, false, {}, { enoughS: 90, withinS: 300 }]);
  expect(told('hot-restart')).toEqual(['standing', 60, true, { stopS: 60 }, { enoughS: 60, stopS: 60 }]);
  expect(told('light-demand')).toEqual(['moving', 60, false, {}, { enoughS: 60, share: 0.5 }]);
  expect(told('clutch-band-low')).toEqual(['pull', 1, false, { fromRpm: 1000, toRpm: 1850 }, { warmC: 70 }]);
});
