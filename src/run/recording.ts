/** One way to open anything that was recorded: a run folder, a bare capture, or a table from elsewhere. */
import { open, stat } from 'node:fs/promises';
import { HandbackError, reasonOf } from '../core/errors.ts';
import type { SampleTable } from '../signal/table.ts';
import type { ImportOptions } from './import/builder.ts';
import { importText } from './import/csv.ts';
import { importParquet } from './import/parquet.ts';
import type { Profile } from './profile.ts';
import { unpacked } from './unpack.ts';

/** Something a person noted at a time. */
export interface Mark {
  readonly tUs: number;
  readonly key: string;
  readonly text: string;
}

/** A span without data and why. */
export interface Gap {
  readonly fromUs: number;
  readonly toUs: number;
  readonly why: string;
}

export interface Recording {
  readonly kind: 'run' | 'capture' | 'table';
  readonly path: string;
  /** In order of time. */
  readonly table: SampleTable;
  readonly marks: readonly Mark[];
  readonly gaps: readonly Gap[];
  /** For people: what was odd about the file and what was done about it. */
  readonly warnings: readonly string[];
  readonly meta: null;
  readonly profile: Profile | null;
}

/**
 * Opens a run folder, a capture, or a table (.csv, .csv.gz, .parquet; told by content, not by name).
 * @throws HandbackError input.file, input.format, input.version, input.usage
 */
export async function openRecording(path: string, options: ImportOptions = {}): Promise<Recording> {
  let head: Uint8Array;
  try {
    const info = await stat(path);
    if (!info.isFile()) throw new HandbackError('input.file', `${path} is no file.`);
    head = await firstBytes(path, 4);
  } catch (e) {
    if (e instanceof HandbackError) throw e;
    const missing = (e as NodeJS.ErrnoException).code === 'ENOENT';
    throw new HandbackError(
      'input.file',
      missing ? `${path} does not exist.` : `${path} cannot be read: ${reasonOf(e)}.`,
      {
        cause: e,
      },
    );
  }
  const parquet = Buffer.from(head).toString('latin1') === 'PAR1';
  const { table, warnings } = parquet
    ? await importParquet(path, options)
    : await importText(path, unpacked(path), options);
  return { kind: 'table', path, table, marks: [], gaps: [], warnings, meta: null, profile: null };
}

async function firstBytes(path: string, n: number): Promise<Uint8Array> {
  const file = await open(path, 'r');
  try {
    const { buffer, bytesRead } = await file.read(Buffer.alloc(n), 0, n, 0);
    return buffer.subarray(0, bytesRead);
  } finally {
    await file.close();
  }
}
