/** Which drives of other cars teach how a kind behaves, and what they taught: other jobs of the library, before the run. */
import { learnKind } from '../analysis/boost/kind.ts';
import { type BoostKind, type BoostLesson, mergeLessons } from '../analysis/boost/lesson.ts';
import { kindIn } from '../job/kinds.ts';
import { readKinds } from '../job/kinds-file.ts';
import { type JobEntry, listJobs } from '../job/library.ts';
import type { RunEntry } from '../run/library.ts';
import { isSimulated, type RunToJudge } from '../run/meta.ts';
import type { During } from '../run/types.ts';
import { Kept, partOf } from './kept.ts';
import type { OpenedRuns } from './opened-runs.ts';

/** The latest: more cars tell little more (docs/analysis.md), and a recording waits for them to be read. */
const MOST_CARS = 30;
const MOST_DRIVES = 2;
const KEPT_LESSONS = 2 * MOST_CARS * MOST_DRIVES;
const KEPT_KINDS = 4;

interface KindTaught {
  /** Which runs taught: another key judges anew. */
  readonly key: string;
  value(during: During): Promise<BoostKind | null>;
}

type IsGood = (entry: JobEntry, run: RunEntry) => Promise<boolean>;

/** What tells one vehicle from another. */
type Identity = ReadonlySet<string>;

export class KindTeaching {
  readonly #library: string;
  readonly #opened: OpenedRuns;
  readonly #lessons = new Kept<BoostLesson>(KEPT_LESSONS);
  readonly #kinds = new Kept<{ readonly kind: BoostKind | null }>(KEPT_KINDS);

  constructor(library: string, opened: OpenedRuns) {
    this.#library = library;
    this.#opened = opened;
  }

  /** Of runs that began before this one; null where the job states no kind, or no other car of it has a good drive. */
  async before(entry: JobEntry, run: RunToJudge, isGood: IsGood): Promise<KindTaught | null> {
    const cars = await this.#carsBefore(entry, run, isGood);
    if (cars.length === 0) return null;
    const key = JSON.stringify(cars.map((runs) => runs.map((r) => [r.meta.id, r.meta.sha256])));
    return {
      key,
      value: async (during) => (await this.#kinds.get(key, (d) => this.#learn(cars, d), during)).kind,
    };
  }

  /** The drives that teach, by car, in an order that does not hang on the disk's. */
  async #carsBefore(of: JobEntry, run: RunToJudge, isGood: IsGood): Promise<RunEntry[][]> {
    const kinds = await readKinds(this.#library);
    const kind = kindIn(kinds, of.job);
    if (kind === '') return [];
    const { jobs } = await listJobs(this.#library);
    const self = identityOf(of);
    const cars: { identity: Identity; runs: RunEntry[] }[] = [];
    const opened = (e: JobEntry): string => `${e.job.openedAt} ${e.job.id}`;
    for (const entry of jobs.toSorted((a, b) => (opened(a) < opened(b) ? 1 : -1))) {
      const other = identityOf(entry);
      if (entry.job.practice !== of.job.practice || isSame(other, self) || kindIn(kinds, entry.job) !== kind)
        continue;
      const known = cars.find((c) => isSame(c.identity, other));
      if (known === undefined && cars.length === MOST_CARS) continue;
      const runs = await teachersIn(entry, run, MOST_DRIVES - (known?.runs.length ?? 0), isGood);
      if (known) known.runs.push(...runs);
      else if (runs.length > 0) cars.push({ identity: other, runs });
    }
    return cars.map((c) => c.runs);
  }

  async #learn(cars: readonly (readonly RunEntry[])[], during: During): Promise<{ kind: BoostKind | null }> {
    const taught = [];
    for (const [i, runs] of cars.entries()) {
      const lessons = [];
      for (const run of runs) lessons.push(await this.#lessonOf(run, partOf(during, i, cars.length)));
      taught.push(mergeLessons(lessons));
    }
    return { kind: learnKind(taught) };
  }

  #lessonOf(run: RunEntry, during: During): Promise<BoostLesson> {
    return this.#lessons.get(
      `${run.folder} ${run.meta.sha256}`,
      (d) => this.#opened.boostLesson(run, d),
      during,
    );
  }
}

/** The latest good drives of one job; none of a car that came back with its complaint. */
async function teachersIn(
  entry: JobEntry,
  judged: RunToJudge,
  most: number,
  isGood: IsGood,
): Promise<RunEntry[]> {
  if (entry.job.comeBack.complaint) return [];
  const out: RunEntry[] = [];
  for (const run of entry.runs.toReversed()) {
    const { purpose, sha256 } = run.meta;
    const teaches = purpose === 'baseline' || purpose === 'verification';
    if (out.length >= most || !teaches || sha256 === null || run.meta.startedAt >= judged.startedAt) continue;
    if (isSimulated(run.meta) !== isSimulated(judged)) continue;
    if (await isGood(entry, run)) out.push(run);
  }
  return out;
}

/** By VIN and plate, as they are written; by the job alone where neither is known. */
function identityOf({ job, runs }: Pick<JobEntry, 'job' | 'runs'>): Identity {
  const vins = [job.vin, ...runs.map((r) => r.meta.vin ?? '')].map(plain).filter(Boolean);
  const plate = plain(job.plate);
  const ids = [...vins.map((v) => `vin ${v}`), ...(plate ? [`plate ${plate}`] : [])];
  return new Set(ids.length > 0 ? ids : [`job ${job.id}`]);
}

const plain = (text: string): string => text.toUpperCase().replace(/[^\p{L}\p{N}]/gu, '');

const isSame = (a: Identity, b: Identity): boolean => [...a].some((id) => b.has(id));
