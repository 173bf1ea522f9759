/** One writer for a run, and one daemon for a library, at a time: a lock file that a crashed holder does not leave shut. */

import { createHash, randomBytes } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { link, open, readFile, rename, rm } from 'node:fs/promises';
import { hostname, uptime } from 'node:os';
import { join } from 'node:path';
import { isMainThread } from 'node:worker_threads';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import { inTurn, type Says } from '../core/says.ts';

const LOCK_FILE = 'lock';
const KINDS_LOCK = 'kinds.lock';
/** The same under whatever name and in whatever network: a digest of the system's own id; null where it has none. */
const MACHINE = machineId();
/** Locks that this process holds, by their text; the main thread's only. */
const ours = new Set<string>();
const holderText = (): string =>
  JSON.stringify({
    pid: process.pid,
    born: bornOf(process.pid),
    host: hostname(),
    machine: MACHINE,
    atMs: Date.now(),
    token: randomBytes(8).toString('hex'),
  });

/** Takes the lock of a run folder; returns its release. @throws HandbackError run.busy, run.write */
export function lockRun(folder: string): Promise<() => Promise<void>> {
  return lock(
    folder,
    saying('error.recorded-elsewhere', { path: folder }),
    saying('error.recorded-elsewhere-hint'),
  );
}

/** Takes a library for one daemon; returns its release. @throws HandbackError run.busy, run.write */
export function lockLibrary(folder: string): Promise<() => Promise<void>> {
  return lock(folder, saying('error.library-used', { path: folder }), saying('error.library-used-hint'));
}

/** Takes a pool for one who joins its files; returns its release. @throws HandbackError run.busy, run.write */
export function lockPool(folder: string): Promise<() => Promise<void>> {
  return lock(folder, saying('error.pool-used', { path: folder }), saying('error.pool-used-hint'));
}

/** Takes the kinds of a library for one change, beside its daemon; returns its release. @throws HandbackError run.busy, run.write */
export function lockKinds(folder: string): Promise<() => Promise<void>> {
  return lock(
    folder,
    saying('error.kinds-used', { path: folder }),
    saying('error.kinds-used-hint'),
    KINDS_LOCK,
  );
}

async function lock(
  folder: string,
  message: Says,
  hint: Says,
  file = LOCK_FILE,
): Promise<() => Promise<void>> {
  const path = join(folder, file);
  const own = holderText();
  for (let attempt = 0; attempt < 3; attempt++) {
    try {
      // Ours before its file is there: whoever reads it in between must not take it for one of the dead.
      ours.add(own);
      await createWhole(path, own);
      return async () => {
        ours.delete(own);
        if ((await readFile(path, 'utf8').catch(() => '')) === own) await rm(path, { force: true });
      };
    } catch (e) {
      ours.delete(own);
      if ((e as NodeJS.ErrnoException).code !== 'EEXIST')
        throw new HandbackError('run.write', saying('error.not-written', { path, why: toldOf(e) }), {
          cause: e,
        });
    }
    const held = await readFile(path, 'utf8').catch(() => null);
    if (held !== null && !(await breakStale(path, held)))
      throw new HandbackError('run.busy', message, { hint: inTurn([hint, ...elsewhereHint(path, held)]) });
  }
  throw new HandbackError('run.busy', message, { hint });
}

/** The file appears with its content or not at all, so that nobody reads an empty lock; EEXIST when it is there. */
async function createWhole(path: string, content: string): Promise<void> {
  const aside = `${path}.${randomBytes(4).toString('hex')}.tmp`;
  try {
    await write(aside, content);
    await link(aside, path).catch((e: NodeJS.ErrnoException) => {
      if (e.code === 'EEXIST') throw e;
      return write(path, content); // a file system without hard links
    });
  } finally {
    await rm(aside, { force: true });
  }
}

async function write(path: string, content: string): Promise<void> {
  const handle = await open(path, 'wx');
  try {
    await handle.writeFile(content);
  } finally {
    await handle.close();
  }
}

/** True while a living writer holds the run. */
export async function isLocked(folder: string): Promise<boolean> {
  const held = await readFile(join(folder, LOCK_FILE), 'utf8').catch(() => null);
  return held !== null && isAlive(held);
}

/** Removes exactly the lock that was found stale: a fresh one taken meanwhile is put back. */
async function breakStale(path: string, held: string): Promise<boolean> {
  if (isAlive(held)) return false;
  const aside = `${path}.${randomBytes(4).toString('hex')}.stale`;
  try {
    await rename(path, aside);
  } catch {
    return true; // someone else removed it; try again
  }
  const same = (await readFile(aside, 'utf8').catch(() => '')) === held;
  if (!same) await link(aside, path).catch(() => undefined);
  await rm(aside, { force: true });
  return same;
}

function isAlive(held: string): boolean {
  const holder = holderIn(held);
  if (holder === null) return false; // killed between creating and writing it
  const { pid, born, atMs } = holder;
  if (typeof pid !== 'number' || !Number.isInteger(pid) || pid <= 0) return false;
  if (isElsewhere(holder)) return true; // another computer on a shared folder: cannot be asked
  // Of one that had our number before us: where numbers are given out again soon, it would never come free. A worker
  // does not know what its process holds.
  if (pid === process.pid && isMainThread) return ours.has(held);
  const bootMs = Date.now() - uptime() * 1000;
  if (typeof atMs === 'number' && atMs < bootMs - 60_000) return false; // from before the computer started
  // Numbers are given out again: another process with this one, started at another time, holds nothing.
  const bornNow = bornOf(pid);
  if (typeof born === 'string' && bornNow !== null && bornNow !== born) return false;
  try {
    process.kill(pid, 0); // signal 0 only asks whether it exists
    return true;
  } catch (e) {
    return (e as NodeJS.ErrnoException).code === 'EPERM';
  }
}

interface Holder {
  readonly pid?: unknown;
  readonly born?: unknown;
  readonly host?: unknown;
  readonly machine?: unknown;
  readonly atMs?: unknown;
}

function holderIn(held: string): Holder | null {
  try {
    return (JSON.parse(held) as Holder | null) ?? {};
  } catch {
    return null;
  }
}

/** A laptop gets other names in other networks; what it is stays. Where that is not known the name counts. */
function isElsewhere({ host, machine }: Holder): boolean {
  if (typeof machine === 'string' && MACHINE !== null) return machine !== MACHINE;
  return host !== hostname();
}

/** machine-id(5): not to be told to others as it is. */
function machineId(): string | null {
  for (const path of ['/etc/machine-id', '/var/lib/dbus/machine-id'])
    try {
      const id = readFileSync(path, 'utf8').trim();
      if (/^[0-9a-f]{32}$/.test(id)) return createHash('sha256').update(`handback ${id}`).digest('hex');
    } catch {
      // not there: the next
    }
  return null;
}

/** What else can be done about a lock that a computer of another name holds. */
function elsewhereHint(path: string, held: string | null): Says[] {
  const holder = held === null ? null : holderIn(held);
  if (holder === null || !isElsewhere(holder)) return [];
  return [saying('error.held-by', { host: String(holder.host).slice(0, 64), path })];
}

/** When a process started, in the system's own count; null where the system does not tell (only Linux does here). */
function bornOf(pid: number): string | null {
  try {
    const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
    // proc(5): the name in parentheses may hold anything; the start time is the 20th field behind it.
    return stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19] ?? null;
  } catch {
    return null;
  }
}
