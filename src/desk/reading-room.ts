/**
 * Ended runs are read, judged, compared and made into sheets in a thread of their own, below the one that records:
 * looking at "before" must not disturb "after". One thread, so that one processor stays free; several questions may be
 * open in it at a time, and it ends when nobody has asked for a while. While nobody records, several runs of one
 * question that were never read are read side by side first, in threads that end with that; it then answers from what
 * these kept beside the runs.
 */

import { Worker } from 'node:worker_threads';
import { beside, type Failure, LOADING, sideBySide, thrownOf, withReason } from '../run/threads.ts';
import type { During } from '../run/types.ts';
import type { CompareRequest, UnderWay } from './api.ts';
import { GaveWay } from './quiet-work.ts';
import type { About, SheetAsked, StoredRuns } from './stored-runs.ts';
import { Written } from './written.ts';

export interface RoomOptions {
  readonly library: string;
  /** Keeps judgements beside the runs; absent: nothing is written into the library. */
  readonly keep?: boolean;
  /** Of the thread's own heap. */
  readonly heapMb?: number;
  /** Threads that may read several runs of one question side by side, asked when it comes; absent: none but its own. */
  readonly threads?: () => number;
}

/** What the thread gets. */
export type RoomData = Required<Pick<RoomOptions, 'library' | 'keep'>>;

export type RoomAsked =
  | { readonly id: number; readonly what: keyof StoredRuns; readonly args: readonly unknown[] }
  | { readonly stop: number };

export type RoomAnswered =
  | { readonly id: number; readonly progress: number }
  | { readonly id: number; readonly value: unknown }
  | { readonly id: number; readonly json: Uint8Array }
  | { readonly id: number; readonly failure: Failure };

interface Waiting {
  resolve(value: unknown): void;
  reject(thrown: unknown): void;
  readonly progress: ((share: number) => void) | undefined;
  readonly what: keyof StoredRuns;
  readonly run: string | null;
  readonly fromMs: number;
  share: number;
}

/** What a page shows of itself. */
const SHOWN: Partial<Record<keyof StoredRuns, UnderWay['what']>> = {
  view: 'view',
  compare: 'compare',
  sheet: 'sheet',
  unpack: 'import',
  verdicts: 'verdicts',
  since: 'since',
  handOver: 'hand-over',
  learn: 'learn',
  pack: 'archive',
};

/** Given up, they may have written all the same: whoever asked hears what the thread says at the end. */
const WRITES: ReadonlySet<keyof StoredRuns> = new Set(['pack', 'unpack']);

/** Sooner than this how long it takes is a guess. Chosen by hand, not measured. */
const TOLD_FROM = { share: 0.05, ms: 1000 } as const;

/** Seconds left of what has come so far in so many milliseconds; null while that is a guess. */
export function leftAfter(ms: number, share: number): number | null {
  const told = share >= TOLD_FROM.share && ms >= TOLD_FROM.ms;
  return told ? (ms * (1 - share)) / share / 1000 : null;
}

/** Of the thread's own heap: sheets of several long drives need most. */
const READING_HEAP_MB = 768;
/** Of it, for what was just made: with the 48 MB that are usual, opening takes no less time and 30 MB more. */
const YOUNG_MB = 16;
/** Its memory is given back when nobody has asked for so long. */
const GIVEN_BACK_MS = 60_000;

/** Of a question whose runs are read first: nearly all of it. */
const AHEAD_SHARE = 0.9;
/** Fewer than two are left to the answer. */
const NOTHING = async (): Promise<void> => undefined;
const NEVER = new AbortController().signal;

/** Null of questions about one run, and of those that read little. */
function aboutOf(what: keyof StoredRuns, args: readonly unknown[]): About | null {
  if (what === 'compare') return { compare: args[0] as CompareRequest };
  if (what === 'verdicts' || what === 'since') return { job: args[0] as string };
  if (what !== 'sheet') return null;
  const { of } = args[0] as SheetAsked;
  return 'job' in of ? of : null;
}

/** The run or job that is asked about, where a page shows that. */
function nameOf(what: keyof StoredRuns, first: unknown): string | null {
  if (what === 'sheet') return Object.values((first as SheetAsked).of)[0]!;
  return SHOWN[what] !== undefined && what !== 'unpack' && typeof first === 'string' ? first : null;
}

type Args<K extends keyof StoredRuns> =
  Parameters<StoredRuns[K]> extends [During, ...infer Rest] ? Rest : never;

export class ReadingRoom {
  readonly #o: RoomOptions;
  readonly #waiting = new Map<number, Waiting>();
  #thread: Worker | null = null;
  #idle: NodeJS.Timeout | null = null;
  #lastId = 0;
  /** Ends what others read for it. */
  #alone = new AbortController();
  readonly #ahead = new Set<Promise<void>>();
  /** Of a question that nobody waits for. */
  #quiet: (() => void) | null = null;

  constructor(options: RoomOptions) {
    this.#o = options;
  }

