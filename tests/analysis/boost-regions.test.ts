/** Which engine speeds each machine answers for, by induction type; what the profile says comes before the defaults. */
import { describe, expect, it } from 'vitest';
import { clutchBand, ENGAGED_PCT, hasClutch, regionsOf } from '../../src/analysis/boost/regions.ts';
import type { Profile } from '../../src/core/profile.ts';

const entered = (value: number) => ({ value, source: 'entered' }) as const;
const of = (profile: Profile) =>
  regionsOf(profile).map((r) => [r.key, r.fromRpm, r.toRpm, r.id, r.spread === true, r.pointsTo.id]);
const twin: Profile = { induction: 'twin-charged' };

describe('the band of the clutch', () => {
  it('ends at 2400 and is handed over by 3500 rpm where nothing is known (common practice, no source)', () => {
    expect(clutchBand({})).toEqual({ topRpm: 2400, handOverRpm: 3500 });
    expect(ENGAGED_PCT).toBe(60);
  });
  it('never ends above the hand-over that is known, and is never handed over below its end', () => {
    expect(clutchBand({ handOverRpm: entered(2000) })).toEqual({ topRpm: 2000, handOverRpm: 2000 });
    expect(clutchBand({ handOverRpm: entered(3000) })).toEqual({ topRpm: 2400, handOverRpm: 3000 });
    expect(clutchBand({ clutchBandTopRpm: entered(4000) })).toEqual({ topRpm: 4000, handOverRpm: 4000 });
    expect(clutchBand({ clutchBandTopRpm: entered(2000) })).toEqual({ topRpm: 2000, handOverRpm: 3500 });
  });
});

describe('a clutch', () => {
  it('is on a twin-charged engine unless denied, on a supercharger only if stated, and on no other', () => {
    const has = (induction: NonNullable<Profile['induction']>) =>
      [undefined, true, false].map((clutch) =>
        hasClutch({ induction, ...(clutch === undefined ? {} : { clutch }) }),
      );
    expect(has('twin-charged')).toEqual([true, true, false]);
    expect(has('supercharger')).toEqual([false, true, false]);
    expect(has('turbocharger')).toEqual([false, false, false]);
  });
});

describe('the regions', () => {
  it('are three of a twin-charged engine: belt, changeover, turbocharger', () => {
    expect(of(twin)).toEqual([
      ['low', 1200, 2400, 'boost.clutch-band', true, 'boost.points.clutch'],
      ['middle', 2400, 3500, 'boost.hand-over-dip', false, 'boost.points.changeover'],
      ['high', 3500, 9000, 'boost.above-hand-over', false, 'boost.points.turbo'],
    ]);
  });
  it('are one of a supercharger, up to its hand-over where it has a clutch and one is known', () => {
    const one = (more: Profile) => of({ induction: 'supercharger', ...more });
    const belt = ['low', 900, 9000, 'boost.clutch-band', false, 'boost.points.belt'];
    expect(one({})).toEqual([belt]);
    expect(one({ handOverRpm: entered(3000) })).toEqual([belt]);
    expect(one({ clutch: true })).toEqual([
      ['low', 1200, ...belt.slice(2, 5), 'boost.points.clutch-or-slip'],
    ]);
    expect(one({ clutch: true, handOverRpm: entered(3000) })).toEqual([
      ['low', 1200, 3000, 'boost.clutch-band', false, 'boost.points.clutch-or-slip'],
    ]);
  });
  it('are two of a turbocharger, with the edge at 2000 rpm where none is known; none without a charger', () => {
    const two = (edge: number) => [
      ['low', 1100, edge, 'boost.low-speed', false, 'boost.points.turbo-slow'],
      ['high', edge, 9000, 'boost.above-hand-over', false, 'boost.points.turbo'],
    ];
    expect(of({ induction: 'turbocharger' })).toEqual(two(2000));
    expect(of({ induction: 'turbocharger', handOverRpm: entered(1800) })).toEqual(two(1800));
    expect(of({ induction: 'naturally aspirated' })).toEqual([]);
  });
});
