/** What a page draws stays small however long the run, and no extreme is lost on the way. */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { RECORDED, SeriesKeeper } from '../../src/desk/series-keeper.ts';

const sample = (i: number, value: number, signal = 'rpm') => ({
  signal,
  tUs: i * 1e6,
  sentUs: i * 1e6,
  value,
});

it('gives short series exactly as they came', () => {
  const columns = new SeriesKeeper();
  for (let i = 0; i < 5000; i++) columns.push(sample(i, Math.sin(i)));
  const { rpm } = columns.series(1e9);
  expect(rpm!.t).toEqual(Array.from({ length: 5000 }, (_, i) => i));
  expect(rpm!.v).toEqual(Array.from({ length: 5000 }, (_, i) => Math.sin(i)));
  expect(columns.count).toBe(5000);
});

it('keeps the newest exactly, every extreme, and the order of time, in bounded room', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 100, max: 6000 }),
      fc.array(fc.tuple(fc.nat(), fc.integer({ min: -999, max: 999 })), { maxLength: 5 }),
      (length, spikes) => {
        const columns = new SeriesKeeper({
          exact: 64,
          exactS: Number.POSITIVE_INFINITY,
          stretches: 32,
          leastS: 0,
        });
        const values = Array.from({ length }, (_, i) => (i % 7) / 10);
        for (const [at, value] of spikes) values[at % length] = value;
        values.forEach((v, i) => {
          columns.push(sample(i, v));
        });
        const { t, v } = columns.series(1e9).rpm!;
        expect(t.length).toBeLessThanOrEqual(2 * 64 + 2 * 32);
        expect(t.every((x, i) => i === 0 || x > t[i - 1]!)).toBe(true);
        expect(t.every((x, i) => values[x] === v[i])).toBe(true);
        expect(t.slice(-64)).toEqual(Array.from({ length: 64 }, (_, i) => length - 64 + i));
        expect(Math.min(...(v as number[]))).toBe(Math.min(...values));
        expect(Math.max(...(v as number[]))).toBe(Math.max(...values));
        const few = columns.series(10).rpm!;
        expect(few.t.length).toBeLessThanOrEqual(10);
        expect(Math.max(...(few.v as number[]))).toBe(Math.max(...values));
      },
    ),
    { numRuns: 200, seed: 11 },
  );
});

it('gives a part of a run with as many points', () => {
  const columns = new SeriesKeeper();
  for (let i = 0; i < 3000; i++) columns.push(sample(i, i));
  const { rpm } = columns.series(100, 1000, 1050);
  expect(rpm!.t).toEqual(Array.from({ length: 51 }, (_, i) => 1000 + i));
});

it('a recorded run has all its room after two hours, whether a signal is quick or slow, and keeps its extremes', () => {
  const columns = new SeriesKeeper(RECORDED);
  const everyS = { map_kpa: 0.05, ect_c: 1, iat_c: 2 };
  const roomAfter: number[] = [];
  for (let h = 1; h <= 8; h++) {
    for (const [signal, step] of Object.entries(everyS))
      for (let t = 3600 * (h - 1); t < 3600 * h; t += step)
        columns.push({ ...sample(t, t === 5400 ? -7 : t % 10, signal) });
    roomAfter.push(columns.room);
  }
  expect(new Set(roomAfter.slice(2))).toEqual(new Set([roomAfter[1]]));
  for (const signal of ['ect_c', 'iat_c'] as const) {
    const { t, v } = columns.series(1e9)[signal]!;
    const newest = Array.from(
      { length: 900 / everyS[signal] },
      (_, i) => 8 * 3600 - 900 + i * everyS[signal],
    );
    expect(t.slice(-newest.length)).toEqual(newest);
    expect(Math.min(...(v as number[]))).toBe(-7);
    expect(t[(v as number[]).indexOf(-7)]).toBe(5400);
    expect(Math.max(...t.map((s, i) => s - (t[i - 1] ?? 0)))).toBeLessThan(33);
  }
});

it('takes no more signals than any vehicle has', () => {
  const columns = new SeriesKeeper();
  for (let i = 0; i < 2000; i++) columns.push(sample(0, 1, `signal${i}`));
  expect(Object.keys(columns.series(10)).length).toBe(500);
});
