/**
 * What earlier drives of a job teach the judging of later ones, and what those of other cars of its kind do. A drive that
 * shows a fault never teaches that system; the technician's word decides the rest.
 */
import { type Baseline, besideKind, learnBaseline } from '../analysis/judge.ts';
import type { Verdict } from '../analysis/types.ts';
import { reasonOf } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import type { Job } from '../job/job.ts';
import { findJob, type JobEntry, jobOfRun } from '../job/library.ts';
import type { RunEntry } from '../run/library.ts';
import { isSimulated, type RunToJudge } from '../run/meta.ts';
import type { During } from '../run/types.ts';
import type { TeachingView } from './jobs-api.ts';
import { Kept } from './kept.ts';
import { KindTeaching } from './kind-teaching.ts';
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
  readonly #kind: KindTeaching;

  constructor(library: string, opened: OpenedRuns) {
    this.#library = library;
    this.#opened = opened;
    this.#kind = new KindTeaching(library, opened);
  }

  /** What the runs of its job before this one teach; null outside jobs and where nothing is taught. */
  async before(run: RunEntry, during?: During): Promise<Taught | null> {
    const id = await jobOfRun(this.#library, run.folder);
    if (id === null) return null;
    const entry = await findJob(this.#library, id).catch(() => null);
    return entry && this.beforeIn(entry, run.meta, during);
  }

  /** The same of a run of this job, also of one that is about to be recorded. */
  async beforeIn(entry: JobEntry, run: RunToJudge, during?: During): Promise<Taught | null> {
    const own = await this.ownBefore(entry, run, during);
    const kind = await this.#kind.before(entry, run, (e, r) => this.#mayTeach(e, r, during));
    if (kind === null) return own;
    return {
      key: JSON.stringify([own?.key ?? null, kind.key]),
      value: async (d) => besideKind((await own?.value(d)) ?? null, await kind.value(d))!,
    };
  }

  /** What its own job taught before, without other cars. */
  async ownBefore(entry: JobEntry, run: RunToJudge, during?: During): Promise<Taught | null> {
    const teachers: Teacher[] = [];
    for (const earlier of entry.runs) {
      const { meta } = earlier;
      const teaches = meta.purpose === 'baseline' || meta.purpose === 'verification';
      if (!teaches || meta.sha256 === null || meta.id === run.id || meta.startedAt >= run.startedAt) continue;
      if (isSimulated(meta) !== isSimulated(run)) continue;
      const before = teachers.filter((t) => t.run.meta.startedAt < meta.startedAt);
      const may = await this.#unlessFaulty(
        await this.#byItself(entry.job, earlier, during),
        earlier,
        this.#taughtBy(before, meta),
        during,
      );
      if (may.boost || may.coolant) teachers.push({ run: earlier, may });
    }
    return this.#taughtBy(teachers, run);
  }

  #taughtBy(teachers: readonly Teacher[], run: RunToJudge): Taught | null {
    if (teachers.length === 0) return null;
    const profile = run.profile ?? {};
    const key = JSON.stringify([
      profile,
      ...teachers.map((t) => [t.run.folder, t.run.meta.sha256, t.may.boost, t.may.coolant]),
    ]);
    const learn = (d: During) => learnFrom(this.#opened, teachers, profile, d);
    return { key, value: (d) => this.#taught.get(key, learn, d) };
  }

  /** Shown good, by itself or against its own job's drives, or by the technician's word: never against other cars. */
  async #mayTeach(
    entry: JobEntry,
    run: RunEntry,
    during?: During,
  ): Promise<Pick<TeachingView, 'boost' | 'coolant'>> {
    const may = await this.of(entry, run, during);
    const own = await this.ownOf(run, during);
    const said = entry.job.teaching.find((t) => t.runId === run.meta.id);
    const open = (system: 'boost' | 'coolant'): boolean =>
      !may[system] && said?.[system] !== false && 'boost' in own && own[system] !== 'fault shown';
    if (!open('boost') && !open('coolant')) return may;
    const taught = await this.ownBefore(entry, run.meta, during);
    if (taught === null) return may;
    const { systems } = (await this.#opened.open(run, taught, during)).judgement;
    const good = (system: 'boost' | 'coolant'): boolean =>
      may[system] || (open(system) && systems[system].verdict === 'shown good');
    return { boost: good('boost'), coolant: good('coolant') };
  }

  /** Whether this run of the job may teach. */
  async of(entry: JobEntry, run: RunEntry, during?: During): Promise<TeachingView> {
    const may = await this.#byItself(entry.job, run, during);
    if (!may.boost && !may.coolant) return may;
    return this.#unlessFaulty(may, run, await this.ownBefore(entry, run.meta, during), during);
  }

  /** What shows a fault only against earlier drives of the car is no measure either. */
  async #unlessFaulty(
    may: TeachingView,
    run: RunEntry,
    taught: Taught | null,
    during?: During,
  ): Promise<TeachingView> {
    if (taught === null || (!may.boost && !may.coolant)) return may;
    const { systems } = (await this.#opened.open(run, taught, during)).judgement;
    const good = (system: 'boost' | 'coolant') => may[system] && systems[system].verdict !== 'fault shown';
    return { ...may, boost: good('boost'), coolant: good('coolant') };
  }

  async #byItself(job: Job, run: RunEntry, during?: During): Promise<TeachingView> {
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
async function learnFrom(
  opened: OpenedRuns,
  teachers: readonly Teacher[],
  profile: Profile,
  during: During,
): Promise<Baseline> {
  const tables = await Promise.all(
    teachers.map(async (t) => ({ ...t, table: (await opened.recorded.recording(t.run, during)).table })),
  );
  const learn = (system: 'boost' | 'coolant'): Baseline => {
    const own = tables.filter((t) => t.may[system]).map((t) => t.table);
    return own.length === 0 ? { boost: null, coolant: null } : learnBaseline(own, profile);
  };
  if (teachers.every((t) => t.may.boost && t.may.coolant)) return learn('boost');
  return { boost: learn('boost').boost, coolant: learn('coolant').coolant };
}
