import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { asyncBufferFromFile, parquetMetadataAsync } from 'hyparquet';
import { describe, expect, it } from 'vitest';
import { HandbackError } from '../../src/core/errors.ts';
import { exportTable } from '../../src/run/export.ts';
import type { RunMeta } from '../../src/run/meta.ts';
import { openRecording } from '../../src/run/recording.ts';
import { hasShared, needs, SHARED } from '../require.ts';
import { plain, scratch, tableOf } from './files.ts';

const folder = scratch();

describe('export and import again', () => {
  it.each(['csv', 'wide', 'parquet'] as const)('gives identical samples: %s', async (to) => {
    // a wide table's headers are matched to known signals; samples of one time come in order of columns
    const names = ['ect_c', 'map_kpa', 'rpm', 'lambda_cmd', ...(to === 'wide' ? [] : ['own_one'])];
    const own = { ect_c: 'degC', map_kpa: 'kPa', rpm: 'rpm' };
    const inOrder = (list: ReturnType<typeof plain>) =>
      to === 'wide' ? list.toSorted((a, b) => a[1] - b[1] || (a[0] < b[0] ? -1 : 1)) : list;
    const sample = fc.record({
      step: fc.integer({ min: 0, max: 2_000_000_000 }),
      signal: fc.constantFrom(...names),
      value: fc.double({ noNaN: true, noDefaultInfinity: true }),
    });
    await fc.assert(
      fc.asyncProperty(fc.array(sample, { minLength: 1, maxLength: 40 }), async (steps) => {
        let tUs = 0;
        const taken = new Set<string>(); // a signal is read once at a time
        const table = tableOf(
          steps.flatMap(({ step, signal, value }) => {
            tUs += step;
            if (taken.has(`${signal} ${tUs}`)) return [];
            taken.add(`${signal} ${tUs}`);
            return [{ tUs, signal, value }];
          }),
        );
        const out = join(folder, `x.${to}`);
        await exportTable(table, to, out);
        // values of any size are no units of a car: that they are right as they stand has to be said
        const back = inOrder(plain((await openRecording(out, { units: own })).table));
        const sent = inOrder(plain(table));
        expect(back).toEqual(sent);
        for (const [i, [, , value]] of back.entries()) expect(Object.is(value, sent[i]![2])).toBe(true);
      }),
      { numRuns: to === 'csv' ? 100 : 20, seed: 3 },
    );
  });

  it('names units in the columnar file', async () => {
    const out = join(folder, 'units.parquet');
    await exportTable(tableOf([{ signal: 'ect_c', tUs: 0, value: 90 }]), 'parquet', out);
    const metadata = await parquetMetadataAsync(await asyncBufferFromFile(out));
    expect(metadata.key_value_metadata).toContainEqual({ key: 'unit.ect_c', value: 'degC' });
  });

  it('puts the provenance into the columnar file, the car only when it may be named', async () => {
    const out = join(folder, 'from.parquet');
    const meta = {
      id: '2026-03-05-run',
      purpose: 'baseline',
      startedAt: '2026-03-05T08:00:00.000Z',
      vin: 'XHBVELM14TS000017',
      vehicle: 'Tarnwick 1.8 twin-charged',
      sha256: 'a'.repeat(64),
      tool: 'handback 0.1.0',
      adapter: { identity: 'adapter, text', bus: 'CAN 500 kbit/s', baud: 115_200 },
      profile: { induction: 'twin-charged' },
    } as unknown as RunMeta;
    const read = async (hideVin: boolean) => {
      const about = { meta, from: 'r', tool: 'handback 0.1.0', hideVin };
      await exportTable(tableOf([{ signal: 'ect_c', tUs: 0, value: 90 }]), 'parquet', out, about);
      const { key_value_metadata } = await parquetMetadataAsync(await asyncBufferFromFile(out));
      return Object.fromEntries((key_value_metadata ?? []).map(({ key, value }) => [key, value]));
    };
    expect(await read(false)).toMatchObject({
      'handback.run': '2026-03-05-run',
      'handback.started_at': '2026-03-05T08:00:00.000Z',
      'handback.capture_sha256': 'a'.repeat(64),
      'handback.adapter': 'adapter, text',
      'handback.induction': 'twin-charged',
      'handback.vin': 'XHBVELM14TS000017',
      'label.ect_c': expect.stringMatching(/coolant/i),
    });
    expect(JSON.stringify(await read(true))).not.toMatch(/00HBTRNW|Tarnwick/);
  });

  it('writes a wide table with a column for each signal, holes empty, nothing lost at one time', async () => {
    const out = join(folder, 'wide.csv');
    const table = tableOf([
      { signal: 'rpm', tUs: 0, value: 800 },
      { signal: 'ect_c', tUs: 0, value: 20.5 },
      { signal: 'rpm', tUs: 1_500_000, value: 900 },
      { signal: 'rpm', tUs: 1_500_000, value: 901 },
    ]);
    await exportTable(table, 'wide', out);
    expect(readFileSync(out, 'utf8')).toBe(
      't_s,rpm,ect_c\n0.000000,800,20.5\n1.500000,900,\n1.500000,901,\n',
    );
  });

  it('says what cannot be written where', async () => {
    const table = tableOf([{ signal: 'ect_c', tUs: 0, value: 90 }]);
    for (const to of ['csv', 'parquet'] as const) {
      const e = await exportTable(table, to, join(folder, 'no', 'such', 'x')).catch((e: unknown) => e);
      expect(e).toBeInstanceOf(HandbackError);
      expect((e as HandbackError).code).toBe('run.write');
    }
  });

  needs(hasShared('drives/trip-05.csv.gz'), 'open drives')('a real drive comes back identical', async () => {
    const { table } = await openRecording(join(SHARED, 'drives/trip-05.csv.gz'));
    for (const to of ['csv', 'parquet'] as const) {
      const out = join(folder, `drive.${to}`);
      await exportTable(table, to, out);
      expect(plain((await openRecording(out)).table)).toEqual(plain(table));
    }
  });
});
