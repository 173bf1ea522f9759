/** A file's bytes in chunks, gzip unpacked on the way; a torn or damaged tail throws after what could be read. */
import { createReadStream } from 'node:fs';
import { createGunzip } from 'node:zlib';

/** @throws Error from the file system, or saying why the packed data end early. */
export async function* unpacked(path: string): AsyncGenerator<Uint8Array> {
  const file = createReadStream(path, { highWaterMark: 1 << 16 });
  const chunks = file[Symbol.asyncIterator]() as AsyncIterator<Buffer>;
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
