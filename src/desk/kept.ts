/** The last few answers to questions that take long; a promise, so that those who ask together share one. */
import { LRUCache } from 'lru-cache';

export class Kept<V> {
  readonly #answers: LRUCache<string, Promise<V>>;

  constructor(most: number) {
    this.#answers = new LRUCache({ max: most });
  }

  /** One that fails is asked anew the next time. */
  get(key: string, ask: () => Promise<V>): Promise<V> {
    const known = this.#answers.get(key);
    if (known) return known;
    const asked = ask();
    this.#answers.set(key, asked);
    asked.catch(() => this.#answers.delete(key));
    return asked;
  }
}
