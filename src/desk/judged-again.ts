/**
 * What is kept beside ended runs made again in a quiet time, after an update of the program or where it was deleted: one
 * run at a time. A run that cannot be judged is not tried again by this program, and one that was found judged is not looked at again.
 */
import { GaveWay } from './quiet-work.ts';
import type { ReadingRoom } from './reading-room.ts';

export class JudgedAgain {
  readonly #room: Pick<ReadingRoom, 'askQuietly'>;
  /** As many as a library lists. */
  readonly #looked = new Set<string>();

  constructor(room: Pick<ReadingRoom, 'askQuietly'>) {
    this.#room = room;
  }

  /** @throws GaveWay, the signal's reason; what listing the library throws */
  async work(signal: AbortSignal): Promise<void> {
    const { judged, unjudged } = await this.#room.askQuietly('unjudged', [[...this.#looked]], signal);
    for (const name of judged) this.#looked.add(name);
    for (const { name, entry } of unjudged) {
      // before it is tried: it may take the thread with it
      this.#looked.add(name);
      try {
        await this.#room.askQuietly('judge', [entry], signal);
      } catch (thrown) {
        if (!(thrown instanceof GaveWay)) continue;
        this.#looked.delete(name);
        throw thrown;
      }
    }
  }
}
