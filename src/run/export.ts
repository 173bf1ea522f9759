/** Samples out again as a long table, text or columnar; importing it gives the same samples. */
import { once } from 'node:events';
import { createWriteStream } from 'node:fs';
import { rename, rm } from 'node:fs/promises';
import { parquetWriteBuffer } from 'hyparquet-writer';
import { HandbackError, reasonOf } from '../core/errors.ts';
import { signalDef } from '../core/signals.ts';
import type { SampleTable } from '../signal/table.ts';
import { replaceFile } from './meta.ts';

const LINES_AT_A_TIME = 10_000;

/** Writes `out` whole or not at all (an existing file is replaced). @throws HandbackError run.write */
export async function exportTable(table: SampleTable, to: 'csv' | 'parquet', out: string): Promise<void> {
  if (to === 'parquet') await replaceFile(out, parquetOf(table));
  else await writeCsv(table, out);
}

async function writeCsv(table: SampleTable, out: string): Promise<void> {
  const temporary = `${out}.tmp`;
  try {
    const file = createWriteStream(temporary, { flush: true });
    const failed = once(file, 'error').then(([e]) => Promise.reject(e));
    failed.catch(() => undefined);
    for (const part of csvParts(table))
      if (!file.write(part)) await Promise.race([once(file, 'drain'), failed]);
    file.end();
    await Promise.race([once(file, 'close'), failed]);
    await rename(temporary, out);
  } catch (e) {
    await rm(temporary, { force: true }).catch(() => undefined);
    throw new HandbackError('run.write', `${out} cannot be written: ${reasonOf(e)}.`, { cause: e });
  }
}

/** The long table as text: times with six decimals, values with as many digits as they need to come back exactly. */
export function* csvParts(table: SampleTable): Generator<string> {
  let lines = 't_s,signal,value\n';
  for (let i = 0; i < table.length; i++) {
    const { tUs, signal, value } = table.at(i);
    lines += `${seconds(tUs)},${cell(signal)},${Object.is(value, -0) ? '-0' : value}\n`;
    if (i % LINES_AT_A_TIME === LINES_AT_A_TIME - 1) {
      yield lines;
      lines = '';
    }
  }
  yield lines;
}

function parquetOf(table: SampleTable): Uint8Array {
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
        ...table.names.map((name) => ({ key: `unit.${name}`, value: signalDef(name).unit })),
      ],
      createdBy: 'handback',
    }),
  );
}

/** Whole microseconds as seconds with six decimals, without going through a fraction. */
function seconds(tUs: number): string {
  return `${Math.floor(tUs / 1e6)}.${String(tUs % 1e6).padStart(6, '0')}`;
}

const cell = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
