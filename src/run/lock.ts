/** One writer for a run at a time: a lock file that a crashed writer does not leave shut for ever. */
import { randomBytes } from 'node:crypto';
import { link, open, readFile, rename, rm } from 'node:fs/promises';
import { hostname, uptime } from 'node:os';
import { join } from 'node:path';
import { HandbackError, reasonOf } from '../core/errors.ts';

const LOCK_FILE = 'lock';
const holderText = (): string =>
  JSON.stringify({
    pid: process.pid,
    host: hostname(),
    atMs: Date.now(),
    token: randomBytes(8).toString('hex'),
  });

/** Takes the lock of a run folder; returns its release. @throws HandbackError run.busy, run.write */
export async function lockRun(folder: string): Promise<() => Promise<void>> {
  const path = join(folder, LOCK_FILE);
  const own = holderText();
  for (let attempt = 0; attempt < 3; attempt++) {
    try {
      const handle = await open(path, 'wx');
      try {
        await handle.writeFile(own);
      } finally {
        await handle.close();
      }
      return async () => {
        if ((await readFile(path, 'utf8').catch(() => '')) === own) await rm(path, { force: true });
      };
    } catch (e) {
      if ((e as NodeJS.ErrnoException).code !== 'EEXIST')
        throw new HandbackError('run.write', `${path} cannot be written: ${reasonOf(e)}.`, { cause: e });
    }
    const held = await readFile(path, 'utf8').catch(() => null);
    if (held !== null && !(await breakStale(path, held)))
      throw new HandbackError('run.busy', `${folder} is being recorded by another program.`, {
        hint: 'Stop the other recording first.',
      });
  }
  throw new HandbackError('run.busy', `${folder} is being recorded by another program.`);
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
  let holder: { pid?: unknown; host?: unknown; atMs?: unknown };
  try {
    holder = JSON.parse(held) ?? {};
  } catch {
    return false; // killed between creating and writing it
  }
  const { pid, host, atMs } = holder;
  if (typeof pid !== 'number' || !Number.isInteger(pid) || pid <= 0) return false;
  if (host !== hostname()) return true; // another computer on a shared folder: cannot be asked
  const bootMs = Date.now() - uptime() * 1000;
  if (typeof atMs === 'number' && atMs < bootMs - 60_000) return false; // from before the computer started
  try {
    process.kill(pid, 0); // signal 0 only asks whether it exists
    return true;
  } catch (e) {
    return (e as NodeJS.ErrnoException).code === 'EPERM';
  }
}
