/** The last few answers to questions that take long; a promise, so that those who ask together share one. */
import { LRUCache } from 'lru-cache';
import type { During } from '../run/types.ts';

interface Answer<V> {
  readonly promise: Promise<V>;
  readonly stop: AbortController;
  /** Who would still hear the answer, and how far it is; null from when it is there. */
  waiting: Set<During | null> | null;
}

export class Kept<V extends object> {
  readonly #answers: LRUCache<string, Answer<V>>;
  readonly #begun = new Set<Promise<V>>();

  constructor(most: number) {
    this.#answers = new LRUCache({ max: most });
  }

  /**
   * One that fails is asked anew the next time. Work that everybody has given up is told to stop.
   * @throws the signal's reason, when it is given up
   */
  async get(key: string, ask: (during: During) => Promise<V>, during?: During): Promise<V> {
    during?.signal.throwIfAborted();
    const answer = this.#answers.get(key) ?? this.#asked(key, ask);
    if (answer.waiting === null) return answer.promise;
    answer.waiting.add(during ?? null);
    if (!during) return answer.promise;
    const { signal } = during;
    return new Promise((resolve, reject) => {
      const gone = (): void => {
        answer.waiting?.delete(during);
        if (answer.waiting?.size === 0) {
          this.#forget(key, answer);
          answer.stop.abort(signal.reason);
        }
        reject(signal.reason);
      };
      const heard = (): void => signal.removeEventListener('abort', gone);
      signal.addEventListener('abort', gone, { once: true });
      answer.promise.then(resolve, reject).finally(heard);
    });
  }

  /** What is there already; null where it would have to be asked, or waited for. */
  known(key: string): Promise<V> | null {
    const answer = this.#answers.get(key);
    return answer?.waiting === null ? answer.promise : null;
  }

  /** What is there is no longer kept. */
  drop(key: string): void {
    this.#answers.delete(key);
  }

  /** When all work that was begun has ended, also what was given up and is still writing. */
  async settled(): Promise<void> {
    await Promise.allSettled(this.#begun);
  }

  #asked(key: string, ask: (during: During) => Promise<V>): Answer<V> {
    const stop = new AbortController();
    const waiting = new Set<During | null>();
    const progress = (share: number): void => {
      for (const one of waiting) one?.progress(share);
    };
    const answer: Answer<V> = { promise: ask({ signal: stop.signal, progress }), stop, waiting };
    this.#answers.set(key, answer);
    this.#begun.add(answer.promise);
    const done = (): void => void this.#begun.delete(answer.promise);
    answer.promise.then(done, done);
    answer.promise.then(
      () => {
        answer.waiting = null;
      },
      () => this.#forget(key, answer),
    );
    return answer;
  }

  #forget(key: string, answer: Answer<V>): void {
    if (this.#answers.peek(key) === answer) this.#answers.delete(key);
  }
}
