/**
 * Jobs for the daemon: the library's jobs with what was found out about their runs, and what earlier runs of a job
 * teach the judging of later ones.
 */

import { randomBytes } from 'node:crypto';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import { inTurn, type Says } from '../core/says.ts';
import { say } from '../core/visit-says.ts';
import { codeRows, memoryTold } from '../job/fault-memory.ts';
import { readPhoto, readSnapshot, savePhoto, saveSnapshot } from '../job/files.ts';
import type {
  BinEntry,
  Job,
  JobFields,
  Measurement,
  NewPhoto,
  Observation,
  PhotoRef,
  SnapshotRef,
} from '../job/job.ts';
import { calibrationsOf, suggestKind } from '../job/kinds.ts';
import {
  createJob,
  fileRun,
  findJob,
  type JobEntry,
  jobOfRun,
  listBin,
  listJobs,
  profileOfSameVehicle,
  putIntoBin,
  restore,
  searchJobs,
  touchedAt,
  updateFields,
  updateJob,
} from '../job/library.ts';
import type { VehicleSession } from '../poll/session.ts';
import { takeSnapshot } from '../poll/snapshot.ts';
import { findRun } from '../run/library.ts';
import type { During, Purpose } from '../run/types.ts';
import { spelled } from '../words/spelled.ts';
import type { RunSummary, UnderWay } from './api.ts';
import type {
  ChangedJob,
  HandOverView,
  JobSummary,
  JobsApi,
  JobsView,
  JobView,
  LearnedCurve,
  NewMeasurement,
  NewObservation,
  PracticeState,
  RunVerdicts,
  SinceView,
  SnapshotView,
} from './jobs-api.ts';
import type { TaughtNow } from './opened-runs.ts';
import { leftAfter, type ReadingRoom } from './reading-room.ts';
import { summaryOf } from './summary.ts';

export interface JobDeskOptions {
  readonly library: string;
  readonly clock: Clock;
  readonly room: ReadingRoom;
  /** Makes sure that nobody else writes into the library. @throws HandbackError run.busy, run.write */
  readonly takeLibrary: () => Promise<void>;
  /** Runs were put into the library. */
  readonly runsCame: () => void;
  /** Jobs were looked at: their runs may be asked for soon. */
  readonly looked: () => void;
  /** @throws HandbackError link.lost when nothing is connected */
  readonly session: () => VehicleSession;
  /** Drives the practice jobs and puts them into the library; absent where that is not offered. */
  readonly makePractice?: PracticeMaker;
}

/** Puts finished practice jobs into the library; `say` tells what is driven. @throws the signal's reason: each is whole or not there */
export type PracticeMaker = (library: string, say: (sentence: Says) => void, during: During) => Promise<void>;

interface PracticeUnderWay {
  sentence: Says;
  share: number;
  readonly fromMs: number;
  readonly gone: AbortController;
  readonly ended: Promise<void>;
}

/** What a job brings to a run that is recorded in it. */
export interface RunContext {
  readonly folder: string;
  readonly job: Job;
  /** What its earlier runs teach, learned with the profile and link of the new run. */
  taught(profile: Profile, link: string | null): Promise<TaughtNow | null>;
}

const MAX_OBSERVATIONS = 200;

export class JobDesk implements JobsApi {
  readonly #o: JobDeskOptions;
  #practice: PracticeUnderWay | null = null;
  #practiceTrouble: Says | null = null;

  constructor(options: JobDeskOptions) {
    this.#o = options;
  }

