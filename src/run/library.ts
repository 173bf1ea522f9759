/** A library is a folder of run folders (or of job folders that hold them). Copying it is a valid backup. */

import { randomBytes } from 'node:crypto';
import { createReadStream, existsSync, readdirSync } from 'node:fs';
import { open, readdir, rm, rmdir } from 'node:fs/promises';
import { homedir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import type { AdapterInfo } from '../adapter/adapter.ts';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, inEnglish, isFull, toldOf } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import { linesOf, VERSION_LINE } from './capture/format.ts';
import { CaptureParser } from './capture/parser.ts';
import { refuseLater } from './capture/read.ts';
import { CaptureWriter, type WriterOptions } from './capture/writer.ts';
import { exists, isPlainFile } from './document.ts';
import { sha256OfFile } from './hash.ts';
import { refuseReadOnly } from './library-format.ts';
import { isLocked, lockRun } from './lock.ts';
import {
  CAPTURE_FILE,
  COMPRESSED_FILE,
  META_FILE,
  makeFolder,
  type RunMeta,
  readMeta,
  syncFolder,
  writeMeta,
} from './meta.ts';
import { type CheckedCache, ReadDocuments } from './read-documents.ts';
import { readSettings, settingsFolder } from './settings.ts';
import type { Purpose } from './types.ts';

/**
 * Where the library is when nobody names another: what the user chose; else where one lies already in the user's data
 * directory; else in the user's documents, where people find it; else, without documents, in the data directory.
 */
export function defaultLibrary(
  env: NodeJS.ProcessEnv = process.env,
  platform: NodeJS.Platform = process.platform,
  home: string = homedir(),
): string {
  const chosen = readSettings(settingsFolder(env, platform, home)).library;
  if (chosen !== undefined) return chosen;
  const data = dataFolder(env, platform, home);
  const documents = join(home, 'Documents');
  return holdsSomething(data) || !existsSync(documents) ? data : join(documents, 'Handback');
}

/** By the platform's own habit. */
function dataFolder(env: NodeJS.ProcessEnv, platform: NodeJS.Platform, home: string): string {
  if (platform === 'win32')
    return join(env.LOCALAPPDATA ?? join(home, 'AppData', 'Local'), 'Handback', 'Library');
  if (platform === 'darwin') return join(home, 'Library', 'Application Support', 'Handback');
  const xdg = env.XDG_DATA_HOME;
  return join(xdg?.startsWith('/') ? xdg : join(home, '.local', 'share'), 'handback');
}

function holdsSomething(folder: string): boolean {
  try {
    return readdirSync(folder).length > 0;
  } catch {
    return false;
  }
}

export interface NewRun
  extends Pick<
    WriterOptions,
    'receiver' | 'openFile' | 'sinceBootMs' | 'maxPendingBytes' | 'onLine' | 'onWire'
  > {
  /** A library in which a folder is made, or the run folder itself (made; must not hold a run). */
  readonly where: { readonly library: string } | { readonly folder: string };
  readonly purpose: Purpose;
  readonly tool: string;
  readonly clock: Clock;
  readonly vehicle?: string | null;
  readonly vin?: string | null;
  readonly complaint?: string | null;
  readonly profile?: Profile | null;
  readonly adapter?: AdapterInfo | null;
  readonly link?: string | null;
}

/** A run being recorded. Close it: until then its hash is missing. */
export interface OpenRun {
  readonly id: string;
  readonly folder: string;
  readonly meta: RunMeta;
  readonly capture: CaptureWriter;
  /**
   * Completes capture and run.json and lets go of the lock.
   * @throws HandbackError run.write when the disk refuses: the run goes on and may be closed again
   */
  close(end?: RunEnd): Promise<RunMeta>;
  /**
   * Ends the run with what the disk took, for a disk that does not come back. Never throws.
   * @returns run.json as it stands, its hash null when not even that could be written (the next start makes it), and
   *   what is missing
   */
  giveUp(end?: RunEnd): Promise<{ readonly meta: RunMeta; readonly missing: Says }>;
}

export interface RunEnd {
  readonly counters?: RunMeta['counters'];
  readonly vin?: string | null;
}

