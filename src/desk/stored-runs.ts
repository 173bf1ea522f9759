/**
 * All that is asked of ended runs, as the thread of `reading-room.ts` answers it: opened, judged with what earlier runs
 * of their job teach, compared, made into sheets, packed. Arguments and answers are plain data.
 */

import { join } from 'node:path';
import { fullDemandCurve } from '../analysis/boost/curve.ts';
import { learnBaseline } from '../analysis/judge.ts';
import type { Judgement } from '../analysis/types.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, isFull, toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { VERSION } from '../core/version.ts';
import { packJob, unpackJob } from '../job/archive.ts';
import { findJob, type JobEntry, jobOfRun, leaveIndex, listJobs } from '../job/library.ts';
import { readMarkEdits, withEdits } from '../job/marks.ts';
import { ask } from '../pool/engine.ts';
import { Pool } from '../pool/pool.ts';
import { type Answer, QUESTIONS } from '../pool/questions.ts';
import { SECRET_FILE, secretIn } from '../pool/secret.ts';
import { compressRun } from '../run/compress.ts';
import { isPlainFile } from '../run/document.ts';
import { findRun, listRuns, type RunEntry } from '../run/library.ts';
import { CAPTURE_FILE, type RunToJudge } from '../run/meta.ts';
import { settingsFolder } from '../run/settings.ts';
import { type During, type Purpose, partOf } from '../run/types.ts';
import { choicesOf, type SheetChoice } from '../sheet/choices.ts';
import { renderSheet } from '../sheet/render.ts';
import { sinceVisit } from '../sheet/since.ts';
import { provingRun } from '../sheet/whole.ts';
import { simSpeedupOf } from '../sim/demos.ts';
import { spelled } from '../words/spelled.ts';
import type { Comparison } from '../words/views.ts';
import type { Ahead } from './ahead-worker.ts';
import type { CompareRequest, RunView, SeriesPart, SeriesRange, SeriesView } from './api.ts';
import { ComparedRuns } from './compared-runs.ts';
import { codesOf, gatherSheet } from './gather-sheet.ts';
import { handOverNow } from './hand-over.ts';
import type { HandOverView, JobsApi, LearnedCurve, RunVerdicts, SinceView } from './jobs-api.ts';
import { KeptJudgements } from './kept-judgement.ts';
import type { PoolQuestion } from './kinds-api.ts';
import { type OpenedRun, OpenedRuns, type TaughtNow } from './opened-runs.ts';
import { PoolCases } from './pool-cases.ts';
import { summaryOf } from './summary.ts';
import { NO_TEACHING, Teaching } from './teaching.ts';
import { Written } from './written.ts';

export interface SheetRequest {
  readonly of: { readonly job: string } | { readonly run: string };
  readonly choice: SheetChoice;
  /** For a printer of our own: the paper is written into it. */
  readonly pdf: boolean;
}

export interface SheetAsked extends SheetRequest {
  readonly nowMs: number;
}

/** Ended runs, each named by its folder and the digest of its capture. */
interface Unjudged {
  /** Nothing is to be done. */
  readonly judged: readonly string[];
  readonly unjudged: readonly { readonly name: string; readonly entry: RunEntry }[];
}

/** What several runs are read for. */
export type About = { readonly job: string } | { readonly compare: CompareRequest };

export class StoredRuns {
  readonly #library: string;
  readonly #opened: OpenedRuns;
  readonly #teaching: Teaching;
  readonly #compared: ComparedRuns;

  /** @param keep keeps what was found out beside the runs */
  constructor(library: string, keep: boolean) {
    this.#library = library;
    this.#opened = new OpenedRuns(keep ? new KeptJudgements() : null);
    this.#teaching = new Teaching(library, this.#opened);
    this.#compared = new ComparedRuns(library, this.#opened);
  }

