/** Which drives of other cars teach how a kind behaves, and what they taught: other jobs of the library, before the run. */
import { mergeLessons } from '../analysis/boost/lesson.ts';
import { mergeCoolant } from '../analysis/coolant/baseline.ts';
import { type Kind, type Lesson, learnFromKind } from '../analysis/judge.ts';
import { kindIn } from '../job/kinds.ts';
import { readKinds } from '../job/kinds-file.ts';
import { type JobEntry, listJobs } from '../job/library.ts';
import type { RunEntry } from '../run/library.ts';
import { isSimulated, type RunToJudge } from '../run/meta.ts';
import { type During, partOf } from '../run/types.ts';
import { Kept } from './kept.ts';
import type { OpenedRuns } from './opened-runs.ts';

/** The latest, of each system: more cars tell little more (docs/analysis.md), and a recording waits for them to be read. */
const MOST_CARS = 30;
const MOST_DRIVES = 2;
/** Some drives teach one system alone. */
const KEPT_LESSONS = 4 * MOST_CARS * MOST_DRIVES;
const KEPT_KINDS = 4;

interface KindTaught {
  /** Which runs taught: another key judges anew. */
  readonly key: string;
  value(during: During): Promise<Kind | null>;
}

/** Of which systems a drive may teach. */
interface May {
  readonly boost: boolean;
  readonly coolant: boolean;
}
type MayTeach = (entry: JobEntry, run: RunEntry) => Promise<May>;

interface Teacher {
  readonly run: RunEntry;
  readonly may: May;
}

/** What tells one vehicle from another. */
type Identity = ReadonlySet<string>;

export class KindTeaching {
  readonly #library: string;
  readonly #opened: OpenedRuns;
  readonly #lessons = new Kept<Lesson>(KEPT_LESSONS);
  readonly #kinds = new Kept<{ readonly kind: Kind | null }>(KEPT_KINDS);

  constructor(library: string, opened: OpenedRuns) {
    this.#library = library;
    this.#opened = opened;
  }

  /** Of runs that began before this one; null where the job states no kind, or no other car of it has a good drive. */
  async before(entry: JobEntry, run: RunToJudge, mayTeach: MayTeach): Promise<KindTaught | null> {
    const cars = await this.#carsBefore(entry, run, mayTeach);
    if (cars.length === 0) return null;
    const key = JSON.stringify(
      cars.map((all) => all.map(({ run: r, may }) => [r.meta.id, r.meta.sha256, may.boost, may.coolant])),
    );
    return {
      key,
      value: async (during) => (await this.#kinds.get(key, (d) => this.#learn(cars, d), during)).kind,
    };
  }

  /** The drives that teach, by car, in an order that does not hang on the disk's. */
  async #carsBefore(of: JobEntry, run: RunToJudge, mayTeach: MayTeach): Promise<Teacher[][]> {
    const kinds = await readKinds(this.#library);
    const kind = kindIn(kinds, of.job);
    if (kind === '') return [];
    const { jobs } = await listJobs(this.#library);
    const self = identityOf(of);
    const cars: { identity: Identity; teachers: Teacher[] }[] = [];
    const opened = (e: JobEntry): string => `${e.job.openedAt} ${e.job.id}`;
    for (const entry of jobs.toSorted((a, b) => (opened(a) < opened(b) ? 1 : -1))) {
      const other = identityOf(entry);
      if (entry.job.practice !== of.job.practice || isSame(other, self) || kindIn(kinds, entry.job) !== kind)
        continue;
      const known = cars.find((c) => isSame(c.identity, other));
      if (known === undefined && cars.length === MOST_CARS) continue;
      const teachers = await teachersIn(entry, run, known?.teachers ?? [], mayTeach);
      if (known) known.teachers.push(...teachers);
      else if (teachers.length > 0) cars.push({ identity: other, teachers });
    }
    return cars.map((c) => c.teachers);
  }

  async #learn(cars: readonly (readonly Teacher[])[], during: During): Promise<{ kind: Kind | null }> {
    const taught = [];
    for (const [i, teachers] of cars.entries()) {
      const lessons: { may: May; lesson: Lesson }[] = [];
      for (const { run, may } of teachers)
        lessons.push({ may, lesson: await this.#lessonOf(run, partOf(during, i, cars.length)) });
      taught.push({
        boost: mergeLessons(lessons.flatMap((l) => (l.may.boost ? [l.lesson.boost] : []))),
        coolant: mergeCoolant(lessons.flatMap((l) => (l.may.coolant ? [l.lesson.coolant] : []))),
      });
    }
    return { kind: learnFromKind(taught) };
  }

  #lessonOf(run: RunEntry, during: During): Promise<Lesson> {
    return this.#lessons.get(`${run.folder} ${run.meta.sha256}`, (d) => this.#opened.lesson(run, d), during);
  }
}

/** The latest good drives of one job, beside those of the car that are known; none of a car that came back with its complaint. */
async function teachersIn(
  entry: JobEntry,
  judged: RunToJudge,
  known: readonly Teacher[],
  mayTeach: MayTeach,
): Promise<Teacher[]> {
  if (entry.job.comeBack.complaint) return [];
  const out: Teacher[] = [];
  const wanted = (system: keyof May): boolean =>
    [...known, ...out].filter((t) => t.may[system]).length < MOST_DRIVES;
  for (const run of entry.runs.toReversed()) {
    const { purpose, sha256 } = run.meta;
    const teaches = purpose === 'baseline' || purpose === 'verification';
    const [boost, coolant] = [wanted('boost'), wanted('coolant')];
    if (!(boost || coolant) || !teaches || sha256 === null || run.meta.startedAt >= judged.startedAt)
      continue;
    if (isSimulated(run.meta) !== isSimulated(judged)) continue;
    const good = await mayTeach(entry, run);
    const may = { boost: boost && good.boost, coolant: coolant && good.coolant };
    if (may.boost || may.coolant) out.push({ run, may });
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
