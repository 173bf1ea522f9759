/**
 * Caches: files that may be deleted at any time and are believed only as this user's program wrote them. The first line
 * is an HMAC-SHA256 of the rest, with a secret that lies with the user's settings and never in a library.
 */
import { createHmac, randomBytes, timingSafeEqual } from 'node:crypto';
import { lstat, open, readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { isPlainFile } from './document.ts';
import { makeFolder, replaceFile } from './meta.ts';
import { settingsFolder } from './settings.ts';

const MOST_BYTES = 64 << 20;
const SEAL_CHARACTERS = 64;

export class Sealed {
  readonly #settings: string | undefined;
  #secret: Promise<Uint8Array> | null = null;

  /** @param settings folder of the user's secret; absent: the user's own */
  constructor(settings?: string) {
    this.#settings = settings;
  }

  /** As it was written; null where there is no such file, or another than this user's program wrote. */
  async read(path: string): Promise<string | null> {
    const bytes = await bytesOf(path);
    const from = SEAL_CHARACTERS + 1;
    if (bytes === null || bytes.length <= from || bytes[SEAL_CHARACTERS] !== 10 || bytes.at(-1) !== 10)
      return null;
    const content = bytes.subarray(from, -1);
    const own = Buffer.from(await this.#seal(content), 'latin1');
    if (!timingSafeEqual(own, bytes.subarray(0, SEAL_CHARACTERS))) return null;
    return Buffer.from(content).toString('utf8');
  }

  /** @throws HandbackError run.write */
  async write(path: string, text: string): Promise<void> {
    const content = Buffer.from(text, 'utf8');
    await replaceFile(
      path,
      Buffer.concat([Buffer.from(`${await this.#seal(content)}\n`), content, LINE_END]),
    );
  }

  async #seal(content: Uint8Array): Promise<string> {
    this.#secret ??= secretIn(this.#settings ?? settingsFolder());
    return createHmac('sha256', await this.#secret)
      .update(content)
      .digest('hex');
  }
}

const LINE_END = Buffer.from('\n');

/** Where it can be neither read nor kept it lasts as long as the program, and everything is made again after. */
async function secretIn(settings: string): Promise<Uint8Array> {
  const path = join(settings, 'secret');
  try {
    const known = await bytesOf(path);
    if (known?.length === 32) return known;
    await makeFolder(settings);
    const file = await open(path, known === null ? 'wx' : 'w', 0o600);
    const fresh = randomBytes(32);
    try {
      await file.writeFile(fresh);
      await file.sync();
    } finally {
      await file.close();
    }
    return fresh;
  } catch {
    const others = await bytesOf(path); // another program made it meanwhile
    return others?.length === 32 ? others : randomBytes(32);
  }
}

/** It is never read, whoever wrote it. */
export const isTooLarge = async (path: string): Promise<boolean> =>
  ((await lstat(path).catch(() => null))?.size ?? 0) > MOST_BYTES;

/** Null where there is no plain file of a size that a cache may have. */
export async function bytesOf(path: string): Promise<Uint8Array | null> {
  try {
    if (!(await isPlainFile(path)) || (await stat(path)).size > MOST_BYTES) return null;
    return await readFile(path);
  } catch {
    return null;
  }
}
