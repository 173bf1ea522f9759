/**
 * A pool: what many jobs showed, as a folder of Parquet files that any engine reads (docs/pool.md).
 *
 *     pool.json
 *     cases/part=p07/g00-<digest>.parquet     and so each table of tables.ts
 *     samples/part=p07/<run>.parquet
 *     forgotten/<name>
 *
 * A file's name follows from its content, files appear whole, and none is ever changed: so any number of programs may
 * add at once. A car lies in one part. Rows of a case carry its *edition*; the row of `cases` is written last, and of a
 * case only the greatest edition counts. What was interrupted counts for nothing and is written again under the same name;
 * its files stay for a day, for it may be on its way still.
 */

import { createHash, randomBytes } from 'node:crypto';
import { link, lstat, readdir, rm, utimes } from 'node:fs/promises';
import { basename, join, resolve } from 'node:path';
import { z } from 'zod';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { exists, readDocument } from '../run/document.ts';
import { lockPool } from '../run/lock.ts';
import { makeFolder, replaceFile } from '../run/meta.ts';
import { readRows, sampleBytes, tableBytes, textsOf } from './parquet.ts';
import type { Secret } from './secret.ts';
import { type Case, CHILD_NAMES, POOL_FORMAT, type Row, TABLE_NAMES, type TableName } from './tables.ts';

export const PARTS = 64;
const POOL_FILE = 'pool.json';
const SAMPLES = 'samples';
const FORGOTTEN = 'forgotten';
const ENDING = '.parquet';
/** What a killed program left of a file that it was writing may go after this time. */
const LEFTOVER_MS = 86_400_000;
/** Revisions of one day. */
export const A_DAY = 1000;

const poolSchema = z.looseObject({
  format: z.literal(POOL_FORMAT),
  /** Of the secret under which its cars are named. */
  secret: z.string().regex(/^[0-9a-f]{20}$/),
});

export interface Taken {
  readonly cases: number;
  readonly runs: number;
  readonly files: number;
  /** There already, as they are. */
  readonly unchanged: number;
  /** Of cars that were taken out of the pool. */
  readonly forgotten: number;
}

/** How files are written whole and removed; tests let it fail. */
export interface Disk {
  write(path: string, content: string | Uint8Array): Promise<void>;
  remove(path: string): Promise<void>;
}
const DISK: Disk = { write: replaceFile, remove: (path) => rm(path, { force: true }) };

export class Pool {
  readonly folder: string;
  readonly #disk: Disk;

  private constructor(folder: string, disk: Disk) {
    this.folder = folder;
    this.#disk = disk;
  }

  /** For asking. @throws HandbackError input.file, input.format, input.version */
  static async open(folder: string, disk = DISK): Promise<Pool> {
    const pool = new Pool(resolve(folder), disk);
    await pool.#document();
    return pool;
  }

