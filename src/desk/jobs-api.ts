/** What travels between daemon and page about jobs. Types only. */
import type { Verdict } from '../analysis/types.ts';
import type { Profile } from '../core/profile.ts';
import type { Snapshot } from '../core/snapshot.ts';
import type { Doubt, SinceRow, Whole } from '../core/visit-says.ts';
import type { CodeRow, MemoryTold } from '../job/fault-memory.ts';
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
import type { KindSuggestion } from '../job/kinds.ts';
import type { Purpose } from '../run/types.ts';
import type { SaysOf, Spelled } from '../words/spelled.ts';
import type { RunSummary } from './api.ts';

export interface JobSummary {
  readonly id: string;
  readonly vehicle: string;
  readonly plate: string;
  readonly reference: string;
  readonly complaint: string;
  readonly openedAt: string;
  readonly touchedAt: string;
  /** Where the job stands, in a sentence or two. */
  readonly stands: string;
  readonly says?: SaysOf;
  readonly practice: boolean;
}

export interface JobsView {
  /** Those that match the query, last touched first. */
  readonly jobs: readonly JobSummary[];
  /** Of all, matching or not. */
  readonly total: number;
  readonly loose: readonly RunSummary[];
  readonly troubles: readonly string[];
  readonly bin: readonly BinEntry[];
  readonly practice: PracticeState;
}

export interface PracticeState {
  readonly state: 'none' | 'making' | 'there';
  /** While making: what is being driven. */
  readonly sentence: string | null;
}

export interface SnapshotView extends SnapshotRef {
  /** Null when the file cannot be read; `trouble` then says why. */
  readonly snapshot: Snapshot | null;
  /** Lamp, readiness and what else it says in words. */
  readonly told: Spelled<MemoryTold> | null;
  readonly trouble: string | null;
}

/** What a run may teach the judging of later ones, and why. */
export interface TeachingView {
  readonly boost: boolean;
  readonly coolant: boolean;
  /** By the technician's word or, without one, because the run showed the system good. */
  readonly by: 'technician' | 'findings';
}

export interface JobView {
  readonly job: Job;
  readonly stands: string;
  readonly says?: SaysOf;
  /** In order of time. */
  readonly runs: readonly RunSummary[];
  readonly snapshots: readonly SnapshotView[];
  /** Every code of the snapshots that can be read; `states` has an entry for each of those. Null where there are none. */
  readonly codes: readonly Spelled<CodeRow>[] | null;
  /** The kind of engine that jobs of vehicles like this one state, while this one states none. */
  readonly kind: KindSuggestion | null;
  /** What an earlier job of the same vehicle knew, while this one knows nothing. */
  readonly suggestion: {
    readonly jobId: string;
    readonly openedAt: string;
    readonly profile: Profile;
  } | null;
}

export interface ChangedJob extends JobView {
  /** Fields that were not set ("complaint", "profile.fanOnC"): somebody else had changed them; the job has their values. */
  readonly conflicts: readonly string[];
}

/** Judging takes a moment a run, so this is asked for apart from the job. */
export interface RunVerdicts {
  readonly runId: string;
  readonly boost: Verdict | null;
  readonly coolant: Verdict | null;
  readonly teaching: TeachingView;
  /** Why the run cannot be read; the verdicts are null then. */
  readonly trouble: string | null;
}

export interface LearnedCurve {
  /** Full-demand boost, gauge kPa; empty when no pull at full demand was driven. */
  readonly points: readonly { readonly rpm: number; readonly kpa: number }[];
  readonly pulls: number;
  /** What speaks against using it, as sentences. */
  readonly remarks: readonly string[];
}

export type NewMeasurement = Omit<Measurement, 'id' | 'at'> & Partial<Pick<Measurement, 'id' | 'at'>>;
export type NewObservation = Omit<Observation, 'id' | 'at'> & Partial<Pick<Observation, 'id' | 'at'>>;

/** A car that came back, against the end of the visit before; no rows where it did not come back. */
export interface SinceView {
  readonly rows: readonly Spelled<SinceRow>[];
}

/** What handing the car over means now. */
export interface HandOverView {
  readonly whole: Whole;
  /** With any of them a reason is asked for. */
  readonly doubts: readonly Doubt[];
}

/** What the server needs; every method rejects with a HandbackError that carries a sentence. */
export interface JobsApi {
  list(query: string): Promise<JobsView>;
  open(id: string): Promise<JobView>;
  create(fields: JobFields): Promise<JobView>;
  /** @param was what the fields were when they were seen: what somebody else changed since is left alone, and named */
  change(id: string, fields: JobFields, was?: JobFields): Promise<ChangedJob>;
  /** Into the bin; with `restore` back. */
  remove(id: string): Promise<BinEntry>;
  restore(binId: string): Promise<{ readonly id: string }>;
  /** With an id and a time: puts back what was removed. */
  observe(id: string, observation: NewObservation): Promise<JobView>;
  unobserve(id: string, observationId: string): Promise<JobView>;
  /** With an id and a time: puts back what was removed. */
  measure(id: string, measurement: NewMeasurement): Promise<JobView>;
  unmeasure(id: string, measurementId: string): Promise<JobView>;
  takeSnapshot(id: string, when: SnapshotRef['when']): Promise<JobView>;
  /** Takes the snapshot's or photo's entry out of job.json, or puts it back; the file stays. */
  setSnapshot(id: string, ref: SnapshotRef, listed: boolean): Promise<JobView>;
  setPhoto(id: string, ref: PhotoRef, listed: boolean): Promise<JobView>;
  addPhoto(id: string, photo: NewPhoto): Promise<JobView>;
  photo(id: string, file: string): Promise<{ readonly bytes: Uint8Array; readonly type: string }>;
  /** @param signal gives it up, here and in the next three */
  verdicts(id: string, signal?: AbortSignal): Promise<readonly RunVerdicts[]>;
  handOverNow(id: string, signal?: AbortSignal): Promise<HandOverView>;
  since(id: string, signal?: AbortSignal): Promise<SinceView>;
  learn(id: string, runId: string, signal?: AbortSignal): Promise<LearnedCurve>;
  /** @param reason may be empty only where nothing speaks against it */
  handOver(id: string, reason: string): Promise<JobView>;
  openAgain(id: string): Promise<JobView>;
  /** Null asks the findings again. */
  setTeaching(id: string, runId: string, may: { boost: boolean; coolant: boolean } | null): Promise<JobView>;
  /** Files a run into a job, changes what it was for, or with null takes it out of its job. */
  fileRun(runId: string, into: string | null, purpose: Purpose): Promise<RunSummary>;
  /** Writes the job as one .zip to `file`, which must not exist. */
  pack(
    id: string,
    hide: { readonly plate: boolean; readonly vin: boolean },
    file: string,
    signal?: AbortSignal,
  ): Promise<void>;
  /** @param file a .zip on this computer, left where it is */
  unpack(
    file: string,
    signal?: AbortSignal,
  ): Promise<{ readonly id: string; readonly remarks: readonly string[] }>;
  /** Begins to drive the practice jobs; the list says how far it is. */
  makePractice(): Promise<PracticeState>;
  /** Gives that up: jobs that are whole stay, of the one under way nothing is left. */
  stopPractice(): Promise<PracticeState>;
}
