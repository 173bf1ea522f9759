/**
 * Every question that stands ready, asked of two engines that share no code: DuckDB over the Parquet files, and SQLite
 * (Debian's, through Python) over the same files' rows as hyparquet reads them. The same SQL, the same rows.
 */
import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parquetReadObjects } from 'hyparquet';
import { beforeAll, describe, expect } from 'vitest';
import { ask } from '../../src/pool/engine.ts';
import { Pool } from '../../src/pool/pool.ts';
import { QUESTIONS } from '../../src/pool/questions.ts';
import { Secret } from '../../src/pool/secret.ts';
import { TABLE_NAMES } from '../../src/pool/tables.ts';
import { viewsOf } from '../../src/pool/views.ts';
import { needs, onPath } from '../require.ts';
import { scratch } from '../run/files.ts';
import { KINDS, syntheticCase } from './synthetic.ts';

const folder = scratch();
const secret = new Secret(Buffer.alloc(32, 3));
const twice = needs(onPath('python3'), 'python3 with its sqlite3');

let pool: Pool;
let tables: Record<string, Record<string, unknown>[]>;
beforeAll(async () => {
  pool = await Pool.begin(join(folder, 'pool'), secret);
  for (let i = 0; i < 24; i++) {
    await pool.add(`p0${i % 3}`, [syntheticCase(secret, i).case], secret);
  }
  // one that was changed: both engines must see it once
  const changed = syntheticCase(secret, 5, 60, 2, 1);
  await pool.add('p02', [changed.case], secret);
  tables = {};
  for (const name of [...TABLE_NAMES, 'samples'] as const) {
    const rows: Record<string, unknown>[] = [];
    for (const path of await pool.filesOf(name)) {
      const file = new Uint8Array(readFileSync(path)).buffer;
      rows.push(...(await parquetReadObjects({ file })));
    }
    tables[`stored_${name}`] = rows;
  }
});

const SCRIPT = `
import json, sqlite3, sys
given = json.load(open(sys.argv[1]))
db = sqlite3.connect(':memory:')
for name, rows in given['tables'].items():
    columns = list(rows[0]) if rows else given['columns'][name]
    db.execute('CREATE TABLE %s (%s)' % (name, ', '.join(columns)))
    db.executemany('INSERT INTO %s VALUES (%s)' % (name, ', '.join('?' for _ in columns)), [[r.get(c) for c in columns] for r in rows])
for name, select in given['views']:
    db.execute('CREATE VIEW %s AS %s' % (name, select))
out = []
for sql, parameters in given['questions']:
    out.append([list(r) for r in db.execute(sql, {k: v for k, v in parameters.items() if '$' + k in sql})])
print(json.dumps(out))
`;

function sqlite(
  questions: readonly (readonly [sql: string, parameters: Record<string, string>])[],
): unknown[][][] {
  const input = join(folder, 'given.json');
  // of a table without rows only its columns are known
  const columns = {
    stored_codes: ['edition'],
    stored_measurements: ['edition'],
    stored_comparisons: ['edition'],
  };
  writeFileSync(input, JSON.stringify({ tables, columns, views: viewsOf(), questions }));
  const out = execFileSync('python3', ['-c', SCRIPT, input], { encoding: 'utf8', maxBuffer: 1 << 28 });
  return JSON.parse(out) as unknown[][][];
}

const close = (rows: readonly (readonly unknown[])[]): unknown[][] =>
  rows.map((row) => row.map((v) => (typeof v === 'number' ? Number(v.toPrecision(9)) : v)));

describe('two engines', () => {
  twice('give the same rows to every question, over all kinds and over one', async () => {
    const car = syntheticCase(secret, 5).case.row.car!;
    const asked = QUESTIONS.flatMap(({ sql }) =>
      ['', KINDS[1]!].map((kind) => [sql, { kind, car }] as [string, Record<string, string>]),
    );
    const second = sqlite(asked);
    for (const [i, [sql, parameters]] of asked.entries()) {
      const { rows } = await ask(pool, sql, parameters);
      expect(rows.length).toBeGreaterThan(0);
      expect(close(rows), sql).toEqual(close(second[i]!));
    }
  });

  twice('count the same rows through every view', async () => {
    const counts = viewsOf().map(([name]) => `(SELECT COUNT(*) FROM ${name}) AS n_${name}`);
    const sql = `SELECT ${counts.join(', ')}`;
    expect((await ask(pool, sql)).rows).toEqual(sqlite([[sql, {}]])[0]);
    expect((await ask(pool, 'SELECT COUNT(*) FROM cases')).rows).toEqual([[24]]);
  });
});
