import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { linearRegression, max, mean, min } from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import { csvOf, pathOf, statsOf } from '../../web/chart-data.ts';

const samples = fc
  .array(fc.tuple(fc.integer({ min: 1, max: 999 }), fc.integer({ min: -5000, max: 5000 })), {
    minLength: 1,
    maxLength: 60,
  })
  .map((pairs) => {
    let tS = 0;
    const t = pairs.map(([step]) => (tS += step / 1000));
    return { t, v: pairs.map(([, v]) => v / 10) };
  });

describe('statistics of a stretch', () => {
  it('are those of a statistics library, of the samples inside and no others', () => {
    fc.assert(
      fc.property(samples, fc.double({ min: 0, max: 30, noNaN: true }), (line, fromS) => {
        const toS = fromS + 20;
        const inside = line.t.flatMap((t, i) => (t >= fromS && t <= toS ? [[t, line.v[i]!]] : []));
        const stats = statsOf(line, fromS, toS);
        if (inside.length === 0) {
          expect(stats).toBeNull();
          return;
        }
        const values = inside.map(([, v]) => v!);
        expect(stats).toMatchObject({ n: values.length, min: min(values), max: max(values) });
        expect(stats!.mean).toBeCloseTo(mean(values), 8);
        if (inside.length === 1) expect(stats!.slopePerMin).toBeNull();
        else expect(stats!.slopePerMin! / 60).toBeCloseTo(linearRegression(inside).m, 4);
      }),
    );
  });

  it('leave holes out', () => {
    expect(statsOf({ t: [0, 60, 120], v: [10, null, 30] }, 0, 120)).toEqual({
      n: 2,
      min: 10,
      mean: 20,
      max: 30,
      slopePerMin: 10,
    });
  });
});

describe('the table of what is seen', () => {
  it('has each sample of the stretch once, at its time, and is read back by any reader', () => {
    const series = {
      rpm: { t: [0.1, 0.2, 0.3], v: [800, null, 810] },
      ect_c: { t: [0.2, 0.3, 9], v: [90, 91, 92] },
    };
    const rows = parse(csvOf(series, 0.15, 5), { columns: true }) as Record<string, string>[];
    expect(rows).toEqual([
      { time_s: '0.2', ect_c: '90', rpm: '' },
      { time_s: '0.3', ect_c: '91', rpm: '810' },
    ]);
  });
});

it('breaks a path at a hole and runs on where there is just no point', () => {
  expect(pathOf([0, 1, 2, 3, 4], [5, undefined, 6, null, 7])).toBe('M0.0 5.0L2.0 6.0M4.0 7.0');
});
