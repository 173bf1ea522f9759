/** Runs as lists show them. */
import { dirname } from 'node:path';
import { jobOfRun } from '../job/library.ts';
import { listRuns } from '../run/library.ts';
import type { RunMeta } from '../run/meta.ts';
import type { RunSummary } from './api.ts';

/** @param job the job that the run lies in */
export function summaryOf(meta: RunMeta, job: string | null): RunSummary {
  return {
    id: meta.id,
    job,
    purpose: meta.purpose,
    startedAt: meta.startedAt,
    seconds: meta.seconds,
    vehicle: meta.vehicle,
    closed: meta.sha256 !== null,
  };
}

/** All runs of a library, newest first. */
export async function summariesIn(library: string): Promise<readonly RunSummary[]> {
  const { runs } = await listRuns(library);
  const jobs = new Map<string, Promise<string | null>>();
  const jobIn = (folder: string): Promise<string | null> => {
    const job = jobs.get(dirname(folder)) ?? jobOfRun(library, folder);
    jobs.set(dirname(folder), job);
    return job;
  };
  return Promise.all(runs.map(async ({ meta, folder }) => summaryOf(meta, await jobIn(folder))));
}
