/**
 * Stands between the program and node:fs/promises: writes down every change to the disk, and lets chosen ones fail.
 * The program's own code runs unchanged on real files.
 */
import { statSync } from 'node:fs';
import fsp, { type FileHandle } from 'node:fs/promises';
import { syncBuiltinESMExports } from 'node:module';

export type DiskOp =
  | { readonly op: 'mkdir'; readonly path: string }
  | { readonly op: 'create'; readonly path: string; readonly file: number }
  | { readonly op: 'write'; readonly file: number; readonly at: number; readonly bytes: Buffer }
  | { readonly op: 'truncate'; readonly file: number; readonly length: number }
  | { readonly op: 'sync'; readonly file: number }
  | { readonly op: 'sync folder'; readonly path: string }
  | { readonly op: 'rename'; readonly from: string; readonly to: string }
  | { readonly op: 'link'; readonly from: string; readonly to: string }
  | { readonly op: 'remove'; readonly path: string };

type Name = DiskOp['op'] | 'open';

export class FsTap {
  readonly ops: DiskOp[] = [];
  /** Asked before each change; what it returns is thrown instead of doing it. */
  fail: (op: Name, path: string) => Error | null = () => null;
  /** Told after each change that was done. */
  onOp: () => void = () => undefined;
  #busy = 0;
  #files = 0;
  readonly #names = new Map<string, number>();
  readonly #saved = { ...fsp };

  install(): void {
    const real = this.#saved;
    const tapped = {
      open: (async (path: string, flags: string, mode?: number) => {
        return this.#do('open', String(path), async () => {
          const handle = await real.open(path, flags, mode);
          if (statSync(path).isDirectory()) return this.#folder(handle, String(path));
          const fresh = flags.startsWith('w') || !this.#names.has(String(path));
          if (fresh && !flags.startsWith('r')) {
            const file = ++this.#files;
            this.#names.set(String(path), file);
            this.#log({ op: 'create', path: String(path), file });
          }
          return this.#file(handle, String(path), flags.startsWith('a'));
        });
      }) as typeof fsp.open,
      mkdir: (async (path: string, options: object) =>
        this.#do('mkdir', String(path), async () => {
          const first = await real.mkdir(path, options);
          for (const part of between(first as string | undefined, String(path)))
            this.#log({ op: 'mkdir', path: part });
          return first;
        })) as typeof fsp.mkdir,
      rename: (async (from: string, to: string) =>
        this.#do('rename', String(to), async () => {
          await real.rename(from, to);
          this.#move(String(from), String(to));
          this.#log({ op: 'rename', from: String(from), to: String(to) });
        })) as typeof fsp.rename,
      link: (async (from: string, to: string) =>
        this.#do('link', String(to), async () => {
          await real.link(from, to);
          this.#names.set(String(to), this.#names.get(String(from))!);
          this.#log({ op: 'link', from: String(from), to: String(to) });
        })) as typeof fsp.link,
      stat: (async (path: string) => this.#busily(() => real.stat(path))) as typeof fsp.stat,
      rm: (async (path: string, options: object) =>
        this.#do('remove', String(path), async () => {
          await real.rm(path, options);
          if (!this.#names.delete(String(path))) return;
          this.#log({ op: 'remove', path: String(path) });
        })) as typeof fsp.rm,
    };
    Object.assign(fsp, tapped);
    syncBuiltinESMExports();
  }

  uninstall(): void {
    Object.assign(fsp, this.#saved);
    syncBuiltinESMExports();
  }

  /** Files that were there before, for a tap that joins late. */
  know(path: string): number {
    const file = ++this.#files;
    this.#names.set(path, file);
    return file;
  }

  /** Until nothing is being written for a while. */
  async quiet(): Promise<void> {
    for (let calm = 0; calm < 5; calm++) {
      await new Promise((resolve) => setImmediate(resolve));
      if (this.#busy > 0) calm = 0;
    }
  }

  async #do<T>(op: Name, path: string, fn: () => Promise<T>): Promise<T> {
    const wrong = this.fail(op, path);
    if (wrong) throw wrong;
    return this.#busily(fn);
  }

  async #busily<T>(fn: () => Promise<T>): Promise<T> {
    this.#busy++;
    try {
      return await fn();
    } finally {
      this.#busy--;
    }
  }

  #log(op: DiskOp): void {
    this.ops.push(op);
    this.onOp();
  }

  #move(from: string, to: string): void {
    for (const [path, file] of [...this.#names])
      if (path === from || path.startsWith(`${from}/`)) {
        this.#names.delete(path);
        this.#names.set(to + path.slice(from.length), file);
      }
  }

  #folder(handle: FileHandle, path: string): FileHandle {
    return this.#patched(handle, {
      sync: () =>
        this.#do('sync folder', path, async () => {
          await handle.sync();
          this.#log({ op: 'sync folder', path });
        }),
    });
  }

  #file(handle: FileHandle, path: string, appends: boolean): FileHandle {
    const file = this.#names.get(path) ?? 0;
    const write = (bytes: Buffer, at: number): Promise<number> =>
      this.#do('write', path, async () => {
        const { bytesWritten } = await handle.write(bytes, 0, bytes.length, appends ? null : at);
        this.#log({ op: 'write', file, at, bytes: Buffer.from(bytes.subarray(0, bytesWritten)) });
        return bytesWritten;
      });
    const whole = async (bytes: Buffer, at: number): Promise<void> => {
      for (let done = 0; done < bytes.length; ) done += await write(bytes.subarray(done), at + done);
    };
    const sync = (how: 'sync' | 'datasync') => () =>
      this.#do('sync', path, async () => {
        await handle[how]();
        this.#log({ op: 'sync', file });
      });
    const asBuffer = (data: string | Uint8Array): Buffer =>
      typeof data === 'string' ? Buffer.from(data) : Buffer.from(data);
    return this.#patched(handle, {
      write: async (bytes: Uint8Array, offset: number, length: number, position: number) => {
        const bytesWritten = await write(Buffer.from(bytes.subarray(offset, offset + length)), position);
        return { bytesWritten, buffer: bytes };
      },
      writeFile: (data: string | Uint8Array) => whole(asBuffer(data), 0),
      appendFile: async (data: string | Uint8Array) => whole(asBuffer(data), (await handle.stat()).size),
      truncate: (length: number) =>
        this.#do('truncate', path, async () => {
          await handle.truncate(length);
          this.#log({ op: 'truncate', file, length });
        }),
      sync: sync('sync'),
      datasync: sync('datasync'),
    });
  }

  #patched(handle: FileHandle, own: object): FileHandle {
    const busily = <T>(fn: () => Promise<T>): Promise<T> => this.#busily(fn);
    return new Proxy(handle, {
      get(target, key) {
        const value = Reflect.get(own, key) ?? Reflect.get(target, key);
        if (typeof value !== 'function') return value;
        return (...args: unknown[]) => busily(() => value.apply(target, args));
      },
    });
  }
}

/** The folders that a recursive mkdir made: from the first to the last. */
function between(first: string | undefined, last: string): string[] {
  if (first === undefined) return [];
  const out = [first];
  for (const part of last.slice(first.length).split('/').filter(Boolean)) out.push(`${out.at(-1)}/${part}`);
  return out;
}
