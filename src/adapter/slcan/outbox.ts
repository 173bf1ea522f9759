/** Frames on their way to the bus: one that the adapter refuses is sent again, after a short, growing wait. */
import type { Clock, Timer } from '../../core/clock.ts';
import { toHex } from '../../core/hex.ts';

/** Of one frame: some 60 ms in all. One adapter has room for one frame only, another is busy with the bus. */
const TRIES = 6;
const FIRST_MS = 1;

interface Line {
  readonly text: string;
  readonly tries: number;
}

/** For one exchange. Adapters say yes or no to lines in the order in which they came. */
export class Outbox {
  readonly #clock: Clock;
  readonly #send: (text: string) => void;
  #unanswered: Line[] = [];
  readonly #timers = new Set<Timer>();
  acknowledged = 0;

  constructor(clock: Clock, send: (text: string) => void) {
    this.#clock = clock;
    this.#send = send;
  }

  /** @param id address as upper-case hex */
  put(id: string, data: Uint8Array): void {
    this.#write({ text: `${id.length === 3 ? 't' : 'T'}${id}${data.length}${toHex(data)}`, tries: 1 });
  }

  taken(): void {
    this.acknowledged++;
    this.#unanswered.shift();
  }

  /** False when it is given up. */
  refused(): boolean {
    const line = this.#unanswered.shift();
    if (!line) return true; // nothing was sent that this could mean
    if (line.tries >= TRIES) return false;
    const timer = this.#clock.after(FIRST_MS * 2 ** (line.tries - 1), () => {
      this.#timers.delete(timer);
      this.#write({ ...line, tries: line.tries + 1 });
    });
    this.#timers.add(timer);
    return true;
  }

  /** Nothing is sent any more. */
  end(): void {
    for (const timer of this.#timers) timer.cancel();
    this.#timers.clear();
  }

  #write(line: Line): void {
    this.#unanswered.push(line);
    this.#send(line.text);
  }
}
