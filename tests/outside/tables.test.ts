/** Exported tables read by programs that nobody here wrote: pandas, DuckDB, hyparquet. */
import { execFileSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { asyncBufferFromFile, parquetReadObjects } from 'hyparquet';
import { beforeAll, describe, expect, it } from 'vitest';
import { exportTable } from '../../src/run/export.ts';
import { SampleTable } from '../../src/signal/table.ts';
import { driveSamples } from '../analysis/vehicle.ts';
import { needs } from '../require.ts';
import { scratch } from '../run/files.ts';

const folder = scratch();
const table = new SampleTable();
const long = join(folder, 'drive.csv');
const wide = join(folder, 'wide.csv');
const parquet = join(folder, 'drive.parquet');
/** By signal: how many, their sum, first and last time. */
let truth: Record<string, { n: number; sum: number; fromS: number; toS: number }>;

beforeAll(async () => {
  for (const s of driveSamples({ route: 'short', hz: 2 })) table.push(s);
  await exportTable(table, 'csv', long);
  await exportTable(table, 'wide', wide);
  await exportTable(table, 'parquet', parquet, {
    meta: null,
    from: 'drive',
    tool: 'handback test',
    hideVin: false,
  });
  truth = {};
  for (const { signal, tUs, value } of table) {
    truth[signal] ??= { n: 0, sum: 0, fromS: tUs / 1e6, toS: 0 };
    const t = truth[signal];
    t.n++;
    t.sum += value;
    t.toS = tUs / 1e6;
  }
});

const same = (found: typeof truth): void => {
  expect(Object.keys(found).sort()).toEqual(Object.keys(truth).sort());
  for (const [signal, t] of Object.entries(truth)) {
    const f = found[signal]!;
    expect(f.n).toBe(t.n);
    expect(f.sum).toBeCloseTo(t.sum, 6);
    expect(f.fromS).toBeCloseTo(t.fromS, 6);
    expect(f.toS).toBeCloseTo(t.toS, 6);
  }
};

describe('DuckDB', () => {
  const ask = async (sql: string): Promise<Record<string, unknown>[]> => {
    const connection = await (await DuckDBInstance.create(':memory:')).connect();
    const reader = await connection.runAndReadAll(sql);
    return reader.getRowObjectsJson() as Record<string, unknown>[];
  };
  const summed = (from: string): string =>
    `select signal, count(*)::int n, sum(value) sum, min(t_s) "fromS", max(t_s) "toS" from ${from} group by signal`;
  const asTruth = (rows: Record<string, unknown>[]): typeof truth =>
    Object.fromEntries(
      rows.map((r) => [
        String(r.signal),
        { n: Number(r.n), sum: Number(r.sum), fromS: Number(r.fromS), toS: Number(r.toS) },
      ]),
    );

  it('reads the columnar file, its units and where it came from', async () => {
    same(asTruth(await ask(summed(`read_parquet('${parquet}')`))));
    const metadata = await ask(
      `select decode(key) k, decode(value) v from parquet_kv_metadata('${parquet}')`,
    );
    expect(metadata).toContainEqual({ k: 'unit.map_kpa', v: 'kPa' });
    expect(metadata).toContainEqual({ k: 'handback.exported_by', v: 'handback test' });
  });

  it('reads the long and the wide text', async () => {
    same(asTruth(await ask(summed(`read_csv('${long}')`))));
    const columns = table.names.map((n) => `count("${n}")::int "${n}"`).join(', ');
    const [row] = await ask(`select ${columns} from read_csv('${wide}')`);
    for (const [signal, { n }] of Object.entries(truth)) expect(row![signal]).toBe(n);
  });
});

it('hyparquet reads the columnar file', async () => {
  const rows = await parquetReadObjects({ file: await asyncBufferFromFile(parquet) });
  const found: typeof truth = {};
  for (const { t_s, signal, value } of rows as { t_s: number; signal: string; value: number }[]) {
    found[signal] ??= { n: 0, sum: 0, fromS: t_s, toS: 0 };
    const f = found[signal];
    f.n++;
    f.sum += value;
    f.toS = t_s;
  }
  same(found);
});

/** Debian's own Python: another one on the path need not see Debian's packages. */
const PYTHON = '/usr/bin/python3';
const hasPandas = (() => {
  try {
    if (!existsSync(PYTHON)) return false;
    execFileSync(PYTHON, ['-c', 'import pandas'], { stdio: 'ignore' });
    return true;
  } catch {
    return false;
  }
})();

needs(hasPandas, 'pandas (Debian python3-pandas)')(
  'pandas reads the long and the wide text without being told how',
  () => {
    const script = `
import json, pandas
long = pandas.read_csv(${JSON.stringify(long)})
wide = pandas.read_csv(${JSON.stringify(wide)}).set_index('t_s')
def summed(t, v):
    return {'n': int(v.count()), 'sum': float(v.sum()), 'fromS': float(t.min()), 'toS': float(t.max())}
print(json.dumps([
    {s: summed(g['t_s'], g['value']) for s, g in long.groupby('signal')},
    {s: summed(wide[s].dropna().index, wide[s]) for s in wide.columns},
]))`;
    const answer = execFileSync(PYTHON, ['-c', script], { encoding: 'utf8' });
    for (const found of JSON.parse(answer) as (typeof truth)[]) same(found);
  },
);
