/** What the parts of a job's page share. */
import type { JobView } from '../src/desk/jobs-api.ts';

/** What every part of the page gets: the job, and the one way to change it. */
export interface Part {
  readonly view: JobView;
  /** `/api/jobs/ID` */
  readonly path: string;
  /** Runs a request that answers with the job; resolves to whether it worked. */
  readonly act: (request: (now: JobView) => Promise<JobView>) => Promise<boolean>;
}
