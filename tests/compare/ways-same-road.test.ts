/** Whether two ways are one stretch, from places made by hand in metres: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { stretchesOf, type Way, wayOf } from '../../src/compare/same-road.ts';
import { type Place, Places } from '../../src/nmea/places.ts';

/** Metres of a degree of a circle with the mean radius of the Earth, 6,371,009 m. */
const M_PER_DEG = (6_371_009 * Math.PI) / 180;
const LAT = 50;
const place = (x: number, y: number, s = 0): Place => ({
  ...{ tUs: s * 1e6, latDeg: LAT + y / M_PER_DEG },
  lonDeg: 7 + x / M_PER_DEG / Math.cos((LAT * Math.PI) / 180),
});
/** Through these points, a place each 10 m. */
function way(...points: readonly (readonly [x: number, y: number])[]): Way {
  const out: Place[] = [];
  points.slice(1).forEach(([x, y], k) => {
    const [fromX, fromY] = points[k]!;
    const steps = Math.round(Math.hypot(x - fromX, y - fromY) / 10);
    for (let i = k === 0 ? 0 : 1; i <= steps; i++)
      out.push(place(fromX + ((x - fromX) * i) / steps, fromY + ((y - fromY) * i) / steps, out.length));
  });
  return out;
}
const ROAD = way([0, 0], [400, 0]);
const same = (other: Way, road = ROAD): boolean => {
  const [a, b] = stretchesOf([road, other]);
  return a === b;
};

describe('two ways are one stretch', () => {
  it('within 25 m of each other', () => {
    expect([24.9, 25.1].map((y) => same(way([100, y], [300, y])))).toEqual([true, false]);
    expect([-24.9, -25.1].map((y) => same(way([100, y], [300, y])))).toEqual([true, false]);
  });
  it('in directions that differ by 45 degrees at the most', () => {
    const turned = (deg: number) => {
      const [c, s] = [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
      return same(way([180, 0], [180 + 30 * c, 30 * s]));
    };
    expect([44, 46, -44, -46, 180].map(turned)).toEqual([true, false, true, false, false]);
  });
  it('where half of the shorter one lies on the longer', () => {
    // Twenty steps of 10 m: ten of them lie within reach of the road's end, 25 m beyond it.
    const beyond = (x: number) => same(way([x, 0], [x + 200, 0]));
    expect([320, 330].map(beyond)).toEqual([true, false]);
    expect([-120, -130].map(beyond)).toEqual([true, false]);
    const beside = (onM: number) => same(way([100, 0], [100 + onM, 0], [100 + onM, 200 - onM]));
    expect([120, 60].map(beside)).toEqual([true, false]);
  });
  it('wherever they are of it, and never where their bounds lie apart', () => {
    expect(same(way([0, 0], [0, 300]), way([-200, 100], [200, 100]))).toBe(false);
    for (const [dx, dy] of [
      [900, 0],
      [-900, 0],
      [0, 900],
      [0, -900],
    ] as const)
      expect(same(way([dx, dy], [dx + 300, dy]))).toBe(false);
  });
  it('also across the date line', () => {
    const moved = (w: Way): Way =>
      w.map((p) => ({ ...p, lonDeg: p.lonDeg > 7.0015 ? p.lonDeg - 187 : p.lonDeg + 173 }));
    expect(same(moved(way([20, 5], [380, 5])), moved(ROAD))).toBe(true);
    expect(same(moved(way([380, 5], [20, 5])), moved(ROAD))).toBe(false);
  });
  it('steps shorter than 10 m tell no direction: a car that hardly moves is on no stretch', () => {
    const crawl: Way = Array.from({ length: 5 }, (_, k) => place(100 + k, 0, k));
    expect(same(crawl)).toBe(false);
    // Places 6 m apart are joined by two.
    const dense: Way = Array.from({ length: 40 }, (_, k) => place(100 + 6 * k, k % 2, k));
    expect(same(dense)).toBe(true);
  });
});

it('stretches are numbered from the longest way on', () => {
  const ways = [way([0, 900], [100, 900]), ROAD, way([0, 900], [300, 900]), way([20, 0], [200, 0])];
  expect(stretchesOf(ways)).toEqual([1, 0, 1, 0]);
  // Of two as long the first comes first.
  expect(stretchesOf([way([0, 900], [300, 900]), way([0, 0], [300, 0])])).toEqual([0, 1]);
  // What lies on none by half is a stretch of its own, though it lies on one that lies on another.
  const chain = [0, 150, 300].map((x) => way([x, 0], [x + 300 - x / 10, 0]));
  expect(stretchesOf(chain)).toEqual([0, 0, 1]);
});

describe('the way of a pull', () => {
  const heard = (...seconds: number[]): Places => {
    const places = new Places();
    for (const s of seconds) places.push(place(20 * s, 0, s));
    return places;
  };
  const of = (...seconds: number[]) => wayOf(heard(...seconds), 10e6, 14e6);
  it('is of the places from 1.2 s before it to 1.2 s after', () => {
    const all = Array.from({ length: 30 }, (_, s) => s);
    expect(of(...all)!.map((p) => p.tUs / 1e6)).toEqual([9, 10, 11, 12, 13, 14, 15]);
    expect(wayOf(heard(...all), 10.3e6, 14e6)![0]!.tUs).toBe(10e6);
  });
  it('is known where it was heard from the beginning to the end, without a hole of more than 3.5 s', () => {
    expect([11.2, 11.3].map((s) => of(s, 12, 13, 14) !== null)).toEqual([true, false]);
    expect([12.8, 12.7].map((s) => of(10, 11, s) !== null)).toEqual([true, false]);
    expect([3.5, 3.6].map((s) => of(10, 10 + s) !== null)).toEqual([true, false]);
    expect([of(12), of()]).toEqual([null, null]);
  });
});
