/** Rows as Parquet and back. The same rows give the same bytes. */
import { readFile } from 'node:fs/promises';
import { parquetMetadata, parquetReadObjects } from 'hyparquet';
import { parquetWriteBuffer } from 'hyparquet-writer';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { type Row, type SampleColumns, TABLES, type TableName } from './tables.ts';

const PHYSICAL = { text: 'STRING', int: 'INT32', real: 'DOUBLE' } as const;
/** More than any file holds. */
const ROW_GROUP = 1 << 20;

export function tableBytes<T extends TableName>(table: T, rows: readonly Row<T>[]): Uint8Array {
  const columns = Object.entries<keyof typeof PHYSICAL>(TABLES[table]);
  return written(
    columns.map(([name, type]) => ({
      name,
      type: PHYSICAL[type],
      data: rows.map((r) => (r as Record<string, unknown>)[name] ?? null),
    })),
    table,
  );
}

export function sampleBytes(run: string, car: string, samples: SampleColumns): Uint8Array {
  const n = samples.tMs.length;
  return written(
    [
      { name: 'run', type: 'STRING', data: new Array(n).fill(run), nullable: false },
      { name: 'car', type: 'STRING', data: new Array(n).fill(car), nullable: false },
      { name: 'signal', type: 'STRING', data: samples.signal as string[], nullable: false },
      {
        name: 't_ms',
        type: 'INT32',
        data: samples.tMs,
        nullable: false,
        encoding: 'DELTA_BINARY_PACKED',
      },
      { name: 'value', type: 'DOUBLE', data: samples.value, nullable: false },
    ],
    'samples',
  );
}

function written(
  columnData: Parameters<typeof parquetWriteBuffer>[0]['columnData'],
  table: string,
): Uint8Array {
  return new Uint8Array(
    parquetWriteBuffer({
      columnData,
      rowGroupSize: ROW_GROUP,
      kvMetadata: [{ key: 'handback.table', value: `${table}/1` }],
      createdBy: 'handback',
    }),
  );
}

/**
 * Columns that the file lacks are null.
 * @param whole refuse a file with columns that are not known here: written again it would lack them
 * @throws HandbackError input.format, input.version
 */
export async function readRows<T extends TableName>(
  path: string,
  table: T,
  whole = false,
): Promise<Row<T>[]> {
  const names = Object.keys(TABLES[table]);
  const { there, objects } = await read(path, names);
  const foreign = there.find((n) => !names.includes(n));
  if (whole && foreign !== undefined)
    throw new HandbackError('input.version', saying('error.pool-later', { path, column: foreign }), {
      hint: saying('error.update-hint'),
    });
  return objects.map((o) => Object.fromEntries(names.map((n) => [n, o[n] ?? null])) as unknown as Row<T>);
}

/** How often each text stands in a column. @throws HandbackError input.format */
export async function textsOf(path: string, column: string): Promise<Map<unknown, number>> {
  const counts = new Map<unknown, number>();
  for (const o of (await read(path, [column])).objects)
    counts.set(o[column], (counts.get(o[column]) ?? 0) + 1);
  return counts;
}

async function read(
  path: string,
  wanted: readonly string[],
): Promise<{ readonly there: readonly string[]; readonly objects: Record<string, unknown>[] }> {
  const bytes = await readFile(path);
  try {
    const file = new Uint8Array(bytes).buffer;
    const metadata = parquetMetadata(file);
    const there = metadata.schema.slice(1).map((s) => s.name);
    const columns = wanted.filter((n) => there.includes(n));
    return { there, objects: await parquetReadObjects({ file, metadata, columns }) };
  } catch (thrown) {
    throw new HandbackError('input.format', saying('error.no-columnar', { path, why: toldOf(thrown) }), {
      cause: thrown,
    });
  }
}
