/**
 * A whole job as one .zip and back. What is taken in is a fixed set of names and nothing else, extracted into a
 * folder of its own, checked against the archive's own digests and renamed into the library in whole. Described in
 * docs/job-folder.md.
 */

import { createHash, randomBytes } from 'node:crypto';
import { createReadStream, createWriteStream } from 'node:fs';
import { lstat, mkdir, mkdtemp, readdir, rename, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, dirname, join, resolve } from 'node:path';
import { type Readable, Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import yauzl from 'yauzl';
import yazl from 'yazl';
import { z } from 'zod';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { asIs, retold, type Says } from '../core/says.ts';
import { check } from '../run/check.ts';
import { readDocument } from '../run/document.ts';
import { sha256OfFile } from '../run/hash.ts';
import { listRuns } from '../run/library.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { lockRun } from '../run/lock.ts';
import { CAPTURE_FILE, COMPRESSED_FILE, JUDGEMENT_FILE, syncFolder } from '../run/meta.ts';
import { type During, partOf } from '../run/types.ts';
import { JOB_FILE, MAX_PHOTO_BYTES, PHOTO_FOLDER, readJob, SNAPSHOT_FOLDER } from './files.ts';
import { folderOf } from './folders.ts';
import { refuseWhileRecording } from './library.ts';
import { type Hide, Mask, workOf } from './mask.ts';
import { photoKind } from './photo/clean.ts';

const MANIFEST_FILE = 'archive.json';
const MAX_ENTRIES = 2000;
const MAX_JSON_BYTES = 8 * 2 ** 20;
const MAX_CAPTURE_BYTES = 2 ** 30;
const MAX_TOTAL_BYTES = 4 * 2 ** 30;
/** Captures shrink to about a tenth; far more is a bomb. Small files may do better. */
const MAX_RATIO = 200;
const ENTRY_RATIO_FREE_BYTES = 2 ** 20;

const manifestSchema = z.object({
  format: z.literal('handback.archive/1'),
  /** What was left out for the recipient. */
  hidden: z.object({ plate: z.boolean(), vin: z.boolean() }),
  files: z
    .array(
      z.object({
        path: z.string().max(300),
        bytes: z.number().int().min(0),
        sha256: z.string().regex(/^[0-9a-f]{64}$/),
      }),
    )
    .max(MAX_ENTRIES),
});
type Manifest = z.output<typeof manifestSchema>;

const STEM = '[a-z0-9][a-z0-9-]{0,79}';
const ALLOWED = new RegExp(
  `^(?:${JOB_FILE.replace('.', '\\.')}|${MANIFEST_FILE.replace('.', '\\.')}|${SNAPSHOT_FOLDER}/${STEM}\\.json|` +
    `${PHOTO_FOLDER}/${STEM}\\.(?:jpg|png|webp)|${STEM}/(?:${CAPTURE_FILE.replace('.', '\\.')}|${STEM}\\.json))$`,
);
/** Names that Windows keeps for devices, whatever follows the dot. */
const DEVICE = /(?:^|\/)(?:con|prn|aux|nul|com\d|lpt\d)(?:\.|\/|$)/i;

// ---- out ----------------------------------------------------------------------------------------------------

/**
 * Writes a job as a .zip; the file must not exist, and is gone again when that fails. With something hidden, plate and VIN are taken out of every text and the answers that carry
 * the VIN out of the captures; photos go along as they are, without what their cameras wrote, which stays in `originals`.
 * The places that a satellite receiver told are left out unless they are asked for.
 * @throws HandbackError input.*, run.busy while a run of it is being recorded, run.write; the signal's reason: nothing was written
 */
export async function packJob(
  folder: string,
  file: string,
  hide: Hide = { plate: false, vin: false },
  during: During = IN_FULL,
): Promise<void> {
  const temporary = await mkdtemp(join(tmpdir(), 'handback-pack-'));
  try {
    const names = await filesOfJob(folder);
    const mask = await Mask.of(folder, names, hide);
    const files: { path: string; bytes: number; sha256: string }[] = [];
    const copies: Copy[] = [];
    const works = await Promise.all(names.map(async (name) => 1 + (await workOf(folder, name))));
    const all = works.reduce((sum, work) => sum + work, 0);
    const half = partOf(during, 0, 2);
    let done = 0;
    for (const [i, name] of names.entries()) {
      during.signal.throwIfAborted();
      const from = done;
      const copying: During = {
        signal: during.signal,
        progress: (share) => half.progress((from + works[i]! * share) / all),
      };
      copying.progress(0);
      const path = await mask.copy(folder, name, temporary, partOf(copying, 0, 2));
      const { size, mtime, mode } = await lstat(path);
      copies.push({ name, path, size, mtime, mode });
      files.push({ path: name, bytes: size, sha256: await sha256OfFile(path, partOf(copying, 1, 2)) });
      done += works[i]!;
    }
    const manifest: Manifest = {
      format: 'handback.archive/1',
      hidden: { plate: hide.plate, vin: hide.vin },
      files,
    };
    const zip = packing(copies, partOf(during, 1, 2));
    zip.addBuffer(Buffer.from(`${JSON.stringify(manifest, null, 2)}\n`), MANIFEST_FILE);
    zip.end();
    const sink = createWriteStream(file, { flags: 'wx' });
    await pipeline(zip.outputStream, sink, { signal: during.signal }).catch(async (e: unknown) => {
      if ((e as NodeJS.ErrnoException).code !== 'EEXIST') await rm(file, { force: true });
      throw e;
    });
  } catch (e) {
    during.signal.throwIfAborted();
    if (e instanceof HandbackError) throw e;
    throw new HandbackError('run.write', saying('error.archive-not-written', { why: toldOf(e) }), {
      cause: e,
    });
  } finally {
    await rm(temporary, { recursive: true, force: true });
  }
}

interface Copy {
  readonly name: string;
  readonly path: string;
  readonly size: number;
  readonly mtime: Date;
  readonly mode: number;
}

/** Told as its files are read, which is as fast as somebody takes what comes out; a file that cannot be read is an error of that. */
function packing(copies: readonly Copy[], { signal, progress }: During): yazl.ZipFile {
  const zip = new yazl.ZipFile();
  const whole = copies.reduce((sum, { size }) => sum + size, 0);
  let read = 0;
  for (const { name, path, size, mtime, mode } of copies) {
    const compress = !/\.(jpg|png|webp)$/.test(name);
    zip.addReadStreamLazy(name, { compress, size, mtime, mode }, (go) => {
      const bytes = createReadStream(path, { signal });
      bytes.on('error', (e) => (zip.outputStream as Readable).destroy(e));
      bytes.on('data', (chunk) => {
        read += chunk.length;
        progress(read / whole);
      });
      go(null, bytes);
    });
  }
  return zip;
}

/** Regular files that belong to a job, as names inside it; locks and leftovers stay behind. */
async function filesOfJob(folder: string): Promise<string[]> {
  await readJob(folder);
  for (const run of (await listRuns(folder)).runs) {
    await refuseWhileRecording(run);
    const name = basename(run.folder);
    if (
      dirname(run.folder) !== resolve(folder) ||
      !ALLOWED.test(`${name}/${CAPTURE_FILE}`) ||
      DEVICE.test(name)
    )
      throw new HandbackError('library.path', saying('error.not-packed', { name }), {
        hint: saying('error.not-packed-hint'),
      });
  }
  const names: string[] = [];
  for (const entry of await readdir(folder, { withFileTypes: true })) {
    if (entry.isFile()) names.push(entry.name);
    if (entry.isDirectory())
      for (const inner of await readdir(join(folder, entry.name), { withFileTypes: true }))
        if (inner.isFile())
          names.push(`${entry.name}/${inner.name === COMPRESSED_FILE ? CAPTURE_FILE : inner.name}`);
  }
  const own = (n: string): boolean => n !== MANIFEST_FILE && basename(n) !== JUDGEMENT_FILE;
  return [...new Set(names)].filter((n) => ALLOWED.test(n) && !DEVICE.test(n) && own(n)).sort();
}

// ---- in -----------------------------------------------------------------------------------------------------

const IN_FULL: During = { signal: new AbortController().signal, progress: () => undefined };

/**
 * Takes a job in. Nothing appears in the library unless the whole archive is as it should be.
 * @returns the job's id, and what is odd about its runs (damaged already when they were packed)
 * @throws HandbackError input.file, input.format, library.path, run.write; the signal's reason: nothing was taken in
 */
export async function unpackJob(
  file: string,
  library: string,
  during: During = IN_FULL,
): Promise<{ readonly id: string; readonly remarks: readonly Says[] }> {
  const root = resolve(library);
  await refuseReadOnly(root);
  const aside = join(root, `.import-${randomBytes(6).toString('hex')}`);
  const temporary = join(aside, 'job');
  try {
    await mkdir(temporary, { recursive: true });
    await lockRun(aside); // whoever finds the folder without a living holder may take it away
    await extract(file, temporary, partOf(during, 0, 2));
    await verify(temporary);
    const job = await readJob(temporary);
    const target = folderOf(root, job.id);
    if (await lstat(target).catch(() => null))
      throw new HandbackError('library.path', saying('error.has-job', { id: job.id }), {
        hint: saying('error.has-job-hint'),
      });
    const { runs } = await listRuns(temporary);
    const own = new Set(runs.map((r) => r.meta.id));
    const twice = (await listRuns(root)).runs.find((r) => own.has(r.meta.id));
    if (twice)
      throw new HandbackError('library.path', saying('error.has-run', { id: twice.meta.id }), {
        hint: saying('error.has-run-hint'),
      });
    const remarks: Says[] = [];
    if (runs.length > 0)
      for (const item of (await check(temporary, partOf(during, 1, 2))).items)
        if (!item.ok) remarks.push(...item.remarks.slice(0, 5).map((r) => withoutRoot(r, temporary)));
    during.signal.throwIfAborted();
    await rename(temporary, target);
    await syncFolder(root);
    return { id: job.id, remarks };
  } catch (e) {
    during.signal.throwIfAborted();
    if (e instanceof HandbackError)
      throw new HandbackError(e.code, withoutRoot(e.told.message, temporary), {
        cause: e,
        ...(e.told.hint ? { hint: e.told.hint } : {}),
      });
    const why = withoutRoot(toldOf(e), temporary);
    throw new HandbackError('run.write', saying('error.not-taken-in', { why }), { cause: e });
  } finally {
    await rm(aside, { recursive: true, force: true });
  }
}

/** What is said of files in the folder where they are looked at, as said of the archive's own. */
const withoutRoot = (says: Says, root: string): Says =>
  retold(says, (text) => text.replaceAll(`${root}/`, '').replaceAll(root, '.zip'));

async function extract(file: string, into: string, during: During): Promise<void> {
  const zip = await openZip(file);
  try {
    const entries = await entriesOf(zip);
    let total = 0;
    const whole = entries.reduce((sum, e) => sum + e.uncompressedSize, 0);
    for (const entry of entries) {
      const before = total;
      const came = (bytes: number): void => {
        during.signal.throwIfAborted();
        during.progress(Math.min(1, (before + bytes) / Math.max(1, whole)));
      };
      came(0);
      const target = join(into, entry.fileName);
      await mkdir(dirname(target), { recursive: true });
      total += await extractOne(zip, entry, target, MAX_TOTAL_BYTES - total, came);
    }
  } finally {
    zip.close();
  }
}

const refused = (why: Says): HandbackError =>
  new HandbackError('input.format', saying('error.archive-refused', { why }), {
    hint: saying('error.archive-refused-hint'),
  });

async function openZip(file: string): Promise<yauzl.ZipFile> {
  try {
    return await yauzl.openPromise(file, { lazyEntries: true, strictFileNames: true, autoClose: false });
  } catch (e) {
    if ((e as NodeJS.ErrnoException).code === 'ENOENT')
      throw new HandbackError('input.file', saying('error.no-file', { path: file }), { cause: e });
    throw refused(saying('archive.no-zip', { why: plainly(e) }));
  }
}

/** All entries, each refused before a byte is extracted if it is not what a job's archive holds. */
async function entriesOf(zip: yauzl.ZipFile): Promise<yauzl.Entry[]> {
  if (zip.entryCount > MAX_ENTRIES)
    throw refused(saying('archive.files', { n: zip.entryCount, most: MAX_ENTRIES }));
  const entries: yauzl.Entry[] = [];
  const seen = new Set<string>();
  let total = 0;
  try {
    for await (const entry of zip.eachEntry()) {
      if (entries.length >= MAX_ENTRIES) throw refused(saying('archive.many', { most: MAX_ENTRIES }));
      const why = whyNot(entry);
      if (why) throw refused(saying(why, { file: plain(entry.fileName) }));
      if (seen.has(entry.fileName)) throw refused(saying('archive.twice', { file: plain(entry.fileName) }));
      seen.add(entry.fileName);
      total += entry.uncompressedSize;
      if (total > MAX_TOTAL_BYTES) throw refused(saying('archive.huge'));
      entries.push(entry);
    }
  } catch (e) {
    if (e instanceof HandbackError) throw e;
    throw refused(plainly(e));
  }
  if (!seen.has(MANIFEST_FILE) || !seen.has(JOB_FILE))
    throw refused(saying('archive.lacks', { file: seen.has(JOB_FILE) ? MANIFEST_FILE : JOB_FILE }));
  refuseOverlap(entries);
  return entries;
}

const REGULAR = 0o100000;

function whyNot(
  entry: yauzl.Entry,
): `archive.${'device' | 'foreign' | 'special' | 'encrypted' | 'packing' | 'large' | 'bomb'}` | null {
  const { fileName: name } = entry;
  if (DEVICE.test(name)) return 'archive.device';
  if (!ALLOWED.test(name)) return 'archive.foreign';
  const type = (entry.externalFileAttributes >>> 16) & 0o170000;
  if (type !== 0 && type !== REGULAR) return 'archive.special';
  if (entry.generalPurposeBitFlag & 0x41) return 'archive.encrypted';
  if (entry.compressionMethod !== 0 && entry.compressionMethod !== 8) return 'archive.packing';
  if (entry.uncompressedSize > limitOf(name)) return 'archive.large';
  if (isBomb(entry.uncompressedSize, entry.compressedSize)) return 'archive.bomb';
  return null;
}

function limitOf(name: string): number {
  if (name.endsWith('.json')) return MAX_JSON_BYTES;
  return name.endsWith('.txt') ? MAX_CAPTURE_BYTES : MAX_PHOTO_BYTES;
}

const isBomb = (bytes: number, packed: number): boolean =>
  bytes > ENTRY_RATIO_FREE_BYTES && bytes > MAX_RATIO * packed;

/** Entries that share packed bytes unpack to far more than the archive holds. */
function refuseOverlap(entries: readonly yauzl.Entry[]): void {
  const spans = entries
    .map((e) => ({
      from: e.relativeOffsetOfLocalHeader,
      to: e.relativeOffsetOfLocalHeader + 30 + e.compressedSize,
    }))
    .sort((a, b) => a.from - b.from);
  for (let i = 1; i < spans.length; i++)
    if (spans[i]!.from < spans[i - 1]!.to) throw refused(saying('archive.overlap'));
}

/** @returns bytes written; counts them itself, whatever the archive declares */
async function extractOne(
  zip: yauzl.ZipFile,
  entry: yauzl.Entry,
  target: string,
  left: number,
  came: (bytes: number) => void,
): Promise<number> {
  let bytes = 0;
  const most = Math.min(left, limitOf(entry.fileName));
  const counted = new Transform({
    transform(chunk: Buffer, _encoding, done) {
      bytes += chunk.length;
      if (bytes > most) done(refused(saying('archive.larger', { file: plain(entry.fileName) })));
      else if (isBomb(bytes, entry.compressedSize))
        done(refused(saying('archive.unpacks', { file: plain(entry.fileName) })));
      else {
        try {
          came(bytes);
          done(null, chunk);
        } catch (stopped) {
          done(stopped as Error);
        }
      }
    },
  });
  try {
    const packed = await zip.openReadStreamPromise(entry);
    // Only now: a file being opened while its folder is cleared away would throw where nobody listens.
    await pipeline(packed, counted, createWriteStream(target, { flags: 'wx', flush: true }));
  } catch (e) {
    if (e instanceof HandbackError) throw e;
    const { code } = e as NodeJS.ErrnoException;
    if (code === 'ENOSPC' || code === 'EACCES' || code === 'EROFS') throw e;
    throw refused(saying('archive.not-unpacked', { file: plain(entry.fileName), why: plainly(e) }));
  }
  return bytes;
}

/** Every file as the archive's list says, no more and no fewer; photos are photos. */
async function verify(folder: string): Promise<void> {
  const manifest = await readDocument(
    join(folder, MANIFEST_FILE),
    'handback.archive/1',
    manifestSchema,
    saying('archive.no-list'),
  );
  const listed = new Map(manifest.files.map((f) => [f.path, f]));
  const present = (await filesIn(folder)).filter((n) => n !== MANIFEST_FILE);
  for (const name of present) {
    const said = listed.get(name);
    if (!said) throw refused(saying('archive.unlisted', { file: plain(name) }));
    const hash = createHash('sha256');
    let head: Buffer | null = null;
    for await (const chunk of createReadStream(join(folder, name))) {
      head ??= chunk as Buffer;
      hash.update(chunk as Buffer);
    }
    if (hash.digest('hex') !== said.sha256) throw refused(saying('archive.changed', { file: plain(name) }));
    if (
      name.startsWith(`${PHOTO_FOLDER}/`) &&
      photoKind(head ?? new Uint8Array(0)) !== name.split('.').at(-1)
    )
      throw refused(saying('archive.no-photo', { file: plain(name) }));
    listed.delete(name);
  }
  const missing = listed.keys().next().value;
  if (missing !== undefined) throw refused(saying('archive.missing', { file: plain(missing) }));
  await rm(join(folder, MANIFEST_FILE));
}

async function filesIn(folder: string): Promise<string[]> {
  const entries = await readdir(folder, { withFileTypes: true, recursive: true });
  return entries
    .filter((e) => e.isFile())
    .map((e) =>
      join(e.parentPath, e.name)
        .slice(folder.length + 1)
        .replaceAll('\\', '/'),
    );
}

/** Text from outside in a sentence: bounded, and nothing in it steers the reader. */
function plain(text: string): string {
  const clean = text.replace(/[^\x20-\x7e]/g, '?');
  return clean.length > 100 ? `${clean.slice(0, 97)}...` : clean;
}

function plainly(thrown: unknown): Says {
  const told = toldOf(thrown);
  return told.id === 'text' ? asIs(plain(String(told.args.text))) : told;
}