  /**
   * @param signal gives the question up: a page that went away
   * @param progress hears how far it is, as a share of 1
   * @throws HandbackError as `StoredRuns`; the signal's reason
   */
  ask<K extends keyof StoredRuns>(
    what: K,
    args: Args<K>,
    signal?: AbortSignal,
    progress?: During['progress'],
  ): ReturnType<StoredRuns[K]> {
    this.#quiet?.();
    const asked = new Promise((resolve, reject) => {
      if (signal?.aborted) return reject(signal.reason);
      const id = ++this.#lastId;
      const thread = this.#begun();
      const gone = (): void => {
        thread.postMessage({ stop: id } satisfies RoomAsked);
        if (WRITES.has(what)) return;
        settle(() => reject(signal!.reason));
      };
      const settle = (act: () => void): void => {
        signal?.removeEventListener('abort', gone);
        this.#waiting.delete(id);
        if (this.#waiting.size === 0) this.#rest();
        act();
      };
      this.#waiting.set(id, {
        resolve: (value) => settle(() => resolve(value)),
        reject: (thrown) => settle(() => reject(signal?.aborted ? signal.reason : thrown)),
        progress,
        what,
        run: nameOf(what, args[0]),
        fromMs: performance.now(),
        share: 0,
      });
      signal?.addEventListener('abort', gone, { once: true });
      const post = (): void => {
        if (this.#waiting.has(id)) this.#begun().postMessage({ id, what, args } satisfies RoomAsked);
      };
      const about = this.#threads() > 1 ? aboutOf(what, args) : null;
      if (about === null) post();
      else {
        const ahead = this.#readAhead(id, about, signal).finally(() => {
          this.#ahead.delete(ahead);
          post();
        });
        this.#ahead.add(ahead);
      }
    });
    return asked as ReturnType<StoredRuns[K]>;
  }

  /** Somebody looks at lists and will ask soon: its thread begins, so that the first answer need not wait for it. */
  prepare(): void {
    if (this.#thread !== null) return;
    this.#begun();
    this.#rest();
  }

  /** How far each answer is that somebody waits for, oldest first. */
  get underWay(): UnderWay[] {
    const nowMs = performance.now();
    return [...this.#waiting.values()].map(({ what, run, fromMs, share }) => {
      return {
        what: SHOWN[what] ?? 'other',
        run,
        share,
        leftS: leftAfter(nowMs - fromMs, share),
      };
    });
  }

  /** Nobody waits for an answer. */
  get isQuiet(): boolean {
    return this.#waiting.size === 0;
  }

  /** As `ask`, of what nobody waits for: it is given up as soon as anything else is asked. @throws GaveWay then; the signal's reason */
  async askQuietly<K extends keyof StoredRuns>(
    what: K,
    args: Args<K>,
    signal: AbortSignal,
  ): Promise<Awaited<ReturnType<StoredRuns[K]>>> {
    const other = new AbortController();
    const answer = this.ask(what, args, AbortSignal.any([signal, other.signal]));
    this.#quiet = () => other.abort(new GaveWay('something else was asked'));
    try {
      return (await answer) as Awaited<ReturnType<StoredRuns[K]>>;
    } finally {
      this.#quiet = null;
    }
  }

  /** From now on its own thread works alone: somebody records. */
  giveWay(): void {
    this.#alone.abort(new Error('something else goes first'));
    this.#alone = new AbortController();
  }

  async close(): Promise<void> {
    this.giveWay();
    if (this.#idle) clearTimeout(this.#idle);
    const ahead = [...this.#ahead];
    const thread = this.#thread;
    this.#thread = null; // what is asked while it ends is asked of another
    for (const { reject } of [...this.#waiting.values()]) reject(new Error('the reading thread was closed'));
    await thread?.terminate();
    await Promise.allSettled(ahead);
  }

  #threads(): number {
    return this.#o.keep ? (this.#o.threads?.() ?? 1) : 1;
  }

  /** What goes wrong here the answer says itself. */
  async #readAhead(id: number, about: About, gone: AbortSignal = NEVER): Promise<void> {
    const signal = AbortSignal.any([gone, this.#alone.signal]);
    try {
      const unread = await this.ask('ahead', [about], signal);
      const most = Math.min(this.#threads(), unread.length);
      if (most < 2) return;
      const progress = (share: number): void => this.#answered({ id, progress: AHEAD_SHARE * share });
      const during = { signal, progress };
      const entry = beside(import.meta.url, 'ahead-worker');
      for await (const _ of sideBySide(unread, { entry, here: NOTHING, most, during }));
    } catch {
      // the answer reads for itself
    }
  }

  #begun(): Worker {
    if (this.#idle) clearTimeout(this.#idle);
    this.#thread ??= this.#start();
    this.#thread.ref();
    return this.#thread;
  }

  /** Does not keep the program alive, and ends after a while. */
  #rest(): void {
    this.#thread?.unref();
    this.#idle = setTimeout(() => void this.close(), GIVEN_BACK_MS).unref();
  }

  #start(): Worker {
    const { library, keep } = this.#o;
    const thread = new Worker(beside(import.meta.url, 'reading-worker'), {
      workerData: { library, keep: keep ?? false } satisfies RoomData,
      ...LOADING,
      resourceLimits: {
        maxOldGenerationSizeMb: this.#o.heapMb ?? READING_HEAP_MB,
        maxYoungGenerationSizeMb: YOUNG_MB,
      },
    });
    thread.on('message', (answered: RoomAnswered) => this.#answered(answered));
    const ended = (thrown: unknown): void => {
      if (this.#thread !== thread) return;
      this.#thread = null;
      this.giveWay();
      for (const { reject } of [...this.#waiting.values()]) reject(thrown);
    };
    thread.on('error', (thrown) => ended(withReason(thrown)));
    thread.on('exit', (status) => ended(new Error(`the reading thread ended with status ${status}`)));
    return thread;
  }

  #answered(answered: RoomAnswered): void {
    const waiting = this.#waiting.get(answered.id);
    if (!waiting) return; // given up
    if ('progress' in answered) {
      // it begins anew when others have read for it
      waiting.share = Math.max(waiting.share, answered.progress);
      waiting.progress?.(waiting.share);
    } else if ('failure' in answered) waiting.reject(thrownOf(answered.failure));
    else waiting.resolve('json' in answered ? new Written(answered.json) : answered.value);
  }
}
