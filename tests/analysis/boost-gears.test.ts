/** Gears from ratios: each threshold from both sides. */
import { expect, it } from 'vitest';
import { GearBook, ratioTolerance } from '../../src/analysis/boost/gears.ts';

/** Each gear held for so many samples at so many km/h. */
function book(...gears: readonly (readonly [ratio: number, samples: number, kmh?: number])[]): GearBook {
  const b = new GearBook();
  for (const [ratio, n, kmh = 50] of gears) {
    b.learn(null, 0);
    for (let k = 0; k < n; k++) b.learn(ratio, kmh);
  }
  return b;
}

it('speed comes in whole km/h: the slower, the less a ratio says', () => {
  expect(ratioTolerance(80)).toBeCloseTo(0.04, 9);
  expect(ratioTolerance(0.5)).toBeCloseTo(0.83, 9);
});

it('a gear is held steadily for eight samples after the third, at 10 km/h and more', () => {
  expect(book([100, 11]).gearOf(100)).toBe(1);
  expect(book([100, 10]).gearOf(100)).toBeNull();
  expect(book([100, 40, 10]).gearOf(100)).toBe(1);
  expect(book([100, 40, 9.9]).gearOf(100)).toBeNull();
  const moving = (step: number) => {
    const b = new GearBook();
    for (let k = 0; k < 60; k++) b.learn(100 * (1 + (k % 2) * step), 50);
    return b.gearOf(100);
  };
  expect(moving(0.019)).toBe(1);
  expect(moving(0.0203)).toBeNull();
});

it('gears are counted from the shortest, 12 % apart at least, and a ratio is of one that lies within 6 %', () => {
  const b = book([120, 20], [70, 20], [45, 20]);
  expect([120, 70, 45].map((r) => b.gearOf(r))).toEqual([1, 2, 3]);
  expect([70 * Math.exp(0.05), 70 * Math.exp(0.07)].map((r) => b.gearOf(r))).toEqual([2, null]);
  expect(b.gearOf(null)).toBeNull();
  const two = (apart: number) => {
    const b = book([100, 20], [100 * Math.exp(-apart), 20], [40, 20]);
    return b.gearOf(40);
  };
  expect(two(0.1)).toBe(2);
  expect(two(0.14)).toBe(3);
});

it('what was held for less than a hundredth of the drive is no gear', () => {
  // Three samples of each are not counted: 12 of 1200, and of 1201.
  expect(book([100, 1191], [50, 15]).gearOf(50)).toBe(2);
  expect(book([100, 1192], [50, 15]).gearOf(50)).toBeNull();
});

it('a gear is where most of its samples lie, wherever they fall between two bins or over several', () => {
  // Bins are 2 % wide; three samples of each are not counted.
  const bins = (...counts: number[]) => book(...counts.map((n, k) => [mid(k), n + 3] as const));
  const mid = (k: number) => 10 * Math.exp(0.02 * (100 + k));
  expect(bins(10, 10).gearOf(mid(0.5))).toBe(1);
  // Its middle is the middle of the three, to half a bin.
  const three = bins(10, 20, 10);
  expect([-1.9, -2.1, 3.9, 4.1].map((k) => three.gearOf(mid(k)))).toEqual([1, null, 1, null]);
  // Spread evenly over eight bins it is one gear and not two: the longer one is the next.
  const wide = bins(10, 10, 10, 10, 10, 10, 10, 10);
  expect([wide.gearOf(mid(7)), wide.gearOf(mid(0))]).toEqual([1, null]);
  expect(bins(3, 3, 3).gearOf(mid(1))).toBeNull();
});

it('ratios lie between 10 and 300 rpm a km/h', () => {
  expect([9.8, 10, 298, 310].map((r) => book([r, 40]).gearOf(r))).toEqual([null, 1, 1, null]);
});
