/** A pool's files: taken in once, interrupted at every step, by several at once, tidied, and a car taken out. */
import { cpSync, existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ask, inSql } from '../../src/pool/engine.ts';
import { readRows } from '../../src/pool/parquet.ts';
import { type Disk, Pool } from '../../src/pool/pool.ts';
import { QUESTIONS } from '../../src/pool/questions.ts';
import { Secret, secretIn } from '../../src/pool/secret.ts';
import { CHILD_NAMES } from '../../src/pool/tables.ts';
import { replaceFile } from '../../src/run/meta.ts';
import { scratch } from '../run/files.ts';
import { type Synthetic, syntheticCase } from './synthetic.ts';

const folder = scratch();
const secret = new Secret(Buffer.alloc(32, 7));
let made = 0;
const fresh = (): string => join(folder, `pool-${made++}`);
const cases = (n: number, from = 0): Synthetic[] =>
  Array.from({ length: n }, (_, i) => syntheticCase(secret, from + i));

/** Each part's cases in one call, as the command does it. */
async function takeIn(pool: Pool, all: readonly Synthetic[]): Promise<void> {
  for (const part of new Set(all.map((c) => c.part)))
    await pool.add(
      part,
      all.filter((c) => c.part === part).map((c) => c.case),
      secret,
    );
}

/** Every file with its content. */
function filesIn(root: string): Record<string, string> {
  const names = (readdirSync(root, { recursive: true }) as string[]).filter((n) =>
    statSync(join(root, n)).isFile(),
  );
  return Object.fromEntries(names.sort().map((n) => [n, readFileSync(join(root, n)).toString('base64')]));
}

/** To nine digits: sums over rows in another order end otherwise. */
async function answers(pool: Pool): Promise<unknown[]> {
  const out: unknown[] = [];
  const digits = (v: unknown) => (typeof v === 'number' ? Number(v.toPrecision(9)) : v);
  for (const { sql } of QUESTIONS) {
    const { rows } = await ask(pool, sql, { kind: '', car: syntheticCase(secret, 0).case.row.car! });
    out.push(rows.map((row) => row.map(digits)));
  }
  return out;
}

/** What counts of a pool, without an engine: rows a table whose case is written and is the last of it. */
async function counted(pool: Pool): Promise<{ wanted: number; found: number; cases: number }> {
  const latest = new Map<string, { edition: string; rows: number }>();
  for (const path of await pool.filesOf('cases'))
    for (const row of await readRows(path, 'cases'))
      if (row.edition! > (latest.get(row.case_id!)?.edition ?? ''))
        latest.set(row.case_id!, { edition: row.edition!, rows: row.row_count! });
  const editions = new Set([...latest.values()].map((c) => c.edition));
  let found = 0;
  for (const table of CHILD_NAMES)
    for (const path of await pool.filesOf(table))
      found += (await readRows(path, table)).filter((row) => editions.has(row.edition!)).length;
  return { wanted: [...latest.values()].reduce((n, c) => n + c.rows, 0), found, cases: latest.size };
}

/** Fails for good at the n-th writing or removing, as a killed program does. */
function failingAt(n: number): Disk & { done: number } {
  const disk = {
    done: 0,
    step() {
      if (disk.done === n) throw new Error('killed');
      disk.done++;
    },
    async write(path: string, content: string | Uint8Array) {
      disk.step();
      await replaceFile(path, content);
    },
    async remove(path: string) {
      disk.step();
      await rm(path);
    },
  };
  return disk;
}

/** Runs with a kill at each step in turn until one run comes through. */
async function killedAtEachStep(
  run: (disk: Disk) => Promise<void>,
  after: () => Promise<void>,
): Promise<number> {
  for (let n = 0; ; n++) {
    try {
      await run(failingAt(n));
      return n;
    } catch (thrown) {
      if (!(thrown instanceof Error && thrown.message === 'killed')) throw thrown;
    }
    await after();
  }
}

