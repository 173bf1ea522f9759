import { join } from 'node:path';
import fc from 'fast-check';
import { asyncBufferFromFile, parquetMetadataAsync } from 'hyparquet';
import { describe, expect, it } from 'vitest';
import { HandbackError } from '../../src/core/errors.ts';
import { exportTable } from '../../src/run/export.ts';
import { openRecording } from '../../src/run/recording.ts';
import { hasShared, needs, SHARED } from '../require.ts';
import { plain, scratch, tableOf } from './files.ts';

const folder = scratch();

describe('export and import again', () => {
  it.each(['csv', 'parquet'] as const)('gives identical samples: %s', async (to) => {
    const sample = fc.record({
      step: fc.integer({ min: 0, max: 2_000_000_000 }),
      signal: fc.constantFrom('ect_c', 'map_kpa', 'rpm', 'lambda_cmd', 'own_one'),
      value: fc.double({ noNaN: true, noDefaultInfinity: true }),
    });
    await fc.assert(
      fc.asyncProperty(fc.array(sample, { minLength: 1, maxLength: 40 }), async (steps) => {
        let tUs = 0;
        const table = tableOf(
          steps.map(({ step, signal, value }) => {
            tUs += step;
            return { tUs, signal, value };
          }),
        );
        const out = join(folder, `x.${to}`);
        await exportTable(table, to, out);
        const back = plain((await openRecording(out)).table);
        expect(back).toEqual(plain(table));
        for (const [i, [, , value]] of back.entries()) expect(Object.is(value, table.at(i).value)).toBe(true);
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
