/** A reader of a columnar file whose thread has ended says so at once. */

import { join } from 'node:path';
import { expect, it } from 'vitest';
import { exportTable } from '../../src/run/export.ts';
import { ParquetReader } from '../../src/run/import/parquet-worker.ts';
import { scratch, tableOf } from './files.ts';

it('answers nothing more after its thread has ended, and nobody waits for it', async () => {
  const file = join(scratch(), 'a.parquet');
  await exportTable(tableOf([{ tUs: 0, signal: 'rpm', value: 800 }]), 'parquet', file);
  const reader = new ParquetReader(file, 1e6);
  const { headers, ranges } = await reader.open();
  expect(Array.from(await reader.column(headers[0]!, ranges[0]!))).toHaveLength(1);
  await reader.close();
  await expect(reader.column(headers[0]!, ranges[0]!)).rejects.toThrow('reading it failed');
});
