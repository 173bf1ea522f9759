/**
 * What earlier drives of a job teach the judging of later ones. A drive that shows a fault never teaches that system;
 * the technician's word decides the rest.
 */
import { type Baseline, learnBaseline } from '../analysis/judge.ts';
import type { Verdict } from '../analysis/types.ts';
import { reasonOf } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import type { Job } from '../job/job.ts';
import { findJob, type JobEntry, jobOfRun } from '../job/library.ts';
import type { RunEntry } from '../run/library.ts';
import type { RunMeta } from '../run/meta.ts';
import { openRecording } from '../run/recording.ts';
import type { During } from '../run/types.ts';
import type { TeachingView } from './jobs-api.ts';
import { Kept } from './kept.ts';
import type { OpenedRuns, Taught } from './opened-runs.ts';

/** What a run shows by itself, or why it cannot be read. */
type Own = { readonly boost: Verdict; readonly coolant: Verdict } | { readonly trouble: string };

interface Teacher {
  readonly run: RunEntry;
  readonly may: TeachingView;
}

const KEPT_VERDICTS = 2000;
const KEPT_BASELINES = 4;

export const NO_TEACHING: TeachingView = { boost: false, coolant: false, by: 'findings' };

export class Teaching {
  readonly #library: string;
  readonly #opened: OpenedRuns;
  /** By run and hash: small, and asked for again and again. */
  readonly #own = new Kept<Own>(KEPT_VERDICTS);
  readonly #taught = new Kept<Baseline>(KEPT_BASELINES);

  constructor(library: string, opened: OpenedRuns) {
    this.#library = library;
    this.#opened = opened;
  }

  /** What the runs of its job before this one teach; null outside jobs and where nothing is taught. */
  async before(run: RunEntry, during?: During): Promise<Taught | null> {
    const id = await jobOfRun(this.#library, run.folder);
    if (id === null) return null;
    const entry = await findJob(this.#library, id).catch(() => null);
    return entry && this.beforeIn(entry, run.meta, during);
  }

  async beforeIn(
    entry: JobEntry,
    run: Pick<RunMeta, 'id' | 'startedAt' | 'profile'>,
    during?: During,
  ): Promise<Taught | null> {
    const teachers: Teacher[] = [];
    for (const earlier of entry.runs) {
      const { meta } = earlier;
      const teaches = meta.purpose === 'baseline' || meta.purpose === 'verification';
      if (!teaches || meta.sha256 === null || meta.id === run.id || meta.startedAt >= run.startedAt) continue;
      const may = await this.of(entry.job, earlier, during);
      if (may.boost || may.coolant) teachers.push({ run: earlier, may });
    }
    if (teachers.length === 0) return null;
    const profile = run.profile ?? {};
    const key = JSON.stringify([
      profile,
      ...teachers.map((t) => [t.run.folder, t.run.meta.sha256, t.may.boost, t.may.coolant]),
    ]);
    const learn = (d: During) => learnFrom(teachers, profile, d);
    return { key, value: (d) => this.#taught.get(key, learn, d) };
  }

  /** Whether this run of the job may teach. */
  async of(job: Job, run: RunEntry, during?: During): Promise<TeachingView> {
    const said = job.teaching.find((t) => t.runId === run.meta.id);
    const own = await this.ownOf(run, during);
    if (!('boost' in own)) return NO_TEACHING;
    const may = (system: 'boost' | 'coolant'): boolean =>
      said ? said[system] && own[system] !== 'fault shown' : own[system] === 'shown good';
    return { boost: may('boost'), coolant: may('coolant'), by: said ? 'technician' : 'findings' };
  }

  /** What a run shows by itself, taught by nobody. */
  ownOf(run: RunEntry, during?: During): Promise<Own> {
    const key = `${run.folder} ${run.meta.sha256}`;
    return this.#own.get(
      key,
      (d) =>
        this.#opened.open(run, null, d).then(
          ({ judgement: { systems } }) => ({
            boost: systems.boost.verdict,
            coolant: systems.coolant.verdict,
          }),
          (thrown: unknown) => {
            d.signal.throwIfAborted();
            return { trouble: reasonOf(thrown) };
          },
        ),
      during,
    );
  }
}

/** Each system learns only from the runs that may teach it. */
async function learnFrom(teachers: readonly Teacher[], profile: Profile, during: During): Promise<Baseline> {
  const tables = await Promise.all(
    teachers.map(async (t) => ({ ...t, table: (await openRecording(t.run.folder, {}, during)).table })),
  );
  const learn = (system: 'boost' | 'coolant'): Baseline => {
    const own = tables.filter((t) => t.may[system]).map((t) => t.table);
    return own.length === 0 ? { boost: null, coolant: null } : learnBaseline(own, profile);
  };
  if (teachers.every((t) => t.may.boost && t.may.coolant)) return learn('boost');
  return { boost: learn('boost').boost, coolant: learn('coolant').coolant };
}
