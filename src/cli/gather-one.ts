/** What `handback compare` takes from one recording, in the program's own thread or beside others. */
import { type Gathered, Gathering } from '../compare/gather.ts';
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import { Places } from '../nmea/places.ts';
import type { ImportOptions } from '../run/import/builder.ts';
import type { RunMeta } from '../run/meta.ts';
import { openRecording } from '../run/recording.ts';
import { inThread } from '../run/threads.ts';
import type { During } from '../run/types.ts';
import { partsOf } from '../signal/parts.ts';

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

/** @throws HandbackError input.*; the signal's reason */
export async function gatherOne({ path, table, profile }: GatherTask, during: During): Promise<GatheredOne> {
  const places = new Places();
  const recording = await openRecording(path, table, during, places);
  const parts = partsOf(recording.table).map((part) => {
    const gathering = new Gathering(profile);
    for (const sample of part.table) gathering.push(sample);
    // A later part has times of its own.
    return gathering.finish(part.startsAtS === 0 ? places : null);
  });
  return { warnings: recording.warnings, meta: recording.meta, parts };
}

export default inThread(gatherOne);
