/** Samples out again as a long or wide table, text or columnar; importing it gives the same samples. */

import { once } from 'node:events';
import { createWriteStream } from 'node:fs';
import { rename, rm } from 'node:fs/promises';
import { parquetWriteBuffer } from 'hyparquet-writer';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { signalDef } from '../core/signals.ts';
import type { SampleTable } from '../signal/table.ts';
import { type RunMeta, replaceFile } from './meta.ts';

const LINES_AT_A_TIME = 10_000;

export const EXPORT_KINDS = ['csv', 'wide', 'parquet'] as const;
export type ExportKind = (typeof EXPORT_KINDS)[number];

/** Where a table came from; goes into the columnar file. */
export interface Provenance {
  readonly meta: RunMeta | null;
  /** Name of the file or folder that was exported, without its folders. */
  readonly from: string;
  readonly tool: string;
  /** Leave out what names the car. */
  readonly hideVin: boolean;
}

/**
 * Writes `out` whole or not at all (an existing file is replaced).
 * @throws HandbackError run.write; the signal's reason: nothing was written
 */
export async function exportTable(
  table: SampleTable,
  to: ExportKind,
  out: string,
  provenance: Provenance | null = null,
  signal?: AbortSignal,
): Promise<void> {
  signal?.throwIfAborted();
  if (to === 'parquet') await replaceFile(out, parquetOf(table, provenance));
  else await writeCsv(to === 'wide' ? wideParts(table) : csvParts(table), out, signal);
}

async function writeCsv(parts: Iterable<string>, out: string, signal?: AbortSignal): Promise<void> {
  const temporary = `${out}.tmp`;
  try {
    const file = createWriteStream(temporary, { flush: true });
    const failed = once(file, 'error').then(([e]) => Promise.reject(e));
    failed.catch(() => undefined);
    for (const part of parts) {
      if (signal?.aborted) {
        await once(file.destroy(), 'close');
        signal.throwIfAborted();
      }
      if (!file.write(part)) await Promise.race([once(file, 'drain'), failed]);
    }
    file.end();
    await Promise.race([once(file, 'close'), failed]);
    await rename(temporary, out);
  } catch (e) {
    await rm(temporary, { force: true }).catch(() => undefined);
    signal?.throwIfAborted();
    throw new HandbackError('run.write', saying('error.not-written', { path: out, why: toldOf(e) }), {
      cause: e,
    });
  }
}

/** The long table as text: times with six decimals, values with as many digits as they need to come back exactly. */
export function* csvParts(table: SampleTable): Generator<string> {
  let lines = 't_s,signal,value\n';
  for (let i = 0; i < table.length; i++) {
    const { tUs, signal, value } = table.at(i);
    lines += `${seconds(tUs)},${cell(signal)},${number(value)}\n`;
    if (i % LINES_AT_A_TIME === LINES_AT_A_TIME - 1) {
      yield lines;
      lines = '';
    }
  }
  yield lines;
}

/**
 * One row for each time, one column for each signal; a cell without a sample is empty. Two samples of one signal at
 * one time need two rows.
 */
function* wideParts(table: SampleTable): Generator<string> {
  const column = new Map(table.names.map((name, i) => [name, i]));
  let lines = `${['t_s', ...table.names.map(cell)].join(',')}\n`;
  let row: string[] = table.names.map(() => '');
  let atUs: number | null = null;
  let rows = 0;
  for (let i = 0; i <= table.length; i++) {
    const s = i < table.length ? table.at(i) : null;
    const k = s === null ? -1 : column.get(s.signal)!;
    if (atUs !== null && (s === null || s.tUs !== atUs || row[k] !== '')) {
      lines += `${seconds(atUs)},${row.join(',')}\n`;
      row = table.names.map(() => '');
      if (++rows % LINES_AT_A_TIME === 0) {
        yield lines;
        lines = '';
      }
    }
    if (s === null) break;
    atUs = s.tUs;
    row[k] = number(s.value);
  }
  yield lines;
}

function parquetOf(table: SampleTable, provenance: Provenance | null): Uint8Array {
  const t = new Float64Array(table.length);
  const value = new Float64Array(table.length);
  const signal: string[] = new Array(table.length);
  for (let i = 0; i < table.length; i++) {
    const s = table.at(i);
    t[i] = s.tUs / 1e6;
    value[i] = s.value;
    signal[i] = s.signal;
  }
  return new Uint8Array(
    parquetWriteBuffer({
      columnData: [
        { name: 't_s', data: t, type: 'DOUBLE', nullable: false },
        { name: 'signal', data: signal, type: 'STRING', nullable: false },
        { name: 'value', data: value, type: 'DOUBLE', nullable: false },
      ],
      kvMetadata: [
        { key: 'handback.table', value: '1' },
        ...table.names.flatMap((name) => [
          { key: `unit.${name}`, value: signalDef(name).unit },
          { key: `label.${name}`, value: signalDef(name).label },
        ]),
        ...(provenance === null ? [] : provenanceOf(provenance)),
      ],
      createdBy: 'handback',
    }),
  );
}

/** Times of the table count from `started_at`; `capture_sha256` is of the capture as it was closed. */
function provenanceOf({ meta, from, tool, hideVin }: Provenance): { key: string; value: string }[] {
  const known: Record<string, string | null | undefined> = {
    from,
    exported_by: tool,
    run: meta?.id,
    purpose: meta?.purpose,
    started_at: meta?.startedAt,
    recorded_by: meta?.tool,
    adapter: meta?.adapter?.identity,
    bus: meta?.adapter?.bus,
    capture_sha256: meta?.sha256,
    induction: meta?.profile?.induction,
    fuel: meta?.profile?.fuel,
    vehicle: hideVin ? null : meta?.vehicle,
    vin: hideVin ? null : meta?.vin,
  };
  return Object.entries(known).flatMap(([key, value]) =>
    value === null || value === undefined ? [] : [{ key: `handback.${key}`, value }],
  );
}

const number = (value: number): string => (Object.is(value, -0) ? '-0' : String(value));

/** Whole microseconds as seconds with six decimals, without going through a fraction. */
function seconds(tUs: number): string {
  return `${Math.floor(tUs / 1e6)}.${String(tUs % 1e6).padStart(6, '0')}`;
}

const cell = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
