/** The file under a capture: where it stands is looked at before each write, for folders and sticks do vanish. */

import { createHash } from 'node:crypto';
import { type FileHandle, mkdir, open, rename, rm, stat } from 'node:fs/promises';
import { dirname } from 'node:path';
import { saying } from '../../core/error-says.ts';
import { HandbackError, toldOf } from '../../core/errors.ts';
import { syncFolder } from '../meta.ts';

/** The little that a capture needs of a file; tests stand in a disk that is full. */
export interface CaptureFile {
  /**
   * Makes sure that the name still leads to this file, so that nothing is written into one that was deleted.
   * @param written bytes that are known to be in it, and their SHA-256
   * @returns true when the file had to be made anew, with all that was written
   * @throws Error saying why it is out of reach
   */
  confirm?(written: { readonly bytes: number; readonly sha256: () => string }): Promise<boolean>;
  /** Writes at `position` and returns how many bytes were taken. */
  write(bytes: Uint8Array, position: number): Promise<number>;
  sync(): Promise<void>;
  /** Leaves the first `bytes` of it. */
  cut?(bytes: number): Promise<void>;
  close(): Promise<void>;
}

const PORTION = 1 << 20;

/** Creates the file; it must not exist. @throws HandbackError run.write, run.busy */
export async function createCaptureFile(path: string): Promise<CaptureFile> {
  try {
    return new DiskFile(path, await open(path, 'wx+'));
  } catch (e) {
    const exists = (e as NodeJS.ErrnoException).code === 'EEXIST';
    throw new HandbackError(
      exists ? 'run.busy' : 'run.write',
      exists
        ? saying('error.capture-exists', { path })
        : saying('error.not-created', { path, why: toldOf(e) }),
      { cause: e },
    );
  }
}

class DiskFile implements CaptureFile {
  readonly #path: string;
  #handle: FileHandle;

  constructor(path: string, handle: FileHandle) {
    this.#path = path;
    this.#handle = handle;
  }

  async confirm(written: { readonly bytes: number; readonly sha256: () => string }): Promise<boolean> {
    const there = await stat(this.#path).catch((e: NodeJS.ErrnoException) => {
      if (e.code === 'ENOENT') return null;
      throw e;
    });
    const own = await this.#handle.stat().catch(() => null);
    if (there && own && there.ino === own.ino && there.dev === own.dev) return false;
    if (there) await this.#takeOver(written);
    else await this.#makeAgain(written.bytes);
    return there === null;
  }

  async write(bytes: Uint8Array, position: number): Promise<number> {
    return (await this.#handle.write(bytes, 0, bytes.length, position)).bytesWritten;
  }

  sync(): Promise<void> {
    return this.#handle.datasync();
  }

  async cut(bytes: number): Promise<void> {
    await this.#handle.truncate(bytes);
    await this.#handle.datasync();
  }

  close(): Promise<void> {
    return this.#handle.close();
  }

  /** The same folder came back (a stick plugged in again): gone on with only if the file is exactly the one known. */
  async #takeOver(written: { readonly bytes: number; readonly sha256: () => string }): Promise<void> {
    const fresh = await open(this.#path, 'r+');
    const hash = createHash('sha256');
    let read = 0;
    for await (const part of portions(fresh, written.bytes)) {
      hash.update(part);
      read += part.length;
    }
    if (read < written.bytes || hash.digest('hex') !== written.sha256()) {
      await fresh.close();
      throw new Error('another file stands in its place; it is not written over');
    }
    await this.#swap(fresh);
  }

  /** A deleted file can still be read by whoever holds it open. */
  async #makeAgain(bytes: number): Promise<void> {
    await mkdir(dirname(this.#path), { recursive: true });
    const aside = `${this.#path}.again`;
    const fresh = await open(aside, 'w+');
    try {
      let at = 0;
      for await (const part of portions(this.#handle, bytes)) {
        await fresh.write(part, 0, part.length, at);
        at += part.length;
      }
      if (at < bytes) throw new Error('the beginning of the recording cannot be read back');
      await fresh.sync();
      await rename(aside, this.#path);
      await syncFolder(dirname(this.#path));
    } catch (e) {
      await fresh.close();
      await rm(aside, { force: true }).catch(() => undefined);
      throw e;
    }
    await this.#swap(fresh);
  }

  async #swap(fresh: FileHandle): Promise<void> {
    await this.#handle.close().catch(() => undefined);
    this.#handle = fresh;
  }
}

async function* portions(handle: FileHandle, bytes: number): AsyncGenerator<Uint8Array> {
  const buffer = Buffer.alloc(Math.min(PORTION, bytes));
  for (let at = 0; at < bytes; ) {
    const { bytesRead } = await handle.read(buffer, 0, Math.min(PORTION, bytes - at), at);
    if (bytesRead === 0) return;
    yield buffer.subarray(0, bytesRead);
    at += bytesRead;
  }
}
