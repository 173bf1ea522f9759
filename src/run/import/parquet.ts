/** Columnar tables (.parquet): read one row group at a time into the same builder as text. */
import { gunzipSync } from 'node:zlib';
import { asyncBufferFromFile, parquetMetadataAsync, parquetReadObjects } from 'hyparquet';
import { HandbackError, reasonOf } from '../../core/errors.ts';
import { type ImportOptions, TableBuilder } from './builder.ts';
import type { Cell } from './cells.ts';

const ROWS_AT_A_TIME = 50_000;
const MAX_ROWS = 50_000_000;
const MAX_PAGE = 1 << 28;

/** @throws HandbackError input.format or input.usage */
export async function importParquet(path: string, options: ImportOptions) {
  try {
    return await read(path, options);
  } catch (e) {
    if (e instanceof HandbackError) throw e;
    throw new HandbackError('input.format', `${path} is no readable columnar table: ${reasonOf(e)}.`, {
      cause: e,
    });
  }
}

async function read(path: string, options: ImportOptions) {
  const file = await asyncBufferFromFile(path);
  const metadata = await parquetMetadataAsync(file, { geoparquet: false });
  const total = Number(metadata.num_rows);
  if (!(total >= 0 && total <= MAX_ROWS)) throw new Error(`it claims ${total} rows`);
  // Only flat columns: the top level of the schema.
  const root = metadata.schema[0]?.num_children ?? 0;
  const headers = metadata.schema.filter((s, i) => i > 0 && !s.num_children).map((s) => s.name);
  if (headers.length !== root) throw new Error('it has nested columns');
  const builder = new TableBuilder(path, options, false);
  if (!builder.takeHeaders(headers, 1)) throw builder.headerError(headers, 1);
  const missing = builder.missingOverrides();
  if (missing.length > 0) throw builder.headerError(headers, 1);
  for (let from = 0; from < total && !builder.full; from += ROWS_AT_A_TIME) {
    const rows = await parquetReadObjects({
      file,
      metadata,
      rowStart: from,
      rowEnd: Math.min(total, from + ROWS_AT_A_TIME),
      compressors: {
        GZIP: (input, length) => gunzipSync(input, { maxOutputLength: Math.min(length + 1, MAX_PAGE) }),
      },
      parsers: {
        timestampFromMilliseconds: (ms) => ({ epochUs: Number(ms) * 1000 }),
        timestampFromMicroseconds: (us) => ({ epochUs: Number(us) }),
        timestampFromNanoseconds: (ns) => ({ epochUs: Math.round(Number(ns) / 1000) }),
      },
    });
    for (const [i, row] of rows.entries())
      builder.row(
        headers.map((h) => asCell(row[h])),
        from + i + 1,
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
