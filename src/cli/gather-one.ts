/** What `handback compare` takes from one recording, in the program's own thread or beside others. */
import { type Gathered, gatherParts } from '../compare/gather.ts';
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import { OpenedRuns } from '../desk/opened-runs.ts';
import { Places } from '../nmea/places.ts';
import type { ImportOptions } from '../run/import/builder.ts';
import type { RunMeta } from '../run/meta.ts';
import { openRecording } from '../run/recording.ts';
import { inThread } from '../run/threads.ts';
import type { During } from '../run/types.ts';

export interface GatherTask {
  readonly path: string;
  readonly table: ImportOptions;
  /** Under which all runs are compared. */
  readonly profile: Profile;
}

export interface GatheredOne {
  readonly warnings: readonly Says[];
  readonly meta: RunMeta | null;
  readonly parts: readonly Gathered[];
}

const opened = OpenedRuns.beside();

/** @throws HandbackError input.*; the signal's reason */
export async function gatherOne({ path, table, profile }: GatherTask, during: During): Promise<GatheredOne> {
  const entry = await opened.recorded.entryAt(path);
  if (entry) return { ...(await opened.gathered.parts(entry, profile, during)), meta: entry.meta };
  const places = new Places();
  const { table: samples, warnings, meta } = await openRecording(path, table, during, places);
  return { warnings, meta, parts: gatherParts(samples, profile, places) };
}

/** Whether a run's answer is there without reading its capture. */
export async function isGathered(path: string, profile: Profile): Promise<boolean> {
  const entry = await opened.recorded.entryAt(path);
  return entry !== null && opened.gathered.isKept(entry, profile);
}

export default inThread(gatherOne);
