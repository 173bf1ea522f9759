/**
 * Jobs for the daemon: the library's jobs with what was found out about their runs, and what earlier runs of a job
 * teach the judging of later ones.
 */

import { randomBytes } from 'node:crypto';
import { resolve, sep } from 'node:path';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import { retold, type Says } from '../core/says.ts';
import { say } from '../core/visit-says.ts';
import { listBin, putIntoBin, restore } from '../job/bin.ts';
import { readPhoto, readSnapshot, savePhoto, saveSnapshot } from '../job/files.ts';
import type { BinEntry, Job, JobFields, NewPhoto, PhotoRef, SnapshotRef } from '../job/job.ts';
import { calibrationsOf } from '../job/kinds.ts';
import {
  createJob,
  fileRun,
  findJob,
  type JobEntry,
  jobOfRun,
  listJobs,
  updateFields,
  updateJob,
} from '../job/library.ts';
import { searchJobs } from '../job/search.ts';
import type { VehicleSession } from '../poll/session.ts';
import { takeSnapshot } from '../poll/snapshot.ts';
import { findRun } from '../run/library.ts';
import type { Purpose } from '../run/types.ts';
import { spelled } from '../words/spelled.ts';
import type { RunSummary, UnderWay } from './api.ts';
import { summaryOfJob, viewOfJob } from './job-view.ts';
import type {
  ChangedJob,
  HandOverView,
  JobsApi,
  JobsView,
  JobView,
  LearnedCurve,
  NewMeasurement,
  NewObservation,
  PracticeState,
  RunVerdicts,
  SinceView,
} from './jobs-api.ts';
import type { TaughtNow } from './opened-runs.ts';
import { PracticeDesk, type PracticeOptions } from './practice-desk.ts';
import type { ReadingRoom } from './reading-room.ts';
import { summaryOf } from './summary.ts';

export interface JobDeskOptions extends PracticeOptions {
  readonly clock: Clock;
  readonly room: ReadingRoom;
  /** Jobs were looked at: their runs may be asked for soon. */
  readonly looked: () => void;
  /** @throws HandbackError link.lost when nothing is connected */
  readonly session: () => VehicleSession;
}

/** What a job brings to a run that is recorded in it. */
export interface RunContext {
  readonly folder: string;
  readonly job: Job;
  /** What its earlier runs teach, learned with the profile and link of the new run. */
  taught(profile: Profile, link: string | null): Promise<TaughtNow | null>;
}

/** Observations of a job, and measurements. */
const MAX_NOTES = 200;

export class JobDesk implements JobsApi {
  readonly #o: JobDeskOptions;
  readonly #practice: PracticeDesk;

  constructor(options: JobDeskOptions) {
    this.#o = options;
    this.#practice = new PracticeDesk(options);
  }

