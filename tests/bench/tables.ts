/**
 * `npx tsx tests/bench/tables.ts [TIMES]`: tables taken in, and the same files read into a table by DuckDB, in turn in one
 * run (also part of `npm run bench`). DuckDB reads columns as they stand; ours finds out units, times and kinds of
 * absence as well. Processor seconds of this process, helper threads included. Both have to have the same values.
 */
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { DuckDBInstance } from '@duckdb/node-api';
import { exportTable } from '../../src/run/export.ts';
import { openRecording } from '../../src/run/recording.ts';
import { SampleTable } from '../../src/signal/table.ts';
import { driveSamples } from '../analysis/vehicle.ts';

const ROUNDS = 3;
const KINDS = ['csv', 'wide', 'parquet'] as const;
const NOTHING = { meta: null, from: 'bench', tool: 'bench', hideVin: false };

interface Took {
  readonly cpuS: number;
  readonly values: number;
}

async function took(read: () => Promise<number>): Promise<Took> {
  const from = process.cpuUsage();
  const values = await read();
  const { user, system } = process.cpuUsage(from);
  return { cpuS: (user + system) / 1e6, values };
}

async function byDuckDb(path: string, kind: (typeof KINDS)[number]): Promise<number> {
  const instance = await DuckDBInstance.create(':memory:', { threads: '1' });
  const connection = await instance.connect();
  const source = kind === 'parquet' ? `read_parquet('${path}')` : `read_csv('${path}')`;
  await connection.run(`create table t as select * from ${source}`);
  const counted =
    kind === 'wide'
      ? 'select sum(n)::double from (unpivot (select count(columns(* exclude t_s)) from t) on columns(*) into name name value n)'
      : 'select count(*)::double from t';
  const reader = await connection.runAndReadAll(counted);
  connection.closeSync();
  instance.closeSync();
  return Number(reader.getRows()[0]![0]);
}

/** @param times how often the road test is driven, 5 values a second of each signal */
export async function tables(times: number): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'handback-tables-'));
  try {
    const table = new SampleTable();
    const drive = [...driveSamples({ hz: 5 })];
    const lapUs = drive.at(-1)!.tUs + 1e6;
    for (let k = 0; k < times; k++)
      for (const s of drive) table.push({ ...s, tUs: s.tUs + k * lapUs, sentUs: s.sentUs + k * lapUs });
    console.log(`\nTables of ${table.length} values taken in, processor seconds: ours and DuckDB's.`);
    for (const kind of KINDS) {
      const path = join(folder, `drive.${kind === 'parquet' ? kind : `${kind}.csv`}`);
      await exportTable(table, kind, path, NOTHING);
      const rounds: (readonly [Took, Took])[] = [];
      for (let i = 0; i <= ROUNDS; i++) {
        const ours = await took(async () => (await openRecording(path)).table.length);
        const theirs = await took(() => byDuckDb(path, kind));
        if (ours.values !== table.length || theirs.values !== table.length)
          throw new Error(
            `${kind}: ${table.length} values written, ${ours.values} and ${theirs.values} read`,
          );
        if (i > 0) rounds.push([ours, theirs]); // the first warms both up
      }
      const listed = (of: (pair: readonly [Took, Took]) => number): string =>
        rounds.map((pair) => of(pair).toFixed(2)).join(', ');
      console.log(
        `${kind.padEnd(8)} ${(statSync(path).size / 1e6).toFixed(1)} MB: ours ${listed(([a]) => a.cpuS)} s, DuckDB ${listed(([, b]) => b.cpuS)} s; ours over DuckDB's ${listed(([a, b]) => a.cpuS / b.cpuS)}`,
      );
    }
    console.log(`(load ${loadavg()[0]!.toFixed(1)})`);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

if (import.meta.url === pathToFileURL(process.argv[1]!).href) await tables(Number(process.argv[2] ?? 4));
