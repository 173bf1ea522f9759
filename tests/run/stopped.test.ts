/** Writing that is given up: nothing of it is left. */
import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { exportTable } from '../../src/run/export.ts';
import { put, scratch, tableOf } from './files.ts';

const folder = scratch();
const table = tableOf(
  Array.from({ length: 200_000 }, (_, i) => ({ signal: 'rpm', tUs: i * 1e5, value: 800 + i })),
);

it.each(['csv', 'wide', 'parquet'] as const)(
  'of a table as %s leaves what was there, and nothing else',
  async (to) => {
    const out = put(folder, `table.${to}`, 'before');
    const stop = new AbortController();
    const writing = exportTable(table, to, out, null, stop.signal);
    stop.abort(new Error('stopped'));
    const ended = await writing.then(
      () => 'written',
      (e: Error) => e.message,
    );
    expect(readdirSync(folder).filter((name) => name.endsWith('.tmp'))).toEqual([]);
    // one block, which is written whole, cannot be given up any more
    expect(ended).toBe(to === 'parquet' ? 'written' : 'stopped');
    expect(existsSync(join(folder, `table.${to}`))).toBe(true);
  },
);