  /**
   * For adding; begins the pool where there is none.
   * @throws HandbackError input.usage when its cars are named under another secret, and as `open`
   */
  static async begin(folder: string, secret: Secret, disk = DISK): Promise<Pool> {
    const pool = new Pool(resolve(folder), disk);
    const path = join(pool.folder, POOL_FILE);
    const mark = secret.name('pool', POOL_FORMAT);
    if (!(await exists(path))) {
      const others = await readdir(pool.folder).catch(() => []);
      if (others.some((n) => !n.startsWith('.') && !n.startsWith(POOL_FILE)))
        throw new HandbackError('input.usage', saying('error.pool-not-empty', { path: folder }));
      await makeFolder(pool.folder);
      const aside = `${path}.${randomBytes(4).toString('hex')}.begin`;
      await replaceFile(aside, `${JSON.stringify({ format: POOL_FORMAT, secret: mark })}\n`);
      // The first wins; another's is read below.
      await link(aside, path).catch((thrown: NodeJS.ErrnoException) => {
        if (thrown.code !== 'EEXIST')
          throw new HandbackError('run.write', saying('error.not-written', { path, why: toldOf(thrown) }));
      });
      await rm(aside, { force: true });
    }
    if ((await pool.#document()).secret !== mark)
      throw new HandbackError('input.usage', saying('error.pool-other-secret', { path: folder }), {
        hint: saying('error.pool-other-secret-hint'),
      });
    return pool;
  }

  #document(): Promise<z.output<typeof poolSchema>> {
    const absent = saying('error.no-pool', { path: this.folder });
    return readDocument(join(this.folder, POOL_FILE), POOL_FORMAT, poolSchema, absent);
  }

  /**
   * Takes cases of one part in, those that the pool lacks or has otherwise. Interrupted at any moment and called
   * again with the same cases it leaves the same files as if it had not been.
   */
  async add(part: string, cases: readonly Case[], secret: Secret): Promise<Taken> {
    const known = await this.#latest(part);
    const gone = await this.#forgotten();
    const fresh: { of: Case; taking: string; revision: number }[] = [];
    let forgotten = 0;
    for (const of of [...cases].sort((a, b) => (a.row.case_id! < b.row.case_id! ? -1 : 1))) {
      const taking = digest(JSON.stringify([{ ...of.row, source: null }, of.rows]));
      const before = known.get(of.row.case_id!);
      const revision = revisionAfter(before, of.revision);
      if (gone.has(secret.name('forgotten', of.row.car!))) forgotten++;
      else if (before?.taking !== taking && revision !== null) fresh.push({ of, taking, revision });
    }
    const unchanged = cases.length - fresh.length - forgotten;
    if (fresh.length === 0) return { cases: 0, runs: 0, files: 0, unchanged, forgotten };
    const put: string[] = [];
    for (const { of } of fresh) put.push(...(await this.#addSamples(part, of)));
    const batch = batchOf(
      0,
      fresh.map((f) => [f.taking, f.revision]),
    );
    const editions = fresh.map(({ of, taking, revision }) => ({
      of,
      taking,
      edition: editionOf(revision, taking, batch),
    }));
    for (const table of CHILD_NAMES) {
      const rows = editions.flatMap(({ of, edition }) => of.rows[table].map((row) => ({ edition, ...row })));
      if (rows.length > 0) put.push(await this.#put(table, part, batch, tableBytes(table, rows as never)));
    }
    const rows: Row<'cases'>[] = editions.map(({ of, taking, edition }) => ({
      ...of.row,
      edition,
      taking,
      row_count: CHILD_NAMES.reduce((n, table) => n + of.rows[table].length, 0),
    }));
    put.push(await this.#put('cases', part, batch, tableBytes('cases', rows)));
    // Who takes a car out says so first and looks for its rows then: either they were found, or it is seen here.
    const goneNow = await this.#forgotten();
    if (fresh.some(({ of }) => goneNow.has(secret.name('forgotten', of.row.car!)))) {
      for (const path of put.reverse()) await this.#disk.remove(path);
      return this.add(part, cases, secret);
    }
    const runs = fresh.reduce((n, { of }) => n + of.rows.runs.length, 0);
    return { cases: fresh.length, runs, files: put.length, unchanged, forgotten };
  }

  /** @returns paths of what was not there already */
  async #addSamples(part: string, of: Case): Promise<string[]> {
    const put: string[] = [];
    for (const { run, read } of of.samples) {
      const path = join(this.folder, SAMPLES, `part=${part}`, run + ENDING);
      if (await exists(path)) continue;
      await makeFolder(join(path, '..'));
      await this.#disk.write(path, sampleBytes(run, of.row.car!, await read()));
      put.push(path);
    }
    return put;
  }

  /** @returns its path; it may have been there already */
  async #put(table: TableName, part: string, batch: string, bytes: Uint8Array): Promise<string> {
    const name = `${batch.slice(0, 3)}-${digest(bytes)}${ENDING}`;
    const path = join(this.folder, table, `part=${part}`, name);
    if (await exists(path)) {
      // Of one that was interrupted: on its way again.
      await utimes(path, new Date(), new Date()).catch(() => undefined);
      return path;
    }
    await makeFolder(join(path, '..'));
    await this.#disk.write(path, bytes);
    return path;
  }

  /** Of each case of the part what it was made from. */
  async sources(part: string): Promise<ReadonlyMap<string, string | null>> {
    return new Map([...(await this.#latest(part)).values()].map((row) => [row.case_id!, row.source]));
  }

  /** Of each case of the part the row that counts. */
  async #latest(part: string): Promise<Map<string, Row<'cases'>>> {
    const rows = latestOf(await this.#editions(await this.filesOf('cases', part)));
    return new Map(rows.map((row) => [row.case_id!, row]));
  }

  /** The rows of `cases`, by edition. */
  async #editions(paths: readonly string[]): Promise<Map<string, Row<'cases'>>> {
    const out = new Map<string, Row<'cases'>>();
    for (const path of paths) for (const row of await readRows(path, 'cases')) out.set(row.edition!, row);
    return out;
  }

  /** Paths of a table's files, of one part or of all, in order. */
  async filesOf(table: TableName | typeof SAMPLES, part?: string): Promise<string[]> {
    const parts = part === undefined ? await this.#partsIn([table]) : [part];
    const out: string[] = [];
    for (const p of parts) {
      const folder = join(this.folder, table, `part=${p}`);
      const names = await readdir(folder).catch(() => []);
      out.push(
        ...names
          .filter((n) => n.endsWith(ENDING))
          .sort()
          .map((n) => join(folder, n)),
      );
    }
    return out;
  }

  /** The parts that have a folder in one of these tables, in order: in a small pool few of them have. */
  async #partsIn(tables: readonly (TableName | typeof SAMPLES)[]): Promise<string[]> {
    const lists = await Promise.all(tables.map((t) => readdir(join(this.folder, t)).catch(() => [])));
    const there = new Set(lists.flat());
    return partNames().filter((p) => there.has(`part=${p}`));
  }

  async #forgotten(): Promise<Set<string>> {
    return new Set(await readdir(join(this.folder, FORGOTTEN)).catch(() => []));
  }

  /**
   * Joins the files of each part into one a table and drops what no longer counts. Questions may be asked and cases
   * added meanwhile. @throws HandbackError run.busy while another does the same
   */
  async tidy(): Promise<{ readonly before: number; readonly after: number }> {
    return this.#alone(async () => {
      const before = (await this.#allFiles()).length;
      for (const part of await this.#partsIn([...TABLE_NAMES, SAMPLES])) {
        await this.#rewrite(part, null);
        await this.#sweep(part);
      }
      return { before, after: (await this.#allFiles()).length };
    });
  }

  /**
   * Takes a car out of the pool for good, and keeps it from being taken in again. Interrupted, it is to be called
   * again. @returns what was taken out, and how many rows of the car a search of all files finds afterwards: none
   */
  async forget(
    car: string,
    secret: Secret,
  ): Promise<{
    readonly cases: number;
    readonly runs: number;
    readonly searched: number;
    readonly left: number;
  }> {
    return this.#alone(async () => {
      const part = partOf(car);
      const mark = join(this.folder, FORGOTTEN, secret.name('forgotten', car));
      await makeFolder(join(this.folder, FORGOTTEN));
      await this.#disk.write(mark, '');
      const cases = [...(await this.#latest(part)).values()].filter((row) => row.car === car).length;
      let runs = 0;
      for (const path of await this.filesOf(SAMPLES, part))
        if ((await textsOf(path, 'car')).has(car)) {
          await this.#disk.remove(path);
          runs++;
        }
      await this.#rewrite(part, car);
      let left = 0;
      const all = await this.#allFiles();
      for (const path of all) left += (await textsOf(path, 'car')).get(car) ?? 0;
      return { cases, runs, searched: all.length, left };
    });
  }

  async #allFiles(): Promise<string[]> {
    const lists = await Promise.all([...TABLE_NAMES, SAMPLES as typeof SAMPLES].map((t) => this.filesOf(t)));
    return lists.flat();
  }

  /**
   * New files with the cases that stay, the row of `cases` last; then the old ones go, in the same order.
   * @param gone of which car none stays
   */
  async #rewrite(part: string, gone: string | null): Promise<void> {
    const old = new Map<TableName, string[]>();
    // `cases` is looked at last, as it is written: of what is seen of another table then either its case is seen, or it
    // is on its way.
    for (const table of CHILD_NAMES) old.set(table, await this.filesOf(table, part));
    old.set('cases', await this.filesOf('cases', part));
    const files = [...old.values()];
    const known = await this.#editions(old.get('cases')!);
    const latest = latestOf(known);
    const staying = latest
      .filter((row) => row.car !== gone)
      .sort((a, b) => (a.case_id! < b.case_id! ? -1 : 1));
    if (gone === null && staying.length === latest.length && files.every((f) => f.length <= 1)) return;
    const generation = Math.max(-1, ...latest.map((row) => generationOf(row.edition!))) + 1;
    const batch = batchOf(
      generation,
      staying.map((row) => [row.taking!, revisionOf(row)]),
    );
    const renamed = new Map(
      staying.map((row) => [row.edition!, editionOf(revisionOf(row), row.taking!, batch)]),
    );
    let children = 0;
    const ending = new Map(old);
    const fresh = new Set<string>();
    for (const table of CHILD_NAMES) {
      const rows: { edition: string | null }[] = [];
      for (const path of old.get(table)!) {
        const there = await readRows(path, table, true);
        for (const row of there) {
          const edition = renamed.get(row.edition!);
          if (edition !== undefined) rows.push({ ...row, edition });
        }
        const unfinished =
          there.some((row) => !known.has(row.edition!)) && there.every((r) => r.car !== gone);
        if (unfinished && isAdded(path) && (await isYoung(path)))
          ending.set(
            table,
            ending.get(table)!.filter((p) => p !== path),
          );
      }
      children += rows.length;
      if (rows.length > 0) fresh.add(await this.#put(table, part, batch, tableBytes(table, rows as never)));
    }
    const wanted = staying.reduce((n, row) => n + row.row_count!, 0);
    if (children !== wanted)
      throw new HandbackError(
        'input.format',
        saying('error.pool-rows', { path: this.folder, part, found: children, wanted }),
      );
    const rows = staying.map((row) => ({ ...row, edition: renamed.get(row.edition!)! }));
    if (rows.length > 0) fresh.add(await this.#put('cases', part, batch, tableBytes('cases', rows)));
    for (const table of [...CHILD_NAMES, 'cases' as const])
      for (const path of ending.get(table)!) if (!fresh.has(path)) await this.#disk.remove(path);
  }

  /** What was being written when a program was killed. */
  async #sweep(part: string): Promise<void> {
    for (const table of [...TABLE_NAMES, SAMPLES]) {
      const folder = join(this.folder, table, `part=${part}`);
      for (const name of await readdir(folder).catch(() => [])) {
        if (!name.endsWith('.tmp')) continue;
        if (!(await isYoung(join(folder, name)))) await rm(join(folder, name), { force: true });
      }
    }
  }

  async #alone<T>(act: () => Promise<T>): Promise<T> {
    const release = await lockPool(this.folder);
    try {
      return await act();
    } finally {
      await release();
    }
  }
}

/** Of each case the row with the greatest edition. */
function latestOf(editions: ReadonlyMap<string, Row<'cases'>>): Row<'cases'>[] {
  const out = new Map<string, Row<'cases'>>();
  for (const row of editions.values()) {
    const before = out.get(row.case_id!);
    if (!before || row.edition! > before.edition!) out.set(row.case_id!, row);
  }
  return [...out.values()];
}

/** What a tidying left halfway is nobody's: only one at a time tidies. */
const isAdded = (path: string): boolean => basename(path).startsWith('g00');

/** Written, or begun to be, so lately that it may be on its way still; false where it is not there. */
const isYoung = (path: string): Promise<boolean> =>
  lstat(path).then(
    ({ mtimeMs }) => Date.now() - mtimeMs <= LEFTOVER_MS,
    () => false,
  );

export const partNames = (): string[] =>
  Array.from({ length: PARTS }, (_, i) => `p${String(i).padStart(2, '0')}`);

/** Which part a car lies in. */
export const partOf = (car: string): string => partNames()[Number.parseInt(car.slice(0, 8), 16) % PARTS]!;

/** Changes of one day count up; null for what is older than what is there, a copy of a library for one. */
function revisionAfter(before: Row<'cases'> | undefined, revision: number): number | null {
  const last = before === undefined ? -1 : revisionOf(before);
  if (revision > last) return revision;
  return Math.floor(last / A_DAY) === Math.floor(revision / A_DAY) ? last + 1 : null;
}

// An edition orders: a later revision first, then a tidied one before that which it was made from.
const editionOf = (revision: number, taking: string, batch: string): string =>
  `${String(revision).padStart(15, '0')}.${taking.slice(0, 16)}.${batch}`;
const revisionOf = (row: Row<'cases'>): number => Number(row.edition!.slice(0, 15));
const generationOf = (edition: string): number => Number(/\.g(\d+)-/.exec(edition)?.[1] ?? 0);
const batchOf = (generation: number, of: readonly (readonly [taking: string, revision: number])[]): string =>
  `g${String(generation).padStart(2, '0')}-${digest(JSON.stringify(of)).slice(0, 12)}`;

const digest = (content: string | Uint8Array): string =>
  createHash('sha256').update(content).digest('hex').slice(0, 32);
