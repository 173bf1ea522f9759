/** Runs of the library compared: read as a stream, one after the other; the last few answers are kept. */
import { compareGathered, profileFor } from '../compare/compare.ts';
import type { ComparedRun, GatheredRun } from '../compare/runs.ts';
import type { Comparison } from '../compare/types.ts';
import type { Profile } from '../core/profile.ts';
import type { Snapshot } from '../core/snapshot.ts';
import { codeChanges } from '../j1979/code-changes.ts';
import { readSnapshot } from '../job/files.ts';
import { findJob, jobOfRun } from '../job/library.ts';
import { findRun, type RunEntry } from '../run/library.ts';
import { type During, partOf } from '../run/types.ts';
import type { CompareRequest } from './api.ts';
import { Kept } from './kept.ts';
import { OpenedRuns } from './opened-runs.ts';

const KEPT_COMPARISONS = 4;

export class ComparedRuns {
  readonly #library: string;
  readonly #opened: OpenedRuns;
  readonly #kept = new Kept<Comparison>(KEPT_COMPARISONS);

  /** @param opened knows what comparing took from runs before */
  constructor(library: string, opened: OpenedRuns = new OpenedRuns()) {
    this.#library = library;
    this.#opened = opened;
  }

  /** @throws HandbackError input.file, input.format, input.version */
  async compare(request: CompareRequest, during?: During): Promise<Comparison> {
    const entries = await this.#entriesOf(request);
    const { snapshots, stamp } = await this.#snapshots(entries.map((e) => e.entry));
    const key = JSON.stringify([
      request,
      stamp,
      ...entries.map(({ entry }) => [entry.folder, entry.meta.sha256, entry.meta.profile]),
    ]);
    const compare = (d?: During) => compareEntries(this.#opened, entries, request, snapshots, d);
    // A run that is still being recorded is another run a moment later.
    if (entries.some(({ entry }) => entry.meta.sha256 === null)) return compare(during);
    return this.#kept.get(key, compare, during);
  }

  /** Its runs, and the profile under which they are compared. @throws HandbackError input.* */
  async under(request: CompareRequest): Promise<{ runs: RunEntry[]; profile: Profile }> {
    const entries = await this.#entriesOf(request);
    return { runs: entries.map((e) => e.entry), profile: profileFor(entries.map(comparedOf), {}) };
  }

  async #entriesOf(request: CompareRequest): Promise<Entry[]> {
    const entries: Entry[] = [];
    for (const [role, ids] of [
      ['before', request.before],
      ['after', request.after],
      ['come-back', request.comeBack],
    ] as const)
      for (const id of ids) entries.push({ entry: await findRun(this.#library, id), role });
    return entries;
  }

  /** Code snapshots of the job that all the runs belong to, in order of time; one that cannot be read is left out. */
  async #snapshots(entries: readonly RunEntry[]): Promise<{ snapshots: Snapshot[]; stamp: string }> {
    const jobs = new Set<string | null>();
    for (const entry of entries) jobs.add(await jobOfRun(this.#library, entry.folder));
    const [id] = jobs;
    if (jobs.size !== 1 || id === undefined || id === null) return { snapshots: [], stamp: '' };
    const { job, folder } = await findJob(this.#library, id);
    const snapshots: Snapshot[] = [];
    const refs = [...job.snapshots].sort((a, b) => (a.at < b.at ? -1 : 1));
    for (const ref of refs) {
      const snapshot = await readSnapshot(folder, ref).catch(() => null);
      if (snapshot) snapshots.push(snapshot);
    }
    return { snapshots, stamp: refs.map((r) => r.file).join(' ') };
  }
}

interface Entry {
  readonly entry: RunEntry;
  readonly role: ComparedRun['role'];
}

const comparedOf = ({ entry: { meta }, role }: Entry): ComparedRun => ({
  id: meta.id,
  label: `${meta.purpose} of ${meta.startedAt.slice(0, 16).replace('T', ' ')}`,
  role,
  startedAt: meta.startedAt,
  vin: meta.vin,
  profile: meta.profile,
});

async function compareEntries(
  opened: OpenedRuns,
  entries: readonly Entry[],
  request: CompareRequest,
  snapshots: readonly Snapshot[],
  during?: During,
): Promise<Comparison> {
  const runs = entries.map(comparedOf);
  const options = {
    ...(request.marginPct === undefined ? {} : { marginPct: request.marginPct }),
    codes: snapshots.length > 1 ? codeChanges(snapshots) : null,
  };
  const profile = profileFor(runs, options);
  const read: GatheredRun[] = [];
  for (const [i, { entry }] of entries.entries()) {
    const part = during && partOf(during, i, entries.length);
    read.push({ run: runs[i]!, gathered: await opened.gathered.of(entry, profile, part) });
  }
  return compareGathered(read, options);
}
