import { expect, it } from 'vitest';
import { heldNoise, noiseAt, unsettledSd } from '../../src/analysis/boost/noise.ts';

it('how well boost repeats, by demand, as docs/analysis.md has it', () => {
  const at = (demand: number) => Object.values(noiseAt(2000, demand));
  expect([0, 49.9].map(at)).toEqual([
    [0.04, 0.1, 0.08],
    [0.04, 0.1, 0.08],
  ]);
  expect([50, 60, 70, 85].map(at)).toEqual([
    [0.03, 0.07, 0.05],
    [0.015, 0.028, 0.02],
    [0.01, 0.022, 0.012],
    [0.008, 0.018, 0.01],
  ]);
  expect([59.9, 69.9, 84.9].map((d) => noiseAt(2000, d).run)).toEqual([0.03, 0.015, 0.01]);
});

it('wider below 2000 rpm, wider still below 1500', () => {
  const times = (rpm: number) => {
    const { run, pull, point } = noiseAt(rpm, 90);
    return [run / 0.008, pull / 0.018, point / 0.01].map((x) => Math.round(100 * x) / 100);
  };
  expect([1499, 1500, 1999, 2000].map(times)).toEqual([
    [2.2, 3.3, 3.3],
    [1.3, 1.7, 1.7],
    [1.3, 1.7, 1.7],
    [1, 1, 1],
  ]);
});

it('a pressure may be short by four times what its demand has not settled beyond 5 %', () => {
  const sd = (lagged: number) => unsettledSd({ demand: 100, lagged });
  expect(sd(95)).toBeCloseTo(0, 9);
  expect(sd(96)).toBe(0);
  expect(sd(85)).toBeCloseTo(0.4, 9);
});

it('what a car scatters by more than few pulls may by chance is shared by pulls driven alike', () => {
  const at = (rpm: number, k: number) => heldNoise(rpm, 90, { slow: k, fast: k });
  for (const [rpm, chance] of [
    [1999, 1.2],
    [2000, Math.sqrt(1.2)],
  ] as const) {
    const { run, pull, point } = noiseAt(rpm, 90);
    expect(at(rpm, chance).run).toBeCloseTo(chance * run, 9);
    expect(at(rpm, 0.7)).toEqual({ run, pull: 0.7 * pull, point: 0.7 * point });
    expect(at(rpm, 3)).toEqual({
      ...{ pull: 3 * pull, point: 3 * point },
      run: expect.closeTo(Math.hypot(3 * run, pull * Math.sqrt(9 - chance ** 2)), 12),
    });
  }
  expect(heldNoise(2000, 90, { slow: 9, fast: 1 }).run).toBe(0.008);
  expect(heldNoise(1999, 90, { slow: 1, fast: 9 }).run).toBeCloseTo(1.3 * 0.008, 12);
});
