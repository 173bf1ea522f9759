/** Columnar tables (.parquet): read by row groups into the same builder as text. */
import { saying } from '../../core/error-says.ts';
import { HandbackError, toldOf } from '../../core/errors.ts';
import { type ImportOptions, TableBuilder } from './builder.ts';
import type { Cell } from './cells.ts';
import { ParquetReader } from './parquet-worker.ts';

const READ_WITHIN_MS = 30_000;

/**
 * @param patienceMs how long the file may take for one column of one row group before it counts as damaged.
 * @throws HandbackError input.format or input.usage
 */
export async function importParquet(path: string, options: ImportOptions, patienceMs = READ_WITHIN_MS) {
  const reader = new ParquetReader(path, patienceMs);
  try {
    return await read(path, options, reader);
  } catch (e) {
    if (e instanceof HandbackError) throw e;
    throw new HandbackError('input.format', saying('error.no-columnar', { path, why: toldOf(e) }), {
      cause: e,
    });
  } finally {
    await reader.close();
  }
}

async function read(path: string, options: ImportOptions, reader: ParquetReader) {
  const { headers, ranges } = await reader.open();
  const builder = new TableBuilder(path, options, false);
  if (!builder.takeHeaders(headers, 1)) throw builder.headerError(headers, 1);
  builder.refuseMissingOverrides();
  for (const range of ranges) {
    const columns: (ArrayLike<unknown> | null)[] = headers.map(() => null);
    const rows = range.rowEnd - range.rowStart;
    for (const at of builder.neededColumns()) {
      const column = await reader.column(headers[at]!, range);
      if (column.length !== rows)
        throw new Error(`column "${headers[at]}" has ${column.length} of ${rows} rows`);
      columns[at] = column;
    }
    for (let i = 0; i < rows && !builder.full; i++)
      builder.row(
        columns.map((column) => asCell(column?.[i])),
        range.rowStart + i + 1,
      );
  }
  return builder.finish();
}

function asCell(value: unknown): Cell {
  if (typeof value === 'string' || typeof value === 'number') return value;
  if (typeof value === 'bigint') return Number(value);
  if (value instanceof Date) return { epochUs: value.getTime() * 1000 };
  if (typeof value === 'object' && value !== null && 'epochUs' in value)
    return { epochUs: Number(value.epochUs) };
  return value === null || value === undefined ? null : String(value);
}
