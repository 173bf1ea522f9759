/** A file's bytes in chunks, gzip unpacked on the way; a torn or damaged part throws after what could be read. */
import { createHash } from 'node:crypto';
import { type FileHandle, open } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { createGunzip } from 'node:zlib';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { isPlainFile } from './document.ts';
import { beginsMember, begunMemberAt, memberAt, nextMember } from './members.ts';
import { CAPTURE_FILE, COMPRESSED_FILE } from './meta.ts';
import type { During } from './types.ts';

const CHUNK_BYTES = 1 << 18;
/** Captures shrink to a fourth or a tenth, constant tables to a hundredth; more than this of it is a bomb. */
const MOST_RATIO = 200;
const RATIO_FREE_BYTES = 64 << 20;
/** Days of driving. A capture that is larger stays as it is. */
const MOST_UNPACKED_BYTES = 2 ** 31;

/** Something of a packed file is missing or not as it was packed; told by its code in any language (`toldOf`). */
export const isPackedDamage = (thrown: unknown): boolean =>
  ['PACKED_CUT', 'PACKED_DAMAGED'].includes((thrown as { code?: string }).code ?? '');
const damage = (code: 'PACKED_CUT' | 'PACKED_DAMAGED'): Error =>
  Object.assign(new Error(`the packed file is ${code === 'PACKED_CUT' ? 'cut off' : 'damaged'}`), { code });

/**
 * Of a packed file everything that can be read is handed out, and then said what is wrong with it: of a compressed
 * capture also what stands behind the damage, of other gzip what stands before it.
 * @param passing whoever gets a chunk is done with it when the next but one comes: the memory is used again
 * @throws Error from the file system, or saying that the packed data end early or are damaged (`isPackedDamage`);
 *   HandbackError input.format for what unpacks to an absurd size; the signal's reason
 */
export async function* unpacked(path: string, during?: During, passing = false): AsyncGenerator<Uint8Array> {
  const file = await opened(path);
  try {
    const { size } = await file.stat();
    const told = (at: number): void => {
      during?.signal.throwIfAborted();
      during?.progress(size === 0 ? 1 : Math.min(1, at / size));
    };
    const head = (await file.read(Buffer.alloc(20), 0, 20, 0)).buffer;
    // A damaged beginning does not hide what stands behind it.
    const ours =
      beginsMember(head) || (basename(path) === COMPRESSED_FILE && (await nextMember(file, 0)) !== null);
    if (ours) yield* bounded(path, size, fromMembers(file, size, told));
    else if (head[0] === 0x1f && head[1] === 0x8b) yield* bounded(path, size, gunzipped(plain(file, told)));
    else yield* plain(file, told, passing);
  } finally {
    await file.close();
  }
}

/** SHA-256 of the plain bytes of a file, packed or not. @throws as `unpacked` */
export async function plainDigest(path: string, during?: During): Promise<string> {
  const hash = createHash('sha256');
  for await (const chunk of unpacked(path, during, true)) hash.update(chunk);
  return hash.digest('hex');
}

/** A capture may be compressed by another program between the look at its folder and this. */
async function opened(path: string): Promise<FileHandle> {
  try {
    return await open(path, 'r');
  } catch (e) {
    const now = join(dirname(path), COMPRESSED_FILE);
    const gone = (e as NodeJS.ErrnoException).code === 'ENOENT' && basename(path) === CAPTURE_FILE;
    if (gone && (await isPlainFile(now))) return open(now, 'r');
    throw e;
  }
}

async function* plain(
  file: FileHandle,
  told: (at: number) => void,
  passing = false,
): AsyncGenerator<Uint8Array> {
  const fresh = (): Buffer => Buffer.allocUnsafeSlow(CHUNK_BYTES);
  const turns = passing ? [fresh(), fresh()] : null;
  for (let at = 0, n = 0; ; n++) {
    const into = turns?.[n % 2] ?? fresh();
    const { buffer, bytesRead } = await file.read(into, 0, CHUNK_BYTES, at);
    if (bytesRead === 0) return;
    at += bytesRead;
    told(at);
    yield buffer.subarray(0, bytesRead);
  }
}

/** A member of which one byte is not as it was written gives nothing: what it would give, nobody recorded. */
async function* fromMembers(
  file: FileHandle,
  size: number,
  told: (at: number) => void,
): AsyncGenerator<Uint8Array> {
  let wrong: Error | null = null;
  for (let at: number | null = 0; at !== null && at < size; ) {
    const found = await memberAt(file, at);
    if (found) {
      at = found.next;
      told(at);
      yield found.plain;
      continue;
    }
    const next = await nextMember(file, at + 1);
    const begun = next === null ? await begunMemberAt(file, at, size) : null;
    wrong ??= damage(begun !== null && begun.length > 0 ? 'PACKED_CUT' : 'PACKED_DAMAGED');
    if (begun !== null && begun.length > 0) yield begun;
    at = next;
    told(at ?? size);
  }
  if (wrong) throw wrong;
}

async function* bounded(
  path: string,
  size: number,
  chunks: AsyncGenerator<Uint8Array>,
): AsyncGenerator<Uint8Array> {
  let bytes = 0;
  for await (const chunk of chunks) {
    bytes += chunk.length;
    if (bytes > MOST_UNPACKED_BYTES || (bytes > RATIO_FREE_BYTES && bytes > MOST_RATIO * size))
      throw new HandbackError('input.format', saying('error.bomb', { path, mb: Math.floor(bytes / 1e6) }), {
        hint: saying('error.bomb-hint'),
      });
    yield chunk;
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
    throw damage(code === 'Z_BUF_ERROR' ? 'PACKED_CUT' : 'PACKED_DAMAGED');
  }
}
