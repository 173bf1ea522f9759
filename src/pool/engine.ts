/** DuckDB over the files of a pool, for reading alone. An optional dependency: nothing else needs it. */
import { createRequire } from 'node:module';
import { sep } from 'node:path';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Pool } from './pool.ts';
import type { Answer } from './questions.ts';
import { SAMPLE_COLUMNS, TABLE_NAMES, TABLES } from './tables.ts';
import { viewsOf } from './views.ts';

type Api = typeof import('@duckdb/node-api');
const TYPES = { text: 'VARCHAR', int: 'INTEGER', real: 'DOUBLE' } as const;
const MEMORY = '1GB';

/**
 * One SELECT over the views, with nothing in reach but the files of the pool.
 * @param parameters for $name in the SQL
 * @throws HandbackError input.usage: no engine, more than one SELECT, SQL that cannot be run
 */
export async function ask(
  pool: Pool,
  sql: string,
  parameters: Readonly<Record<string, string>> = {},
): Promise<Answer> {
  const folder = inSql(pool.folder);
  if (folder === null)
    throw new HandbackError('input.usage', saying('error.pool-path', { path: pool.folder }));
  const api = duckdb();
  const instance = await api.DuckDBInstance.create(':memory:', {
    threads: '2',
    memory_limit: MEMORY,
    autoinstall_known_extensions: 'false',
    autoload_known_extensions: 'false',
  });
  const connection = await instance.connect();
  try {
    for (const statement of await definitions(pool, folder, sql)) await connection.run(statement);
    // from here on: these files, no other ones, no writing, no way back
    await connection.run(`SET allowed_directories = ['${folder}/']`);
    await connection.run('SET enable_external_access = false');
    await connection.run('SET lock_configuration = true');
    return await answered(api, connection, sql, parameters);
  } catch (thrown) {
    if (thrown instanceof HandbackError) throw thrown;
    throw new HandbackError('input.usage', saying('error.pool-sql', { why: toldOf(thrown) }), {
      hint: saying('error.pool-sql-hint'),
      cause: thrown,
    });
  } finally {
    connection.closeSync();
    instance.closeSync();
  }
}

async function answered(
  api: Api,
  connection: Awaited<ReturnType<InstanceType<Api['DuckDBInstance']>['connect']>>,
  sql: string,
  parameters: Readonly<Record<string, string>>,
): Promise<Answer> {
  const statements = await connection.extractStatements(sql);
  if (statements.count !== 1) throw new HandbackError('input.usage', saying('error.pool-select'));
  const prepared = await statements.prepare(0);
  if (prepared.statementType !== api.StatementType.SELECT)
    throw new HandbackError('input.usage', saying('error.pool-select'));
  const used = Object.entries(parameters).filter(([name]) => sql.includes(`$${name}`));
  prepared.bind(Object.fromEntries(used));
  const reader = await prepared.runAndReadAll();
  return { columns: reader.columnNames(), rows: reader.getRowsJS().map((row) => row.map(plain)) };
}

/** A path as it may stand in SQL, with `/` as Windows takes it too; null for one that would be read otherwise. */
export function inSql(path: string, separator: string = sep): string | null {
  const forward = separator === '\\' ? path.replaceAll('\\', '/') : path;
  return /[*?[\]'"\\]/.test(forward) ? null : forward;
}

function plain(value: unknown): number | string | null {
  if (value === null || value === undefined) return null;
  if (typeof value === 'number' || typeof value === 'string') return value;
  if (typeof value === 'bigint') return Number(value);
  if (typeof value === 'boolean') return value ? 1 : 0;
  return JSON.stringify(value, (_, v) => (typeof v === 'bigint' ? Number(v) : v));
}

/**
 * The views that the question names, and `cases` and `runs`, which every one is built on: these are read once and kept as
 * tables, for each time that a view is used its files are opened anew.
 */
async function definitions(pool: Pool, folder: string, sql: string): Promise<string[]> {
  const named = sql.toLowerCase();
  const kept = (name: string): boolean => name === 'cases' || name === 'runs';
  const asked = (name: string): boolean => kept(name) || named.includes(name);
  const create = (name: string): string => (kept(name) ? 'CREATE TABLE' : 'CREATE VIEW');
  const out: string[] = [];
  for (const name of [...TABLE_NAMES, 'samples' as const].filter(asked)) {
    const columns = Object.entries<keyof typeof TYPES>(name === 'samples' ? SAMPLE_COLUMNS : TABLES[name]);
    // what an older version wrote lacks columns, and a new pool has no files
    const none = columns.map(([c, type]) => `CAST(NULL AS ${TYPES[type]}) AS ${c}`);
    // samples have had the same columns always, and are too many to open each for its columns
    const union = name === 'samples' ? 'false' : 'true';
    const files = await pool.filesOf(name);
    const stored =
      files.length === 0
        ? ''
        : ` UNION ALL BY NAME SELECT * FROM read_parquet('${folder}/${name}/*/*.parquet', union_by_name = ${union}, hive_partitioning = true)`;
    out.push(`${create(name)} stored_${name} AS SELECT ${none.join(', ')} WHERE false${stored}`);
  }
  for (const [name, select] of viewsOf().filter(([name]) => asked(name)))
    out.push(`${create(name)} ${name} AS ${select}`);
  return out;
}

/** Whether the package that asks is installed. */
export function hasEngine(): boolean {
  try {
    createRequire(import.meta.url).resolve('@duckdb/node-api');
    return true;
  } catch {
    return false;
  }
}

function duckdb(): Api {
  try {
    return createRequire(import.meta.url)('@duckdb/node-api') as Api;
  } catch (thrown) {
    throw new HandbackError('input.usage', saying('error.pool-engine'), {
      hint: saying('error.pool-engine-hint'),
      cause: thrown,
    });
  }
}
