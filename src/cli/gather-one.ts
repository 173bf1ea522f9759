/** What `handback compare` takes from one recording, in the program's own thread or beside others. */
import type { Profile } from '../core/profile.ts';
import type { GatheredParts } from '../desk/gathered-runs.ts';
import { OpenedRuns } from '../desk/opened-runs.ts';
import type { ImportOptions } from '../run/import/builder.ts';
import type { RunMeta } from '../run/meta.ts';
import { inThread } from '../run/threads.ts';
import type { During } from '../run/types.ts';

export interface GatherTask {
  readonly path: string;
  readonly table: ImportOptions;
  /** Under which all runs are compared. */
  readonly profile: Profile;
}

export interface GatheredOne extends GatheredParts {
  readonly meta: RunMeta | null;
}

const opened = OpenedRuns.beside();

/** @throws HandbackError input.*; the signal's reason */
export async function gatherOne({ path, table, profile }: GatherTask, during: During): Promise<GatheredOne> {
  const entry = await opened.recorded.entryAt(path);
  if (entry) return { ...(await opened.gathered.parts(entry, profile, during)), meta: entry.meta };
  return opened.gathered.ofFile(path, table, profile, during);
}

/** Whether a run's answer is there without reading its capture. */
export async function isGathered(path: string, profile: Profile): Promise<boolean> {
  const entry = await opened.recorded.entryAt(path);
  return entry !== null && opened.gathered.isKept(entry, profile);
}

export default inThread(gatherOne);