/** What a full disk must yield, one after the other, for the closing note, the last digest and a new run.json. */
const ROOM_FOR_END_BYTES = [0, 8192, 32_768];

/** @throws HandbackError library.path, library.read-only, run.busy, run.write */
export async function createRun(options: NewRun): Promise<OpenRun> {
  const startedAt = new Date(options.clock.wallMs()).toISOString();
  const id = newId(startedAt, options.purpose);
  const folder = resolve('folder' in options.where ? options.where.folder : join(options.where.library, id));
  await refuseReadOnly(folder);
  await makeRunFolder(folder);
  let release = async (): Promise<void> => undefined;
  try {
    release = await lockRun(folder);
    if ((await exists(join(folder, META_FILE))) || (await exists(join(folder, COMPRESSED_FILE))))
      throw new HandbackError('library.path', saying('error.holds-run', { path: folder }), {
        hint: saying('error.holds-run-hint'),
      });
    const meta = begun(options, id, startedAt);
    const capture = await begunIn(folder, meta, options);
    await syncFolder(folder);
    return new RunUnderWay(folder, meta, capture, release);
  } catch (e) {
    await release();
    await rmdir(folder).catch(() => undefined); // where nothing stands in it, nothing was begun
    throw e;
  }
}

/** run.json and an empty capture, or neither. */
async function begunIn(folder: string, meta: RunMeta, options: NewRun): Promise<CaptureWriter> {
  await writeMeta(folder, meta);
  try {
    return await CaptureWriter.create(join(folder, CAPTURE_FILE), {
      ...options,
      onMadeAgain: () => writeMeta(folder, meta),
    });
  } catch (e) {
    await rm(join(folder, META_FILE), { force: true });
    throw e;
  }
}

async function makeRunFolder(folder: string): Promise<void> {
  try {
    await makeFolder(folder);
  } catch (e) {
    throw new HandbackError(
      'library.path',
      saying('error.folder-not-made', { path: folder, why: toldOf(e) }),
      {
        cause: e,
      },
    );
  }
}

/** run.json as it is while the run is recorded. */
const begun = (options: NewRun, id: string, startedAt: string): RunMeta => ({
  format: 'handback.run/1',
  id,
  purpose: options.purpose,
  vehicle: capped(options.vehicle),
  vin: capped(options.vin),
  complaint: capped(options.complaint),
  profile: options.profile ?? null,
  tool: options.tool.slice(0, 100),
  adapter: options.adapter
    ? {
        identity: options.adapter.identity.slice(0, 500),
        bus: options.adapter.bus.slice(0, 200),
        baud: options.adapter.baud,
      }
    : null,
  link: capped(options.link),
  startedAt,
  seconds: null,
  sha256: null,
  counters: null,
  recovered: false,
});

class RunUnderWay implements OpenRun {
  readonly id: string;
  readonly folder: string;
  readonly meta: RunMeta;
  readonly capture: CaptureWriter;
  readonly #release: () => Promise<void>;
  #closed: RunMeta | null = null;

  constructor(folder: string, meta: RunMeta, capture: CaptureWriter, release: () => Promise<void>) {
    this.id = meta.id;
    this.folder = folder;
    this.meta = meta;
    this.capture = capture;
    this.#release = release;
  }

  async close(end: RunEnd = {}): Promise<RunMeta> {
    if (this.#closed) return this.#closed;
    const meta = this.#endedBy(end);
    await this.capture.flush();
    await writeMeta(this.folder, meta); // is there room? Afterwards the capture cannot be gone on with
    const done = { ...meta, ...(await this.capture.close()) };
    await writeMeta(this.folder, done);
    await this.#release();
    this.#closed = done;
    return done;
  }

  async giveUp(end: RunEnd = {}): Promise<{ readonly meta: RunMeta; readonly missing: Says }> {
    const { keptS, cameS } = await this.capture.giveUp();
    const missing = (untilS: number): Says => saying('remark.not-kept', { cameS, lostS: cameS - untilS });
    const meta = this.#endedBy(end);
    const done = await this.#completedInRoom(meta, missing);
    await this.#release().catch(() => undefined);
    return { meta: done ?? meta, missing: missing(done?.seconds ?? keptS) };
  }

  /** Where not even the end has room, the last few kilobytes of what was kept make it; null where nothing does. */
  async #completedInRoom(meta: RunMeta, missing: (untilS: number) => Says): Promise<RunMeta | null> {
    for (const bytes of ROOM_FOR_END_BYTES)
      try {
        await shorten(join(this.folder, CAPTURE_FILE), bytes);
        return await completed(this.folder, meta, (untilS) => inEnglish(missing(untilS)));
      } catch (e) {
        // Nothing is given away for a refusal of another kind.
        if (!isFull(e)) return null;
      }
    return null;
  }

