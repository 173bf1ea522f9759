/** The practice jobs: driven when somebody asks for them, stopped, and how far that is. */

import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { listJobs } from '../job/library.ts';
import type { During } from '../run/types.ts';
import { spelled } from '../words/spelled.ts';
import type { UnderWay } from './api.ts';
import type { PracticeState } from './jobs-api.ts';
import { leftAfter } from './reading-room.ts';

/** Puts finished practice jobs into the library; `say` tells what is driven. @throws the signal's reason: each is whole or not there */
export type PracticeMaker = (library: string, say: (sentence: Says) => void, during: During) => Promise<void>;

interface Making {
  sentence: Says;
  share: number;
  readonly fromMs: number;
  readonly gone: AbortController;
  readonly ended: Promise<void>;
}

export interface PracticeOptions {
  readonly library: string;
  /** Makes sure that nobody else writes into the library. @throws HandbackError run.busy, run.write */
  readonly takeLibrary: () => Promise<void>;
  /** Runs were put into the library. */
  readonly runsCame: () => void;
  /** Drives the practice jobs and puts them into the library; absent where that is not offered. */
  readonly makePractice?: PracticeMaker;
}

export class PracticeDesk {
  readonly #o: PracticeOptions;
  #making: Making | null = null;
  /** Why the last making failed. */
  #trouble: Says | null = null;

  constructor(options: PracticeOptions) {
    this.#o = options;
  }

  get trouble(): Says | null {
    return this.#trouble;
  }

  async make(): Promise<PracticeState> {
    const { makePractice, library } = this.#o;
    if (!makePractice)
      throw new HandbackError('input.usage', saying('error.no-practice'), {
        hint: saying('error.no-practice-hint'),
      });
    if (!this.#making) {
      await this.#o.takeLibrary();
      const { jobs } = await listJobs(library);
      if (jobs.some((j) => j.job.practice)) return spelled(this.state(true));
      this.#trouble = null;
      this.#making = this.#begun(makePractice);
    }
    return spelled(this.state(false));
  }

  /** Until nothing of the job under way is left; those that are whole stay. */
  async giveUp(): Promise<void> {
    this.#making?.gone.abort();
    await this.#making?.ended;
  }

  async stop(): Promise<PracticeState> {
    await this.giveUp();
    const { jobs } = await listJobs(this.#o.library);
    return spelled(this.state(jobs.some((j) => j.job.practice)));
  }

  /** The practice jobs, while they are made. */
  get underWay(): readonly UnderWay[] {
    if (!this.#making) return [];
    const { share, fromMs } = this.#making;
    return [{ what: 'practice', run: null, share, leftS: leftAfter(performance.now() - fromMs, share) }];
  }

  /** @param there whether its jobs are in the library */
  state(there: boolean): { state: PracticeState['state']; sentence: Says | null } {
    if (this.#making) return { state: 'making', sentence: this.#making.sentence };
    return { state: there ? 'there' : 'none', sentence: null };
  }

  #begun(makePractice: PracticeMaker): Making {
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
        if (!gone.signal.aborted) this.#trouble = saying('practice.failed', { why: toldOf(thrown) });
      })
      .finally(() => {
        this.#o.runsCame();
        this.#making = null;
      });
    return Object.assign(begun, { ended });
  }
}