  async list(query: string): Promise<JobsView> {
    this.#o.looked();
    const { jobs, loose, troubles } = await listJobs(this.#o.library);
    const { trouble } = this.#practice;
    return spelled({
      jobs: searchJobs(jobs, query).map(summaryOfJob),
      total: jobs.length,
      loose: loose.map((r) => summaryOf(r.meta, null)),
      troubles: (trouble ? [...troubles, trouble] : troubles).map((said) => this.#withoutRoot(said)),
      bin: await listBin(this.#o.library),
      practice: this.#practice.state(jobs.some((j) => j.job.practice)),
    });
  }

  /** As a page is told it: what stands above the library is no business of other devices. */
  #withoutRoot(said: Says): Says {
    const root = resolve(this.#o.library) + sep;
    return retold(said, (text) => text.replaceAll(root, ''));
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
    return this.#update(id, (job) => ({
      ...job,
      observations: noted(job.observations, this.#dated('o', observation)),
    }));
  }

  unobserve(id: string, observationId: string): Promise<JobView> {
    return this.#update(id, (job) => ({
      ...job,
      observations: job.observations.filter((o) => o.id !== observationId),
    }));
  }

  measure(id: string, measurement: NewMeasurement): Promise<JobView> {
    return this.#update(id, (job) => ({
      ...job,
      measurements: noted(job.measurements, this.#dated('m', measurement)),
    }));
  }

  unmeasure(id: string, measurementId: string): Promise<JobView> {
    return this.#update(id, (job) => ({
      ...job,
      measurements: job.measurements.filter((m) => m.id !== measurementId),
    }));
  }

  /** @throws HandbackError library.path, input.usage for another vehicle's job */
  async takeSnapshot(id: string, when: SnapshotRef['when']): Promise<JobView> {
    const session = this.#o.session();
    const { folder, job: known } = await findJob(this.#o.library, id);
    const vin = session.state.vehicle?.vin ?? null;
    sameCar(known, vin);
    await this.#o.takeLibrary();
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
    const { vin } = run.meta;
    if (into !== null && into !== from)
      sameCar((await findJob(this.#o.library, into)).job, vin, 'error.other-car-run');
    const meta = await fileRun(this.#o.library, run, into, purpose);
    for (const touched of new Set([from, into]))
      if (touched !== null)
        await updateJob(this.#o.library, touched, this.#o.clock, (job) =>
          touched === into ? { ...job, vin: job.vin || (vin ?? '') } : job,
        );
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
    sameCar(job, carVin);
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

  makePractice(): Promise<PracticeState> {
    return this.#practice.make();
  }

  stopPractice(): Promise<PracticeState> {
    return this.#practice.stop();
  }

  /** What was begun besides is given up. */
  async close(): Promise<void> {
    await this.#practice.giveUp();
  }

  get underWay(): readonly UnderWay[] {
    return this.#practice.underWay;
  }

  #view(entry: JobEntry): Promise<JobView> {
    return viewOfJob(this.#o.library, entry);
  }

  async #update(id: string, change: (job: Job) => Job): Promise<JobView> {
    await this.#o.takeLibrary();
    await updateJob(this.#o.library, id, this.#o.clock, change);
    return this.open(id);
  }

  /** With an id and a time where it brings none: one that was removed is put back under its own. */
  #dated<N extends { readonly id?: string; readonly at?: string }>(kind: 'o' | 'm', note: N) {
    return {
      ...note,
      id: note.id ?? `${kind}-${randomBytes(4).toString('hex')}`,
      at: note.at ?? this.#nowIso(),
    };
  }

  #nowIso(): string {
    return new Date(this.#o.clock.wallMs()).toISOString();
  }
}

/**
 * @param carVin null where the car did not say it, or a table came without: nothing speaks against the job then
 * @throws HandbackError input.usage when car or drive says that it is of another vehicle than the job
 */
function sameCar(
  job: Pick<Job, 'vin'>,
  carVin: string | null,
  id: 'error.other-car' | 'error.other-car-run' = 'error.other-car',
): void {
  if (carVin && job.vin && carVin.toUpperCase() !== job.vin.trim().toUpperCase())
    throw new HandbackError('input.usage', saying(id, { car: carVin, job: job.vin }), {
      hint: saying('error.other-car-hint'),
    });
}

/** In order of time, in place of one with its id. @throws HandbackError input.usage when there are too many */
function noted<N extends { readonly id: string; readonly at: string }>(notes: readonly N[], note: N): N[] {
  const others = notes.filter((n) => n.id !== note.id);
  if (others.length >= MAX_NOTES)
    throw new HandbackError('input.usage', saying('error.observations-full', { most: MAX_NOTES }));
  return [...others, note].sort((a, b) => a.at.localeCompare(b.at));
}

function withRef<R extends { readonly file: string; readonly at: string }>(
  refs: readonly R[],
  ref: R,
  listed: boolean,
): R[] {
  const others = refs.filter((r) => r.file !== ref.file);
  return listed ? [...others, ref].sort((a, b) => a.at.localeCompare(b.at)) : others;
}
