/** The pressure sensor itself: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import type { Baro } from '../../src/analysis/boost/barometer.ts';
import { MapSensorWatch } from '../../src/analysis/boost/map-sensor.ts';
import type { CleanSample } from '../../src/analysis/types.ts';

const BARO: Baro = { kpa: 100, sdKpa: 0.5, source: 'barometric sensor' };

class Car {
  readonly watch = new MapSensorWatch();
  #s = 0;
  /** Each of `maps` a second after the one before, with the engine at that speed. */
  drive(maps: readonly number[], rpm: (k: number) => number, baro: Baro | null = BARO): this {
    maps.forEach((map, k) => {
      const sample = (signal: string, value: number) =>
        this.watch.step({ signal, value, tUs: this.#s * 1e6, sentUs: 0, flag: null } as CleanSample, baro);
      sample('rpm', rpm(k));
      sample('map_kpa', map);
      this.#s++;
    });
    return this;
  }
  pause(s: number): this {
    this.#s += s;
    return this;
  }
  get verdict(): string {
    return this.watch.finding().verdict;
  }
}
const same = (c: number, n: number): number[] => Array.from({ length: n }, () => c);

describe('with the engine stopped', () => {
  /** Stopped, then the pressure moves by so much. */
  const stopped = (map: number, n = 10, spanKpa = 31, baro: Baro = BARO) =>
    new Car().drive(same(map, n), () => 0, baro).drive([map - spanKpa], () => 800, baro);
  it('it may differ from barometric by 8 kPa, the doubt of 2 kPa included', () => {
    expect([110, 110.1, 90, 89.9].map((map) => stopped(map).verdict)).toEqual([
      ...['not shown', 'fault shown', 'not shown', 'fault shown'],
    ]);
    expect([105.9, 106].map((map) => stopped(map).verdict)).toEqual(['shown good', 'not shown']);
    expect(stopped(112).watch.finding().measured).toEqual({ value: 12, unit: 'kPa', interval: [10, 14] });
    expect(stopped(112).watch.finding().saidAtS).toBe(9);
  });
  it('it is compared five times from the fourth second on, with a barometric sensor alone', () => {
    expect([9, 10].map((n) => stopped(100, n).verdict)).toEqual(['not shown', 'shown good']);
    expect(stopped(100, 10, 31, { ...BARO, source: 'profile' }).verdict).toBe('not shown');
    expect(new Car().drive(same(100, 10), () => 50).drive([60], () => 800).verdict).toBe('not shown');
  });
  it('it is good only where it moved by more than 30 kPa elsewhere', () => {
    expect([30, 30.1].map((span) => stopped(100, 10, span).verdict)).toEqual(['not shown', 'shown good']);
  });
});

describe('what it has of the stand', () => {
  const given = (n: number) => new Car().drive(same(100, n), () => 0).watch.given();
  it('is nothing before a reading, and over where the engine runs without one', () => {
    const never = new Car();
    expect(never.watch.given()).toEqual({ share: 0, left: null, over: false, fromS: null, toS: null });
    never
      .drive([], () => 0)
      .watch.step({ signal: 'rpm', value: 900, tUs: 0, sentUs: 0, flag: null } as CleanSample, BARO);
    expect(never.watch.given()).toMatchObject({ share: 0, left: { id: 'leg.left.signal' }, over: true });
  });
  it('counts to five readings, and says how many there are from the first on', () => {
    expect([5, 6, 9, 10, 12].map((n) => given(n).share)).toEqual([0, 0.2, 0.8, 1, 1]);
    expect(given(5).left).toBeNull();
    expect(given(6).left).toMatchObject({ id: 'leg.left.readings', args: { n: 1, of: 5 } });
    expect([given(9).fromS, given(9).toS]).toEqual([0, 8]);
  });
});

describe('with the engine working', () => {
  const frozen = (n: number, toRpm = 1800, fromRpm = 1000) =>
    new Car().drive(same(150, n), (k) => (k % 2 === 0 ? fromRpm : toRpm)).verdict;
  it('a reading that stands still for two minutes while the speed changes by 1.8 is stuck', () => {
    expect([120, 121].map((n) => frozen(n))).toEqual(['not shown', 'fault shown']);
    const stuck = new Car().drive(same(150, 121), (k) => (k % 2 === 0 ? 1000 : 1800)).watch;
    expect(stuck.finding().evidence[0]!.text).toMatchObject({
      args: { mapKpa: 150, fromRpm: 1000, toRpm: 1800 },
    });
    expect(stuck.given().share).toBe(1);
    expect(frozen(130, 1790)).toBe('not shown');
    expect([500, 501].map((rpm) => frozen(130, 3000, rpm))).toEqual(['not shown', 'fault shown']);
  });
  it('that moved and stood still again lists where it was first told of and where it stood last', () => {
    const still = (c: number) => [same(c, 130), (k: number) => 1000 + 900 * (k % 2)] as const;
    const car = new Car().drive(...still(150)).drive([60], () => 800);
    const listed = () => car.watch.finding().evidence.map((e) => [e.fromS, e.toS, e.text.args!.mapKpa]);
    expect(listed()).toEqual([[0, 129, 150]]);
    car
      .drive(...still(160))
      .drive([60], () => 800)
      .drive(...still(170));
    expect(listed()).toEqual([
      [0, 129, 150],
      [262, 391, 170],
    ]);
    expect(car.watch.finding().saidAtS).toBe(120);
  });
  it('a hole of more than five seconds begins it anew', () => {
    const across = (s: number) =>
      new Car()
        .drive(same(150, 61), (k) => 1000 + 900 * (k % 2))
        .pause(s)
        .drive(same(150, 61), (k) => 1000 + 900 * (k % 2)).verdict;
    expect([4, 5].map(across)).toEqual(['fault shown', 'not shown']);
  });
});
