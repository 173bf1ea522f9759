/** Work that several processors share: one task a thread, answers in the order asked. What crosses the border is plain data. */

import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';
import { MessageChannel, type MessagePort } from 'node:worker_threads';
import { Tinypool } from 'tinypool';
import { saying } from '../core/error-says.ts';
import { type ErrorCode, HandbackError } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { type During, partOf } from './types.ts';

/** What a module that is an `entry` exports by default, made with `inThread`. */
type Entry = (posted: Posted) => Promise<Answer>;
interface Posted {
  readonly task: unknown;
  /** Progress comes out of it; whatever goes in means: stop. */
  readonly port: MessagePort;
}
type Answer = { readonly value: unknown } | { readonly failure: Failure };

export type ThreadOutcome<R> = { readonly value: R } | { readonly thrown: unknown };

export interface SideBySide<T, R> {
  /** The module of the work, beside the one that asks, with the extension that this one has. */
  readonly entry: URL;
  /** The same work in this thread, one task after the other: where a second thread would not pay, or could not do it. */
  readonly here: (task: T, during: During) => Promise<R>;
  /** Threads; fewer than two: here. */
  readonly most: number;
  readonly during: During;
  /** Of each thread's own heap. */
  readonly heapMb?: number;
}

/** Of one thread of several; what needs more is done here. */
const HEAP_MB = 768;
const PROGRESS_EVERY_MS = 200;

/**
 * What each task came to, in the order asked, as soon as it and those before it are done. One that fails takes no other
 * with it; one that no thread could do, because none starts or it needs more memory than a thread has, is done here.
 * @throws the signal's reason
 */
export async function* sideBySide<T, R>(
  tasks: readonly T[],
  { entry, here, most, during, heapMb = HEAP_MB }: SideBySide<T, R>,
): AsyncGenerator<ThreadOutcome<R>> {
  const { signal } = during;
  signal.throwIfAborted();
  const threads = Math.min(most, tasks.length);
  const pool = threads < 2 ? null : poolOf(entry, threads, heapMb);
  if (pool === null) return yield* oneByOne(tasks, here, during);
  let isBroken = false;
  const broken = new Promise<never>((_, reject) => pool.on('error', reject));
  broken.catch(() => {
    isBroken = true;
  });
  const over = new AbortController();
  const wanted = AbortSignal.any([signal, over.signal]);
  let last: Promise<unknown> = Promise.resolve();
  /** One after the other: each has the memory to itself. */
  const instead = (task: T, progress: During['progress']): Promise<ThreadOutcome<R>> => {
    const outcome = last.then(() =>
      wanted.aborted ? { thrown: wanted.reason } : settled(here(task, { signal: wanted, progress })),
    );
    last = outcome;
    return outcome;
  };
  const shares = tasks.map(() => 0);
  const ports: MessagePort[] = [];
  const answers = tasks.map(async (task, i): Promise<ThreadOutcome<R>> => {
    const { port1, port2 } = new MessageChannel();
    ports.push(port1);
    const tell = (share: number): void => {
      shares[i] = Math.max(shares[i]!, share);
      during.progress(shares.reduce((a, b) => a + b, 0) / tasks.length);
    };
    let isBegun = false;
    port1.on('message', (share: number) => {
      isBegun = true;
      tell(share);
    });
    port1.unref();
    try {
      const work = pool.run({ task, port: port2 } satisfies Posted, { transferList: [port2] });
      const answer: Answer = await Promise.race([work, broken]);
      return 'failure' in answer ? { thrown: thrownOf(answer.failure) } : { value: answer.value as R };
    } catch (thrown) {
      const couldNot = isBroken || !isBegun || isOutOfMemory(thrown);
      return couldNot && !wanted.aborted ? await instead(task, tell) : { thrown };
    } finally {
      port1.close();
      tell(1);
    }
  });
  const stop = (): void => {
    pool.cancelPendingTasks();
    for (const port of ports) port.postMessage(null);
  };
  signal.addEventListener('abort', stop, { once: true });
  try {
    for (const answer of answers) {
      const outcome = await answer;
      signal.throwIfAborted();
      yield outcome;
    }
  } finally {
    signal.removeEventListener('abort', stop);
    if (signal.aborted) await Promise.all(answers); // what they write is written whole
    over.abort();
    await ended(pool);
    await last;
  }
}