  async list(query: string): Promise<JobsView> {
    this.#o.looked();
    const { jobs, loose, troubles } = await listJobs(this.#o.library);
    return spelled({
      jobs: searchJobs(jobs, query).map(summaryOfJob),
      total: jobs.length,
      loose: loose.map((r) => summaryOf(r.meta, null)),
      troubles: this.#practiceTrouble ? [...troubles, this.#practiceTrouble] : troubles,
      bin: await listBin(this.#o.library),
      practice: this.#practiceState(jobs.some((j) => j.job.practice)),
    });
  }

  async open(id: string): Promise<JobView> {
    this.#o.looked();
    return this.#view(await findJob(this.#o.library, id));
  }

  async create(fields: JobFields): Promise<JobView> {
    await this.#o.takeLibrary();
    return this.#view(await createJob(this.#o.library, fields, this.#o.clock));
  }

  async change(id: string, fields: JobFields, was: JobFields = {}): Promise<ChangedJob> {
    await this.#o.takeLibrary();
    const conflicts = await updateFields(this.#o.library, id, fields, this.#o.clock, was);
    return { ...(await this.open(id)), conflicts };
  }

  async remove(id: string): Promise<BinEntry> {
    await this.#o.takeLibrary();
    return putIntoBin(this.#o.library, id, this.#o.clock);
  }

  async restore(binId: string): Promise<{ id: string }> {
    await this.#o.takeLibrary();
    return { id: await restore(this.#o.library, binId) };
  }

  // ---- what a job holds -------------------------------------------------------------------------------------

  observe(id: string, observation: NewObservation): Promise<JobView> {
    return this.#update(id, (job) => {
      if (job.observations.length >= MAX_OBSERVATIONS)
        throw new HandbackError('input.usage', saying('error.observations-full', { most: MAX_OBSERVATIONS }));
      const full: Observation = {
        ...observation,
        id: observation.id ?? `o-${randomBytes(4).toString('hex')}`,
        at: observation.at ?? this.#nowIso(),
      };
      const others = job.observations.filter((o) => o.id !== full.id);
      return { ...job, observations: [...others, full].sort((a, b) => a.at.localeCompare(b.at)) };
    });
  }

  unobserve(id: string, observationId: string): Promise<JobView> {
    return this.#update(id, (job) => ({
      ...job,
      observations: job.observations.filter((o) => o.id !== observationId),
    }));
  }

  measure(id: string, measurement: NewMeasurement): Promise<JobView> {
    return this.#update(id, (job) => {
      const full: Measurement = {
        ...measurement,
        id: measurement.id ?? `m-${randomBytes(4).toString('hex')}`,
        at: measurement.at ?? this.#nowIso(),
      };
      const others = job.measurements.filter((m) => m.id !== full.id);
      if (others.length >= MAX_OBSERVATIONS)
        throw new HandbackError('input.usage', saying('error.observations-full', { most: MAX_OBSERVATIONS }));
      return { ...job, measurements: [...others, full].sort((a, b) => a.at.localeCompare(b.at)) };
    });
  }

  unmeasure(id: string, measurementId: string): Promise<JobView> {
    return this.#update(id, (job) => ({
      ...job,
      measurements: job.measurements.filter((m) => m.id !== measurementId),
    }));
  }

  async takeSnapshot(id: string, when: SnapshotRef['when']): Promise<JobView> {
    const session = this.#o.session();
    const { folder } = await findJob(this.#o.library, id);
    await this.#o.takeLibrary();
    const vin = session.state.vehicle?.vin ?? null;
    const snapshot = await takeSnapshot((p) => session.request(p), vin);
    const ref = await saveSnapshot(folder, snapshot, when, this.#nowIso());
    return this.#update(id, (job) => ({
      ...job,
      vin: job.vin || (vin ?? ''),
      calibrations: [...new Set([...job.calibrations, ...calibrationsOf(snapshot)])].slice(0, 50),
      snapshots: [...job.snapshots, ref],
    }));
  }

  async setSnapshot(id: string, ref: SnapshotRef, listed: boolean): Promise<JobView> {
    const { folder } = await findJob(this.#o.library, id);
    if (listed) await readSnapshot(folder, ref);
    return this.#update(id, (job) => ({ ...job, snapshots: withRef(job.snapshots, ref, listed) }));
  }

  async addPhoto(id: string, photo: NewPhoto): Promise<JobView> {
    const { folder, job } = await findJob(this.#o.library, id);
    await this.#o.takeLibrary();
    const ref = await savePhoto(folder, job, photo, this.#nowIso());
    return this.#update(id, (now) => ({ ...now, photos: [...now.photos, ref] }));
  }

  async setPhoto(id: string, ref: PhotoRef, listed: boolean): Promise<JobView> {
    const { folder, job } = await findJob(this.#o.library, id);
    if (listed) await readPhoto(folder, { ...job, photos: [...job.photos, ref] }, ref.file);
    return this.#update(id, (now) => ({ ...now, photos: withRef(now.photos, ref, listed) }));
  }

  async photo(id: string, file: string): Promise<{ bytes: Uint8Array; type: string }> {
    const { folder, job } = await findJob(this.#o.library, id);
    return readPhoto(folder, job, file);
  }

  async fileRun(runId: string, into: string | null, purpose: Purpose): Promise<RunSummary> {
    await this.#o.takeLibrary();
    const run = await findRun(this.#o.library, runId);
    const from = await jobOfRun(this.#o.library, run.folder);
    const meta = await fileRun(this.#o.library, run, into, purpose);
    for (const touched of new Set([from, into]))
      if (touched !== null) await updateJob(this.#o.library, touched, this.#o.clock, (job) => job);
    return summaryOf(meta, into);
  }

  // ---- hand-over --------------------------------------------------------------------------------------------

  handOverNow(id: string, signal?: AbortSignal): Promise<HandOverView> {
    return this.#o.room.ask('handOver', [id], signal);
  }

  since(id: string, signal?: AbortSignal): Promise<SinceView> {
    return this.#o.room.ask('since', [id], signal);
  }

  async handOver(id: string, reason: string): Promise<JobView> {
    const { whole, doubts } = await this.handOverNow(id);
    if (doubts.length > 0 && reason === '')
      throw new HandbackError(
        'input.usage',
        say('visit.reason-needed', { doubts: doubts.map((d) => say(`visit.doubt.${d}`)) }),
      );
    return this.#update(id, (job) => ({
      ...job,
      closedAt: this.#nowIso(),
      handOver: { whole, doubts: [...doubts], reason },
    }));
  }

  openAgain(id: string): Promise<JobView> {
    return this.#update(id, (job) => ({ ...job, closedAt: null, handOver: null }));
  }

  // ---- what runs show and teach -----------------------------------------------------------------------------

  verdicts(id: string, signal?: AbortSignal): Promise<readonly RunVerdicts[]> {
    return this.#o.room.ask('verdicts', [id], signal);
  }

  /** For a run about to be recorded. @throws HandbackError library.path, input.usage for another vehicle's job */
  async context(id: string, carVin: string | null): Promise<RunContext> {
    const entry = await findJob(this.#o.library, id);
    const { job } = entry;
    if (carVin && job.vin && carVin.toUpperCase() !== job.vin.trim().toUpperCase())
      throw new HandbackError('input.usage', saying('error.other-car', { car: carVin, job: job.vin }), {
        hint: saying('error.other-car-hint'),
      });
    const startedAt = this.#nowIso();
    return {
      folder: entry.folder,
      job,
      taught: (profile, link) => this.#o.room.ask('taught', [id, { startedAt, profile, link, id: '' }]),
    };
  }

  /** A run was begun in the job: it is touched, and the VIN is known from now on. */
  async begun(id: string, carVin: string | null): Promise<void> {
    await updateJob(this.#o.library, id, this.#o.clock, (job) => ({
      ...job,
      vin: job.vin || (carVin ?? ''),
    }));
  }

  async setTeaching(
    id: string,
    runId: string,
    may: { boost: boolean; coolant: boolean } | null,
  ): Promise<JobView> {
    return this.#update(id, (job) => ({
      ...job,
      teaching: [...job.teaching.filter((t) => t.runId !== runId), ...(may ? [{ runId, ...may }] : [])],
    }));
  }

  learn(id: string, runId: string, signal?: AbortSignal): Promise<LearnedCurve> {
    return this.#o.room.ask('learn', [id, runId], signal);
  }

  // ---- archive and practice ---------------------------------------------------------------------------------

  async pack(
    id: string,
    hide: { plate: boolean; vin: boolean },
    file: string,
    signal?: AbortSignal,
  ): Promise<void> {
    await this.#o.room.ask('pack', [id, hide, file], signal);
  }

  async unpack(file: string, signal?: AbortSignal): ReturnType<JobsApi['unpack']> {
    await this.#o.takeLibrary();
    try {
      return await this.#o.room.ask('unpack', [file], signal);
    } finally {
      this.#o.runsCame(); // stopped in its last moment, it may be there
    }
  }

  async makePractice(): Promise<PracticeState> {
    const { makePractice, library } = this.#o;
    if (!makePractice)
      throw new HandbackError('input.usage', saying('error.no-practice'), {
        hint: saying('error.no-practice-hint'),
      });
    if (!this.#practice) {
      await this.#o.takeLibrary();
      const { jobs } = await listJobs(library);
      if (jobs.some((j) => j.job.practice)) return spelled(this.#practiceState(true));
      this.#practiceTrouble = null;
      this.#practice = this.#begun(makePractice);
    }
    return spelled(this.#practiceState(false));
  }

  async stopPractice(): Promise<PracticeState> {
    this.#practice?.gone.abort();
    await this.#practice?.ended;
    const { jobs } = await listJobs(this.#o.library);
    return spelled(this.#practiceState(jobs.some((j) => j.job.practice)));
  }

  /** The practice jobs, while they are made. */
  get underWay(): readonly UnderWay[] {
    if (!this.#practice) return [];
    const { share, fromMs } = this.#practice;
    return [{ what: 'practice', run: null, share, leftS: leftAfter(performance.now() - fromMs, share) }];
  }

  #begun(makePractice: PracticeMaker): PracticeUnderWay {
    const gone = new AbortController();
    const begun = { sentence: saying('practice.making') as Says, share: 0, fromMs: performance.now(), gone };
    const say = (sentence: Says): void => {
      begun.sentence = sentence;
    };
    const progress = (share: number): void => {
      begun.share = share;
    };
    const ended = makePractice(this.#o.library, say, { signal: gone.signal, progress })
      .catch((thrown: unknown) => {
        if (!gone.signal.aborted) this.#practiceTrouble = saying('practice.failed', { why: toldOf(thrown) });
      })
      .finally(() => {
        this.#o.runsCame();
        this.#practice = null;
      });
    return Object.assign(begun, { ended });
  }

  #practiceState(there: boolean): { state: PracticeState['state']; sentence: Says | null } {
    if (this.#practice) return { state: 'making', sentence: this.#practice.sentence };
    return { state: there ? 'there' : 'none', sentence: null };
  }

  // ---- views ------------------------------------------------------------------------------------------------

  async #view(entry: JobEntry): Promise<JobView> {
    const { job, folder, runs } = entry;
    const snapshots: SnapshotView[] = [];
    for (const ref of job.snapshots)
      try {
        const snapshot = await readSnapshot(folder, ref);
        snapshots.push({ ...ref, snapshot, told: spelled(memoryTold(snapshot)), trouble: null });
      } catch (thrown) {
        snapshots.push(spelled({ ...ref, snapshot: null, told: null, trouble: toldOf(thrown) }));
      }
    const read = snapshots.flatMap((s) => (s.snapshot ? [s.snapshot] : []));
    const empty = Object.keys(job.profile).length === 0;
    const others = empty || job.engine === '' ? (await listJobs(this.#o.library)).jobs : [];
    return {
      job,
      ...spelled({ stands: standsAt(entry) }),
      runs: runs.map((r) => summaryOf(r.meta, job.id)),
      snapshots,
      codes: read.length === 0 ? null : spelled(codeRows(read)),
      kind:
        job.engine === ''
          ? suggestKind(
              others.map((o) => o.job),
              job,
            )
          : null,
      suggestion: empty ? profileOfSameVehicle(others, job) : null,
    };
  }

  async #update(id: string, change: (job: Job) => Job): Promise<JobView> {
    await this.#o.takeLibrary();
    await updateJob(this.#o.library, id, this.#o.clock, change);
    return this.open(id);
  }

  #nowIso(): string {
    return new Date(this.#o.clock.wallMs()).toISOString();
  }
}

function withRef<R extends { readonly file: string; readonly at: string }>(
  refs: readonly R[],
  ref: R,
  listed: boolean,
): R[] {
  const others = refs.filter((r) => r.file !== ref.file);
  return listed ? [...others, ref].sort((a, b) => a.at.localeCompare(b.at)) : others;
}

function summaryOfJob(entry: JobEntry): JobSummary {
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
