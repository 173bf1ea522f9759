/** A job as the page gets to see it: in a list, and opened. */

import { toldOf } from '../core/errors.ts';
import { inTurn, type Says } from '../core/says.ts';
import { say } from '../core/visit-says.ts';
import { codeRows, memoryTold } from '../job/fault-memory.ts';
import { readSnapshot } from '../job/files.ts';
import { suggestKind } from '../job/kinds.ts';
import { type JobEntry, listJobs, touchedAt } from '../job/library.ts';
import { profileOfSameVehicle } from '../job/search.ts';
import type { Purpose } from '../run/types.ts';
import { spelled } from '../words/spelled.ts';
import type { JobSummary, JobView, SnapshotView } from './jobs-api.ts';
import { summaryOf } from './summary.ts';

export function summaryOfJob(entry: JobEntry): JobSummary {
  const { id, vehicle, plate, reference, complaint, openedAt, practice } = entry.job;
  return {
    id,
    vehicle,
    plate,
    reference,
    complaint: complaint.slice(0, 300),
    openedAt,
    touchedAt: touchedAt(entry),
    ...spelled({ stands: standsAt(entry) }),
    practice,
  };
}

/** What is missing in it is suggested from the library's other jobs. */
export async function viewOfJob(library: string, entry: JobEntry): Promise<JobView> {
  const { job, runs } = entry;
  const snapshots = await snapshotsOf(entry);
  const read = snapshots.flatMap((s) => (s.snapshot ? [s.snapshot] : []));
  const empty = Object.keys(job.profile).length === 0;
  const others = empty || job.engine === '' ? (await listJobs(library)).jobs : [];
  const theirs = others.map((o) => o.job);
  return {
    job,
    ...spelled({ stands: standsAt(entry) }),
    runs: runs.map((r) => summaryOf(r.meta, job.id)),
    snapshots,
    codes: read.length === 0 ? null : spelled(codeRows(read)),
    kind: job.engine === '' ? suggestKind(theirs, job) : null,
    suggestion: empty ? profileOfSameVehicle(others, job) : null,
  };
}

/** One that cannot be read says why. */
async function snapshotsOf({ job, folder }: JobEntry): Promise<SnapshotView[]> {
  const snapshots: SnapshotView[] = [];
  for (const ref of job.snapshots)
    try {
      const snapshot = await readSnapshot(folder, ref);
      snapshots.push({ ...ref, snapshot, told: spelled(memoryTold(snapshot)), trouble: null });
    } catch (thrown) {
      snapshots.push(spelled({ ...ref, snapshot: null, told: null, trouble: toldOf(thrown) }));
    }
  return snapshots;
}

function standsAt({ job, runs }: JobEntry): Says {
  const has = (purpose: Purpose): boolean => runs.some((r) => r.meta.purpose === purpose);
  if (job.closedAt !== null) {
    if (job.comeBack.complaint) return say(has('come-back') ? 'visit.back-driven' : 'visit.back');
    if (!job.handOver) return say('visit.handed');
    const { whole, reason } = job.handOver;
    return inTurn([say('visit.handed-as', { whole }), ...(reason ? [say('visit.reason', { reason })] : [])]);
  }
  if (has('come-back')) return say('visit.back-driven');
  if (has('verification')) return say(has('baseline') ? 'visit.both' : 'visit.after');
  if (has('baseline')) return say('visit.before');
  return say(runs.length > 0 ? 'visit.unfiled' : 'visit.opened');
}