/** Where no thread starts, or one would be all. */
async function* oneByOne<T, R>(
  tasks: readonly T[],
  here: SideBySide<T, R>['here'],
  during: During,
): AsyncGenerator<ThreadOutcome<R>> {
  for (const [i, task] of tasks.entries()) {
    during.progress(i / tasks.length);
    const outcome = await settled(here(task, partOf(during, i, tasks.length)));
    during.signal.throwIfAborted();
    yield outcome;
  }
}

/** All threads at once: one that comes later is not given more than one task by the pool. Null where none can be started. */
function poolOf(entry: URL, threads: number, heapMb: number): Tinypool | null {
  try {
    return new Tinypool({
      filename: entry.href,
      minThreads: threads,
      maxThreads: threads,
      resourceLimits: { maxOldGenerationSizeMb: heapMb },
      useAtomics: false,
      ...LOADING,
    });
  } catch {
    return null;
  }
}

/**
 * All threads gone, also where one fails meanwhile: the pool then calls what its threads do not have, throws that at
 * nobody and waits for ever.
 */
async function ended(pool: Tinypool): Promise<void> {
  const threads = pool.threads.map((thread) => Object.assign(thread, { removeListener: () => undefined }));
  const destroyed = pool.destroy().catch(() => undefined);
  await Promise.race([destroyed, Promise.allSettled(threads.map((thread) => thread.terminate()))]);
}

const settled = <R>(promise: Promise<R>): Promise<ThreadOutcome<R>> =>
  promise.then(
    (value) => ({ value }),
    (thrown: unknown) => ({ thrown }),
  );

/** @param work what is done in the thread with one task; its errors reach the asker as they are */
export function inThread<T, R>(work: (task: T, during: During) => Promise<R>): Entry {
  return async ({ task, port }) => {
    const stop = new AbortController();
    port.on('message', () => stop.abort());
    port.postMessage(0); // begun
    try {
      return {
        value: await work(task as T, { signal: stop.signal, progress: seldom((s) => port.postMessage(s)) }),
      };
    } catch (thrown) {
      return { failure: failureOf(thrown) };
    } finally {
      port.close();
    }
  };
}

/** Messages are dearer than progress is worth. */
export function seldom(tell: (share: number) => void): (share: number) => void {
  let saidMs = Number.NEGATIVE_INFINITY;
  return (share) => {
    const nowMs = performance.now();
    if (nowMs - saidMs < PROGRESS_EVERY_MS) return;
    saidMs = nowMs;
    tell(share);
  };
}

export interface Failure {
  readonly name: string;
  readonly message: string;
  readonly stack: string;
  /** Of a HandbackError. */
  readonly told: { readonly code: ErrorCode; readonly message: Says; readonly hint: Says | null } | null;
}

/** An error as plain data. */
export function failureOf(thrown: unknown): Failure {
  const error = thrown instanceof Error ? thrown : new Error(String(thrown));
  const { name, message, stack = message } = error;
  const told = error instanceof HandbackError ? { code: error.code, ...error.told } : null;
  return { name, message, stack, told };
}

export function thrownOf({ name, message, stack, told }: Failure): Error {
  const error = told
    ? new HandbackError(told.code, told.message, told.hint === null ? {} : { hint: told.hint })
    : Object.assign(new Error(message), { name });
  error.stack = stack;
  return error;
}

const isOutOfMemory = (thrown: unknown): boolean =>
  (thrown as NodeJS.ErrnoException).code === 'ERR_WORKER_OUT_OF_MEMORY';

/** A run too large for its memory ends the thread, and that alone. */
export function withReason(thrown: unknown): unknown {
  if (!isOutOfMemory(thrown)) return thrown;
  return new HandbackError('input.file', saying('error.memory'), {
    hint: saying('error.memory-hint'),
    cause: thrown,
  });
}

const OWN = import.meta.url;
/** The module of that name beside the asking one: ordinary when built. */
export const beside = (asking: string, name: string): URL =>
  new URL(`./${name}${OWN.slice(OWN.lastIndexOf('.'))}`, asking);
/** Of a thread: from source it must be loaded as the program itself was. */
export const LOADING = OWN.endsWith('.ts') ? { execArgv: ['--import', loaderOf(createRequire(OWN))] } : {};

/** The short way, `--import tsx`, does nothing in threads. */
function loaderOf({ resolve }: NodeJS.Require): string {
  const api = new URL('esm/api/index.mjs', pathToFileURL(resolve('tsx')));
  return `data:text/javascript,${encodeURIComponent(`import { register } from '${api}'; register();`)}`;
}