describe('taking in', () => {
  it('the same twice changes nothing, and in whatever order leaves the same bytes', async () => {
    const [a, b] = [fresh(), fresh()];
    await takeIn(await Pool.begin(a, secret), cases(6));
    const first = filesIn(a);
    await takeIn(await Pool.begin(a, secret), cases(6));
    expect(filesIn(a)).toEqual(first);
    await takeIn(await Pool.begin(b, secret), cases(6).reverse());
    expect(filesIn(b)).toEqual(first);
  });

  it('a job that was changed counts as it is now, an older copy of it changes nothing', async () => {
    const pool = await Pool.begin(fresh(), secret);
    await takeIn(pool, cases(3));
    await takeIn(pool, [syntheticCase(secret, 1, 60, 2, 1)]);
    const now = await answers(pool);
    const rows = await ask(pool, 'SELECT odometer_thousand_km FROM cases ORDER BY odometer_thousand_km');
    expect(rows.rows).toEqual([[100], [100], [101]]);
    await takeIn(pool, cases(3));
    expect(await answers(pool)).toEqual(now);
    expect((await ask(pool, 'SELECT COUNT(*) FROM runs')).rows).toEqual([[4]]);
    expect(await counted(pool)).toMatchObject({ cases: 3 });
  });

  it('killed at any step leaves no half case; taken up again it leaves what one run leaves', async () => {
    const whole = fresh();
    const wanted = cases(2).map((c) => ({ ...c, part: 'p00' }));
    await takeIn(await Pool.begin(whole, secret), wanted);
    const killed = fresh();
    const steps = await killedAtEachStep(
      async (disk) => takeIn(await Pool.begin(killed, secret, disk), wanted),
      async () => {
        const { wanted: rows, found } = await counted(await Pool.open(killed));
        expect(found).toBe(rows);
      },
    );
    expect(steps).toBeGreaterThan(0);
    expect(filesIn(killed)).toEqual(filesIn(whole));
  });

  it('by several at once into one folder, of the same jobs and of others, counts each once', async () => {
    const path = fresh();
    const all = cases(12);
    const groups = [all, all.slice(0, 7), all.slice(4), [...all].reverse()];
    await Promise.all(groups.map(async (g) => takeIn(await Pool.begin(path, secret), g)));
    const pool = await Pool.open(path);
    const alone = await Pool.begin(fresh(), secret);
    await takeIn(alone, all);
    expect(await answers(pool)).toEqual(await answers(alone));
    const { found, wanted, cases: n } = await counted(pool);
    expect([n, found]).toEqual([12, wanted]);
  });

  it('under another secret is refused, and into a folder of other things', async () => {
    const path = fresh();
    await Pool.begin(path, secret);
    await expect(Pool.begin(path, new Secret(Buffer.alloc(32, 8)))).rejects.toMatchObject({
      code: 'input.usage',
    });
    await expect(Pool.begin(folder, secret)).rejects.toMatchObject({ code: 'input.usage' });
    await expect(Pool.open(folder)).rejects.toMatchObject({ code: 'input.file' });
  });

  it('the secret is made once, for its user alone', async () => {
    const path = join(folder, 'deep', 'secret');
    const [a, b] = await Promise.all([secretIn(path), secretIn(path)]);
    expect(a.name('car', 'x')).toBe(b.name('car', 'x'));
    expect(statSync(path).mode & 0o077).toBe(0);
  });
});

describe('tidying', () => {
  it('joins files and changes no answer, killed at any step and begun again', async () => {
    const path = fresh();
    const pool = await Pool.begin(path, secret);
    for (const one of cases(4)) await takeIn(pool, [{ ...one, part: 'p00' }]);
    await takeIn(pool, [{ ...syntheticCase(secret, 3, 60, 2, 1), part: 'p00' }]);
    const before = await answers(pool);
    const many = Object.keys(filesIn(path)).length;
    const steps = await killedAtEachStep(
      async (disk) => {
        await (await Pool.open(path, disk)).tidy();
      },
      async () => {
        const { found, wanted } = await counted(pool);
        expect(found).toBe(wanted);
      },
    );
    expect(steps).toBeGreaterThan(10);
    expect(await answers(pool)).toEqual(before);
    expect(Object.keys(filesIn(path)).length).toBeLessThan(many / 2);
    await takeIn(
      pool,
      cases(4).map((c) => ({ ...c, part: 'p00' })),
    );
    expect(await answers(pool)).toEqual(before);
  });
});

describe('tidying that was killed once', () => {
  it('is finished by the next, whichever step it was', async () => {
    const whole = fresh();
    const pool = await Pool.begin(whole, secret);
    for (const one of cases(3)) await takeIn(pool, [{ ...one, part: 'p00' }]);
    for (let n = 0; ; n++) {
      const copy = fresh();
      cpSync(whole, copy, { recursive: true });
      const disk = failingAt(n);
      const end = await (await Pool.open(copy, disk)).tidy().catch((e) => e);
      const again = await Pool.open(copy);
      await again.tidy();
      const { wanted, found, cases: total } = await counted(again);
      expect({ n, found, total }).toEqual({ n, found: wanted, total: 3 });
      if (!(end instanceof Error)) break;
    }
  });
});

