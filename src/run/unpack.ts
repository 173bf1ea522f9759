/** A file's bytes in chunks, gzip unpacked on the way; a torn or damaged tail throws after what could be read. */
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { createGunzip } from 'node:zlib';
import type { During } from './types.ts';

/** @throws Error from the file system, or saying why the packed data end early; the signal's reason. */
export async function* unpacked(path: string, during?: During): AsyncGenerator<Uint8Array> {
  const chunks = during ? watched(path, during) : chunksOf(path);
  const first = await chunks.next();
  if (first.done) return;
  const rest = async function* () {
    yield first.value;
    for (;;) {
      const next = await chunks.next();
      if (next.done) return;
      yield next.value;
    }
  };
  if (first.value[0] === 0x1f && first.value[1] === 0x8b) yield* gunzipped(rest());
  else yield* rest();
}

const chunksOf = (path: string): AsyncIterator<Buffer> =>
  createReadStream(path, { highWaterMark: 1 << 18 })[Symbol.asyncIterator]() as AsyncIterator<Buffer>;

async function* watched(path: string, { signal, progress }: During): AsyncGenerator<Buffer> {
  const { size } = await stat(path);
  const chunks = { [Symbol.asyncIterator]: () => chunksOf(path) };
  let read = 0;
  for await (const chunk of chunks) {
    signal.throwIfAborted();
    yield chunk;
    read += chunk.length;
    progress(Math.min(1, read / size));
  }
}

/** Unlike a piped stream this hands out everything unpacked before an error. */
async function* gunzipped(packed: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  const gunzip = createGunzip();
  let out: Uint8Array[] = [];
  let failed: Error | null = null;
  const done = new Promise<void>((resolve) => {
    gunzip.on('end', resolve);
    gunzip.on('error', (e) => {
      failed = e;
      resolve();
    });
  });
  gunzip.on('data', (chunk: Uint8Array) => out.push(chunk));
  const handOut = (): Uint8Array[] => {
    const ready = out;
    out = [];
    return ready;
  };
  for await (const chunk of packed) {
    await Promise.race([new Promise<void>((resolve) => gunzip.write(chunk, () => resolve())), done]);
    yield* handOut();
    if (failed) break;
  }
  if (!failed) gunzip.end();
  await done;
  yield* handOut();
  if (failed) {
    const code = (failed as NodeJS.ErrnoException).code ?? '';
    throw new Error(code === 'Z_BUF_ERROR' ? 'the packed file is cut off' : 'the packed file is damaged');
  }
}
