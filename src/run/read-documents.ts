/**
 * The small JSON files of a library as they were read before, by this program or by an earlier one: thousands are
 * listed again and again, and hardly any of them changes. What an earlier one read it left in the library's index, a
 * cache (`sealed.ts`): each entry is believed only for a file of the same place, size and times, and only by the same
 * program.
 */
import type { Stats } from 'node:fs';
import { lstat } from 'node:fs/promises';
import { join, relative, resolve } from 'node:path';
import { isDeepStrictEqual } from 'node:util';
import { LRUCache } from 'lru-cache';
import { say } from '../core/check-says.ts';
import type { Says } from '../core/says.ts';
import { codeStamp } from './code-stamp.ts';
import { LIBRARY_FILE, refuseReadOnly } from './library-format.ts';
import { isTooLarge, Sealed } from './sealed.ts';

/** As many as are listed (`library.ts`). */
const MOST_KEPT = 20_000;
/** File systems count in steps of up to two seconds (FAT): a younger file may still change without a trace in its times. */
const STEP_MS = 2000;
/** Where what an entry holds is read and checked. */
const ROOMS = ['core', 'run', 'job'];

/** So many are read again as fast as an index is written. */
const FEW_FILES = 16;

interface Seen<T> {
  readonly stamp: string;
  readonly content: T;
}

interface Index {
  readonly format: 'handback.index/1';
  /** Which index of which folder, made by which code. */
  readonly of: string;
  readonly entries: readonly (readonly [folder: string, stamp: string, content: unknown])[];
}

/** A cache and what it was made from; only one that disagrees is a fault, the others are not believed and made again. */
export interface CheckedCache {
  readonly path: string;
  /** `sealed`: as it was written; whether it is of what is there now was not looked at. */
  readonly state: 'agrees' | 'sealed' | 'stale' | 'not believed' | 'absent' | 'disagrees';
  readonly says: Says;
}

const stampOf = ({ ino, size, mtimeMs, ctimeMs }: Stats): string => `${ino} ${size} ${mtimeMs} ${ctimeMs}`;

export class ReadDocuments<T extends object> {
  readonly #seen = new LRUCache<string, Seen<T>>({ max: MOST_KEPT });
  readonly #read: (folder: string) => Promise<T>;
  readonly #index: string;
  readonly #sealed: Sealed;
  /** By library: those whose index was read, once in a program. */
  readonly #opened = new Map<string, Promise<void>>();
  /** Files read since the index was written. */
  #reads = 0;

  /**
   * @param index name of the index in the library
   * @param settings folder of the user's secret; absent: the user's own
   */
  constructor(read: (folder: string) => Promise<T>, index: string, settings?: string) {
    this.#read = read;
    this.#index = index;
    this.#sealed = new Sealed(settings);
  }

  /** Null where there is no such file. @throws what reading it throws */
  async in(folder: string, file: string): Promise<T | null> {
    const nowMs = Date.now();
    const info = await lstat(join(folder, file)).catch(() => null);
    if (!info) return null;
    const stamp = stampOf(info);
    const before = this.#seen.get(folder);
    if (before?.stamp === stamp) return before.content;
    this.#reads++;
    const content = await this.#read(folder);
    if (Math.max(info.mtimeMs, info.ctimeMs) < nowMs - STEP_MS) this.#seen.set(folder, { stamp, content });
    else this.#seen.delete(folder);
    return content;
  }

  /** Takes in what earlier programs read in this library; nothing, where that is not to be believed. */
  open(library: string): Promise<void> {
    const root = resolve(library);
    const opened = this.#opened.get(root) ?? this.#takeIn(root).catch(() => undefined);
    this.#opened.set(root, opened);
    return opened;
  }

  /**
   * Leaves what was read of these folders to later programs, when it is worth it. Never fails: a library that cannot be written, or is none,
   * is read as before.
   */
  async leave(library: string, folders: readonly string[]): Promise<void> {
    const root = resolve(library);
    if (this.#reads <= FEW_FILES) return;
    try {
      // a folder of runs that nobody made a library stays as it is
      if ((await lstat(join(root, LIBRARY_FILE)).catch(() => null)) === null) return;
      await refuseReadOnly(root);
      const entries = folders.flatMap((folder) => {
        const seen = this.#seen.peek(folder);
        return seen ? [[relative(root, folder), seen.stamp, seen.content] as const] : [];
      });
      const index: Index = { format: 'handback.index/1', of: await this.#own(root), entries };
      await this.#sealed.write(join(root, this.#index), JSON.stringify(index));
      this.#reads = 0;
    } catch {
      // it is made another time
    }
  }

  /**
   * What the index says against the files as they are now; reads all, changes nothing.
   * @param folders those listed, of which each has a file
   */
  async check(library: string, folders: readonly string[], file: string): Promise<CheckedCache> {
    const root = resolve(library);
    const path = join(root, this.#index);
    const told = (state: CheckedCache['state'], what: Says): CheckedCache => ({ path, state, says: what });
    if ((await lstat(path).catch(() => null)) === null) return told('absent', say('check.cache.absent'));
    if (await isTooLarge(path)) return told('not believed', say('check.cache.large'));
    const index = await this.#readFrom(root);
    if (index === null) return told('not believed', say('check.cache.altered'));
    if (index.of !== (await this.#own(root))) return told('not believed', say('check.cache.other'));
    const entries = new Map(index.entries.map(([folder, ...entry]) => [join(root, folder), entry]));
    let agree = 0;
    let differ = 0;
    for (const folder of folders) {
      const [stamp, content] = entries.get(folder) ?? [];
      const info = await lstat(join(folder, file)).catch(() => null);
      if (info === null || stampOf(info) !== stamp) continue;
      const now = await this.#read(folder).catch(() => null);
      if (isDeepStrictEqual(content, JSON.parse(JSON.stringify(now)))) agree++;
      else differ++;
    }
    if (differ > 0) return told('disagrees', say('check.cache.differs', { n: differ }));
    const old = folders.length - agree + [...entries.keys()].filter((f) => !folders.includes(f)).length;
    if (old > 0) return told('stale', say('check.cache.stale', { n: old, agree }));
    return told('agrees', say('check.cache.agrees', { n: agree }));
  }

  async #takeIn(root: string): Promise<void> {
    const index = await this.#readFrom(root);
    if (index?.of !== (await this.#own(root))) return;
    for (const [folder, stamp, content] of index.entries) {
      const path = join(root, folder);
      if (!this.#seen.has(path)) this.#seen.set(path, { stamp, content: content as T });
    }
  }

  async #readFrom(root: string): Promise<Index | null> {
    const text = await this.#sealed.read(join(root, this.#index));
    if (text === null) return null;
    const index = JSON.parse(text) as Index; // sealed: as it was written
    return index.format === 'handback.index/1' ? index : null;
  }

  /** One that was moved here from another folder is not this one's. */
  async #own(root: string): Promise<string> {
    const { dev, ino } = await lstat(root);
    return `${this.#index} ${dev} ${ino} ${programOf()}`;
  }
}

let program: string | null = null;
function programOf(): string {
  program ??= codeStamp(ROOMS);
  return program;
}