  #endedBy(end: RunEnd): RunMeta {
    return { ...this.meta, counters: end.counters ?? null, vin: capped(end.vin) ?? this.meta.vin };
  }
}

export interface RunEntry {
  readonly folder: string;
  readonly meta: RunMeta;
  /** Neither closed nor being recorded: left over from a crash or a power cut. */
  readonly leftOpen: boolean;
}

const MAX_LISTED_RUNS = 20_000;
/** Folders looked into at a time. */
export const FOLDERS_AT_A_TIME = 32;

const metas = new ReadDocuments(readMeta, 'runs.index');

/** Runs of a library, newest first; folders that cannot be read are named in `troubles`. A missing library is empty. */
export async function listRuns(library: string): Promise<{ runs: RunEntry[]; troubles: Says[] }> {
  const found: { readonly order: string; readonly run: RunEntry }[] = [];
  const troubles: Says[] = [];
  /** @returns whether there is a run.json, readable or not */
  const isRun = async (folder: string): Promise<boolean> => {
    if (found.length >= MAX_LISTED_RUNS) return true;
    try {
      const meta = await metas.in(folder, META_FILE);
      if (!meta) return false;
      const leftOpen = meta.sha256 === null && !(await isLocked(folder));
      found.push({ order: `${meta.startedAt} ${folder}`, run: { folder, meta, leftOpen } });
    } catch (e) {
      troubles.push(toldOf(e));
    }
    return true;
  };
  const look = async (folder: string, depth: number): Promise<void> => {
    const entries = await readdir(folder, { withFileTypes: true }).catch(() => []);
    if (entries.some((e) => e.name === META_FILE) && (await isRun(folder))) return;
    // Names with a dot in front are the bin and whatever else is put aside.
    const inner = entries.filter((e) => e.isDirectory() && !e.name.startsWith('.'));
    const into = depth === 1 ? isRun : (path: string) => look(path, depth - 1);
    for (let i = 0; i < inner.length; i += FOLDERS_AT_A_TIME)
      await Promise.all(inner.slice(i, i + FOLDERS_AT_A_TIME).map((e) => into(join(folder, e.name))));
  };
  await metas.open(library);
  await look(resolve(library), 2);
  found.sort((a, b) => (a.order < b.order ? 1 : -1));
  return { runs: found.map((f) => f.run), troubles };
}

/** Whether a living writer, of this program or another, records into the library. */
export const isRecordingIn = async (library: string): Promise<boolean> =>
  (await listRuns(library)).runs.some((r) => r.meta.sha256 === null && !r.leftOpen);

/** Leaves what was read of runs to later programs (`read-documents.ts`). */
export const leaveRuns = (library: string, runs: readonly RunEntry[]): Promise<void> =>
  metas.leave(
    library,
    runs.map((r) => r.folder),
  );

/** Whether the index agrees with every run.json. */
export const checkRunsIndex = (library: string, runs: readonly RunEntry[]): Promise<CheckedCache> =>
  metas.check(
    library,
    runs.map((r) => r.folder),
    META_FILE,
  );

/** The folder of a run by its id. @throws HandbackError library.path */
export async function findRun(library: string, id: string): Promise<RunEntry> {
  const found = (await listRuns(library)).runs.find((r) => r.meta.id === id);
  if (!found) throw new HandbackError('library.path', saying('error.no-run', { id: id.slice(0, 80) }));
  return found;
}

