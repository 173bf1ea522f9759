/** Bytes at the speed of a serial line: ten bits each (start, eight data, stop), never faster. */
import type { Clock, Timer } from '../../core/clock.ts';

export interface PaceOptions {
  readonly clock: Clock;
  /** bit/s; null = as fast as asked, still never inside the sender's own call. */
  readonly baud: number | null;
  /** Bytes that may wait; `push` refuses more. */
  readonly limit: number;
  readonly deliver: (bytes: Uint8Array) => void;
}

const BITS_PER_BYTE = 10;
/** Bytes that are due within this are handed over together: finer timers do not exist on a real machine. */
const GRAIN_US = 1000;

export class PacedBytes {
  readonly #options: PaceOptions;
  #baud: number | null;
  #queue: number[] = [];
  #head = 0;
  /** When the last byte handed over had passed. */
  #passedUs = 0;
  #timer: Timer | null = null;

  constructor(options: PaceOptions) {
    this.#options = options;
    this.#baud = options.baud;
  }

  get waiting(): number {
    return this.#queue.length - this.#head;
  }

  /** All of the bytes or none: false when they do not fit. */
  push(bytes: Uint8Array): boolean {
    if (bytes.length === 0) return true;
    if (this.waiting + bytes.length > this.#options.limit) return false;
    if (this.waiting === 0) this.#passedUs = Math.max(this.#passedUs, this.#options.clock.nowUs());
    for (const byte of bytes) this.#queue.push(byte);
    this.#wake();
    return true;
  }

  /** For what is handed over from now on. */
  setBaud(baud: number): void {
    this.#baud = baud;
  }

  /** What still waits is lost. */
  clear(): void {
    this.#queue = [];
    this.#head = 0;
    this.#timer?.cancel();
    this.#timer = null;
  }

  #byteUs(): number {
    return this.#baud === null ? 0 : (BITS_PER_BYTE * 1e6) / this.#baud;
  }

  #wake(): void {
    if (this.#timer !== null || this.waiting === 0) return;
    const byteUs = this.#byteUs();
    // Wake when the queue is through or a grain is full, whichever is first, but not before one byte has passed.
    const dueUs = this.#passedUs + Math.min(this.waiting * byteUs, Math.max(byteUs, GRAIN_US));
    this.#timer = this.#options.clock.after(Math.max(0, dueUs - this.#options.clock.nowUs()) / 1000, () => {
      this.#timer = null;
      this.#handOver();
    });
  }

  #handOver(): void {
    const byteUs = this.#byteUs();
    const elapsedUs = this.#options.clock.nowUs() - this.#passedUs;
    // Half a microsecond of slack: timers are whole microseconds, byte times are not.
    const count =
      byteUs === 0 ? this.waiting : Math.min(this.waiting, Math.floor((elapsedUs + 0.5) / byteUs));
    if (count > 0) {
      const bytes = Uint8Array.from(this.#queue.slice(this.#head, this.#head + count));
      this.#head += count;
      this.#passedUs += count * byteUs;
      if (this.#head > 4096 || this.waiting === 0) {
        this.#queue = this.#queue.slice(this.#head);
        this.#head = 0;
      }
      this.#options.deliver(bytes);
    }
    this.#wake();
  }
}
