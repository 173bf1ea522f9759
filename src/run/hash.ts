/** SHA-256 of a file, streamed. */
import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import type { During } from './types.ts';

/** @throws Error from the file system; the signal's reason */
export async function sha256OfFile(path: string, during?: During): Promise<string> {
  const hash = createHash('sha256');
  const size = during ? (await stat(path)).size : 0;
  let read = 0;
  for await (const chunk of createReadStream(path) as AsyncIterable<Buffer>) {
    hash.update(chunk);
    read += chunk.length;
    during?.signal.throwIfAborted();
    during?.progress(Math.min(1, read / Math.max(1, size)));
  }
  return hash.digest('hex');
}