/**
 * Closes a run that was left open: the torn last line becomes part of a note, the chain and the hash are completed.
 * A run that is closed already is returned as it is.
 * @throws HandbackError run.busy while a living writer holds it, input.version for a later version's, run.write
 */
export async function recoverRun(folder: string): Promise<RunMeta> {
  await refuseReadOnly(folder);
  const release = await lockRun(folder);
  try {
    const meta = await readMeta(folder);
    if (meta.sha256 !== null) return meta;
    return await completed(folder, meta, () => 'the recording was interrupted and closed later');
  } finally {
    await release();
  }
}

/** @param why the note at the end of the capture */
async function completed(folder: string, meta: RunMeta, why: (untilS: number) => string): Promise<RunMeta> {
  const path = join(folder, CAPTURE_FILE);
  const seconds = await completeCapture(path, why);
  const done: RunMeta = { ...meta, seconds, sha256: await sha256OfFile(path), recovered: true };
  await writeMeta(folder, done);
  return done;
}

/** Takes at least so many bytes off the end, whole lines. */
async function shorten(path: string, bytes: number): Promise<void> {
  if (bytes === 0) return;
  const handle = await open(path, 'r+');
  try {
    const at = Math.max(0, (await handle.stat()).size - bytes);
    const from = Math.max(0, at - 65_536);
    const { buffer, bytesRead } = await handle.read(Buffer.alloc(at - from), 0, at - from, from);
    await handle.truncate(from + buffer.subarray(0, bytesRead).lastIndexOf(10) + 1);
    await handle.sync();
  } finally {
    await handle.close();
  }
}

async function completeCapture(path: string, why: (untilS: number) => string): Promise<number> {
  const parser = new CaptureParser();
  let lastUs = 0;
  let torn: Uint8Array | null = null;
  const take = (items: ReturnType<CaptureParser['push']>): void => {
    for (const item of items) {
      if (item.is === 'record') lastUs = Math.max(lastUs, item.record.tUs);
      if (item.is === 'torn') torn = item.bytes;
    }
  };
  if (!(await isPlainFile(path)) && (await isPlainFile(join(dirname(path), COMPRESSED_FILE))))
    throw new HandbackError(
      'run.write',
      saying('error.not-completed', { path, why: saying('reason.compressed', { file: COMPRESSED_FILE }) }),
    );
  const handle = await open(path, 'a+').catch((e: unknown) => {
    throw new HandbackError('run.write', saying('error.not-completed', { path, why: toldOf(e) }), {
      cause: e,
    });
  });
  try {
    for await (const chunk of createReadStream(path)) take(parser.push(chunk as Buffer));
    take(parser.end());
    refuseLater(path, parser.firstLine);
    await handle.truncate(parser.completeBytes);
    const lines: string[] = parser.versionOk === null ? [VERSION_LINE] : [];
    const remains = torn === null ? '' : `; a torn last line was taken out: ${tornText(torn)}`;
    lines.push(
      ...linesOf({
        kind: 'note',
        tUs: lastUs,
        text: `${why(lastUs / 1e6)}${remains}`,
      }),
    );
    const added = Buffer.from(`${lines.join('\n')}\n`, 'utf8');
    parser.chain.update(added);
    try {
      await handle.appendFile(Buffer.concat([added, Buffer.from(`${parser.chain.seal(lastUs)}\n`)]));
      await handle.sync();
    } catch (e) {
      await handle.truncate(parser.completeBytes);
      throw e;
    }
    return lastUs / 1e6;
  } finally {
    await handle.close();
  }
}

const tornText = (bytes: Uint8Array): string =>
  JSON.stringify(Buffer.from(bytes.subarray(0, 400)).toString('utf8')).slice(0, 600);

const capped = (text: string | null | undefined): string | null => text?.slice(0, 2000) ?? null;

/** Time and purpose for people, four random characters against chance; safe as a folder name on every system. */
function newId(startedAt: string, purpose: Purpose): string {
  const stamp = startedAt.slice(0, 19).replace('T', '-').replaceAll(':', '');
  return `${stamp}-${purpose}-${randomBytes(2).toString('hex')}`;
}
