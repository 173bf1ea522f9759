/**
 * The capture of a run that has ended, kept compressed. At every moment at least one of the two is whole: the new file
 * is written under another name, synced, read back against the digest of run.json, renamed, and only then the plain one
 * removed. What a crash leaves is settled by the next look.
 */
import { createHash, randomBytes } from 'node:crypto';
import { open, readdir, rename, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { isPlainFile } from './document.ts';
import { refuseReadOnly } from './library-format.ts';
import { isLocked } from './lock.ts';
import { membersOf } from './members.ts';
import { CAPTURE_FILE, COMPRESSED_FILE, readMeta, syncFolder } from './meta.ts';
import type { During } from './types.ts';
import { isPackedDamage, plainDigest, unpacked } from './unpack.ts';

/** A plain capture that is not as it was recorded, beside a compressed one that is. Nothing reads it. */
const CHANGED_FILE = 'capture.changed.txt';
const LEFTOVER = new RegExp(`^${COMPRESSED_FILE.replaceAll('.', '\\.')}\\.[0-9a-f]{8}\\.tmp$`);
/** Of the whole work: reading and compressing; the rest is reading back. */
const WRITING_SHARE = 0.8;

export type CompressedRun =
  | { readonly is: 'compressed'; readonly plainBytes: number; readonly bytes: number }
  /** Was so before; or is being recorded, was never closed; or is not as it was when it was closed: left alone. */
  | { readonly is: 'already' | 'open' | 'changed' };

/**
 * @throws HandbackError run.write when the disk refuses: the plain capture is as it was; library.read-only; input.* of
 *   run.json; the signal's reason
 */
export async function compressRun(folder: string, during: During): Promise<CompressedRun> {
  await refuseReadOnly(folder);
  const { sha256 } = await readMeta(folder);
  if (sha256 === null || (await isLocked(folder))) return { is: 'open' };
  const plain = join(folder, CAPTURE_FILE);
  try {
    await removeLeftovers(folder);
    if (!(await isPlainFile(plain))) return { is: 'already' };
    const plainBytes = (await stat(plain)).size;
    if (!(await compressedIsWhole(folder, sha256)) && !(await compress(folder, sha256, during)))
      return { is: 'changed' };
    // Whoever asked for something meanwhile may be about to read the plain one.
    during.signal.throwIfAborted();
    await removePlain(folder, sha256);
    return { is: 'compressed', plainBytes, bytes: (await stat(join(folder, COMPRESSED_FILE))).size };
  } catch (e) {
    during.signal.throwIfAborted();
    if (e instanceof HandbackError) throw e;
    throw new HandbackError('run.write', saying('error.not-compressed', { path: plain, why: toldOf(e) }), {
      cause: e,
    });
  }
}

/** Of programs that were cut off. One that is at it would begin anew. */
async function removeLeftovers(folder: string): Promise<void> {
  for (const name of await readdir(folder))
    if (LEFTOVER.test(name)) await rm(join(folder, name), { force: true });
}

async function compressedIsWhole(folder: string, sha256: string): Promise<boolean> {
  const path = join(folder, COMPRESSED_FILE);
  try {
    return (await isPlainFile(path)) && (await plainDigest(path)) === sha256;
  } catch (e) {
    if (isPackedDamage(e)) return false;
    throw e;
  }
}

/** @returns false when the plain capture is not the one that was recorded; then nothing is touched */
async function compress(folder: string, sha256: string, during: During): Promise<boolean> {
  const target = join(folder, COMPRESSED_FILE);
  const temporary = `${target}.${randomBytes(4).toString('hex')}.tmp`;
  const { signal, progress } = during;
  const hash = createHash('sha256');
  const plain = async function* () {
    const writing = { signal, progress: (share: number) => progress(WRITING_SHARE * share) };
    for await (const chunk of unpacked(join(folder, CAPTURE_FILE), writing)) {
      hash.update(chunk);
      yield chunk;
    }
  };
  try {
    const file = await open(temporary, 'wx');
    try {
      for await (const member of membersOf(plain())) await file.appendFile(member);
      await file.sync();
    } finally {
      await file.close();
    }
    if (hash.digest('hex') !== sha256) return false;
    const reading = {
      signal,
      progress: (share: number) => progress(WRITING_SHARE + (1 - WRITING_SHARE) * share),
    };
    if ((await plainDigest(temporary, reading)) !== sha256)
      throw new HandbackError(
        'run.write',
        saying('error.not-compressed', { path: target, why: saying('reason.not-the-same') }),
      );
    await rename(temporary, target);
    await syncFolder(folder);
    return true;
  } finally {
    await rm(temporary, { force: true }).catch(() => undefined);
  }
}

/** The compressed one is whole. A plain one that differs from it is somebody's, and put aside. */
async function removePlain(folder: string, sha256: string): Promise<void> {
  const plain = join(folder, CAPTURE_FILE);
  const aside = join(folder, CHANGED_FILE);
  if ((await plainDigest(plain)) === sha256) await rm(plain);
  else if (!(await isPlainFile(aside))) await rename(plain, aside);
  await syncFolder(folder);
}