  /** @throws HandbackError library.path, input.file, input.format, input.version */
  async view(during: During, id: string): Promise<Written<RunView>> {
    const entry = await findRun(this.#library, id);
    const { facts, judgement, expected, corridor, baro, demand, map } = await this.#open(entry, during);
    const marks = facts.marks.map((m) => ({ tS: m.tUs / 1e6, key: m.key, text: m.text }));
    return Written.of({
      summary: summaryOf(entry.meta, await jobOfRun(this.#library, entry.folder)),
      judgement: spelled(judgement),
      marks: withEdits(marks, await readMarkEdits(entry.folder)),
      gaps: facts.gaps.map((g) => ({ fromS: g.fromUs / 1e6, toS: g.toUs / 1e6, why: g.why })),
      ...spelled({ warnings: facts.warnings }),
      expected,
      corridor,
      baro,
      demand,
      map,
      speedup: simSpeedupOf(entry.meta.link),
    });
  }

  async series(during: During, id: string, range: SeriesRange): Promise<Written<SeriesView>> {
    const { points, fromS, toS } = range;
    const entry = await findRun(this.#library, id);
    const taught = await this.#teaching.before(entry, during);
    return Written.of((await this.#opened.curves(entry, taught, during)).series(points, fromS, toS));
  }

  /** Of a run whose capture is being read, what is there once more than the share `after` of it was; all of it is not repeated. */
  async seriesPart(during: During, id: string, points: number, after: number): Promise<Written<SeriesPart>> {
    const entry = await findRun(this.#library, id);
    const taught = await this.#teaching.before(entry, during);
    const part = await this.#opened.part(entry, taught, after, during);
    if (part === null) return Written.of({ share: 1, toS: 0, series: {} });
    const { columns, share } = part;
    return Written.of({ share, toS: columns.lastS, series: columns.series(points) });
  }

  /** Has what the page will ask for of a run that has ended: judged, and kept beside it. */
  async keep(during: During, id: string): Promise<void> {
    await this.#open(await findRun(this.#library, id), during);
  }

  /** A question that stands ready, to the pool in this folder; a car by the job that has it. @throws HandbackError input.* */
  async askPool(_during: During, folder: string, { question, kind, job }: PoolQuestion): Promise<Answer> {
    const { needs, sql } = QUESTIONS.find((q) => q.name === question)!;
    const car = needs.includes('car') ? await this.#carOf(job) : '';
    return ask(await Pool.open(folder), sql, { kind, car });
  }

  /** As the pool names it: the name itself goes nowhere. */
  async #carOf(job: string): Promise<string> {
    const cases = new PoolCases(this.#library, await secretIn(join(settingsFolder(), SECRET_FILE)));
    const sources = await cases.sources(true);
    const of = sources.find((s) => s.job?.id === job);
    if (!of || of.carBy === 'case') throw new HandbackError('input.usage', saying('error.pool-no-car'));
    return of.car;
  }

  /** So that the library is listed at once by the next program. */
  async index(_during: During): Promise<void> {
    await leaveIndex(this.#library, await listJobs(this.#library));
  }

  /** Compresses the captures of all runs that have ended; one that cannot be is left as it is. */
  async compress(during: During): Promise<void> {
    const { runs } = await listRuns(this.#library);
    for (const { folder, meta } of runs)
      try {
        during.signal.throwIfAborted();
        if (meta.sha256 !== null && (await isPlainFile(join(folder, CAPTURE_FILE))))
          await compressRun(folder, during);
      } catch (thrown) {
        during.signal.throwIfAborted();
        if (isFull(thrown)) return;
      }
  }

  /**
   * Ended runs of which what was found out, or the values, are missing or another program's: those of the job that was
   * touched last first.
   * @param looked names of those that need not be looked at
   */
  async unjudged(during: During, looked: readonly string[]): Promise<Unjudged> {
    const known = new Set(looked);
    const { jobs, loose } = await listJobs(this.#library);
    const judged: string[] = [];
    const unjudged: { name: string; entry: RunEntry }[] = [];
    for (const entry of [...jobs.flatMap((job) => job.runs), ...loose]) {
      during.signal.throwIfAborted();
      const { folder, meta } = entry;
      const name = `${folder} ${meta.sha256}`;
      if (meta.sha256 === null || known.has(name)) continue;
      if (await this.#opened.recorded.isJudged(entry)) judged.push(name);
      else unjudged.push({ name, entry });
    }
    return { judged, unjudged };
  }

  /** Has what is kept beside this run made again: its values, and what it shows by itself and taught. */
  async judge(during: During, entry: RunEntry): Promise<void> {
    if (!(await this.#opened.recorded.isWhole(entry))) return;
    const alone = await this.#opened.open(entry, null, partOf(during, 0, 2));
    await alone.columns(partOf(during, 0, 2));
    const taught = await this.#teaching.before(entry, partOf(during, 1, 2));
    if (taught) await this.#opened.open(entry, taught, partOf(during, 1, 2));
  }

  /** What a question about several runs would read from captures, for others to read first, side by side; none where it would not be kept. */
  async ahead(_during: During, about: About): Promise<Ahead[]> {
    const { runs, profile } =
      'job' in about
        ? { runs: (await findJob(this.#library, about.job)).runs, profile: null }
        : await this.#compared.under(about.compare);
    const unread: Ahead[] = [];
    for (const entry of runs)
      if (await this.#opened.isUnread(entry, profile).catch(() => false)) unread.push({ entry, profile });
    return unread;
  }

  async compare(during: During, request: CompareRequest): Promise<Written<Comparison>> {
    return Written.of(spelled(await this.#compared.compare(request, during)));
  }

  /** What the runs of a job before this one teach; null where nothing is taught. */
  async taught(during: During, job: string, run: RunToJudge): Promise<TaughtNow | null> {
    const entry = await findJob(this.#library, job);
    const taught = await this.#teaching.beforeIn(entry, run, during);
    return taught && { key: taught.key, baseline: await taught.value(during) };
  }

  async verdicts(during: During, job: string): Promise<RunVerdicts[]> {
    const entry = await findJob(this.#library, job);
    const out: RunVerdicts[] = [];
    for (const [i, run] of entry.runs.entries()) {
      const runId = run.meta.id;
      if (run.meta.sha256 === null) {
        const trouble = run.leftOpen ? null : saying('remark.recording');
        out.push(spelled({ runId, boost: null, coolant: null, teaching: NO_TEACHING, trouble }));
        continue;
      }
      try {
        const part = partOf(during, i, entry.runs.length);
        const baseline = await this.#teaching.beforeIn(entry, run.meta, part);
        const { systems } = (await this.#opened.open(run, baseline, part)).judgement;
        const teaching = await this.#teaching.of(entry, run, part);
        const { boost, coolant } = systems;
        out.push({ runId, boost: boost.verdict, coolant: coolant.verdict, teaching, trouble: null });
      } catch (thrown) {
        during.signal.throwIfAborted();
        const trouble = toldOf(thrown);
        out.push(spelled({ runId, boost: null, coolant: null, teaching: NO_TEACHING, trouble }));
      }
    }
    return out;
  }

  /** What speaks against handing the car over. */
  async handOver(during: During, job: string): Promise<HandOverView> {
    const entry = await findJob(this.#library, job);
    const run = provingRun(entry.runs, (r) => r.meta.purpose);
    const { codes } = await codesOf(entry.folder, entry.job, [], run?.meta ?? null);
    const judgement = run && (await this.#judgementOf(entry, run, during));
    return handOverNow(entry.job, judgement, codes);
  }

  /** What is the same, better, worse or new since the visit before. */
  async since(during: During, job: string): Promise<SinceView> {
    const entry = await findJob(this.#library, job);
    const ended = (purpose: Purpose) =>
      entry.runs.filter((r) => r.meta.purpose === purpose && r.meta.sha256 !== null);
    const [visit, back] = [ended('verification'), ended('come-back')];
    const judged = async (run: RunEntry | undefined, part: During) =>
      run ? this.#judgementOf(entry, run, part) : null;
    const ids = (runs: readonly RunEntry[]) => runs.map((r) => r.meta.id);
    const comparison =
      visit.length > 0 && back.length > 0
        ? await this.#compared.compare(
            { before: [], after: ids(visit), comeBack: ids(back) },
            partOf(during, 0, 3),
          )
        : null;
    const runs = {
      before: await judged(visit.at(-1), partOf(during, 1, 3)),
      now: await judged(back.at(-1), partOf(during, 2, 3)),
      backAt: back[0]?.meta.startedAt ?? null,
      backIds: new Set(ids(back)),
      comparison: comparison?.comeBack ?? null,
    };
    const { codes } = await codesOf(entry.folder, entry.job, [], null);
    return spelled({ rows: sinceVisit(entry.job, runs, codes.read) });
  }

  async learn(during: During, job: string, runId: string): Promise<LearnedCurve> {
    const entry = await findJob(this.#library, job);
    const run = entry.runs.find((r) => r.meta.id === runId);
    if (!run) throw new HandbackError('library.path', saying('error.no-run-in-job'));
    const { table } = await this.#opened.recorded.recording(run, during);
    const { boost } = learnBaseline([table], entry.job.profile);
    const points = boost ? fullDemandCurve(boost) : [];
    const own = await this.#teaching.ownOf(run, during);
    const remarks: Says[] = [];
    if (points.length < 2) remarks.push(saying('remark.no-curve'));
    if ('boost' in own && own.boost === 'fault shown') remarks.push(saying('remark.faulty-curve'));
    else if ('boost' in own && own.boost === 'not shown') remarks.push(saying('remark.open-curve'));
    return spelled({ points, pulls: boost?.pulls ?? 0, remarks });
  }

  /** The hand-over sheet as HTML, UTF-8. @throws HandbackError library.path, input.* */
  async sheet(during: During, { of, choice, pdf, nowMs }: SheetAsked): Promise<Uint8Array> {
    const { folder } =
      'job' in of ? await findJob(this.#library, of.job) : await findRun(this.#library, of.run);
    const input = await gatherSheet(folder, {
      tool: `handback ${VERSION}`,
      nowMs,
      timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone,
      taught: (run) => this.#teaching.before(run, during),
      during,
      opened: this.#opened,
    });
    return new TextEncoder().encode(renderSheet(input, choicesOf(input, choice, pdf)));
  }

  async pack(
    during: During,
    job: string,
    hide: { readonly plate: boolean; readonly vin: boolean },
    file: string,
  ): Promise<void> {
    await packJob((await findJob(this.#library, job)).folder, file, hide, during);
  }

  /** The library must be held by this program. */
  async unpack(during: During, file: string): ReturnType<JobsApi['unpack']> {
    return spelled(await unpackJob(file, this.#library, during));
  }

  /** Null of a run that cannot be read: it shows nothing. */
  async #judgementOf(entry: JobEntry, run: RunEntry, during: During): Promise<Judgement | null> {
    try {
      const baseline = await this.#teaching.beforeIn(entry, run.meta, during);
      return (await this.#opened.open(run, baseline, during)).judgement;
    } catch {
      during.signal.throwIfAborted();
      return null;
    }
  }

  async #open(entry: RunEntry, during: During): Promise<OpenedRun> {
    return this.#opened.open(entry, await this.#teaching.before(entry, during), during);
  }
}
