/** Jobs found again: by words, by what a person calls them, by their vehicle. */

import { join } from 'node:path';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import { exists } from '../run/document.ts';
import { JOB_FILE } from './files.ts';
import { compact, fold, folderOf, isName, withoutStamp } from './folders.ts';
import type { Job } from './job.ts';
import { findJob, type JobEntry, listJobs } from './library.ts';

/**
 * Jobs in which every word of the query occurs: vehicle, plate, VIN, own reference, complaint, suspicion, parts,
 * dates (2026-03-05 or 05.03.2026). Case, accents and the gaps in plates do not matter.
 */
export function searchJobs(jobs: readonly JobEntry[], query: string): JobEntry[] {
  const words = fold(query).split(/\s+/).filter(Boolean);
  if (words.length === 0) return [...jobs];
  const whole = compact(query);
  return jobs.filter((entry) => {
    const { job } = entry;
    const dates = [job.openedAt, ...entry.runs.map((r) => r.meta.startedAt)].flatMap(datesOf);
    const hay = fold(
      [
        ...dates,
        job.vehicle,
        job.plate,
        job.vin,
        job.reference,
        job.complaint,
        job.suspected,
        ...job.replaced,
        job.technician,
      ].join(' \n '),
    );
    const names = [job.plate, job.vin, job.reference].map(compact);
    const named = (word: string): boolean => word.length > 2 && names.some((n) => n.includes(word));
    return words.every((w) => hay.includes(w) || named(compact(w))) || named(whole);
  });
}

/**
 * The job that a person means: by id, else by own reference, plate or VIN as they stand, gaps and case apart.
 * @throws HandbackError library.path when there is none, or more than one
 */
export async function jobCalled(library: string, name: string): Promise<JobEntry> {
  if (isName(withoutStamp(name)) && (await exists(join(folderOf(library, name), JOB_FILE))))
    return findJob(library, name);
  const whole = compact(name);
  const { jobs } = await listJobs(library);
  const meant = jobs.filter(({ job }) =>
    [job.reference, job.plate, job.vin].some((n) => n !== null && whole !== '' && compact(n) === whole),
  );
  const [only, ...others] = meant;
  if (only && others.length === 0) return only;
  throw new HandbackError(
    'library.path',
    only
      ? saying('error.many-jobs', {
          name: name.slice(0, 80),
          n: meant.length,
          ids: meant.map(({ job }) => job.id).join(', '),
        })
      : saying('error.no-job', { id: name.slice(0, 80) }),
    { hint: saying(only ? 'error.many-jobs-hint' : 'error.jobs-hint') },
  );
}

/** Both ways of writing the day, in this computer's time zone: that is the day the workshop knows. */
function datesOf(iso: string): string[] {
  const date = new Date(iso);
  const two = (n: number): string => String(n).padStart(2, '0');
  const [y, m, d] = [String(date.getFullYear()), two(date.getMonth() + 1), two(date.getDate())];
  return [`${y}-${m}-${d}`, `${d}.${m}.${y}`];
}

/** What the last other job of the same vehicle (by VIN, else by plate) knew of it; null when there is none. */
export function profileOfSameVehicle(
  jobs: readonly JobEntry[],
  job: Pick<Job, 'id' | 'vin' | 'plate'>,
): { readonly jobId: string; readonly openedAt: string; readonly profile: Profile } | null {
  const [vin, plate] = [compact(job.vin), compact(job.plate)];
  const same = jobs
    .filter(({ job: other }) => {
      if (other.id === job.id || Object.keys(other.profile).length === 0) return false;
      const theirs = compact(other.vin);
      if (vin !== '' && theirs !== '') return vin === theirs;
      return plate !== '' && compact(other.plate) === plate;
    })
    .sort((a, b) => b.job.openedAt.localeCompare(a.job.openedAt))[0];
  return same ? { jobId: same.job.id, openedAt: same.job.openedAt, profile: same.job.profile } : null;
}