describe('a car taken out', () => {
  it('leaves no row in any file, the others theirs, and is not taken in again', async () => {
    const path = fresh();
    const pool = await Pool.begin(path, secret);
    await takeIn(pool, cases(10));
    const car = syntheticCase(secret, 4).case.row.car!;
    const others = await ask(pool, `SELECT * FROM cells WHERE car <> '${car}' ORDER BY run, rpm, demand_pct`);
    const gone = await pool.forget(car, secret);
    expect(gone).toMatchObject({ cases: 2, runs: 2, left: 0 });
    expect(gone.searched).toBeGreaterThan(10);
    const bare = (rows: readonly (readonly unknown[])[]) => rows.map((r) => r.slice(1, 9)); // without the edition
    const now = await ask(pool, 'SELECT * FROM cells ORDER BY run, rpm, demand_pct');
    expect(bare(now.rows)).toEqual(bare(others.rows));
    for (const [name, content] of Object.entries(filesIn(path)))
      expect(Buffer.from(content, 'base64').includes(car), name).toBe(false);
    await takeIn(pool, cases(10));
    expect((await ask(pool, 'SELECT COUNT(DISTINCT car) FROM cases')).rows).toEqual([[4]]);
  });

  it('killed at any step is taken out when it is asked for again', async () => {
    const whole = fresh();
    await takeIn(
      await Pool.begin(whole, secret),
      cases(4).map((c) => ({ ...c, part: syntheticCase(secret, 0).part })),
    );
    const car = syntheticCase(secret, 0).case.row.car!;
    for (let n = 0; ; n++) {
      const copy = fresh();
      cpSync(whole, copy, { recursive: true });
      const killed = await (await Pool.begin(copy, secret, failingAt(n))).forget(car, secret).catch((e) => e);
      const again =
        killed instanceof Error ? await (await Pool.begin(copy, secret)).forget(car, secret) : killed;
      expect(again.left).toBe(0);
      expect(existsSync(join(copy, 'lock'))).toBe(false);
      expect((await ask(await Pool.open(copy), 'SELECT COUNT(*) FROM cases')).rows).toEqual([[2]]);
      if (!(killed instanceof Error)) break;
    }
  });
});

describe('while cases are being taken in', () => {
  const inOnePart = () => cases(6).map((c) => ({ ...c, part: syntheticCase(secret, 0).part }));

  /** Does something else each time before the rows of `cases` are written, which come last. */
  const meanwhile = (act: () => Promise<unknown>): Disk => ({
    async write(path, content) {
      if (path.includes('/cases/')) await act();
      await replaceFile(path, content);
    },
    remove: (path) => rm(path),
  });

  it('tidying takes nothing from them', async () => {
    const path = fresh();
    const all = inOnePart();
    const pool = await Pool.begin(path, secret);
    for (const one of all.slice(0, 3)) await takeIn(pool, [one]);
    const busy = await Pool.begin(
      path,
      secret,
      meanwhile(() => pool.tidy()),
    );
    await takeIn(busy, all.slice(3));
    const { wanted, found, cases: n } = await counted(pool);
    expect({ wanted, n }).toEqual({ wanted: found, n: 6 });
    await pool.tidy();
    const tidied = fresh();
    await takeIn(await Pool.begin(tidied, secret), all);
    expect(await answers(pool)).toEqual(await answers(await Pool.open(tidied)));
  });

  it('a car that is taken out stays out', async () => {
    const path = fresh();
    const all = inOnePart();
    const car = all[4]!.case.row.car!;
    const pool = await Pool.begin(path, secret);
    await takeIn(pool, all.slice(0, 2));
    let asked = 0;
    const busy = await Pool.begin(
      path,
      secret,
      meanwhile(async () => {
        if (asked++ === 0) await pool.forget(car, secret);
      }),
    );
    await takeIn(busy, all.slice(2));
    for (const [name, content] of Object.entries(filesIn(path)))
      expect(Buffer.from(content, 'base64').includes(car), name).toBe(false);
    const { wanted, found, cases: n } = await counted(pool);
    expect({ wanted, n }).toEqual({ wanted: found, n: 4 });
  });
});

describe("SQL of one's own", () => {
  it('reads the pool and nothing else, and changes nothing', async () => {
    const path = fresh();
    const pool = await Pool.begin(path, secret);
    expect((await ask(pool, 'SELECT COUNT(*) AS n, MAX(car) AS c FROM cases')).rows).toEqual([[0, null]]);
    await takeIn(pool, cases(2));
    const before = filesIn(path);
    for (const sql of [
      `COPY (SELECT 1) TO '${path}/x.csv'`,
      'SELECT 1; SELECT 2',
      'CREATE TABLE t (x INTEGER)',
      "ATTACH '/etc/passwd' AS p",
      "SELECT * FROM read_text('/etc/passwd')",
      `SELECT * FROM read_parquet('${path}/../other/*.parquet')`,
      'SET enable_external_access = true',
      'INSTALL httpfs',
      'SELEC 1',
      '',
    ])
      await expect(ask(pool, sql), sql).rejects.toMatchObject({ code: 'input.usage' });
    expect(filesIn(path)).toEqual(before);
  });

  it('takes a path as each system writes it, and none that it would read otherwise', () => {
    expect(inSql('C:\\Users\\shop\\pool', '\\')).toBe('C:/Users/shop/pool');
    expect(inSql('/srv/pool', '/')).toBe('/srv/pool');
    for (const path of ["/srv/it's", '/srv/a*', '/srv/[a]', '/srv/a\\b']) expect(inSql(path, '/')).toBeNull();
  });

  it('has every column of today, whatever an older file lacks', async () => {
    const pool = await Pool.begin(fresh(), secret);
    const answer = await ask(pool, 'SELECT * FROM samples');
    expect(answer.columns).toEqual(expect.arrayContaining(['run', 'car', 'signal', 't_ms', 'value']));
  });
});
