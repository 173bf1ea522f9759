/** What the parts of a job's page share. */
import type { JobView } from '../src/desk/jobs-api.ts';

/** What became of a save: `refused` with the daemon's sentence; `lost` when nobody answered. */
export type Saved =
  | { readonly is: 'saved' | 'conflict' | 'lost' }
  | { readonly is: 'refused'; readonly why: string };

/** What every part of the page gets: the job, and the ways to change it. */
export interface Part {
  readonly view: JobView;
  /** `/api/jobs/ID` */
  readonly path: string;
  /** Runs a request that answers with the job; resolves to whether it worked. */
  readonly act: (request: (now: JobView) => Promise<JobView>) => Promise<boolean>;
  /**
   * Sets one field of the job, or with "profile.fanOnC" one key of one, unless somebody changed it since it was `was`.
   * An undefined value takes the key away.
   */
  readonly set: (field: string, value: unknown, was: unknown) => Promise<Saved>;
}
