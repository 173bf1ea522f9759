/** Files that a program had begun to write beside their place when it was killed. */
import { lstat, readdir, rm } from 'node:fs/promises';
import { join } from 'node:path';

/** As `replaceFile` and its like name them. */
const LEFTOVER = /\.[0-9a-f]{8}\.tmp$/;
/** Written to so lately that another program may still be at it. */
const IN_USE_MS = 3_600_000;

/** Takes them away, in this folder and all below, links not followed; what cannot be taken away stays. */
export async function sweepLeftovers(folder: string): Promise<void> {
  const nowMs = Date.now();
  for (const entry of await readdir(folder, { withFileTypes: true, recursive: true })) {
    if (!entry.isFile() || !LEFTOVER.test(entry.name)) continue;
    const path = join(entry.parentPath, entry.name);
    const writtenMs = await lstat(path).then(
      (info) => info.mtimeMs,
      () => nowMs,
    );
    if (nowMs - writtenMs > IN_USE_MS) await rm(path, { force: true }).catch(() => undefined);
  }
}
