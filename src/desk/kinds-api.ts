/** What travels between daemon and page about kinds of engine and the pool. Types only. */
import type { Answer, QuestionName } from '../pool/questions.ts';

export interface KindRow {
  /** As the library writes it, after what was merged and split. */
  readonly kind: string;
  readonly jobs: number;
  /** Kinds that it may be merged with: charged alike and on the same fuel. */
  readonly mayBe: readonly string[];
  /** VIN's positions 1 to 8 and 10 of its jobs, and how many have it. */
  readonly descriptors: readonly (readonly [descriptor: string, jobs: number])[];
}

export interface KindsView {
  readonly kinds: readonly KindRow[];
  /** Jobs that state none. */
  readonly without: number;
  /** Vehicles that can be asked about: of jobs with a VIN or a plate. */
  readonly cars: readonly { readonly job: string; readonly vehicle: string; readonly plate: string }[];
  readonly canUndo: boolean;
  readonly canRedo: boolean;
  /** Folder of the pool that was added to last on this computer; null: none, or it is gone. */
  readonly pool: string | null;
  /** The package that asks it is installed. */
  readonly engine: boolean;
}

export type KindChange =
  | { readonly is: 'merge'; readonly from: string; readonly into: string }
  | { readonly is: 'split'; readonly from: string; readonly descriptor: string; readonly engine: string }
  | { readonly is: 'undo' }
  | { readonly is: 'redo' };

export interface PoolQuestion {
  readonly question: QuestionName;
  /** Empty for all. */
  readonly kind: string;
  /** Id of the job whose vehicle is meant; only for `car`. */
  readonly job: string;
}

export interface KindsApi {
  view(): Promise<KindsView>;
  /** @throws HandbackError input.usage: no such kind; library.read-only, run.busy, run.write */
  change(change: KindChange): Promise<KindsView>;
  /** @throws HandbackError input.usage: no pool, no engine, no such car */
  ask(question: PoolQuestion, signal?: AbortSignal): Promise<Answer>;
}
